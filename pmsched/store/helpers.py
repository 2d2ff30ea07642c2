"""Helper processes that look for suspects side by side.

Processes, because threads do not help here: SQLite counts its memory under one lock, and two threads that both make
text were measured slower than one. A helper that fails is replaced by doing its work here.
"""

from __future__ import annotations

import json
import os
import sqlite3
import subprocess
import sys
from collections.abc import Iterator, Mapping, Sequence
from concurrent.futures import Future, ThreadPoolExecutor, as_completed
from contextlib import closing, suppress
from queue import SimpleQueue
from types import TracebackType
from typing import Self

from pmsched.store import suspects as program
from pmsched.store.suspects import open_reading, suspects

Range = tuple[int, int]
Found = list[int] | sqlite3.Error
MOST = 8


def processors() -> int:
    """How many processors this process may use."""
    may_use = getattr(os, "sched_getaffinity", None)
    return len(may_use(0)) if may_use else os.cpu_count() or 1


class Search:
    """A search for suspects in ranges of entries, begun at once. Use as a context manager.

    Args:
        file: the database file.
        texts: from ``row_text.texts``.
        ranges: as ``suspects`` takes them.
        helpers: how many processes; with 0 the search is made here, when its results are asked for.
    """

    def __init__(self, file: str, texts: Mapping[str, str], ranges: Sequence[Range], helpers: int) -> None:
        self._file, self._texts, self._ranges = file, texts, ranges
        self._threads: ThreadPoolExecutor | None = None
        self._helpers: list[subprocess.Popen[bytes]] = []
        self._idle: SimpleQueue[subprocess.Popen[bytes]] = SimpleQueue()
        self._answers: list[Future[Found]] = []
        # A packed program's executable is not a Python that could run the helper.
        if helpers and not getattr(sys, "frozen", False):
            self._start(min(helpers, MOST))

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, _error: object, _trace: TracebackType | None) -> None:
        if self._threads:
            self._threads.shutdown(cancel_futures=True)
        for helper in self._helpers:
            helper.communicate()

    def results(self) -> Iterator[Found]:
        """The suspects of one range after the other, in any order; the error instead where one cannot be read."""
        if self._threads:
            yield from (answer.result() for answer in as_completed(self._answers))
            return
        with closing(open_reading(self._file)) as connection:
            yield from (self._in(connection, one) for one in self._ranges)

    def _start(self, count: int) -> None:
        for _ in range(count):
            # Isolated and without installed packages: it starts at once and needs none.
            command = [sys.executable, "-I", "-S", program.__file__]
            # Where none can be started, and where one does not listen, the work is done here.
            with suppress(OSError):
                helper = subprocess.Popen(  # noqa: S603 - our own program
                    command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
                )
                self._helpers.append(helper)
                self._idle.put(helper)
                _tell(helper, [self._file, self._texts])
        if self._helpers:
            self._threads = ThreadPoolExecutor(len(self._helpers))
            self._answers = [self._threads.submit(self._ask, one) for one in self._ranges]

    def _ask(self, one: Range) -> Found:
        helper = self._idle.get()
        try:
            _tell(helper, one)
            answer = json.loads(helper.stdout.readline())  # type: ignore[union-attr]  # it has a pipe
            return [int(entry) for entry in answer["suspects"]]
        except (OSError, ValueError, KeyError):
            return self._here(one)
        finally:
            self._idle.put(helper)

    def _here(self, one: Range) -> Found:
        with closing(open_reading(self._file)) as connection:
            return self._in(connection, one)

    def _in(self, connection: sqlite3.Connection, one: Range) -> Found:
        try:
            return suspects(connection, self._texts, *one)
        except sqlite3.Error as error:
            return error


def _tell(helper: subprocess.Popen[bytes], what: object) -> None:
    """Send a line. Past the buffer, which would want to send its rest once more when a dead helper is cleared away."""
    line = json.dumps(what).encode() + b"\n"
    while line:
        line = line[os.write(helper.stdin.fileno(), line) :]  # type: ignore[union-attr]  # it has a pipe
