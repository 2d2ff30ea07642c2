"""How long a write-ahead log was when it was last synced, seen from inside the process that writes it.

It knows SQLite's C interface (through ctypes) and nothing of registers. A copy of the system's file layer is made the
default one, in which every write-ahead log gets a sync that also notes the length of the file. Needs no compiler and no
tracer, but the SQLite that Python uses must be a shared library, or one whose symbols are exported.
"""

from __future__ import annotations

import _sqlite3
import contextlib
import ctypes
import os
import sqlite3
import tempfile
from pathlib import Path
from typing import Any, ClassVar

SQLITE_OPEN_WAL = 0x80000
# The newest struct layouts known here; SQLite keeps older layouts as a prefix of newer ones.
KNOWN_VERSION = 3

_OPEN = ctypes.CFUNCTYPE(
    ctypes.c_int, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_void_p, ctypes.c_int, ctypes.POINTER(ctypes.c_int)
)
_SYNC = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int)


class WatchUnavailableError(Exception):
    """SQLite's inner functions cannot be reached from this Python; the message says why."""


class _FileMethods(ctypes.Structure):
    """``sqlite3_io_methods``, version 3: a version number and 18 functions."""

    _fields_: ClassVar[Any] = [
        ("version", ctypes.c_int),
        ("before_sync", ctypes.c_void_p * 4),  # close, read, write, truncate
        ("sync", ctypes.c_void_p),
        ("after_sync", ctypes.c_void_p * 13),
    ]


class _File(ctypes.Structure):
    """``sqlite3_file``: what follows the pointer belongs to the file layer."""

    _fields_: ClassVar[Any] = [("methods", ctypes.POINTER(_FileMethods))]


class _FileLayer(ctypes.Structure):
    """``sqlite3_vfs``, version 3."""

    _fields_: ClassVar[Any] = [
        ("version", ctypes.c_int),
        ("file_size", ctypes.c_int),
        ("max_path", ctypes.c_int),
        ("next", ctypes.c_void_p),
        ("name", ctypes.c_char_p),
        ("data", ctypes.c_void_p),
        ("open", ctypes.c_void_p),
        ("after_open", ctypes.c_void_p * 15),
    ]


class _Watch:
    """The file layer that notes syncs. It lives as long as the process: SQLite keeps pointers into it."""

    def __init__(self) -> None:
        self.log_fd_of: dict[str, int] = {}
        self._library = _library()
        self._system = self._library.sqlite3_vfs_find(None).contents
        if self._system.version < KNOWN_VERSION:
            raise WatchUnavailableError(f"SQLite's file layer is of version {self._system.version}, not 3")
        self._system_open = _OPEN(self._system.open)
        self._open_callback = _OPEN(self._open)
        self._watched_methods: dict[int, _FileMethods] = {}
        self._sync_callbacks: list[Any] = []
        self._log_fd_of_file: dict[int, int] = {}
        self._layer = self._copy_of_system_layer()
        self._library.sqlite3_vfs_register(ctypes.byref(self._layer), 1)

    def _copy_of_system_layer(self) -> _FileLayer:
        layer = _FileLayer()
        ctypes.memmove(ctypes.byref(layer), ctypes.byref(self._system), ctypes.sizeof(_FileLayer))
        layer.version = KNOWN_VERSION
        layer.next = None
        layer.name = b"wal-watch"
        layer.open = ctypes.cast(self._open_callback, ctypes.c_void_p).value
        return layer

    def _open(self, _layer: int, name: int | None, file: int, flags: int, out_flags: Any) -> int:
        """Open as the system does; a write-ahead log that is asked for gets the noting sync."""
        code = self._system_open(ctypes.addressof(self._system), name, file, flags, out_flags)
        if code == 0 and flags & SQLITE_OPEN_WAL and name:
            log_fd = self.log_fd_of.get(os.fsdecode(ctypes.string_at(name)))
            if log_fd is not None:
                self._log_fd_of_file[file] = log_fd
                watched = self._watched(_File.from_address(file).methods)
                _File.from_address(file).methods = ctypes.pointer(watched)
        return int(code)

    def _watched(self, methods: Any) -> _FileMethods:
        """A copy of the methods, made once for each kind of file, with a sync that notes the length."""
        address = ctypes.addressof(methods.contents)
        if address not in self._watched_methods:
            copy = _FileMethods()
            ctypes.memmove(ctypes.byref(copy), ctypes.byref(methods.contents), ctypes.sizeof(_FileMethods))
            copy.version = KNOWN_VERSION
            noting = self._noting_sync(copy)
            copy.sync = ctypes.cast(noting, ctypes.c_void_p).value
            self._sync_callbacks.append(noting)
            self._watched_methods[address] = copy
        return self._watched_methods[address]

    def _noting_sync(self, methods: _FileMethods) -> Any:
        system_sync = _SYNC(methods.sync)
        system_size = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.POINTER(ctypes.c_int64))(
            methods.after_sync[0]
        )

        def sync(file: int, flags: int) -> int:
            code = system_sync(file, flags)
            size = ctypes.c_int64()
            if code == 0 and system_size(file, ctypes.byref(size)) == 0:
                # One small write that does not wait in a buffer: a killed process leaves whole lines.
                os.write(self._log_fd_of_file[file], f"{size.value}\n".encode())
            return int(code)

        return _SYNC(sync)


_watches: list[_Watch] = []


def install() -> None:
    """Make the noting file layer the default one of this process, and try it on a scratch database.

    Raises:
        WatchUnavailableError: the SQLite of this Python cannot be reached, or does not go through the layer.
    """
    if not _watches:
        _watches.append(_Watch())
    if not _notes_a_commit():
        raise WatchUnavailableError("the SQLite that was found is not the one this Python writes with")


def watch_wal_syncs(database: Path, log_fd: int) -> None:
    """Write the length in bytes of the database's write-ahead log to ``log_fd``, one line after each sync.

    Holds for connections opened later in this process or in one forked from it; ``install`` must have been called.
    The line is written before the commit that caused the sync returns.
    """
    _watches[0].log_fd_of[f"{database.resolve()}-wal"] = log_fd


def last_synced_length(log: Path) -> int:
    """The length in bytes at the last sync noted in the log file; 0 when there was none."""
    lines = log.read_text().splitlines()
    return int(lines[-1]) if lines else 0


def _library() -> Any:
    """The SQLite that the standard module uses, with the functions needed here described."""
    # Looking a name up in the extension module finds it in the library the module is linked to.
    library = ctypes.CDLL(getattr(_sqlite3, "__file__", None))
    try:
        library.sqlite3_vfs_find.restype = ctypes.POINTER(_FileLayer)
        library.sqlite3_vfs_find.argtypes = [ctypes.c_char_p]
        library.sqlite3_vfs_register.argtypes = [ctypes.c_void_p, ctypes.c_int]
    except AttributeError as missing:
        raise WatchUnavailableError(f"this Python hides the functions of its SQLite ({missing})") from missing
    return library


def _notes_a_commit() -> bool:
    with tempfile.TemporaryDirectory() as folder, (Path(folder) / "log").open("wb", buffering=0) as log:
        database = Path(folder) / "scratch.db"
        watch_wal_syncs(database, log.fileno())
        with contextlib.closing(sqlite3.connect(database, isolation_level=None)) as connection:
            connection.execute("PRAGMA journal_mode=WAL")
            connection.execute("PRAGMA synchronous=FULL")
            connection.execute("CREATE TABLE scratch (a)")
            return last_synced_length(Path(log.name)) == database.with_name("scratch.db-wal").stat().st_size
