"""``pmsched verify``: is the register still what was signed?"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import click

from pmsched.cli.access import asked, header_of, open_register
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import command
from pmsched.cli.printing import document, note, out
from pmsched.cli.progress import Progress
from pmsched.cli.shapes import Shape, header_shape
from pmsched.cli.tables import terminal_width
from pmsched.cli.words import heading, some
from pmsched.domain.file_names import size_text
from pmsched.store.attached_check import FilesChecked, check_files
from pmsched.store.flaws import Flaw
from pmsched.store.rebuild import Difference, tables_equal
from pmsched.store.rebuild import rebuild as make_anew
from pmsched.store.register import Register
from pmsched.store.verify import verify as find_flaws
from pmsched.usecases.ask_due import Header

_FLAWS = 3


@command("verify", "pmsched verify", "pmsched verify --rebuild made-anew.db")
@click.option(
    "--rebuild",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Also make a register anew from the signed entries, as FILE, and compare the two.",
)
@pass_here
def verify(here: Here, rebuild: Path | None) -> None:
    """Check every entry against its seal, every row against its entry and every attached file against its hash.

    It ends with 3 if anything is wrong.

    A seal on paper proves that nothing up to its entry was changed or taken away since: look for it in pmsched history
    --entries.
    """
    with open_register(here) as register:
        with Progress("verifying") as progress:
            flaws = find_flaws(register, share_of(progress))
        differences = [] if rebuild is None else _rebuilt(register, rebuild)
        # A register with flaws may not be able to say more.
        header = None if flaws else header_of(register, asked())
        files = None if flaws else _files(register)
    if here.as_json:
        document(_shape(header, [*flaws, *(files.flaws if files else ())], rebuild, differences, files))
    else:
        for line in (*_lines(header, flaws, rebuild, differences), *_file_lines(files)):
            out(line)
    _tell(flaws, differences, files)
    if flaws or differences or (files and files.flaws):
        raise click.exceptions.Exit(_FLAWS)


def share_of(progress: Progress) -> Callable[[float], None]:
    """A progress bar told by the share done, 0 to 1."""
    return lambda share: progress(int(share * 100), 100)


def _files(register: Register) -> FilesChecked:
    with Progress("reading attached files") as progress:
        return check_files(register, share_of(progress))


def _rebuilt(register: Register, target: Path) -> list[Difference]:
    make_anew(register, target)
    with Register(str(target)) as made:
        return tables_equal(register, made)


def _lines(
    header: Header | None, flaws: list[Flaw], rebuild: Path | None, differences: list[Difference]
) -> Iterator[str]:
    if header is not None:
        yield heading(header, f"{some(header.entry_no, 'entry', 'entries')} sound", terminal_width())
    yield from (f"{flaw.message} [{flaw.code}]" for flaw in flaws)
    if rebuild is not None:
        equal = f"{some(len(differences), 'difference')} to this register" if differences else "equal to this register"
        yield f"{rebuild} is made anew from the entries: {equal}."
    for one in differences:
        yield f"{one.table} row {one.row_id} {one.column}: {one.left!r} here, {one.right!r} made anew"


def _file_lines(files: FilesChecked | None) -> Iterator[str]:
    """What was found of attached files; nothing where none was ever attached."""
    if files is None:
        return
    yield from (f"{flaw.message} [{flaw.code}]" for flaw in files.flaws)
    if files.read or files.flaws:
        lacking = f"; {len(files.flaws)} not" if files.flaws else ""
        yield f"{some(files.read, 'attached file')} read ({size_text(files.size)}), as signed{lacking}."


def _tell(flaws: list[Flaw], differences: list[Difference], files: FilesChecked | None) -> None:
    if files is None:
        note("The attached files were not read: the entries say which they are, and they have flaws.")
    elif files.flaws:
        note("The entries are sound: go on working. The files can be put back. See: pmsched help attach")
    if files and files.struck_lacking:
        note(f"{some(files.struck_lacking, 'file')} of struck attachments not as signed; that is allowed.")
    if files and files.unclaimed:
        note(f"{some(files.unclaimed, 'file')} beside the register in no entry, as after a power cut; no harm.")
    if flaws:
        note(f"{some(len(flaws), 'flaw')} found: this register is not as it was signed.")
    if flaws or differences:
        note("Keep the file as it is, make no further entries, and go on from a back-up: pmsched restore FILE")


def _shape(
    header: Header | None,
    flaws: list[Flaw],
    rebuild: Path | None,
    differences: list[Difference],
    files: FilesChecked | None,
) -> Shape:
    return {
        "header": None if header is None else header_shape(header),
        "flaws": [flaw._asdict() for flaw in flaws],
        "rebuilt": None if rebuild is None else str(rebuild),
        # Tampered values may be of any type.
        "differences": [{**one._asdict(), "left": str(one.left), "right": str(one.right)} for one in differences],
        "files": None if files is None else _files_shape(files),
    }


def _files_shape(files: FilesChecked) -> Shape:
    return {
        "read": files.read,
        "size_bytes": files.size,
        "lacking": len(files.flaws),
        "struck_lacking": files.struck_lacking,
        "unclaimed": files.unclaimed,
    }
