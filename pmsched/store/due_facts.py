"""The facts the due engine works on, streamed as plain tuples: jobs with their last closings, and counters.

Two statements for the whole register: one row per job, unit and counted unit; one row per counter. Both are index
seeks per key (see ``live``).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, and_, bindparam, literal_column, select

from pmsched.domain.aims import DoingKind
from pmsched.store.live import DAY, KNOWN, UNTIL, View, in_force, latest, live
from pmsched.store.tables import (
    CLOSING,
    CLOSING_COUNT,
    COUNTER,
    COUNTER_REVISION,
    COUNTS_ON,
    JOB,
    JOB_REVISION,
    JOB_UNIT,
    METER_PERIOD,
    READING,
)

_CHUNK = 5000
# A reading's ship's date can lie up to 14 h before or 12 h after its UTC date.
_WIDEST_OFFSET_SECONDS = 14 * 3600
_DAY_SECONDS = 86_400
# Written out, so that SQLite can see that the partial index on held readings serves.
HELD: ColumnElement[str] = literal_column("'held'")


def due_rows(connection: Connection, view: View, job_ids: frozenset[int] | None = None) -> Iterator[Any]:
    """One row per (job, unit, counted unit), adjacent for one job unit; of all jobs or the given ones.

    Columns: job_id, machine_id, unit, rule, critical, class_item, kind, done_on, done_at, counted (unit of the counter
    or None), total, closing_id.
    """
    statement = DUE_STATEMENT if job_ids is None else DUE_STATEMENT.where(JOB_UNIT.c.job_id.in_(job_ids))
    result = connection.execute(statement, view.binds(), execution_options={"yield_per": _CHUNK})
    for part in result.partitions():
        yield from part


def first_closings(connection: Connection, view: View) -> Iterator[Any]:
    """The first closing ever of every job unit whose rule counts from the aim; columns as far as needed."""
    return iter(connection.execute(_FIRST_STATEMENT, view.binds()))


def counter_rows(connection: Connection, view: View, window_days: int) -> Iterator[Any]:
    """One row per counter: its latest accepted reading and the one its use is measured from.

    Columns: counter_id, unit, reads, then fact_id, read_at, offset_minutes and dial of the latest reading, then the same
    four of the first one in the window (the latest itself if it stands alone there). None where never read.
    """
    return iter(connection.execute(COUNTER_STATEMENT, {**view.binds(), "window_days": window_days}))


def held_counters(connection: Connection, view: View) -> set[int]:
    """The counters on which a reading is held: it cannot be true, and waits to be settled."""
    return set(connection.execute(_HELD, view.binds()).scalars())


def meter_periods(connection: Connection, view: View, counter_id: int | None = None) -> Iterator[Any]:
    """Live meter periods in time order, of one counter or all: counter_id, start, dial_start, base, the factor."""
    statement = _PERIODS if counter_id is None else _PERIODS_OF_ONE
    return iter(connection.execute(statement, {**view.binds(), "counter": counter_id}))


def counts_on(connection: Connection, view: View, machine_id: int | None = None) -> Iterator[Any]:
    """Who counts on whose counter, in time order: machine_id, counter_id, unit, from_on, share_num, share_den."""
    statement = _COUNTS_ON if machine_id is None else _COUNTS_ON_OF_ONE
    return iter(connection.execute(statement, {**view.binds(), "machine": machine_id}))


def readings_of(connection: Connection, view: View, counter_id: int) -> Iterator[Any]:
    """Accepted and stand-in readings of one counter in time order: fact_id, read_at, offset_minutes, dial, status."""
    return iter(connection.execute(_READINGS_OF_ONE, {**view.binds(), "counter": counter_id}))


def _due_statement() -> Select[Any]:
    unit, revision, closing, counted = JOB_UNIT, JOB_REVISION, CLOSING, CLOSING_COUNT
    last = latest(
        CLOSING,
        "seek.job_id = job_unit.job_id AND seek.unit = job_unit.unit AND seek.done_at <= :until",
        "seek.done_at DESC, seek.id DESC",
    )
    return (
        select(
            unit.c.job_id, JOB.c.machine_id, unit.c.unit, revision.c.rule, revision.c.critical, revision.c.class_item,
            closing.c.kind, closing.c.done_on, closing.c.done_at, counted.c.unit, counted.c.total, closing.c.fact_id,
        )
        .select_from(unit)
        .join(JOB, JOB.c.id == unit.c.job_id)
        .join(revision, revision.c.id == in_force(JOB_REVISION, "job_unit.job_id"))
        .outerjoin(closing, closing.c.id == last)
        .outerjoin(counted, and_(counted.c.closing_id == closing.c.fact_id, live(counted)))
        .where(live(unit), revision.c.active)
        .order_by(unit.c.id)
    )  # fmt: skip


def _first_statement() -> Select[Any]:
    """The earliest doing or start of each unit; "due at once" (kind 2) is no doing to count an aim from."""
    first, counted = CLOSING, CLOSING_COUNT
    earliest = latest(
        CLOSING,
        "seek.job_id = job_unit.job_id AND seek.unit = job_unit.unit AND seek.done_at <= :until"
        f" AND seek.kind <> {int(DoingKind.DUE_AT_ONCE)}",
        "seek.done_at, seek.id",
    )
    aimed = select(JOB_REVISION.c.job_id).where(JOB_REVISION.c.rule.contains("from the aim"))
    return (
        select(first.c.job_id, first.c.unit, first.c.done_on, counted.c.unit, counted.c.total)
        .select_from(JOB_UNIT)
        .join(first, first.c.id == earliest)
        .outerjoin(counted, and_(counted.c.closing_id == first.c.fact_id, live(counted)))
        .where(JOB_UNIT.c.job_id.in_(aimed))
        .order_by(first.c.id)
    )


def _counter_statement() -> Select[Any]:
    last, first, revision = READING.alias("last"), READING.alias("first"), COUNTER_REVISION
    newest = latest(
        READING,
        "seek.counter_id = counter.id AND seek.status = 'accepted' AND seek.read_at <= :until",
        "seek.read_at DESC, seek.id DESC",
    )
    # R6 counts ship's dates, both ends included; the bound on read_at is only there for the index.
    oldest = latest(
        READING,
        "seek.counter_id = last.counter_id AND seek.status = 'accepted' AND seek.read_at <= last.read_at"
        f" AND seek.read_at >= last.read_at - :window_days * {_DAY_SECONDS} - {_DAY_SECONDS + _WIDEST_OFFSET_SECONDS}"
        f" AND {_ship_day('seek')} >= {_ship_day('last')} - :window_days",
        "seek.read_at, seek.id",
    )
    return (
        select(
            COUNTER.c.id, COUNTER.c.unit, revision.c.reads,
            last.c.fact_id, last.c.read_at, last.c.offset_minutes, last.c.dial,
            first.c.fact_id, first.c.read_at, first.c.offset_minutes, first.c.dial,
        )
        .select_from(COUNTER)
        .outerjoin(revision, revision.c.id == in_force(COUNTER_REVISION, "counter.id"))
        .outerjoin(last, last.c.id == newest)
        .outerjoin(first, first.c.id == oldest)
        .where(COUNTER.c.id <= KNOWN)
    )  # fmt: skip


def _ship_day(reading: str) -> str:
    """The ship's date of a reading, as a whole number of days."""
    return f"({reading}.read_at + {reading}.offset_minutes * 60) / {_DAY_SECONDS}"


