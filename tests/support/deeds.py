"""A register and its deeds, as small as the durability tests need them.

The tests know only the functions here. Nothing here knows how a writer is killed or a file is cut. Only ``open_register``
leaves something open: the other functions are called between forks, and an open database must not go through one.
"""

from __future__ import annotations

import contextlib
import sqlite3
from collections.abc import Iterable, Sequence
from pathlib import Path

Register = sqlite3.Connection


def create_register(path: Path) -> None:
    """Make an empty register at the path and close it; afterwards the path is its only file."""
    with contextlib.closing(_connect(path)) as register:
        register.execute("CREATE TABLE entry (no INTEGER PRIMARY KEY, body TEXT NOT NULL)")


def open_register(path: Path, *, pragmas: Sequence[str] = ()) -> Register:
    """Open the register for writing. Every connection runs the extra pragmas, such as ``synchronous=NORMAL``, last."""
    register = _connect(path)
    for pragma in pragmas:
        register.execute(f"PRAGMA {pragma}")
    return register


def do_deed(register: Register, n: int) -> int:
    """Do one signed deed, the caller's n-th, and return the number of its entry once it is acknowledged."""
    register.execute("BEGIN IMMEDIATE")
    number = register.execute("INSERT INTO entry (body) VALUES (?)", (_body(n),)).lastrowid
    register.execute("COMMIT")
    if number is None:
        raise RuntimeError("the insert gave no entry number")
    return number


def acknowledged_present(path: Path, numbers: Iterable[int]) -> list[int]:
    """Which of the acknowledged entry numbers are missing from the register."""
    with contextlib.closing(_connect(path)) as register:
        kept = {number for (number,) in register.execute("SELECT no FROM entry")}
    return sorted(set(numbers) - kept)


def verify(path: Path) -> list[str]:
    """What is wrong with the register, a line for each problem; empty when it is sound."""
    with contextlib.closing(_connect(path)) as register:
        (finding,) = register.execute("PRAGMA quick_check(1)").fetchone()
        if finding != "ok":
            return [str(finding)]
        rows = register.execute("SELECT no, body FROM entry ORDER BY no").fetchall()
    problems = [f"entry {no} has the body {body!r}" for no, body in rows if not body.startswith(_body(0)[:-1])]
    if [no for no, _ in rows] != list(range(1, len(rows) + 1)):
        problems.append("the entry numbers have a gap")
    return problems


def _connect(path: Path) -> Register:
    register = sqlite3.connect(path, isolation_level=None)
    for pragma in ("journal_mode=WAL", "synchronous=FULL", "busy_timeout=5000"):
        register.execute(f"PRAGMA {pragma}")
    return register


def _body(n: int) -> str:
    return f"reading taken, deed {n}"
