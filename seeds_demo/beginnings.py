"""What every job counts from when the history begins: its last doing before it, or where a new one starts.

Knows intervals, meters and dockings. A share of a counter was never counted before the start, so nothing of it could
have been typed.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, time, timedelta

from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR
from pmsched.domain.periods import add_span
from pmsched.domain.rules import CountLimb
from seeds_demo.catalogue import counters
from seeds_demo.grids import grid_before
from seeds_demo.jobs import AT_ONCE, FROM_THE_START, Job, Source
from seeds_demo.lines import Doing
from seeds_demo.meters import Meters
from seeds_demo.voyage import DAYS_BETWEEN_DOCKINGS


def first_doing(job: Job, gone: float, meters: Meters, dockings: Sequence[int]) -> Doing:
    """The doing before the history.

    Args:
        job: the job.
        gone: how much of its interval has gone by at the start, as a part of it.
        meters: the meters, for what had been counted.
        dockings: the first days of the dockings to come, counted from the start.
    """
    start = meters.start
    if job.dated_grid:
        return _unreported(grid_before(job.code, job.dated_grid.every, start, meters.today), {})
    if job.starts == AT_ONCE and job.calendar:
        return _unreported(add_span(start, job.calendar.every, -1), {})
    shared = any(job.sources[limb.unit].den > 1 for limb in job.counted)
    if shared or job.starts == FROM_THE_START:
        return _unreported(start, {limb.unit: meters.offered(job.sources[limb.unit], 0) for limb in job.counted})
    if job.place == "in dry dock":
        return _unreported(meters.date_of(dockings[0] - DAYS_BETWEEN_DOCKINGS), {})
    if job.counts_from == "grid":
        return _at_mark(job, job.counted[0], gone, meters)
    return _some_time_ago(job, gone, meters)


def _some_time_ago(job: Job, gone: float, meters: Meters) -> Doing:
    rates = {limb.unit: meters.per_day(job.sources[limb.unit]) for limb in job.counted}
    if job.calendar:
        back = (add_span(meters.start, job.calendar.every) - meters.start).days * gone
    else:
        limb = job.counted[0]
        back = limb.amount * gone / rates[limb.unit]
    counts = {
        limb.unit: _earlier(job.sources[limb.unit], int(min(limb.amount * gone, rates[limb.unit] * back)))
        for limb in job.counted
    }
    return _unreported(meters.start - timedelta(days=1 + int(back)), counts)


def _at_mark(job: Job, limb: CountLimb, gone: float, meters: Meters) -> Doing:
    """The doing of the last mark of a counter's grid, a little past it."""
    source = job.sources[limb.unit]
    total = counters()[source.counter].total
    since = (total - job.first_mark) % limb.amount
    since -= int(since * 0.05 * gone)
    back = since / meters.per_day(source)
    return _unreported(meters.start - timedelta(days=1 + int(back)), {limb.unit: _earlier(source, since)})


def _earlier(source: Source, gone: int) -> int:
    """The running total so much before the start, as whole hours or units."""
    counter = counters()[source.counter]
    total = counter.total - gone
    return total - total % (SECONDS_PER_HOUR if counter.meter.unit == HOURS else 1)


def _unreported(on: date, counts: Mapping[str, int]) -> Doing:
    """A doing from before the register."""
    return Doing(on, counts, 0, on, time(12), None)
