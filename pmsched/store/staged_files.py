"""Taking files in: each is read whole into a copy of its own, outside the lock, and given its place just before the commit.

A file is written and synced before the entry that names it: a crash can leave a file that no entry names, which does no
harm, and never an entry without its file. Knows files; nothing of reports.
"""

from __future__ import annotations

import errno
import stat
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from pmsched.domain.errors import NotAllowed, NotFound, RegisterUnusable
from pmsched.domain.file_names import safe_name, size_text
from pmsched.domain.plain import plain
from pmsched.store.attached_files import CHUNK, clear_parts, copy_of, folder_of, new_part, put_in
from pmsched.store.register import Register

MOST_BYTES = 50 * 1000 * 1000
"""The greatest size of one file. A photo of a telephone has 2 to 8 million bytes."""

_UNKNOWN_TYPE = "application/octet-stream"
_MORE_TYPES = {
    ".webp": "image/webp",
    ".heic": "image/heic",
    ".heif": "image/heif",
    ".docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    ".xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
}


class StagedFile(NamedTuple):
    """A file read whole, ready to be kept.

    Attributes:
        name: as given, made safe; ``media_type`` is guessed from its ending.
        size: bytes.
        sha256: of its content, hexadecimal.
        part: where the copy lies until it gets its place.
    """

    name: str
    media_type: str
    size: int
    sha256: str
    part: Path


class Staged:
    """Files ready to be kept, and the folder they go to."""

    def __init__(self, folder: Path | None, files: Sequence[StagedFile]) -> None:
        self._folder = folder
        self.files = tuple(files)

    def keep(self, files: Sequence[StagedFile]) -> int:
        """Give some of the files their places; they are on the disk when this returns.

        A file of the same content that is there already is left alone. One that was altered or lost is put back.

        Returns:
            How many had to be written.

        Raises:
            RegisterUnusable: the folder cannot be written.
        """
        with _told(self._folder):
            return sum(put_in(self._folder, file.part, file.sha256) for file in files if self._folder)


@contextmanager
def staged(register: Register, sources: Sequence[Path]) -> Iterator[Staged]:
    """Files read whole into copies of their own, which are taken away at the end unless they were kept.

    All are looked at before the first is read; the same content twice is one file. Nothing is done where none is named.

    Raises:
        NotFound: a file is not there.
        NotAllowed: it is no file, empty, too large, or cannot be read.
        Refusal: the register is no file, so that nothing can lie beside it.
        RegisterUnusable: the folder cannot be written.
    """
    if not sources:
        yield Staged(None, ())
        return
    if register.file is None:
        raise NotAllowed(
            "no-place-for-files",
            "This register lies in a database server; files cannot be kept beside it.",
            "Keep the file elsewhere, and name it in the remarks.",
        )
    for source in sources:
        _look_at(source)
    folder = folder_of(register.file)
    with ExitStack() as parts:
        found: dict[str, StagedFile] = {}
        with _told(folder):
            folder.mkdir(exist_ok=True)
            clear_parts(folder)
            for source in sources:
                file = _read(source, new_part(folder), parts)
                found.setdefault(file.sha256, file)
        yield Staged(folder, tuple(found.values()))


def media_type_of(name: str) -> str:
    """The media type that a name's ending stands for (RFC 2046); application/octet-stream for an unknown one."""
    found, packed = _types().guess_type(name)
    return str(found) if found and not packed else _UNKNOWN_TYPE


@cache
def _types() -> Any:
    import mimetypes  # noqa: PLC0415 - a few milliseconds, only where a file is attached

    # An object of its own: what the computer's own lists say would differ from one to the next.
    types = mimetypes.MimeTypes()
    for ending, kind in _MORE_TYPES.items():
        types.add_type(kind, ending)
    return types


def _look_at(source: Path) -> None:
    """Refuse what is no file to be kept, before anything is read; a pipe would never end."""
    try:
        found = source.stat()
    except (FileNotFoundError, NotADirectoryError):
        raise NotFound("no-such-file", f"There is no file {source}.", "Check its name and folder.") from None
    except (OSError, ValueError) as error:
        raise _unreadable(source, error) from error
    if not stat.S_ISREG(found.st_mode):
        raise NotAllowed("not-a-file", f"{source} is no file.", "Name the files one by one.")
    _check_size(source, found.st_size)


def _check_size(source: Path, size: int) -> None:
    if size == 0:
        raise NotAllowed("file-empty", f"{source} is empty.", "Copy it again from where it came.")
    if size > MOST_BYTES:
        raise NotAllowed(
            "file-too-large",
            f"{source} has {size_text(size)}; the most is {size_text(MOST_BYTES)}.",
            "Make the photo smaller or cut the film, and attach that.",
        )


def _read(source: Path, part: Path, parts: ExitStack) -> StagedFile:
    size, sha256 = copy_of(_chunks_of(source), part, parts)
    # It may have changed since it was looked at.
    _check_size(source, size)
    name = safe_name(source.name)
    return StagedFile(name, media_type_of(name), size, sha256, part)


def _chunks_of(source: Path) -> Iterator[bytes]:
    """A file in parts, a little more than the most at most. Raises NotAllowed where it cannot be read."""
    taken = 0
    try:
        with source.open("rb") as stream:
            while taken <= MOST_BYTES and (chunk := stream.read(CHUNK)):
                taken += len(chunk)
                yield chunk
    except OSError as error:
        raise _unreadable(source, error) from error


@contextmanager
def _told(folder: Path | None) -> Iterator[None]:
    """A folder that cannot be written is a refusal with what to do."""
    try:
        yield
    except OSError as error:
        hint = "Make room on the disk" if error.errno == errno.ENOSPC else "Check that the folder can be written"
        raise RegisterUnusable(
            "files-not-kept", f"Files cannot be kept in {folder}: {error}.", f"{hint}; nothing was entered."
        ) from error


def _unreadable(source: Path, error: Exception) -> NotAllowed:
    said = getattr(error, "strerror", None) or str(error)
    return NotAllowed("file-unreadable", f"{source} cannot be read ({plain(said)}).", "Check that you may read it.")
