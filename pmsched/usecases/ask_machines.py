"""Ask for the machines: the tree in walking order, the ones found by any of their names, and one machine's card."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.counters import Rate
from pmsched.domain.counts import Meter
from pmsched.domain.due import State
from pmsched.domain.errors import NotFound
from pmsched.store.due_facts import counter_rows, counts_on
from pmsched.store.lookups import aliases, counters, machines
from pmsched.store.part_facts import parts_now
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueRow, Header, due_rows_of, header
from pmsched.usecases.counting import counter_counts, machine_counts, periods_of
from pmsched.usecases.near_names import near
from pmsched.usecases.standings import standings
from pmsched.usecases.views import Asked, Scene, scene


class MachineRow(NamedTuple):
    """One machine of the tree.

    Attributes:
        depth: steps below the top of the tree.
        code, name, other_names, department, critical: what is said of it.
        parent: code of the machine it belongs to; empty at the top.
        active: it is in use.
        jobs: job units on it; ``state`` is the most urgent of their states as a word, empty without any.
    """

    depth: int
    code: str
    name: str
    other_names: tuple[str, ...]
    parent: str
    department: str
    critical: bool
    active: bool
    jobs: int
    state: str


class MachineList(NamedTuple):
    """Machines in walking order, children after their parent, and how many there are in all."""

    header: Header
    rows: tuple[MachineRow, ...]
    looked_at: int


class CounterLine(NamedTuple):
    """A counter a machine carries.

    Attributes:
        code, name, meter: what it is.
        dial, total: last reading on the dial and as running total, in base units; None if it was never read.
        read_at, read_on, age_days: when that was, and how many days ago.
        rate: use; None when it could not be measured.
        held: a reading of it waits to be settled.
        counted_by: codes of the machines that count on it.
    """

    code: str
    name: str
    meter: Meter
    dial: int | None
    total: int | None
    read_at: int | None
    read_on: date | None
    age_days: int | None
    rate: Rate | None
    held: bool
    counted_by: tuple[str, ...]


class CountsOn(NamedTuple):
    """A counter a machine counts on: whose it is, since when, which share, and the machine's own running total."""

    unit: str
    counter: str
    machine: str
    from_on: date
    share: Fraction
    total: int | None


class PartLine(NamedTuple):
    """A part fitted to a machine: since when, and its own seconds since overhaul and new when it came (None: not known)."""

    serial: str
    name: str
    since: date
    since_overhaul: int | None
    since_new: int | None
    note: str


class MachineCard(NamedTuple):
    """Everything about one machine; ``path`` holds the codes from the top of the tree down to it."""

    header: Header
    machine: MachineRow
    path: tuple[str, ...]
    children: tuple[str, ...]
    counters: tuple[CounterLine, ...]
    counts_on: tuple[CountsOn, ...]
    jobs: tuple[DueRow, ...]
    parts: tuple[PartLine, ...]


def machine_list(register: Register, asked: Asked, words: str = "") -> MachineList:
    """The tree, or the machines whose code, name or other names hold all the words (any case)."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        every = list(_tree(connection, seen))
        wanted = words.lower().split()
        found = tuple(row for row in every if all(word in _names(row) for word in wanted))
        return MachineList(header(connection, seen, asked), found, len(every))


def machine_card(register: Register, asked: Asked, code: str) -> MachineCard:
    """The card of the machine of that code or other name (any case). Raises NotFound with near codes."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        rows = list(_tree(connection, seen))
        row = _called(rows, code)
        by_code = {machine.code: machine for machine in machines(connection, seen.view)}
        machine = by_code[row.code]
        codes = {m.id: m.code for m in by_code.values()}
        follows = [_current for _current in _follows(connection, seen)]
        return MachineCard(
            header(connection, seen, asked),
            row,
            tuple(_path(rows, row)),
            tuple(other.code for other in rows if other.parent == row.code),
            tuple(_counters(connection, seen, machine.id, codes, follows)),
            tuple(_counts_on(connection, seen, machine.id, codes, follows)),
            due_rows_of(connection, seen, machine.id),
            tuple(_parts(connection, seen, machine.id)),
        )
