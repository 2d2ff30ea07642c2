"""Files that are whole or not there: written beside their place, brought to the disk, and only then given their name.

Neither a stop, nor a full disk, nor a cut in power leaves part of a list under the name of the whole.
"""

from __future__ import annotations

import os
import secrets
import shutil
import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO, cast

from pmsched.domain.errors import Refusal


@contextmanager
def whole_file(path: Path, *, overwrite: bool = False) -> Iterator[BinaryIO]:
    """A stream that becomes the file when the block ends, and nothing when it fails or is stopped.

    Args:
        path: the file's name. What is no file (a device, a pipe) is written to directly.
        overwrite: replace a file that is there, at the last moment; else it is refused at once.

    Raises:
        Refusal: ``file-exists``, or ``cannot-write``: the place cannot be written to.
    """
    if path.exists() and not path.is_file():
        with _ended_as_stopped(), _refusing(path), path.open("wb") as direct:
            yield direct
        return
    if path.exists() and not overwrite:
        raise _taken(path)
    # A link keeps pointing at its file.
    real = path.resolve()
    part = real.with_name(f".{real.name[:100]}.{secrets.token_hex(4)}.part")
    with _ended_as_stopped(), _refusing(path):
        stream = cast("BinaryIO", part.open("xb"))
        try:
            with stream:
                yield stream
                stream.flush()
                os.fsync(stream.fileno())
            _give_name(part, real, path, overwrite=overwrite)
        finally:
            part.unlink(missing_ok=True)


@contextmanager
def _ended_as_stopped() -> Iterator[None]:
    """While a file is written, the system's request to end is the same as a stop by the person: no parts are left.

    Left alone where somebody else has taken charge of it, and outside the main thread, where it cannot be.
    """
    if threading.current_thread() is not threading.main_thread() or signal.getsignal(signal.SIGTERM) != signal.SIG_DFL:
        yield
        return

    def stop(_number: int, _frame: object) -> None:
        raise KeyboardInterrupt

    signal.signal(signal.SIGTERM, stop)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, signal.SIG_DFL)


@contextmanager
def _refusing(path: Path) -> Iterator[None]:
    try:
        yield
    except OSError as error:
        message = f"{path} cannot be written ({error.strerror or error}); no part of it was kept."
        hint = "Make room on the disk, or name another file." if _is_full(error) else "Name another file."
        raise Refusal("cannot-write", message, hint) from error


def _is_full(error: OSError) -> bool:
    import errno  # noqa: PLC0415 - only where something fails

    return error.errno in {errno.ENOSPC, errno.EDQUOT}


def _give_name(part: Path, real: Path, path: Path, *, overwrite: bool) -> None:
    if overwrite:
        if real.exists():
            shutil.copymode(real, part)
        part.replace(real)
    else:
        try:
            os.link(part, real)
        except FileExistsError:
            raise _taken(path) from None
        except OSError:
            # No second names on this file system; a file that came into being in the last moment would be overwritten.
            part.replace(real)
    _sync_folder(real.parent)


def _sync_folder(folder: Path) -> None:
    # Some systems cannot sync folders; then names are durable when the system writes them.
    with suppress(OSError):
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _taken(path: Path) -> Refusal:
    return Refusal("file-exists", f"{path} is there already.", "Name another file.")
