"""Judging what was typed for a counter against its accepted readings. Nothing is written here."""

from __future__ import annotations

from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.clocks import ShipClock
from pmsched.domain.counters import MeterPeriod, period_at
from pmsched.domain.counts import Meter
from pmsched.domain.readings import Judgement, Line, Point, judge
from pmsched.store.reading_facts import neighbours


class Typed(NamedTuple):
    """A value typed for a counter: its row, the meter, the instant, and the dial value in base units."""

    counter: Any
    meter: Meter
    at: int
    dial: int


def line_of(
    connection: Connection, periods: list[MeterPeriod], typed: Typed, ignoring: int = 0, also: list[Point] | None = None
) -> Line:
    """The typed value with its accepted neighbours.

    Args:
        connection: the register.
        periods: the counter's meter periods.
        typed: what was typed.
        ignoring: fact id of a reading that this value would replace.
        also: readings accepted in this same deed.
    """
    before, after = neighbours(connection, typed.counter.id, typed.at)
    found = [row for row in (*before, *after) if row.fact_id != ignoring]
    points = sorted({*(_point(periods, row) for row in found), *(also or ())})
    earlier = [p for p in points if p.at <= typed.at]
    later = [p for p in points if p.at > typed.at]
    period = period_at(periods, typed.at)
    offset = period.total(typed.dial) - typed.dial if period else 0
    return Line(
        typed.at, typed.dial, typed.meter,
        earlier[-1] if earlier else None, later[0] if later else None, offset,
        earlier[-2] if len(earlier) > 1 else None,
    )  # fmt: skip


def judge_line(line: Line, clock: ShipClock) -> Judgement:
    """Whether the line can be true, and what was probably meant if not."""
    return judge(
        line.point, line.before, line.after, line.meter, line.dial, line.dial_offset, line.earlier, clock=clock
    )


def _point(periods: list[MeterPeriod], row: Any) -> Point:
    period = period_at(periods, row.read_at)
    return Point(row.read_at, period.total(row.dial) if period else row.dial)
