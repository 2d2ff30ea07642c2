"""A job as the simulation sees it: its limits, its margin after them, its units, and where it can be done.

Values and the simplest arithmetic. Knows no dates of doings and no files.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal, NamedTuple

from pmsched.domain.periods import Span, add_span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountsFrom, Limb

Place = Literal["anywhere", "in port", "at sea", "in dry dock"]
"""Where a job can be done."""

FROM_THE_START = "from the start"
"""How a job begins that was never done, on a machine that is new when the register begins."""
AT_ONCE = "due at once"
"""How a job begins that is wanted from the start and was never done."""


class Source(NamedTuple):
    """What a machine counts on: the share num / den of a counter."""

    counter: str
    num: int = 1
    den: int = 1


class Margin(NamedTuple):
    """How far after the aim a job is still on time: part of the interval, a span, or an amount of a counter."""

    percent: int = 0
    span: Span = Span()
    amount: int = 0


@dataclass(frozen=True, slots=True)
class Job:
    """A job, as far as the simulation needs it; ``critical`` also when its machine is.

    Attributes:
        first_mark: the first mark of a grid of a counter.
        late: the margin after the aim.
        apart: its units are done on days of their own.
        starts: how it begins when it was never done; empty when it was.
        says: which remarks fit.
    """

    code: str
    machine: str
    title: str
    limbs: tuple[Limb, ...]
    counts_from: CountsFrom
    first_mark: int
    late: Margin
    units: tuple[str, ...]
    apart: bool
    department: str
    rank: str
    critical: bool
    class_item: bool
    place: Place
    sources: Mapping[str, Source]
    starts: str
    says: str

    @property
    def lines(self) -> tuple[tuple[str, ...], ...]:
        """The units that are done together; one empty line for a job without units."""
        return tuple((unit,) for unit in self.units) if self.apart else (self.units,)

    @property
    def calendar(self) -> CalendarLimb | None:
        """Its limit on the calendar, if it has one."""
        return next((limb for limb in self.limbs if isinstance(limb, CalendarLimb)), None)

    @property
    def counted(self) -> tuple[CountLimb, ...]:
        """Its limits on counters."""
        return tuple(limb for limb in self.limbs if isinstance(limb, CountLimb))

    @property
    def dated_grid(self) -> CalendarLimb | None:
        """Its limit on the calendar where it stands on fixed dates."""
        return self.calendar if self.counts_from == "grid" else None

    def margin(self, limb: CountLimb) -> int:
        """What may pass the aim of a counter limb, in base units; 0 for none."""
        return limb.amount * self.late.percent // 100 or self.late.amount

    def limit(self, limb: CalendarLimb, aim: date) -> date:
        """The last day on time for that aim."""
        if self.late.span != Span():
            return add_span(aim, self.late.span)
        return aim + timedelta(days=(aim - add_span(aim, limb.every, -1)).days * self.late.percent // 100)
