"""Kill writers in the middle of their work and report what is left: run as a program, one JSON line comes out.

Everything is imported before the first writer is forked, and no register is open at that moment, so a writer costs
milliseconds. The process has one thread only: that is what makes forking safe, and why pytest does not do it itself.

    kill_writers.py kills  REGISTER COUNT SEED                kill -9 at a random moment; the files stay as they are
    kill_writers.py cuts   REGISTER COUNT SEED [PRAGMA ...]   a power cut: what was not synced is gone
"""

from __future__ import annotations

import json
import os
import random
import select
import shutil
import signal
import sys
import time
import traceback
from collections import Counter
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, NoReturn

import deeds
import wal_watch
import writer_child

CHECK_EVERY = 10
DEEDS_PER_WRITER = 1_000_000  # more than any writer lives to do, so that no two use one number


class Writer:
    """A forked writer and the entry numbers that it has acknowledged so far.

    Attributes:
        acknowledged: the entry numbers read, in the order written.
    """

    def __init__(
        self, register: Path, *, first: int, pragmas: Sequence[str] = (), sync_log: Path | None = None
    ) -> None:
        self.acknowledged: list[int] = []
        self._tail = b""
        self._pipe, write_end = os.pipe()
        self._pid = os.fork()
        if self._pid == 0:
            _be_writer(register, write_end, first=first, pragmas=pragmas, sync_log=sync_log)
        os.close(write_end)

    def read(self, timeout_seconds: float | None = None) -> bool:
        """Take in what the writer has acknowledged; False when nothing more can come."""
        ready, _, _ = select.select([self._pipe], [], [], timeout_seconds)
        if not ready:
            return True
        chunk = os.read(self._pipe, 65536)
        *lines, self._tail = (self._tail + chunk).split(b"\n")
        self.acknowledged += map(int, lines)
        return chunk != b""

    def read_until(self, count: int) -> None:
        """Wait until the writer has acknowledged at least ``count`` deeds."""
        while len(self.acknowledged) < count and self.read():
            pass

    def kill(self) -> None:
        """Kill the writer with a signal that it cannot catch, and take in its last words.

        Raises:
            RuntimeError: it had already ended by itself.
        """
        os.kill(self._pid, signal.SIGKILL)
        while self.read():
            pass
        os.close(self._pipe)
        _, status = os.waitpid(self._pid, 0)
        if not os.WIFSIGNALED(status) or not self.acknowledged:
            raise RuntimeError("a writer ended by itself instead of being killed at work")


def _be_writer(
    register: Path, acknowledged_fd: int, *, first: int, pragmas: Sequence[str], sync_log: Path | None
) -> NoReturn:
    """The life of a forked writer; it never gets back into the program it was forked from."""
    try:
        if sync_log is not None:
            log_fd = os.open(sync_log, os.O_WRONLY | os.O_CREAT | os.O_APPEND)
            wal_watch.watch_wal_syncs(register, log_fd)
        writer_child.write_until_killed(register, acknowledged_fd, pragmas=pragmas, first=first)
    except BaseException:  # noqa: BLE001 - whatever it was, it is shown and the process must end here
        traceback.print_exc()
    os._exit(1)


def kill_writers(register: Path, count: int, seed: int) -> dict[str, Any]:
    """Kill ``count`` writers of one register, each 5 to 60 ms after its first acknowledgement.

    Every tenth time, and at the end, the register is opened and looked through; the writers between recover it alone.
    A lost entry's number is given out again by the next writer: ``twice`` lists the numbers acknowledged more than once.
    """
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    report: dict[str, Any] = {"acknowledged": [], "live_logs": 0, "missing": [], "problems": []}
    for turn in range(1, count + 1):
        writer = Writer(register, first=turn * DEEDS_PER_WRITER)
        writer.read_until(1)
        end = time.monotonic() + chance.uniform(0.005, 0.060)
        while (left := end - time.monotonic()) > 0 and writer.read(left):
            pass
        writer.kill()
        report["acknowledged"] += writer.acknowledged
        report["live_logs"] += _log_of(register).stat().st_size > 0
        if turn % CHECK_EVERY == 0 or turn == count:
            report["missing"] += deeds.acknowledged_present(register, report["acknowledged"])
            report["problems"] += deeds.verify(register)
    report["twice"] = [number for number, times in Counter(report["acknowledged"]).items() if times > 1]
    return report


def cut_power(register: Path, count: int, seed: int, pragmas: Sequence[str]) -> list[dict[str, Any]]:
    """Cut the power ``count`` times under writers of fresh copies of the register; one report for each cut.

    Checkpoints are off, so the register's main file stays as it was and all that is new is in the write-ahead log.
    """
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    wal_watch.install()
    return [
        _cut_once(register, register.parent / f"cut-{turn}", chance.randint(5, 40), pragmas)
        for turn in range(1, count + 1)
    ]


def _cut_once(pristine: Path, folder: Path, deeds_before: int, pragmas: Sequence[str]) -> dict[str, Any]:
    folder.mkdir()
    running, cut, sync_log = folder / "running.db", folder / "cut.db", folder / "syncs"
    shutil.copyfile(pristine, running)
    writer = Writer(running, first=1, pragmas=("wal_autocheckpoint=0", *pragmas), sync_log=sync_log)
    writer.read_until(deeds_before)
    writer.kill()
    # The shared-memory file is left behind: it never outlives a power cut.
    shutil.copyfile(running, cut)
    shutil.copyfile(_log_of(running), _log_of(cut))
    synced_length = wal_watch.last_synced_length(sync_log)
    os.truncate(_log_of(cut), synced_length)
    return {
        "acknowledged": writer.acknowledged,
        "main_file_untouched": running.read_bytes() == pristine.read_bytes(),
        "lost_bytes": _log_of(running).stat().st_size - synced_length,
        "missing": deeds.acknowledged_present(cut, writer.acknowledged),
        "problems": deeds.verify(cut),
    }


def _log_of(register: Path) -> Path:
    return register.with_name(f"{register.name}-wal")


def main(arguments: Sequence[str]) -> Any:
    """Do what the command line asks for; the result can be written as JSON."""
    task, register, count, seed, *pragmas = arguments
    run: dict[str, Callable[[], Any]] = {
        "kills": lambda: kill_writers(Path(register), int(count), int(seed)),
        "cuts": lambda: cut_power(Path(register), int(count), int(seed), pragmas),
    }
    try:
        return run[task]()
    except wal_watch.WatchUnavailableError as reason:
        return {"unavailable": str(reason)}


if __name__ == "__main__":
    print(json.dumps(main(sys.argv[1:])))  # noqa: T201 - the result goes to the test that started this
