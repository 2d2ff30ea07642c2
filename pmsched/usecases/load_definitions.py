"""Loading what things are: people, machines, counters, jobs and parts, with what is said of them.

What is new begins with the register's first day. What a file says otherwise than it did when it was loaded last
becomes a new revision; what was changed in the program since, and not in the file, stays.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from sqlalchemy import Table

from pmsched.domain.errors import NotAllowed
from pmsched.domain.limbs import write_amount
from pmsched.domain.written import write_rule
from pmsched.exchange.columns import FileKind
from pmsched.exchange.rows import CounterRow, JobRow, MachineRow
from pmsched.store.loaded_facts import version_now
from pmsched.store.opening import BEGINNING
from pmsched.store.tables import (
    ALIAS,
    COUNTER_REVISION,
    JOB_REVISION,
    JOB_UNIT,
    MACHINE_REVISION,
    METER_PERIOD,
    PERSON_REVISION,
)
from pmsched.usecases.load_changes import Change, shown
from pmsched.usecases.load_orders import settled_orders
from pmsched.usecases.load_scene import IDENTITIES, Loading, code_column, key_of
from pmsched.usecases.load_units import unit_changes

_HEADINGS = {
    "parent_id": "parent",
    "walking_order": "order",
    "rule": "interval",
    "dial_start": "dial_start",
    "base": "total_start",
}
_ALL_TIME = 0


def load_people(load: Loading) -> None:
    """The people."""
    for row in load.bundle.people:
        person, new = identify(load, "people", row.code)
        columns = {"name": row.name, "rank": row.rank, "department": row.department}
        changes = define(load, PERSON_REVISION, person, columns, active=True)
        load.tally.saw("people", row.code, row, changes, new=new)


def load_machines(load: Loading) -> None:
    """The machines, their places in the tree and their other names; what they count on follows with the counters."""
    rows = load.bundle.machines
    # All of them first: a parent may stand below its child in the file.
    made = [identify(load, "machines", row.code) for row in rows]
    orders = settled_orders(rows, _orders_said(load, MACHINE_REVISION, made))
    for row, order, (machine, new) in zip(rows, orders, made, strict=True):
        columns = {
            "name": row.name,
            "parent_id": load.names.ids["machines"][key_of(row.parent)] if row.parent else None,
            "walking_order": order,
            "critical": row.critical,
            "department": row.department,
        }
        changes = define(load, MACHINE_REVISION, machine, columns, active=True)
        changes += _other_names(load, row, machine)
        load.tally.saw("machines", row.code, row, [] if new else changes, new=new)


def load_counters(load: Loading) -> None:
    """The counters, and what their dials showed when their record here begins."""
    rows = load.bundle.counters
    made = [
        identify(
            load, "counters", row.code, machine_id=load.names.ids["machines"][key_of(row.machine)], unit=row.meter.unit
        )
        for row in rows
    ]
    orders = settled_orders(rows, _orders_said(load, COUNTER_REVISION, made))
    for row, order, (counter, new) in zip(rows, orders, made, strict=True):
        columns = {"name": _counter_name(load, row, counter), "reads": row.meter.reads, "walking_order": order}
        changes = define(load, COUNTER_REVISION, counter, columns)
        changes += _meter_start(load, row, counter)
        load.tally.saw("counters", row.code, row, changes, new=new)


def load_jobs(load: Loading) -> None:
    """The jobs, their rules and their units; where a job never done begins follows with the last doings."""
    for row in load.bundle.jobs:
        machine = load.names.ids["machines"][key_of(row.machine)]
        job, new = identify(load, "jobs", row.code, machine_id=machine)
        changes = define(load, JOB_REVISION, job, job_columns(row), active=True)
        changes += _units(load, row, job)
        load.tally.saw("jobs", row.code, row, [] if new else changes, new=new)


def job_columns(row: JobRow) -> dict[str, Any]:
    """What the row of a job says of it, as columns of its revision."""
    return {
        "title": row.title,
        "rule": write_rule(row.rule),
        "department": row.department,
        "rank": row.rank,
        "critical": row.critical,
        "class_item": row.class_item,
        "cautions": "\n".join(row.cautions),
        "steps": "\n".join(row.steps),
        "needs": row.needs,
    }


def define(load: Loading, table: Table, owner: int, columns: Mapping[str, Any], **fixed: Any) -> list[Change]:
    """Say of a thing what the file says: at first for all time, later from a date on; gives the columns that change.

    Args:
        load: the load under way.
        table: the revisions.
        owner: whose revision.
        columns: what the file says.
        fixed: what no file says; it stays as it is once the thing is there.
    """
    name = f"{table.name.removesuffix('_revision')}_id"
    last = load.before.last(table).get(owner)
    if last is None:
        load.work.add(table, **{name: owner}, valid_from=BEGINNING, **columns, **fixed)
        return []
    said = load.before.said(table).get(owner)
    if (said is not None and _agrees(said, columns)) or _agrees(last, columns):
        return []
    # One that acts from a later day already would undo this one again.
    if last.valid_from > load.from_on:
        raise NotAllowed(
            "later-revision",
            f"A change that acts from {last.valid_from} is entered already; one from {load.from_on} would come before it.",
            f"Give --valid-from {last.valid_from} or later.",
        )
    valid_from = load.from_on
    kept = {column: getattr(last, column) for column in fixed}
    load.work.add(table, **{name: owner}, valid_from=valid_from, **columns, **kept)
    return [
        _change(load, column, getattr(last, column), value)
        for column, value in columns.items()
        if value != getattr(last, column)
    ]


def _agrees(row: Any, columns: Mapping[str, Any]) -> bool:
    return all(getattr(row, column) == value for column, value in columns.items())


def _change(load: Loading, column: str, old: Any, new: Any) -> Change:
    if column == "parent_id":
        old, new = load.names.code("machines", old), load.names.code("machines", new)
    return Change(_HEADINGS.get(column, column), shown(old), shown(new))


def identify(load: Loading, kind: FileKind, code: str, **columns: Any) -> tuple[int, bool]:
    """The id of the thing with that code, and whether it is new."""
    there = load.names.ids[kind].get(key_of(code))
    if there is not None:
        return there, False
    name = {code_column(kind): code}
    added = load.work.add(IDENTITIES[kind], site_id=load.site_id, **name, **columns)
    load.names.name_new(kind, code, added)
    return added, True


def _orders_said(load: Loading, table: Table, made: Iterable[tuple[int, bool]]) -> list[int | None]:
    """The places that loads gave these things, or those they have; None for new ones."""
    said, last = load.before.said(table), load.before.last(table)
    found = (said.get(thing) or last.get(thing) for thing, _ in made)
    return [row and row.walking_order for row in found]


def _other_names(load: Loading, row: MachineRow, machine: int) -> list[Change]:
    said = {alias.name for alias in load.before.said_facts(ALIAS, "machine_id").get(machine, ())}
    live = {alias.name: alias for alias in load.before.live_facts(ALIAS, "machine_id").get(machine, ())}
    added = [name for name in dict.fromkeys(row.other_names) if name not in said and name not in live]
    ended = [name for name in said if name not in row.other_names and name in live]
    for name in added:
        load.work.add(ALIAS, machine_id=machine, name=name)
    for name in ended:
        load.work.strike(ALIAS, live[name]._mapping, load.reason)  # noqa: SLF001 - SQLAlchemy's public accessor
    if not added and not ended:
        return []
    return [Change("other_names", "; ".join(live), "; ".join(row.other_names))]


def _counter_name(load: Loading, row: CounterRow, counter: int) -> str:
    """The name given; a blank cell means the name of the machine when the counter comes, and nothing later."""
    there = load.before.said(COUNTER_REVISION).get(counter) or load.before.last(COUNTER_REVISION).get(counter)
    if row.name:
        return row.name
    if there:
        return str(there.name)
    if machine := load.names.machine_row(row.machine):
        return machine.name
    return str(load.before.last(MACHINE_REVISION)[load.names.ids["machines"][key_of(row.machine)]].name)


def _meter_start(load: Loading, row: CounterRow, counter: int) -> list[Change]:
    starts = {"dial_start": row.dial_start, "base": row.total_start}
    there = load.before.live_facts(METER_PERIOD, "counter_id").get(counter)
    if not there:
        load.work.add(METER_PERIOD, counter_id=counter, start=_ALL_TIME, **starts, factor_num=1, factor_den=1)
        return []
    said = load.before.said_facts(METER_PERIOD, "counter_id").get(counter)
    first = said[0] if said else min(there, key=lambda period: (period.start, period.id))
    now = version_now(load.connection, METER_PERIOD, first.id)
    if _agrees(first, starts) or all(now[name] == value for name, value in starts.items()):
        return []
    load.work.replace(METER_PERIOD, now, load.reason, **starts)
    load.shifted.add(counter)
    unit = row.meter.unit
    return [
        Change(_HEADINGS[name], write_amount(now[name], unit), write_amount(value, unit))
        for name, value in starts.items()
        if value != now[name]
    ]


def _units(load: Loading, row: JobRow, job: int) -> list[Change]:
    added, ended = unit_changes(load, row)
    for unit in added:
        load.work.add(JOB_UNIT, job_id=job, unit=unit)
    for fact in ended:
        load.work.strike(JOB_UNIT, fact._mapping, load.reason)  # noqa: SLF001 - SQLAlchemy's public accessor
    if not added and not ended:
        return []
    live = [fact.unit for fact in load.before.live_facts(JOB_UNIT, "job_id").get(job, ())]
    return [Change("units", "; ".join(live), "; ".join(row.units))]
