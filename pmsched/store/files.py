"""Database files as files: made single, synced, named without overwriting, moved aside with all that belongs to them."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing, suppress
from pathlib import Path

from pmsched.domain.errors import RegisterUnusable

_BUSY_SECONDS = 1.0
_MAGIC = b"SQLite format 3\x00"
_COMPANIONS = ("-wal", "-shm", "-journal")


def beside(file: Path, ending: str) -> Path:
    """The file of the same name with ``ending`` after it."""
    return file.with_name(file.name + ending)


def named(folder: Path, beginning: str) -> list[Path]:
    """The files in a folder whose names begin so."""
    return sorted(path for path in folder.iterdir() if path.name.startswith(beginning))


def behind_link(file: Path) -> Path:
    """The file itself where its name is a link to it; what lies beside it lies there, and the link keeps pointing."""
    return file.resolve() if file.is_symlink() else file


def is_database(file: Path) -> bool:
    """Whether a file begins as an SQLite database does. SQLite would take away the log of one that does not."""
    with file.open("rb") as opened:
        return opened.read(len(_MAGIC)) == _MAGIC


def settle(file: Path) -> bool:
    """Bring all of a database into its one file; False if it is too damaged for that, and then it is left alone.

    Raises:
        RegisterUnusable: another program has it open.
    """
    if not is_database(file):
        return False
    with closing(sqlite3.connect(file, timeout=_BUSY_SECONDS, isolation_level=None)) as connection:
        try:
            # Both need the file for themselves: that they work proves that nobody else has it open. The first also keeps
            # SQLite from sharing memory, which does not work on network folders.
            connection.execute("PRAGMA locking_mode = EXCLUSIVE")
            return bool(connection.execute("PRAGMA journal_mode = DELETE").fetchone()[0] == "delete")
        except sqlite3.OperationalError as error:
            if error.sqlite_errorname.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
                raise RegisterUnusable(
                    "register-in-use", f"{file} is open in another program.", "Close it there and try again."
                ) from error
            return False
        except sqlite3.DatabaseError:
            return False


def move_aside(file: Path, aside: Path) -> Path | None:
    """Keep a database under another name, so that its own can be taken; None if there is no such file.

    The file keeps its old name beside the new one where the system allows that, so that there is no moment without a
    register. What SQLite left beside it must not meet the file that comes in its place.

    Raises:
        RegisterUnusable: another program has it open.
    """
    if not file.exists():
        return None
    whole = settle(file)
    for companion in (beside(file, ending) for ending in _COMPANIONS):
        if companion.exists() and whole:
            companion.unlink()
        elif companion.exists():
            companion.rename(aside.with_name(aside.name + companion.name.removeprefix(file.name)))
    try:
        os.link(file, aside)
    except OSError:
        file.rename(aside)
    return aside


def give_name(file: Path, name: Path) -> None:
    """Give a finished file its name, and make the name durable. Raises RegisterUnusable if the name is taken."""
    try:
        os.link(file, name)
    except OSError as error:
        # Where a file system has no second names it may say so before it says that the name is taken.
        if isinstance(error, FileExistsError) or os.path.lexists(name):
            raise RegisterUnusable("target-exists", f"{name} exists already.", "Choose a name that is free.") from error
        # A file that came into being in the last moment would be overwritten.
        file.replace(name)
    sync(name.parent)


def sync(path: Path) -> None:
    """Have a file, or the names in a folder, written to the disk."""
    if not path.is_dir():
        with path.open("r+b") as file:
            os.fsync(file.fileno())
        return
    # Some systems cannot sync folders; then names are durable when the system writes them.
    with suppress(OSError):
        handle = os.open(path, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
