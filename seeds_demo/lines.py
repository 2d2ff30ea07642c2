"""A line of a job: the units that are done together, when they were done, and what they are aimed at next.

Values and the simplest arithmetic; who does the work, and when, is decided elsewhere.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from typing import NamedTuple

from pmsched.domain.periods import add_span
from pmsched.domain.rules import CalendarLimb, CountLimb
from seeds_demo.jobs import Job


class Doing(NamedTuple):
    """One doing of a line of units.

    Attributes:
        on: ship's date.
        counts: the machine's running totals at it, by unit, as they stand once the readings around it are known.
        mark: which date or mark of the grid, or which aim, it closes, counted from the first doing.
        recorded_on: ship's date of reporting.
        recorded_time: ship's time of reporting.
        typed: the running total typed by hand, if it was.
    """

    on: date
    counts: Mapping[str, int]
    mark: int
    recorded_on: date
    recorded_time: time
    typed: int | None


@dataclass(slots=True)
class Line:
    """The units of a job that are done together, and their doings; the first lies before the history."""

    job: Job
    units: tuple[str, ...]
    doings: list[Doing] = field(default_factory=list)

    @property
    def anchor(self) -> date:
        """The first doing, from which grids and aims are counted."""
        return self.doings[0].on

    def aim_on(self, limb: CalendarLimb, mark: int) -> date:
        """The date of the grid or the aim with that number; for other jobs the last doing plus the interval."""
        if self.job.counts_from == "done":
            return add_span(self.doings[-1].on, limb.every)
        return add_span(self.anchor, limb.every, mark)

    def aim_count(self, limb: CountLimb, mark: int) -> int:
        """The running total at which the limb is reached."""
        if self.job.counts_from == "done":
            return self.doings[-1].counts[limb.unit] + limb.amount
        first = self.doings[0].counts[limb.unit]
        if self.job.counts_from == "grid":
            first -= (first - self.job.first_mark) % limb.amount
        return first + mark * limb.amount
