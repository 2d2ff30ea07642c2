"""Readings one by one: neighbours in time, held ones, versions, and the closings that rest on them."""

from __future__ import annotations

from typing import Any

from sqlalchemy import BindParameter, Connection, bindparam, or_, select

from pmsched.store.due_facts import HELD
from pmsched.store.live import EVERYTHING, UNTIL, View, latest, live
from pmsched.store.tables import CLOSING, CLOSING_COUNT, COUNTER, JOB, READING

_AT: BindParameter[int] = bindparam("at")
_COUNTER: BindParameter[int] = bindparam("counter")


def neighbours(
    connection: Connection, counter_id: int, at: int, known: int = EVERYTHING
) -> tuple[list[Any], list[Any]]:
    """Accepted readings around an instant: up to two at or before it (latest first), up to one after it."""
    binds = {"counter": counter_id, "at": at, "known": known}
    return list(connection.execute(_BEFORE, binds)), list(connection.execute(_AFTER, binds))


def around(connection: Connection, view: View, counter_id: int, at: int) -> list[Any]:
    """The accepted or stand-in readings next to an instant: at or before it, and at or after it; at most two."""
    return list(connection.execute(_AROUND, {**view.binds(), "counter": counter_id, "at": at}))


def last_two(connection: Connection, view: View, counter_id: int) -> list[Any]:
    """The last two accepted or stand-in readings of a counter, the earlier first."""
    return list(reversed(list(connection.execute(_LAST_TWO, {**view.binds(), "counter": counter_id}))))


def held_readings(connection: Connection, view: View) -> list[Any]:
    """Readings held and not yet settled, oldest first."""
    statement = (
        select(READING, COUNTER.c.code, COUNTER.c.unit)
        .select_from(READING)
        .join(COUNTER, COUNTER.c.id == READING.c.counter_id)
        .where(READING.c.status == HELD, READING.c.read_at <= UNTIL, live(READING, by_id=False))
        .order_by(READING.c.read_at, READING.c.id)
    )
    return list(connection.execute(statement, view.binds()))


def is_held(connection: Connection, counter_id: int, at: int, dial: int) -> bool:
    """Whether this very value is held for this instant already."""
    binds = {"known": EVERYTHING, "counter": counter_id, "at": at, "dial": dial}
    return connection.execute(_SAME_HELD, binds).first() is not None


def reading_version(connection: Connection, reading_id: int) -> Any:
    """The version in force of the reading to which this id belongs, struck or not; None if there is none."""
    fact = select(READING.c.fact_id).where(READING.c.id == reading_id).scalar_subquery()
    statement = select(READING).where(READING.c.fact_id == fact).order_by(READING.c.id.desc()).limit(1)
    return connection.execute(statement).one_or_none()


def resting_on(connection: Connection, reading: int) -> list[Any]:
    """Live counts of closings whose basis is this reading (its fact id), with job, unit and time of the closing."""
    k = CLOSING_COUNT
    return list(
        connection.execute(
            _closing_counts().where((k.c.reading_1 == reading) | (k.c.reading_2 == reading)), {"known": EVERYTHING}
        )
    )


def typed_between(connection: Connection, machine_ids: set[int], unit: str, start: int, end: int) -> list[Any]:
    """Live typed counts of closings on these machines between two instants."""
    k = CLOSING_COUNT
    statement = _closing_counts().where(
        k.c.basis == "typed", k.c.unit == unit, CLOSING.c.done_at.between(start, end), JOB.c.machine_id.in_(machine_ids)
    )
    return list(connection.execute(statement, {"known": EVERYTHING}))


def _closing_counts() -> Any:
    return (
        select(
            CLOSING_COUNT, JOB.c.code.label("job"), JOB.c.machine_id, CLOSING.c.unit.label("job_unit"),
            CLOSING.c.done_on, CLOSING.c.done_at, CLOSING.c.report_id,
        )
        .join(CLOSING, CLOSING.c.fact_id == CLOSING_COUNT.c.closing_id)
        .join(JOB, JOB.c.id == CLOSING.c.job_id)
        .where(live(CLOSING_COUNT), live(CLOSING))
        .order_by(CLOSING_COUNT.c.id)
    )  # fmt: skip


_ACCEPTED = select(READING).where(READING.c.counter_id == _COUNTER, READING.c.status == "accepted", live(READING))
_BEFORE = _ACCEPTED.where(READING.c.read_at <= _AT).order_by(READING.c.read_at.desc(), READING.c.id.desc()).limit(2)
_AFTER = _ACCEPTED.where(READING.c.read_at > _AT).order_by(READING.c.read_at, READING.c.id).limit(1)


_COLUMNS = (READING.c.fact_id, READING.c.read_at, READING.c.offset_minutes, READING.c.dial, READING.c.status)
_OF_COUNTER = "seek.counter_id = :counter AND seek.status <> 'held' AND seek.read_at <= :until"
_AROUND = (
    select(*_COLUMNS)
    .where(
        or_(
            READING.c.id
            == latest(READING, f"{_OF_COUNTER} AND seek.read_at <= :at", "seek.read_at DESC, seek.id DESC"),
            READING.c.id == latest(READING, f"{_OF_COUNTER} AND seek.read_at >= :at", "seek.read_at, seek.id"),
        )
    )
    .order_by(READING.c.read_at, READING.c.id)
)
_LAST_TWO = (
    select(*_COLUMNS)
    .where(READING.c.counter_id == _COUNTER, READING.c.status != HELD, READING.c.read_at <= UNTIL, live(READING))
    .order_by(READING.c.read_at.desc(), READING.c.id.desc())
    .limit(2)
)
_SAME_HELD = select(READING.c.id).where(
    READING.c.counter_id == _COUNTER,
    READING.c.read_at == _AT,
    READING.c.dial == bindparam("dial"),
    READING.c.status == HELD,
    live(READING, by_id=False),
)
