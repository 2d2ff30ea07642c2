"""Rules: when a job falls due. Values only; reading and writing them in words lives in ``written``.

A rule has one or more limbs; the one that falls first governs. It counts from the last doing, from a fixed grid,
or from the aim (a grid that starts at the first doing, so that nothing drifts). Margins open a window before the
aim and keep the job on time after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from typing import Literal, NamedTuple

from pmsched.domain.periods import Span

CountsFrom = Literal["done", "grid", "aim"]


class CalendarLimb(NamedTuple):
    """'12 months', '2 weeks': a limit on the calendar."""

    every: Span


class CountLimb(NamedTuple):
    """'4 000 h', '1 000 starts': a limit on a counter. ``amount`` in seconds for hours, else whole units."""

    amount: int
    unit: str


Limb = CalendarLimb | CountLimb


class Share(NamedTuple):
    """A margin as a part of the interval: 10 % is Fraction(1, 10)."""

    of_interval: Fraction


class CountMargin(NamedTuple):
    """A margin on a counter; ``amount`` in seconds for hours, else whole units. Applies to limbs of that unit."""

    amount: int
    unit: str


Margin = Span | Share | CountMargin


@dataclass(frozen=True, slots=True)
class Rule:
    """When a job falls due.

    Attributes:
        limbs: one or more; whichever falls first governs (R7).
        counts_from: ``done`` (from the actual doing), ``grid`` (fixed dates or marks) or ``aim`` (no drift).
        anchor_on: first date of the calendar grid; None unless ``counts_from`` is ``grid`` and there is a calendar limb.
        anchor_counts: first marks of counter grids, as (unit, amount) pairs.
        opens: margins before the aim from which the job may be done; empty: no opening is stated.
        closes: margins after the aim within which the job is still on time (R14); empty: on time up to the aim.
        A Span applies to calendar limbs, a CountMargin to limbs of its unit, a Share to every limb.
    """

    limbs: tuple[Limb, ...]
    counts_from: CountsFrom = "done"
    anchor_on: date | None = None
    anchor_counts: tuple[tuple[str, int], ...] = ()
    opens: tuple[Margin, ...] = ()
    closes: tuple[Margin, ...] = ()