DUE_STATEMENT = _due_statement()
_FIRST_STATEMENT = _first_statement()
COUNTER_STATEMENT = _counter_statement()
_PERIODS = (
    select(
        METER_PERIOD.c.counter_id, METER_PERIOD.c.start, METER_PERIOD.c.dial_start, METER_PERIOD.c.base,
        METER_PERIOD.c.factor_num, METER_PERIOD.c.factor_den,
    )
    .where(live(METER_PERIOD))
    .order_by(METER_PERIOD.c.counter_id, METER_PERIOD.c.start, METER_PERIOD.c.id)
)  # fmt: skip
_PERIODS_OF_ONE = _PERIODS.where(METER_PERIOD.c.counter_id == bindparam("counter"))
_COUNTS_ON = (
    select(
        COUNTS_ON.c.machine_id, COUNTS_ON.c.counter_id, COUNTER.c.unit, COUNTS_ON.c.from_on,
        COUNTS_ON.c.share_num, COUNTS_ON.c.share_den,
    )
    .join(COUNTER, COUNTER.c.id == COUNTS_ON.c.counter_id)
    .where(live(COUNTS_ON), COUNTS_ON.c.from_on <= DAY)
    .order_by(COUNTS_ON.c.machine_id, COUNTS_ON.c.from_on, COUNTS_ON.c.id)
)  # fmt: skip
_COUNTS_ON_OF_ONE = _COUNTS_ON.where(COUNTS_ON.c.machine_id == bindparam("machine"))
_READINGS_OF_ONE = (
    select(READING.c.fact_id, READING.c.read_at, READING.c.offset_minutes, READING.c.dial, READING.c.status)
    .where(
        READING.c.counter_id == bindparam("counter"),
        READING.c.read_at <= UNTIL,
        READING.c.status != HELD,
        live(READING),
    )
    .order_by(READING.c.read_at, READING.c.id)
)
_HELD = select(READING.c.counter_id).where(
    READING.c.status == HELD, READING.c.read_at <= UNTIL, live(READING, by_id=False)
)
