"""What follows from a changed reading: totals kept with doings that rest on it, typed ones that now disagree.

Totals read off readings are worked out again, as new versions with a reason; typed totals are never changed, only
flagged.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.counts import format_amount
from pmsched.store.book import Work
from pmsched.store.reading_facts import neighbours, resting_on, typed_between
from pmsched.store.tables import CLOSING_COUNT, READING
from pmsched.usecases.changes import Moved
from pmsched.usecases.counting import follows_by_machine, totals_offered
from pmsched.usecases.report_work import offered_columns
from pmsched.usecases.views import Scene


class Recount(NamedTuple):
    """A total kept with a doing that was worked out again: job unit, day, unit of counter, before and after."""

    job: str
    unit: str
    done_on: date
    counted: str
    before: int
    after: int


class Touched(NamedTuple):
    """All that a correction touches.

    Attributes:
        moved: job units whose standing changes.
        recounted: totals at completion worked out again.
        flags: sentences about typed totals that now disagree with the readings.
        countersign: signed reports change, so the chief engineer countersigns.
    """

    moved: tuple[Moved, ...]
    recounted: tuple[Recount, ...]
    flags: tuple[str, ...]
    countersign: bool


def recount(connection: Connection, seen: Scene, work: Work, reading: int, reason: str) -> tuple[Recount, ...]:
    """Work out again every kept total whose basis is this reading (its fact id). The work must be flushed."""
    return tuple(_recount(connection, seen, work, resting_on(connection, reading), f"reading corrected: {reason}"))


def _recount(connection: Connection, seen: Scene, work: Work, rows: list[Any], reason: str) -> list[Recount]:
    found = []
    for row in rows:
        between = totals_offered(connection, seen, row.machine_id, row.done_at).get(row.unit)
        if between is None:
            continue
        columns = offered_columns(row.unit, between)
        if all(getattr(row, name) == value for name, value in columns.items()):
            continue
        kept = {column.name: getattr(row, column.name) for column in CLOSING_COUNT.columns}
        work.replace(CLOSING_COUNT, kept, reason, **columns)
        found.append(Recount(row.job, row.job_unit, row.done_on, row.unit, row.total, between.total))
    work.flush()
    return found


def accepted_now(work: Work) -> list[tuple[int, int]]:
    """The readings this deed accepts, as (counter id, instant), in the order of time."""
    rows = [row for row in work.added(READING) if row["status"] == "accepted" and not row["struck"]]
    return sorted((row["counter_id"], row["read_at"]) for row in rows)


def recount_since(
    connection: Connection, seen: Scene, work: Work, readings: Iterable[tuple[int, int]]
) -> tuple[Recount, ...]:
    """Work out again the totals of work done after what was then the last reading, now that a later one is known.

    Args:
        connection: the register.
        seen: the scene.
        work: the deed; it must be flushed.
        readings: the readings that came, as (counter id, instant).
    """
    found: list[Recount] = []
    for counter_id, at in readings:
        before, _after = neighbours(connection, counter_id, at - 1)
        if before:
            last = before[0]
            since = [row for row in resting_on(connection, last.fact_id) if last.read_at < row.done_at]
            found += _recount(connection, seen, work, since, "the next reading came")
    return tuple(found)


def typed_flags(
    connection: Connection, seen: Scene, counter: Any, at: int, total: int, around: tuple[int, int]
) -> tuple[str, ...]:
    """Typed totals near a corrected reading that now contradict it.

    Args:
        connection: the register.
        seen: the scene, for who counts on this counter.
        counter: the counter's row.
        at: instant of the corrected reading, and ``total`` its running total.
        total: see ``at``.
        around: instants of the readings before and after it.
    """
    machines = {
        machine_id
        for machine_id, units in follows_by_machine(connection, seen).items()
        for rows in units.values()
        if rows[-1].counter_id == counter.id and rows[-1].share_num == rows[-1].share_den
    }
    on = seen.clock.ship_date(at)
    shown = format_amount(total, counter.unit)
    flags = []
    for row in typed_between(connection, machines, counter.unit, *around):
        said = format_amount(row.total, counter.unit)
        day = "the same day" if row.done_on == on else str(on)
        if row.done_at <= at and row.total > total:
            flags.append(f"{row.job}: typed {said} is above the corrected reading {shown} of {day}")
        elif row.done_at >= at and row.total < total:
            flags.append(f"{row.job}: typed {said} is below the corrected reading {shown} of {day}")
    return tuple(flags)
