"""``pmsched demo``: a register of an invented vessel, to try things on. It never touches the real register."""

from __future__ import annotations

import shlex
import shutil
from datetime import UTC, date, datetime
from pathlib import Path

import click
import platformdirs

from pmsched.cli.access import asked
from pmsched.cli.context import PROGRAM, Here, moment, pass_here
from pmsched.cli.due import due_lines
from pmsched.cli.house import SAFETY, command
from pmsched.cli.printing import document, note, out
from pmsched.cli.progress import Progress
from pmsched.cli.screens import have_terminal, open_screens
from pmsched.cli.shapes import due_list_shape
from pmsched.cli.tables import terminal_width
from pmsched.store.attached_files import folder_of
from pmsched.store.register import Register
from pmsched.usecases.ask_due import due_list

_FILES = "demo-*.db"
_BESIDE = ("", "-wal", "-shm")


@command("demo", "pmsched demo", "pmsched demo --fresh")
@click.option("--keep", is_flag=True, help="Go on with the newest demo there is, though it is of an earlier day.")
@click.option("--fresh", is_flag=True, help="Throw away the demos and what was tried in them, and make a new one.")
@pass_here
def demo(here: Here, *, keep: bool, fresh: bool) -> None:
    """Make a register of an invented vessel as it stands today, and open it (or print its due list).

    At a terminal it opens the screens on it; elsewhere it prints the due list. It has a file of its own; try anything on it. The register you work with is not touched.
    """
    if keep and fresh:
        raise click.UsageError("--keep and --fresh contradict each other.")
    path = _demo(datetime.fromtimestamp(moment(), UTC).date(), keep=keep, fresh=fresh)
    if have_terminal() and not here.as_json:
        open_screens(here, str(path))
        note(f"This vessel is invented. To come back: pmsched --register {shlex.quote(str(path))}")
        return
    with Register(str(path)) as register:
        found = due_list(register, asked())
    if here.as_json:
        document({"register": str(path), **due_list_shape(found)})
    else:
        for line in due_lines(found, terminal_width()):
            out(line)
    option = f"--register {shlex.quote(str(path))}"
    note(f"This vessel is invented. To look around: pmsched {option} machines")
    note(f"To see why a job is due: pmsched {option} why JOB. Who may sign: pmsched {option} people")
    note(SAFETY)


def _demo(today: date, *, keep: bool, fresh: bool) -> Path:
    """The demo register to show, made if it is not there."""
    folder = platformdirs.user_data_path(PROGRAM, appauthor=False) / "demo"
    there = sorted(folder.glob(_FILES))
    if fresh:
        for path in there:
            for suffix in _BESIDE:
                path.with_name(path.name + suffix).unlink(missing_ok=True)
            shutil.rmtree(folder_of(path), ignore_errors=True)
    elif keep and there:
        return there[-1]
    path = folder / f"demo-{today}.db"
    if not path.exists():
        from seeds_demo.build import build_demo  # noqa: PLC0415 - the simulation, only when it is needed

        with Progress("building the demo") as progress:
            build_demo(path, today, progress=progress)
    return path
