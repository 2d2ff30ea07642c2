"""A register and its deeds, as the durability tests need them.

The tests know only the functions here. Nothing here knows how a writer is killed or a file is cut. Only ``open_register``
leaves something open: the other functions are called between forks, and an open database must not go through one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Any

from sqlalchemy import event, select

from pmsched.store.register import Register
from pmsched.store.tables import ENTRY, SETTING
from pmsched.store.verify import verify as flaws
from pmsched.usecases.set_up import SetUp, set_up
from pmsched.usecases.signing import Signer, begin

SET_UP_AT = 1_750_000_000


def create_register(path: Path) -> None:
    """Make a register with one person at the path and close it; afterwards the path is its only file."""
    set_up(str(path), SetUp("MV Durable", "CE", "A. Writer", "Chief engineer"), SET_UP_AT)


def open_register(path: Path, *, pragmas: Sequence[str] = ()) -> Register:
    """Open the register for writing. Every connection runs the extra pragmas, such as ``synchronous=NORMAL``, last."""
    register = Register(str(path))
    # What opening the register connected is let go, so that every connection used from here on has the pragmas.
    register.engine.dispose()
    event.listen(register.engine, "connect", lambda connection, _record: _run(connection, pragmas))
    return register


def do_deed(register: Register, n: int) -> int:
    """Do one signed deed, the caller's n-th, and return the number of its entry once it is acknowledged."""
    with register.locked() as connection:
        work = begin(connection, Signer("CE", SET_UP_AT + n))
        work.add(SETTING, name="deed", valid_from=date(2026, 1, 1), value=n)
        receipt = work.enter("change setting")
    return receipt.no


def acknowledged_present(path: Path, numbers: Iterable[int]) -> list[int]:
    """Which of the acknowledged entry numbers are missing from the register."""
    with Register(str(path)) as register, register.reading() as connection:
        kept = set(connection.execute(select(ENTRY.c.no)).scalars())
    return sorted(set(numbers) - kept)


def verify(path: Path) -> list[str]:
    """What is wrong with the register, a line for each flaw; empty when it is sound."""
    with Register(str(path)) as register:
        return [flaw.message for flaw in flaws(register)]


def _run(connection: Any, pragmas: Sequence[str]) -> None:
    for pragma in pragmas:
        connection.execute(f"PRAGMA {pragma}")
