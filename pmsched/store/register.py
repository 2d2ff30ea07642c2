"""The open register: where it lies, how it is opened, and the two kinds of transaction."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Self

from sqlalchemy import Connection
from sqlalchemy.exc import ArgumentError, DatabaseError, OperationalError

from pmsched.domain.errors import RegisterUnusable
from pmsched.store.book import Signature, Work
from pmsched.store.engine import BEGIN, connect, sqlite_file
from pmsched.store.migrate import ensure_schema

_NETWORK_FILE_SYSTEMS = frozenset({"nfs", "nfs4", "cifs", "smb3", "smbfs", "9p", "fuse.sshfs", "afs"})


class Register:
    """A register that is open. Use as a context manager, or call ``close``.

    Args:
        target: a file name or a database URL.
        create: make the register if there is none.

    Raises:
        RegisterUnusable: none there, damaged, newer than the program, or on a network folder.
    """

    def __init__(self, target: str, *, create: bool = False) -> None:
        self.target = target
        self.file = sqlite_file(target)
        if self.file is not None:
            _check_place(self.file, create=create)
        try:
            self.engine = connect(target)
        except (ArgumentError, ImportError) as error:
            raise RegisterUnusable(
                "no-such-database",
                f"'{target}' is not a register this program can open.",
                "Give a file, or a database URL.",
            ) from error
        self._writer = self.engine.execution_options(**{BEGIN: "IMMEDIATE"})
        try:
            self.copy_before_upgrade = ensure_schema(self.engine, create=create)
        except DatabaseError as error:
            self.close()
            said = str(error.orig)
            closed = "unable to open" in said or "readonly" in said
            hint = "Check that you may read and write the file and its folder." if closed else "Restore a back-up."
            raise RegisterUnusable(
                "register-unreadable", f"{target} cannot be used as a register: {said}.", hint
            ) from error
        except RegisterUnusable:
            self.close()
            raise

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_error: object) -> None:
        self.close()

    def close(self) -> None:
        """Let the files go."""
        self.engine.dispose()

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """A connection that sees one unchanging state of the register; it cannot be kept."""
        with _spoken_plainly(self.target), self.engine.connect() as connection, connection.begin():
            yield connection

    @contextmanager
    def locked(self, *, rehearse: bool = False) -> Iterator[Connection]:
        """A connection under the write lock, committed when the block ends and rolled back when it fails.

        Args:
            rehearse: roll back at the end: to see what a deed would touch.
        """
        with _spoken_plainly(self.target), self._writer.connect() as connection, connection.begin() as transaction:
            yield connection
            if rehearse:
                transaction.rollback()

    @contextmanager
    def writing(self, signature: Signature, *, book: int | None = None, rehearse: bool = False) -> Iterator[Work]:
        """A unit of work under the write lock, for a signature at hand; see ``locked``.

        Args:
            signature: who signs.
            book: the book to open; by default the one this copy writes in.
            rehearse: roll back at the end.
        """
        with self.locked(rehearse=rehearse) as connection:
            yield Work(connection, signature, book)


@contextmanager
def _spoken_plainly(target: str) -> Iterator[None]:
    """A database that cannot be used is a refusal with what to do, not a fault of the program."""
    try:
        yield
    except OperationalError as error:
        said = str(error.orig)
        if "locked" in said or "busy" in said:
            hint = "Another program is writing; nothing was written here. Try again in a moment."
        elif "full" in said:
            hint = "Nothing was written. Make room on the disk and try again."
        else:
            hint = "Nothing was written. Check that the file can be read and written."
        raise RegisterUnusable("register-unusable", f"{target} cannot be used: {said}.", hint) from error


def _check_place(file: Path, *, create: bool) -> None:
    if not file.exists():
        if not create:
            raise RegisterUnusable("no-register", f"There is no register at {file}.", "Run: pmsched init.")
        file.parent.mkdir(parents=True, exist_ok=True)
    if (kind := file_system_of(file.parent)) in _NETWORK_FILE_SYSTEMS:
        raise RegisterUnusable(
            "network-folder",
            f"{file} lies on a network folder ({kind}); entries could be lost there.",
            "Keep the register on a disk of this computer, and its back-ups on the network.",
        )


def file_system_of(folder: Path) -> str:
    """The kind of file system a folder lies on, as the system names it; empty where it does not say."""
    mounts = Path("/proc/mounts")
    if not mounts.exists():
        return ""
    where, best, kind = str(folder.resolve()), "", ""
    for line in mounts.read_text(encoding="utf-8", errors="replace").splitlines():
        _device, point, found, *_ = line.split()
        if len(point) >= len(best) and (where == point or where.startswith(point.rstrip("/") + "/")):
            best, kind = point, found
    return kind
