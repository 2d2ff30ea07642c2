"""Back-ups: a verified copy of a register in use, and coming back from one without losing the register in the way.

It knows files, and nothing of what the facts mean. A back-up is one file and is never written to again; the attached
files of all back-ups in a folder lie in one folder beside them, since each is kept by its hash. A back-up can be read and
restored without it. A restored register opens a new book, so that no id is issued twice.
"""

from __future__ import annotations

import secrets
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, create_engine

from pmsched.domain.errors import Ambiguous, RegisterUnusable
from pmsched.store.attached_check import FilesBrought, bring_files
from pmsched.store.attached_files import BESIDE_BACKUPS, folder_of, folders_of
from pmsched.store.book import OPENING_BITS, Signature
from pmsched.store.canonical import seal
from pmsched.store.files import behind_link, beside, give_name, is_database, move_aside, named, settle, sync
from pmsched.store.flaws import Flaw
from pmsched.store.live import EVERYTHING, View
from pmsched.store.lookups import people, person_by_code
from pmsched.store.opening import last_written, open_next_book
from pmsched.store.register import Register
from pmsched.store.suspects import open_reading
from pmsched.store.verify import Progress, verify, verify_database

_PAGES_A_STEP = 2000
# How far openings leap when those of a register that was in the way cannot be known.
_LEAP = 64


class BackupReport(NamedTuple):
    """A back-up made: its file and size, the last entry in it with its seal, and the attached files beside it."""

    path: Path
    size_bytes: int
    book: int
    no: int
    seal: str
    files: FilesBrought = FilesBrought(0, ())


class RestoreReport(NamedTuple):
    """A register restored.

    Attributes:
        path: the register.
        replaced: where the register that was in the way is kept; None if none was.
        book: the book that is written in from now on.
        seal: the seal of its first entry.
        continues_book: the last book of the back-up.
        continues_no: its last entry.
        files: the attached files brought back, and those that are lacking.
    """

    path: Path
    replaced: Path | None
    book: int
    seal: str
    continues_book: int
    continues_no: int
    files: FilesBrought = FilesBrought(0, ())


def backup(register: Register, target: Path, progress: Progress | None = None) -> BackupReport:
    """Copy a register to ``target``, verify the copy, and only then give it its name. Others may write meanwhile.

    Raises:
        RegisterUnusable: the target exists, the register is no file, or it has a flaw.
    """
    done = progress or (lambda _share: None)
    if register.file is None:
        raise RegisterUnusable("not-a-file", "This register is no file.", "Back it up with its database's own tools.")
    if target.exists():
        raise RegisterUnusable("target-exists", f"{target} exists already.", "Choose a name that is free.")
    try:
        with _temporary(target) as copy:
            _copy_live(register.file, copy, lambda share: done(share / 3))
            engine = create_engine(f"sqlite:///{copy}")
            _refuse_flawed("register", verify_database(engine, lambda share: done((1 + share) / 3)))
            report = _report(copy, target)
            # Before the back-up has its name: where there is a back-up, its files are beside it.
            folder = target.with_name(BESIDE_BACKUPS)
            brought = bring_files(register, folders_of(register.file), folder, lambda share: done((2 + share) / 3))
            sync(copy)
            give_name(copy, target)
    except (OSError, sqlite3.Error) as error:
        raise RegisterUnusable(
            "not-written", f"No back-up was made: {error}.", "Check the disk and the name."
        ) from error
    return report._replace(files=brought)


def restore(
    backup_path: Path, register_path: Path, signer: str, at: int, offset_minutes: int, progress: Progress | None = None
) -> RestoreReport:
    """Put a back-up in the place of a register and open a new book in it. The register in the way is kept beside it.

    Args:
        backup_path: it is only read.
        register_path: where the register is or was, or a link to it; no program may have it open.
        signer: code of a person known to the back-up (any case).
        at: UTC epoch seconds.
        offset_minutes: the ship's offset then.
        progress: told the share of the attached files that is brought back, 0 to 1.

    Raises:
        RegisterUnusable: the back-up is missing, unreadable or flawed, or the register is in use.
        Ambiguous: the signer is unknown to the back-up; its people are the choices.
    """
    if not backup_path.is_file():
        raise RegisterUnusable("no-backup", f"There is no back-up at {backup_path}.", "Check the name.")
    if register_path.exists() and backup_path.samefile(register_path):
        raise RegisterUnusable("same-file", f"{backup_path} is the register itself.", "Name a back-up of it.")
    register_path = behind_link(register_path)
    register_path.parent.mkdir(parents=True, exist_ok=True)
    with _temporary(register_path) as copy:
        _copy_kept(backup_path, copy)
        with _opened(copy, backup_path) as register:
            _refuse_flawed("backup", verify(register))
            with register.reading() as connection:
                last = last_written(connection)
                signature = _signature(connection, signer, at, offset_minutes)
            brought = _brought_back(register, backup_path, register_path, progress or (lambda _share: None))
            opening = _opening_above(register_path, last.book)
            receipt = open_next_book(register, "restored from a back-up", signature, minimum_opening=opening)
        settle(copy)
        sync(copy)
        replaced = move_aside(register_path, replaced_name(register_path, at))
        copy.replace(register_path)
        sync(register_path.parent)
    return RestoreReport(register_path, replaced, receipt.book, receipt.seal, last.book, last.no, brought)


