"""The guide's question for a file: the person's own spreadsheet, or an empty workbook to fill in."""

from __future__ import annotations

import shlex
from contextlib import suppress
from pathlib import Path

from pmsched.cli.asking import ask_or_stop, say
from pmsched.cli.printing import note
from pmsched.domain.errors import Refusal
from pmsched.exchange.template_workbook import write_template_workbook

WORKBOOK = "machinery.xlsx"
"""The name of an empty workbook that nobody named."""
_KINDS = (".xlsx", ".csv")
_MOST_SHOWN = 8
_ORDER = (
    ("machines", "code (short, it stays for life) and name"),
    ("counters", "code, machine, unit (h): a line for each meter"),
    ("jobs", "code, machine, title, interval: 4000 h, or 4000 h or 12 months"),
    ("last_done", "job, done_on; for jobs by hours also count: 11200 h"),
    ("readings", "counter, read_on, value: what each meter shows now"),
)


def ask_file(usual: Path | None) -> Path:
    """The file to bring in; an empty workbook is written first where only Enter is pressed.

    Args:
        usual: the file worked on so far, which Enter takes.

    Raises:
        StopHere, click.Abort: as ``ask_or_stop``.
    """
    if usual is None:
        _explain()
    while True:
        answer = ask_or_stop("File", _shown(usual) if usual else "")
        path = _path(answer) if answer else Path(WORKBOOK)
        if path.exists():
            return path
        if answer:
            _tell_what_is_there(path)
        elif (made := _write_empty(path)) is not None:
            usual = made


def _explain() -> None:
    say(
        "\nNow your machinery. Type the name of your spreadsheet (.xlsx or .csv). One list of jobs will do: equipment, job, "
        "interval, when it was last done, and the hours then and now, in columns of your own."
    )
    say(f"Enter alone writes an empty workbook, {WORKBOOK}, to fill in. s: stop here.")
    say(f"Files are looked for in {Path.cwd()}.")


def _path(answer: str) -> Path:
    """The path that was typed, or dragged into the terminal with quotes or backslashes round its blanks."""
    plain = Path(answer).expanduser()
    if plain.exists():
        return plain
    with suppress(ValueError):
        parts = shlex.split(answer)
        if len(parts) == 1:
            return Path(parts[0]).expanduser()
    return plain


def _shown(path: Path) -> str:
    """A path as it is shortest from here."""
    with suppress(ValueError):
        return str(path.relative_to(Path.cwd()))
    return str(path)


def _tell_what_is_there(path: Path) -> None:
    say(f"There is no file {path}.")
    folder = path.parent
    there = sorted(one.name for one in folder.iterdir() if one.suffix.casefold() in _KINDS) if folder.is_dir() else []
    if there:
        more = f" and {len(there) - _MOST_SHOWN} more" if len(there) > _MOST_SHOWN else ""
        say(f"In {folder.resolve()}: {', '.join(there[:_MOST_SHOWN])}{more}.")


def _write_empty(path: Path) -> Path | None:
    try:
        write_template_workbook(path)
    except Refusal as refusal:
        say(str(refusal))
        return None
    say(f"{path} is written. Fill in first, leave the rest for later:")
    for sheet, what in _ORDER:
        note(f"  {sheet:<10} {what}")
    say("Point at a heading to see what its column is for. Save it, come back here, and press Enter.")
    say("If it takes longer: s stops here, and pmsched init goes on.")
    return path
