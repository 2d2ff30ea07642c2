"""Ask for the machines: the tree in walking order, the ones found by any of their names, and one machine's card."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.clocks import ShipClock
from pmsched.domain.counters import Rate
from pmsched.domain.counts import Meter
from pmsched.domain.due import State
from pmsched.domain.errors import NotFound
from pmsched.store.due_facts import counter_rows, counts_on
from pmsched.store.lookups import aliases, counters, machines
from pmsched.store.part_facts import parts_now
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueFilter, DueRow, Header, due_list, header
from pmsched.usecases.ask_isolations import IsolationRow, isolation_rows
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
    """Everything about one machine; ``path`` holds the codes from the top of the tree down to it.

    ``isolations`` are those of the machine and of what it belongs to that stand now; ``clock`` shows their times.
    """

    header: Header
    clock: ShipClock
    machine: MachineRow
    path: tuple[str, ...]
    children: tuple[str, ...]
    counters: tuple[CounterLine, ...]
    counts_on: tuple[CountsOn, ...]
    jobs: tuple[DueRow, ...]
    parts: tuple[PartLine, ...]
    isolations: tuple[IsolationRow, ...]


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
        path = tuple(_path(rows, row))
        codes = {machine.id: machine.code for machine in machines(connection, seen.view)}
        machine_id = next(found for found, known in codes.items() if known == row.code)
        follows = _follows(connection, seen)
        card = MachineCard(
            header(connection, seen, asked),
            seen.clock,
            row,
            path,
            tuple(other.code for other in rows if other.parent == row.code),
            tuple(_counters(connection, seen, machine_id, codes, follows)),
            tuple(_counts_on(connection, seen, machine_id, codes, follows)),
            (),
            tuple(_parts(connection, seen, machine_id)),
            tuple(one for one in isolation_rows(connection, seen) if one.machine in path),
        )
    jobs = due_list(register, asked, DueFilter(within_days=None, machine=row.code)).rows
    return card._replace(jobs=jobs)


def _tree(connection: Connection, seen: Scene) -> Iterator[MachineRow]:
    """Every machine, children after their parent, in walking order."""
    every = list(machines(connection, seen.view))
    known = {machine.id for machine in every}
    children: dict[int | None, list[Any]] = defaultdict(list)
    for machine in every:
        children[machine.parent_id if machine.parent_id in known else None].append(machine)
    names: dict[int, list[str]] = defaultdict(list)
    for alias in aliases(connection, seen.view):
        names[alias.machine_id].append(alias.name)
    states = _states(connection, seen)
    todo = [(0, "", machine) for machine in reversed(children[None])]
    while todo:
        depth, parent, machine = todo.pop()
        found = states.get(machine.id, [])
        yield MachineRow(
            depth, machine.code, machine.name, tuple(names[machine.id]), parent, machine.department, machine.critical,
            machine.active, len(found), max(found).word if found else "",
        )  # fmt: skip
        todo += [(depth + 1, machine.code, child) for child in reversed(children[machine.id])]


def _states(connection: Connection, seen: Scene) -> dict[int, list[State]]:
    states: dict[int, list[State]] = defaultdict(list)
    for found in standings(connection, seen):
        states[found.machine_id].append(found.standing.state)
    return states


def _names(row: MachineRow) -> str:
    return "\n".join((row.code, row.name, *row.other_names)).lower()


def _called(rows: list[MachineRow], code: str) -> MachineRow:
    wanted = code.strip().lower()
    for row in rows:
        if row.code.lower() == wanted:
            return row
    named = [row for row in rows if wanted in {name.lower() for name in (row.name, *row.other_names)}]
    if len(named) == 1:
        return named[0]
    raise NotFound("unknown-machine", f"There is no machine {code}.", near(code, (row.code for row in rows)))


def _path(rows: list[MachineRow], row: MachineRow) -> list[str]:
    parents = {one.code: one.parent for one in rows}
    path = [row.code]
    while parents[path[0]]:
        path.insert(0, parents[path[0]])
    return path


def _follows(connection: Connection, seen: Scene) -> dict[tuple[int, str], Any]:
    """Whose counter each machine counts on now, by machine and unit."""
    return {(row.machine_id, row.unit): row for row in counts_on(connection, seen.view)}


def _counters(
    connection: Connection, seen: Scene, machine_id: int, codes: dict[int, str], follows: dict[tuple[int, str], Any]
) -> Iterator[CounterLine]:
    counts = counter_counts(connection, seen, periods_of(connection, seen))
    last = {row[0]: row for row in counter_rows(connection, seen.view, seen.settings.rate_window_days)}
    for row in counters(connection, seen.view):
        if row.machine_id != machine_id:
            continue
        counted_by = tuple(codes[f.machine_id] for f in follows.values() if f.counter_id == row.id)
        line = CounterLine(
            row.code, row.name, Meter(row.unit, row.reads), None, None, None, None, None, None, held=False,
            counted_by=counted_by,
        )  # fmt: skip
        if count := counts.get(row.id):
            _id, _unit, _reads, _reading, read_at, _offset, dial, *_first = last[row.id]
            line = line._replace(
                dial=dial, total=count.total, read_at=read_at, read_on=count.on, rate=count.rate, held=count.held,
                age_days=(seen.today - count.on).days,
            )  # fmt: skip
        yield line


def _counts_on(
    connection: Connection, seen: Scene, machine_id: int, codes: dict[int, str], follows: dict[tuple[int, str], Any]
) -> Iterator[CountsOn]:
    totals = machine_counts(connection, seen).get(machine_id, {})
    by_id = {row.id: row for row in counters(connection, seen.view)}
    for (owner, unit), row in follows.items():
        if owner == machine_id:
            counter, count = by_id[row.counter_id], totals.get(unit)
            yield CountsOn(
                unit, counter.code, codes[counter.machine_id], row.from_on, Fraction(row.share_num, row.share_den),
                count.total if count else None,
            )  # fmt: skip


def _parts(connection: Connection, seen: Scene, machine_id: int) -> Iterator[PartLine]:
    for row in parts_now(connection, seen.view):
        if row.machine_id == machine_id:
            yield PartLine(row.serial, row.name or "", row.moved_on, row.since_overhaul, row.since_new, row.note or "")
