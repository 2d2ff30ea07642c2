"""``pmsched backup`` and ``pmsched restore``: a verified copy of the register, and going on from one."""

from __future__ import annotations

import shutil
import tempfile
from pathlib import Path

import click

from pmsched.cli.access import open_register, ship_clock_of, signer
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import command
from pmsched.cli.printing import document, note, out
from pmsched.cli.progress import Progress
from pmsched.cli.shapes import Shape
from pmsched.cli.verify import share_of
from pmsched.cli.words import some
from pmsched.domain.errors import Refusal, RegisterUnusable
from pmsched.store.attached_check import FilesBrought
from pmsched.store.attached_files import BESIDE_BACKUPS, folder_of
from pmsched.store.backup import BackupReport, RestoreReport
from pmsched.store.backup import backup as back_up
from pmsched.store.backup import restore as restore_from
from pmsched.store.engine import sqlite_file
from pmsched.store.register import Register

_FILE = click.Path(path_type=Path)


@command("backup", "pmsched backup register-2030-01-15.db")
@click.argument("file", metavar="FILE", type=_FILE)
@pass_here
def backup(here: Here, file: Path) -> None:
    """Copy the register to a file and verify the copy; others may go on working meanwhile.

    Attached files are copied to the folder pmsched.files beside it. Those that are there already are read and compared.
    """
    with open_register(here) as register, Progress("backing up") as progress:
        report = back_up(register, file, share_of(progress))
    if here.as_json:
        document(_backup_shape(report))
        return
    out(f"{report.path}: {report.size_bytes} bytes, up to entry {report.no}, seal {report.seal}.")
    _tell_files(report.files, f"in {report.path.with_name(BESIDE_BACKUPS)}, which belongs to it")
    note("The copy is verified. Write entry and seal on what you keep it on.")


@command("restore", "pmsched restore register-2030-01-15.db --by CE")
@click.argument("file", metavar="FILE", type=_FILE)
@pass_here
def restore(here: Here, file: Path) -> None:
    """Put a back-up in the place of the register and open a new book in it.

    The register in the way is kept beside it, under another name.
    """
    target = sqlite_file(here.target)
    if target is None:
        raise Refusal("not-a-file", f"{here.target} is no file.", "Restore it with its database's own tools.")
    person = signer(here)
    if not person.person:
        raise Refusal("nobody-signs", "Every deed is signed.", "Say who signs: --by CODE, or set PMSCHED_BY.")
    with Progress("bringing attached files back") as progress:
        report = restore_from(file, target, person.person, person.at, _offset_in(file, person.at), share_of(progress))
    if here.as_json:
        document(_restore_shape(report))
        return
    out(f"{report.path} goes on from {file}: entry {report.continues_no}; new book {report.book}, seal {report.seal}.")
    if report.replaced is not None:
        out(f"The register that was there is kept as {report.replaced}.")
    _tell_files(report.files, f"in {folder_of(report.path)}")
    note("What was entered after the back-up is not there: enter it again.")


def _tell_files(files: FilesBrought, where: str) -> None:
    """Nothing is said where nothing was ever attached."""
    if files.there:
        out(f"{some(files.there, 'attached file')} {where}.")
    for lacking in files.lacking:
        note(f"Lacking: {lacking}.")
    if files.lacking:
        note("All else is there. To put a file back: pmsched help attach")


def _offset_in(file: Path, at: int) -> int:
    """The ship's offset at an instant as the back-up knows it; the back-up itself is not opened, only read."""
    if not file.is_file():
        return 0
    with tempfile.TemporaryDirectory(prefix="pmsched-") as folder:
        copy = Path(shutil.copyfile(file, Path(folder) / "copy.db"))
        try:
            with Register(str(copy)) as register:
                return ship_clock_of(register).offset_at(at)
        except RegisterUnusable:
            # The restore itself says what is wrong, and names the back-up.
            return 0


def _backup_shape(report: BackupReport) -> Shape:
    return {
        "file": str(report.path),
        "size_bytes": report.size_bytes,
        "book": report.book,
        "entry_no": report.no,
        "seal": report.seal,
        **_files_shape(report.files),
    }


def _restore_shape(report: RestoreReport) -> Shape:
    return {
        "register": str(report.path),
        "replaced": None if report.replaced is None else str(report.replaced),
        "book": report.book,
        "seal": report.seal,
        "continues_book": report.continues_book,
        "continues_entry_no": report.continues_no,
        **_files_shape(report.files),
    }


def _files_shape(files: FilesBrought) -> Shape:
    return {"files": files.there, "files_lacking": list(files.lacking)}