def replaced_name(register_path: Path, at: int) -> Path:
    """A free name for a register that is replaced at a UTC instant (epoch seconds): NAME.replaced-20300115T080000Z."""
    name = beside(register_path, f".replaced-{datetime.fromtimestamp(at, UTC):%Y%m%dT%H%M%SZ}")
    free, number = name, 2
    while free.exists():
        free, number = beside(name, f"-{number}"), number + 1
    return free


@contextmanager
def _temporary(target: Path) -> Iterator[Path]:
    """An empty file beside the target, taken away at the end with all that SQLite put beside it."""
    path = target.with_name(f".{target.name}-{secrets.token_hex(4)}.part")
    path.touch(exist_ok=False)
    try:
        yield path
    finally:
        for left in named(path.parent, path.name):
            left.unlink()


def _copy_live(source: Path, copy: Path, done: Progress) -> None:
    with closing(open_reading(str(source))) as old, closing(sqlite3.connect(copy)) as new:
        old.execute("BEGIN")
        # From the first read on this connection sees one state; otherwise each new entry would start the copy again.
        old.execute("SELECT count(*) FROM sqlite_master").fetchone()
        old.backup(new, pages=_PAGES_A_STEP, progress=lambda _code, left, pages: done(1 - left / max(pages, 1)))
    settle(copy)


def _copy_kept(backup_path: Path, copy: Path) -> None:
    try:
        shutil.copyfile(backup_path, copy)
        # A copy of a register that was made by hand may have its latest entries beside it.
        if beside(backup_path, "-wal").exists():
            shutil.copyfile(beside(backup_path, "-wal"), beside(copy, "-wal"))
    except OSError as error:
        raise RegisterUnusable(
            "not-written", f"The back-up could not be copied: {error}.", "Nothing was changed."
        ) from error


def _brought_back(register: Register, backup_path: Path, register_path: Path, progress: Progress) -> FilesBrought:
    """Bring the attached files back, before anything is replaced: more of them beside a register do no harm."""
    try:
        return bring_files(register, folders_of(backup_path), folder_of(register_path), progress)
    except OSError as error:
        raise RegisterUnusable(
            "not-written", f"The attached files could not be copied: {error}.", "The register was not changed."
        ) from error


def _report(copy: Path, target: Path) -> BackupReport:
    with closing(open_reading(str(copy))) as connection:
        last = connection.execute("SELECT book, no, hash FROM entry ORDER BY id DESC LIMIT 1").fetchone()
    if last is None:
        raise RegisterUnusable("not-set-up", "This register has not been set up.", "Run: pmsched init.")
    return BackupReport(target, copy.stat().st_size, last[0], last[1], seal(last[2]))


@contextmanager
def _opened(copy: Path, backup_path: Path) -> Iterator[Register]:
    """The copy as a register, brought to this program's form. Refusals to open it name the back-up, not the copy."""
    try:
        register = Register(str(copy))
        with register.reading() as connection:
            last_written(connection)
    except RegisterUnusable as error:
        message = error.message.replace(str(copy), str(backup_path))
        raise RegisterUnusable(error.code, f"{backup_path} is of no use: {message}", "Try another back-up.") from error
    with register:
        yield register


def _refuse_flawed(what: str, flaws: list[Flaw]) -> None:
    if flaws:
        count = f"{len(flaws)} flaw{'' if len(flaws) == 1 else 's'}"
        hint = {"register": "Run: pmsched verify.", "backup": "Nothing was changed. Try another back-up."}[what]
        name = {"register": "The register", "backup": "The back-up"}[what]
        raise RegisterUnusable(f"{what}-flawed", f"{name} has {count}, first: {flaws[0].message}", hint)


def _signature(connection: Connection, signer: str, at: int, offset_minutes: int) -> Signature:
    view = View(EVERYTHING, at, datetime.fromtimestamp(at + offset_minutes * 60, UTC).date())
    person: Any = person_by_code(connection, view, signer)
    if person is None or not person.active:
        here = [person.code for person in people(connection, view) if person.active]
        raise Ambiguous("unknown-person", f"Nobody in the back-up has the code {signer}.", here)
    return Signature(person.id, person.rank, at, offset_minutes)


def _opening_above(register_path: Path, book: int) -> int:
    """An opening that no register at this place, now or before, has used for the site that keeps ``book``."""
    before = [file for file in named(register_path.parent, f"{register_path.name}.replaced-") if is_database(file)]
    known = [[book], *(_books_of(file) for file in before)]
    # A register that came after those and is gone cannot be asked, like one that is damaged.
    if register_path.exists() or before:
        known.append(_books_of(register_path))
    openings = [number & ((1 << OPENING_BITS) - 1) for books in known for number in books if _same_site(number, book)]
    return max(openings) + (1 if all(known) else _LEAP)


def _books_of(file: Path) -> list[int]:
    """The books a register knows; empty if it cannot be read."""
    try:
        if is_database(file):
            with closing(open_reading(str(file))) as connection:
                return [int(no) for (no,) in connection.execute("SELECT book FROM entry UNION SELECT number FROM book")]
    except (OSError, sqlite3.Error, ValueError):
        pass
    return []


def _same_site(one: int, other: int) -> bool:
    return one >> OPENING_BITS == other >> OPENING_BITS
