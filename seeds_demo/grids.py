"""When the dates of grids fall: jobs of one interval are spread evenly over it, counted from today.

So any day has its share of routine work, on whatever date the demo is opened.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from functools import cache
from random import Random

from pmsched.domain.periods import Span, add_span
from seeds_demo.catalogue import jobs

_DAYS_A_MONTH = 30.4
# Dates around the day itself, and not the same for all intervals: 0 falls due today.
_FIRST_SHARE = 0.12


@cache
def _due_in_days() -> Mapping[str, int]:
    """Days from today to the next date of every grid, by code of the job."""
    by_interval: dict[Span, list[str]] = {}
    for job in jobs():
        if job.dated_grid:
            by_interval.setdefault(job.dated_grid.every, []).append(job.code)
    found: dict[str, int] = {}
    for every, codes in by_interval.items():
        length = every.days + every.months * _DAYS_A_MONTH
        Random(str(every)).shuffle(codes)
        found |= {code: int((n + _FIRST_SHARE) * length / len(codes)) for n, code in enumerate(codes)}
    return found


def grid_before(code: str, every: Span, start: date, today: date) -> date:
    """The last date before the start of the grid of that job."""
    due = date.fromordinal(today.toordinal() + _due_in_days()[code])
    times = 0
    while (first := add_span(due, every, -times)) >= start:
        times += 1
    return first
