"""The folder beside a register in which the attached files lie, each by the hash of its content.

It is ``<register file>.files``; a file lies in it as ``ab/ab...`` (SHA-256, hexadecimal), is never changed and never
taken away. Knows files; nothing of reports, and not how a file is taken in (see ``staged_files``).
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
from collections.abc import Iterable, Iterator
from contextlib import ExitStack, suppress
from pathlib import Path

from pmsched.domain.errors import NotAllowed, Refusal, RegisterUnusable
from pmsched.store.files import behind_link, give_name, sync

BESIDE_BACKUPS = "pmsched.files"
"""The folder in which the back-ups of a folder keep the attached files of all of them together."""

CHUNK = 1 << 20
"""How many bytes are read at a time."""

_ENDING = ".files"
# A register that was put aside shares the folder of the one in whose place it was.
_ASIDE = re.compile(r"(\.replaced-\d{8}T\d{6}Z(-\d+)?|\.before-\d+-to-\d+)+$")
_HASH = re.compile(r"[0-9a-f]{64}")
_PART = re.compile(r"\.[0-9a-f]{16}\.part")
_OLD_SECONDS = 86_400


def folder_of(register_file: Path) -> Path:
    """The folder in which a register keeps its attached files; it need not be there."""
    file = behind_link(register_file)
    return file.with_name(_ASIDE.sub("", file.name) + _ENDING)


def folders_of(register_file: Path) -> tuple[Path, ...]:
    """Where the attached files of a register may lie: in its own folder, or, for a back-up, in that of all back-ups."""
    return folder_of(register_file), behind_link(register_file).with_name(BESIDE_BACKUPS)


def place_in(folder: Path, sha256: str) -> Path | None:
    """Where a file lies in such a folder; None for what is no hash, and so names no place."""
    return folder / sha256[:2] / sha256 if _HASH.fullmatch(sha256) else None


def kept_at(folders: Iterable[Path], sha256: str) -> Iterator[Path]:
    """Where a file lies, in the order of the folders; nothing where none has it. Its content is not looked at.

    A place that cannot be looked at is among them: to read it then says what is wrong with it.
    """
    places = (place_in(folder, sha256) for folder in folders)
    return (place for place in places if place is not None and _may_be_there(place))


def files_in(folder: Path) -> Iterator[Path]:
    """Every file in such a folder, as far as it can be looked at; nothing where there is no folder."""
    for place, _folders, names in os.walk(folder):
        for path in (Path(place, name) for name in names):
            with suppress(OSError):
                if path.is_file():
                    yield path


def hash_of(file: Path) -> str:
    """The SHA-256 of a file's content, hexadecimal. Raises OSError."""
    with file.open("rb") as stream:
        return hashlib.file_digest(stream, "sha256").hexdigest()


def bring(source: Path, folder: Path, sha256: str) -> bool:
    """Copy a kept file into another such folder; False if it cannot be read or is not what it should be.

    Raises:
        OSError: the folder cannot be written.
    """
    if place_in(folder, sha256) is None:
        return False
    folder.mkdir(exist_ok=True)
    with ExitStack() as parts:
        part = new_part(folder)
        try:
            _size, found = copy_of(_chunks_of(source), part, parts)
        except _UnreadableError:
            return False
        if found == sha256:
            put_in(folder, part, sha256)
        return found == sha256


def write_out(source: Path, target: Path, sha256: str) -> None:
    """Copy a kept file to a name that is free, whole or not at all.

    Raises:
        NotAllowed: the kept file cannot be read, or is not what was signed.
        Refusal: the name is taken, or the file cannot be written.
    """
    part = new_part(target.parent)
    try:
        with ExitStack() as parts:
            _size, found = copy_of(_chunks_of(source), part, parts)
            if found != sha256:
                raise NotAllowed(
                    "attachment-altered",
                    f"The kept file {source} was altered since it was signed; it is not written out.",
                    "Run: pmsched verify.",
                )
            give_name(part, target)
    except _UnreadableError as error:
        said = f"The kept file {source} cannot be read ({error})."
        raise NotAllowed("attachment-unreadable", said, "Run: pmsched verify.") from error
    except RegisterUnusable:
        raise Refusal("file-exists", f"{target} is there already.", "Name another file.") from None
    except OSError as error:
        said = f"{target} cannot be written ({error.strerror})."
        raise Refusal("cannot-write", said, "Name another file.") from error


def new_part(folder: Path) -> Path:
    """A name in a folder for a copy that is not whole yet."""
    return folder / f".{secrets.token_hex(8)}.part"


def clear_parts(folder: Path) -> None:
    """Take away copies that a program which was killed left there more than a day ago; one that cannot go stays."""
    with suppress(OSError):
        left = [path for path in folder.iterdir() if _PART.fullmatch(path.name)]
        if not left:
            return
        # A new file tells the time by the same clock as the others.
        probe = new_part(folder)
        probe.touch()
        now = probe.stat().st_mtime
        probe.unlink()
        for path in left:
            with suppress(OSError):
                if now - path.stat().st_mtime > _OLD_SECONDS:
                    path.unlink()


def copy_of(chunks: Iterable[bytes], part: Path, parts: ExitStack) -> tuple[int, str]:
    """Write a new file, synced; its size and hash. It goes when ``parts`` ends."""
    digest, size = hashlib.sha256(), 0
    parts.callback(part.unlink, missing_ok=True)
    with part.open("xb") as copy:
        for chunk in chunks:
            copy.write(chunk)
            digest.update(chunk)
            size += len(chunk)
        copy.flush()
        os.fsync(copy.fileno())
    return size, digest.hexdigest()


def put_in(folder: Path, part: Path, sha256: str) -> int:
    """Give a copy its place, durably; 0 if the same content lies there already."""
    place = folder / sha256[:2] / sha256
    with suppress(OSError):
        if place.stat().st_size == part.stat().st_size and hash_of(place) == sha256:
            return 0
    if not place.parent.is_dir():
        place.parent.mkdir(parents=True, exist_ok=True)
        sync(folder)
        sync(folder.parent)
    part.replace(place)
    sync(place.parent)
    return 1


def _may_be_there(place: Path) -> bool:
    try:
        return place.is_file()
    except OSError:
        return True


class _UnreadableError(Exception):
    """A kept file cannot be read; a file that cannot be written is another thing."""


def _chunks_of(source: Path) -> Iterator[bytes]:
    try:
        with source.open("rb") as stream:
            while chunk := stream.read(CHUNK):
                yield chunk
    except OSError as error:
        raise _UnreadableError(error.strerror) from error
