"""Whether the rows fit each other and the register: every code that is named exists, and no two rows contradict.

Gives problems as values, all of them; writes nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from pmsched.domain.problems import Problem
from pmsched.domain.rules import CountLimb, Rule
from pmsched.domain.written import read_rule, write_rule
from pmsched.exchange.columns import FileKind
from pmsched.exchange.rows import CounterRow, JobRow, MachineRow, PartRow, Row, UnreadRow
from pmsched.store.opening import BEGINNING
from pmsched.store.tables import JOB_REVISION, MACHINE_REVISION
from pmsched.usecases.load_follows import plan_of, units_counted, wanted_of
from pmsched.usecases.load_scene import IDENTITIES, Loading, code_column, key_of
from pmsched.usecases.load_unread import Unread
from pmsched.usecases.near_names import near

_SINGULAR: dict[FileKind, str] = {"machines": "machine", "counters": "counter", "jobs": "job"}


def check_definitions(load: Loading, unread: Unread) -> Iterator[Problem]:
    """What is wrong with people, machines, counters, jobs and parts as they refer to each other."""
    yield from _check_capitals(load)
    for machine in load.bundle.machines:
        yield from _check_machine(load, unread, machine)
    yield from _check_rings(load)
    for counter in load.bundle.counters:
        yield from _check_counter(load, unread, counter)
    for job in load.bundle.jobs:
        yield from _check_job(load, unread, job)
    for part in load.bundle.parts:
        yield from _check_part(load, unread, part)


def problem(row: Row | UnreadRow, column: str, code: str, message: str, hint: str) -> Problem:
    """A problem of one column of a row."""
    return Problem(code, row.file, row.row, column, message, hint)


def check_known(
    load: Loading, unread: Unread, kind: FileKind, code: str, row: Row | UnreadRow, column: str
) -> Iterator[Problem]:
    """A problem if nothing of that kind has that code, in the register or in the files."""
    if load.names.known(kind, code) or unread.names(kind, code):
        return
    what = _SINGULAR[kind]
    # The same code may be wrong in a hundred thousand rows.
    if (hint := load.hints.get((kind, code))) is None:
        hint = load.hints[kind, code] = _hint(load, kind, code)
    yield problem(row, column, f"unknown-{what}", f"There is no {what} {code}.", hint)


def units_of_rule(rule: Rule) -> set[str]:
    """What a rule counts on counters."""
    return {limb.unit for limb in rule.limbs if isinstance(limb, CountLimb)}


def may_count_more(load: Loading, unread: Unread, machine: str) -> bool:
    """Whether a machine may count on more than is known, because a row that says so did not read."""
    row = load.names.machine_row(machine)
    named = (follow.counter for follow in row.counts_on) if row else ()
    return (
        unread.names("machines", machine)
        or unread.names("counters", machine, "machine")
        or any(unread.names("counters", counter) for counter in named)
    )


def _hint(load: Loading, kind: FileKind, code: str) -> str:
    meant = near(code, load.names.codes(kind))
    add = f"Add it to {kind}, or correct the code."
    return f"{meant} {add}" if meant.startswith("Did") else add


def _check_capitals(load: Loading) -> Iterator[Problem]:
    """Capitals make no difference when a code is typed, so they must not tell two things apart."""
    for kind in IDENTITIES:
        column = code_column(kind)
        first: dict[str, str] = {}
        for row in getattr(load.bundle, kind):
            code = getattr(row, column)
            if (other := first.setdefault(key_of(code), code)) != code:
                message = f"'{code}' and '{other}' differ in capitals only."
                yield problem(row, column, "same-but-for-capitals", message, "Give one of them another code.")


def _check_machine(load: Loading, unread: Unread, row: MachineRow) -> Iterator[Problem]:
    if row.parent:
        yield from check_known(load, unread, "machines", row.parent, row, "parent")
    for follow in row.counts_on:
        yield from check_known(load, unread, "counters", follow.counter, row, "counts_on")
        if follow.from_on is not None and follow.from_on < BEGINNING:
            yield too_early(row, "counts_on", follow.from_on)
    yield from _check_one_counter_a_unit(load, key_of(row.code), row, "counts_on")
    yield from _check_jobs_left(load, row)


def _check_counter(load: Loading, unread: Unread, row: CounterRow) -> Iterator[Problem]:
    yield from check_known(load, unread, "machines", row.machine, row, "machine")
    machine = key_of(row.machine)
    if there := load.names.there["counters"].get(key_of(row.code)):
        yield from _check_fixed(load, row, there.machine_id)
        if there.unit != row.meter.unit:
            message = f"{row.code} counts {there.unit}; what a counter counts is fixed for life."
            yield problem(row, "unit", "fixed-for-life", message, "Give the new counter a code of its own.")
    elif load.names.machine_row(machine) is None and load.names.known("machines", machine):
        yield from _check_one_counter_a_unit(load, machine, row, "machine")


def _check_job(load: Loading, unread: Unread, row: JobRow) -> Iterator[Problem]:
    yield from check_known(load, unread, "machines", row.machine, row, "machine")
    key = key_of(row.code)
    if there := load.names.there["jobs"].get(key):
        yield from _check_fixed(load, row, there.machine_id)
        said = load.before.said(JOB_REVISION).get(there.id)
        if said is not None and said.rule == write_rule(row.rule):
            return
    machine = load.names.machine_of_job(key)
    if not load.names.known("machines", machine) or may_count_more(load, unread, machine):
        return
    for unit in sorted(units_of_rule(row.rule) - units_counted(load, machine).keys()):
        message = f"Machine {row.machine} counts on no {unit} counter."
        yield problem(row, "interval", "counts-on-nothing", message, "Give it counts_on in machines.")


def _check_part(load: Loading, unread: Unread, row: PartRow) -> Iterator[Problem]:
    if row.machine:
        yield from check_known(load, unread, "machines", row.machine, row, "machine")
    if row.since is not None and row.since > load.seen.today:
        message = f"{row.since} lies ahead of the ship's date {load.seen.today}."
        yield problem(row, "since", "in-future", message, "Check the date.")
    if row.since is not None and row.since < BEGINNING:
        yield too_early(row, "since", row.since)


def too_early(row: Row | UnreadRow, column: str, day: Any) -> Problem:
    """The problem of a date that no register reaches back to."""
    message = f"{day} is before {BEGINNING}, where every register begins."
    return problem(row, column, "too-early", message, "Check the year.")


def _check_fixed(load: Loading, row: CounterRow | JobRow, machine_id: int) -> Iterator[Problem]:
    there = load.names.code("machines", machine_id)
    if key_of(there) != key_of(row.machine):
        message = f"{row.code} belongs to {there}; that is fixed for life."
        yield problem(
            row, "machine", "fixed-for-life", message, f"Write {there}, or give the new one a code of its own."
        )


def _check_one_counter_a_unit(load: Loading, machine: str, row: Row, column: str) -> Iterator[Problem]:
    for unit, follows in wanted_of(load, machine).items():
        first: dict[Any, str] = {}
        for one in follows:
            other = first.setdefault(one.from_on or BEGINNING, one.counter)
            if other != one.counter:
                names = f"{load.names.counter_code(other)} and {load.names.counter_code(one.counter)}"
                since = f" from {one.from_on}" if one.from_on else ""
                message = f"The machine would count {unit} on {names}{since} at once."
                hint = "Name one of them in counts_on in machines, or write from when each counts."
                yield problem(row, column, "two-counters-of-a-unit", message, hint)


def _check_jobs_left(load: Loading, row: MachineRow) -> Iterator[Problem]:
    """Jobs of the register that would lose the counter that they count on."""
    machine = key_of(row.code)
    there = load.names.there["machines"].get(machine)
    if there is None or not plan_of(load, machine).ended:
        return
    counted = units_counted(load, machine).keys()
    for key, job in load.names.there["jobs"].items():
        if job.machine_id != there.id or key in load.names.rows["jobs"]:
            continue
        for unit in sorted(units_of_rule(read_rule(load.before.last(JOB_REVISION)[job.id].rule)) - counted):
            message = f"Job {job.code} counts {unit} on this machine."
            yield problem(row, "counts_on", "counts-on-nothing", message, f"Name a counter of {unit}.")


def _check_rings(load: Loading) -> Iterator[Problem]:
    """Machines that belong to themselves over others; each ring is told of once, at its first row."""
    names = load.names
    parents = {
        key: key_of(names.code("machines", load.before.last(MACHINE_REVISION)[row.id].parent_id))
        for key, row in names.there["machines"].items()
    } | {key: key_of(row.parent) for key, row in names.rows["machines"].items()}
    told: set[str] = set()
    for row in load.bundle.machines:
        ring = _ring(parents, key_of(row.code))
        if ring and told.isdisjoint(ring):
            told |= set(ring)
            written = " -> ".join(_written(load, key) for key in (*ring, ring[0]))
            message = f"The machines belong to each other in a ring: {written}."
            yield problem(row, "parent", "parent-ring", message, "Leave parent blank for the one at the top.")


def _ring(parents: dict[str, str], start: str) -> list[str]:
    """The ring that ``start`` is part of; empty if it is in none."""
    path, key = [start], parents.get(start, "")
    while key and key not in path:
        path.append(key)
        key = parents.get(key, "")
    return path if key == start else []


def _written(load: Loading, machine: str) -> str:
    row = load.names.machine_row(machine) or load.names.there["machines"][machine]
    return str(row.code)
