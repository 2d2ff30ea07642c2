"""Counters: running totals from dials, use per day, totals between readings, whose counter a machine counts on.

The running total is the sum of accepted increases in our books; the dial is only what shows it (R5). Amounts are
integers in base units (seconds for hours, whole units otherwise); rates are exact fractions. Knows no jobs.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import pairwise
from typing import NamedTuple

from pmsched.domain.counts import HOURS, SECONDS_PER_DAY, SECONDS_PER_HOUR


class MeterPeriod(NamedTuple):
    """One stretch of a counter's life on one dial: total = base + factor x (dial - dial_start).

    ``start`` is the UTC instant (epoch seconds) from which it holds; the factor is the fraction num / den.
    """

    start: int
    dial_start: int
    base: int
    factor_num: int = 1
    factor_den: int = 1

    def total(self, dial: int) -> int:
        """The running total shown by that dial value."""
        return self.base + (dial - self.dial_start) * self.factor_num // self.factor_den

    def dial(self, total: int) -> int:
        """What the dial shows at that running total."""
        return self.dial_start + (total - self.base) * self.factor_den // self.factor_num


def period_at(periods: Sequence[MeterPeriod], instant: int) -> MeterPeriod | None:
    """The period in force at an instant: the last that started by then, else the first; None without any."""
    return next((p for p in reversed(periods) if p.start <= instant), periods[0] if periods else None)


class Point(NamedTuple):
    """An accepted reading as a running total: when (UTC epoch seconds, ship's date) and how much."""

    at: int
    on: date
    total: int
    estimated: bool = False
    reading: int = 0


class Rate(NamedTuple):
    """Use: ``rise`` base units in ``seconds`` of elapsed time, measured from ``since``; 0 rise gives no date."""

    rise: int
    seconds: int
    since: date
    until: date
    before_layup: bool = False

    @property
    def per_day_tenths(self) -> int:
        """Base units a day x 10, rounded to the nearest, for showing only; hours are in seconds here."""
        return (20 * self.rise * SECONDS_PER_DAY + self.seconds) // (2 * self.seconds)

    def per_day(self, unit: str) -> str:
        """Use to the nearest tenth, in words: '12.0 h/day'."""
        size = SECONDS_PER_HOUR if unit == HOURS else 1
        tenths = (20 * self.rise * SECONDS_PER_DAY + self.seconds * size) // (2 * self.seconds * size)
        return f"{tenths // 10}.{tenths % 10} {unit}/day" if tenths or not self.rise else f"under 0.1 {unit}/day"


class Count(NamedTuple):
    """A machine's running total as last read, and how fast it rises; the engine's whole view of a counter.

    Attributes:
        total: the running total of the last reading, in base units.
        on: ship's date of that reading.
        rate: use; None when it could not be measured.
        estimated: how much of the total rests on estimates (R8).
        held: a later reading is held, because it cannot be true.
    """

    total: int
    on: date
    rate: Rate | None
    estimated: int = 0
    held: bool = False

    def expected_on(self, target: int) -> date | None:
        """The date on which ``target`` is expected: last reading + whole days, rounded down (R6).

        None when use is nil or unknown. A target already reached lies on or before the date of the reading.
        """
        left = target - self.total
        rate = self.rate
        if rate is None or rate.rise <= 0:
            return self.on if left <= 0 else None
        ordinal = self.on.toordinal() + left * rate.seconds // (rate.rise * SECONDS_PER_DAY)
        return date.fromordinal(ordinal) if 0 < ordinal <= _LAST_DAY else None

    def expected_total(self, day: date) -> int | None:
        """The total expected by use at the same time of a later ``day``, rounded down; None without use."""
        rate = self.rate
        if rate is None or rate.rise <= 0:
            return None
        return self.total + rate.rise * (day - self.on).days * SECONDS_PER_DAY // rate.seconds

    def shared(self, num: int, den: int, offset: int = 0) -> Count:
        """The count of a machine that takes the share num / den of this counter, plus ``offset``."""
        if num == den and not offset:
            return self
        rate = self.rate and self.rate._replace(rise=self.rate.rise * num, seconds=self.rate.seconds * den)
        return self._replace(total=self.total * num // den + offset, rate=rate, estimated=self.estimated * num // den)


class Between(NamedTuple):
    """A total offered for an instant, with its basis: one reading (``second`` is 0) or a line between two.

    Attributes:
        total: what is offered, in base units.
        first, second: the readings it rests on.
        low, high: what the total cannot be below or above, by those readings; ``high`` is None after the last one.
        stale_since: the ship's date of the reading, where it was taken before the instant and none came after it.
    """

    total: int
    first: int
    second: int
    low: int = 0
    high: int | None = None
    stale_since: date | None = None


_LAST_DAY = date.max.toordinal()


def count_of(points: Sequence[Point], window_days: int, layups: Sequence[tuple[int, int]] = ()) -> Count | None:
    """The count shown by accepted readings in time order; None without a reading.

    A stand-in reading at the end makes what it adds to the last real one an estimate.

    Args:
        points: accepted and stand-in readings, oldest first.
        window_days: how far before the last reading use is measured (R6: 90 days, inclusive).
        layups: stretches (UTC instants) whose use is left out: lay-ups, and lost hours booked by estimate.
    """
    if not points:
        return None
    last = points[-1]
    estimated = 0
    if last.estimated:
        estimated = last.total - next((p.total for p in reversed(points) if not p.estimated), 0)
    return Count(last.total, last.on, use_rate(points, window_days, layups), estimated)


def use_rate(points: Sequence[Point], window_days: int, layups: Sequence[tuple[int, int]] = ()) -> Rate | None:
    """Use over the window before the last reading (R6); None with fewer than two readings.

    Stretches laid up or resting on estimates are left out; if nothing is left, the last use before them is taken
    and marked.
    """
    stretches = [(a, b, _counts_for_use(a, b, layups)) for a, b in pairwise(points)]
    end = len(stretches)
    marked = False
    while end:
        first = _window_start(stretches, end, window_days)
        good = [(a, b) for a, b, usable in stretches[first:end] if usable]
        if good:
            rise = sum(b.total - a.total for a, b in good)
            return Rate(rise, sum(b.at - a.at for a, b in good), good[0][0].on, good[-1][1].on, marked)
        end, marked = first, True
    return None


def rate_between(first: Point, last: Point) -> Rate | None:
    """Use between two readings of one counter; None if no time passed."""
    if last.at <= first.at:
        return None
    return Rate(last.total - first.total, last.at - first.at, first.on, last.on)


def total_at(points: Sequence[Point], instant: int) -> Between | None:
    """The running total at an instant: the reading of that instant, or the line between its neighbours, rounded down.

    After the last reading the last value is offered until the next one comes (the person may type the true one); None
    before the first reading, of which nothing is known.
    """
    before = next((p for p in reversed(points) if p.at <= instant), None)
    after = next((p for p in points if p.at >= instant), None)
    if before is None:
        return None
    if before.at == instant:
        return Between(before.total, before.reading, 0, before.total, before.total)
    if after is None:
        return Between(before.total, before.reading, 0, before.total, None, before.on)
    part = (after.total - before.total) * (instant - before.at) // (after.at - before.at)
    return Between(before.total + part, before.reading, after.reading, before.total, after.total)


def _counts_for_use(a: Point, b: Point, layups: Sequence[tuple[int, int]]) -> bool:
    if b.at <= a.at or a.estimated or b.estimated:
        return False
    return not any(start < b.at and a.at < end for start, end in layups)


def _window_start(stretches: Sequence[tuple[Point, Point, bool]], end: int, window_days: int) -> int:
    """Index of the first stretch wholly inside the window; the last stretch alone if none is (R6)."""
    earliest = stretches[end - 1][1].on.toordinal() - window_days
    first = end - 1
    while first > 0 and stretches[first - 1][0].on.toordinal() >= earliest:
        first -= 1
    return first
