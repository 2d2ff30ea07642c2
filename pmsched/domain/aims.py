"""From a rule and the last doing to the next aim: one set of terms per limb, compiled once per distinct rule.

On a grid (R13) a doing closes the latest occurrence whose window has opened; where no window is stated it opens half
an interval before the occurrence, or half-way after an extension of the one before, so that work done a little past
its extension still closes what was extended (case 18). "From the aim" is a grid that starts at the first doing, so
nothing drifts. A grid has no occurrence on a ship's date that never occurs (case 13c). Knows no moment and no states.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from enum import IntEnum
from typing import NamedTuple

from pmsched.domain.periods import Span, add_span, grid_index_on_or_before
from pmsched.domain.rules import CalendarLimb, CountLimb, CountMargin, CountsFrom, Margin, Rule, Share

NO_COUNTS: Mapping[str, int] = {}
NO_DATES: frozenset[date] = frozenset()


class DoingKind(IntEnum):
    """What a job counts from: a doing, a stated start ("from 1 March"), or a stated "due at once"."""

    DONE = 0
    START = 1
    DUE_AT_ONCE = 2


class Extension(NamedTuple):
    """A granted later limit of one occurrence; it lies over the original and never replaces it."""

    until_on: date | None = None
    until_counts: tuple[tuple[str, int], ...] = ()


class Doing(NamedTuple):
    """What a job (unit) counts from.

    Attributes:
        on: ship's date.
        counts: the machine's running totals then, by unit; a unit that is missing is not known.
        kind: a doing or a stated start.
        first: the first doing ever, needed only by rules that count from the aim; None: this one is the first.
        extension: the later limit that had been granted for what was open before it.
        estimated: how much of ``counts`` rests on estimates, by unit; what was estimated before a doing does not
            make the hours since it an estimate.
    """

    on: date
    counts: Mapping[str, int] = NO_COUNTS
    kind: DoingKind = DoingKind.DONE
    first: Doing | None = None
    extension: Extension | None = None
    estimated: Mapping[str, int] = NO_COUNTS


@dataclass(frozen=True, slots=True)
class CalendarTerms:
    """A calendar limb, ready to be worked out."""

    index: int
    every: Span
    mode: CountsFrom
    anchor: date | None
    before: Margin | None
    after: Margin | None

    @property
    def on_grid(self) -> bool:
        """Occurrences lie on a grid and may be missed."""
        return self.mode == "grid"

    @property
    def windowed(self) -> bool:
        """An opening is stated."""
        return self.before is not None

    def aim_after(self, doing: Doing) -> date:
        """The aim that follows a doing or a start."""
        if self.mode == "done":
            return add_span(doing.on, self.every)
        anchor = self._anchor(doing)
        return add_span(anchor, self.every, max(0, self.closed_index(doing) + 1))

    def closed_index(self, doing: Doing) -> int:
        """Which occurrence of the grid a doing closes: the latest whose window has opened (R13); -1 before the first."""
        anchor = self._anchor(doing)
        if doing.kind is DoingKind.START and self.mode == "grid":
            return grid_index_on_or_before(anchor, self.every, doing.on - timedelta(days=1))
        index = grid_index_on_or_before(anchor, self.every, doing.on)
        # A window longer than the interval can have opened more than one occurrence ahead.
        while self._has_opened(add_span(anchor, self.every, index + 1), doing):
            index += 1
        return index

    def occurrence(self, doing: Doing, index: int) -> date:
        """The date of occurrence ``index`` of the grid this doing belongs to."""
        return add_span(self._anchor(doing), self.every, index)

    def occurrence_after(self, aim: date, steps: int) -> date:
        """The occurrence ``steps`` after the one at ``aim``, counted from the anchor so that month-ends do not slide."""
        if self.anchor is None:
            return add_span(aim, self.every, steps)
        return add_span(self.anchor, self.every, grid_index_on_or_before(self.anchor, self.every, aim) + steps)

    def passing_over(self, skipped: frozenset[date], aim: date, direction: int = 1) -> date:
        """The occurrence at ``aim``, or the nearest after it (before it: -1) whose date is not skipped (case 13c).

        Off a grid it is the aim itself: it is counted from a doing and stands wherever it falls.
        """
        while aim in skipped and self.on_grid:
            aim = self.occurrence_after(aim, direction)
        return aim

    def fell_due(self, aim: date, today: date, skipped: frozenset[date] = NO_DATES) -> int:
        """How many occurrences from ``aim`` on have fallen due by today; none on a skipped date (case 13c)."""
        anchor = self.anchor or aim
        last = grid_index_on_or_before(anchor, self.every, today)
        found = last - grid_index_on_or_before(anchor, self.every, aim) + 1
        if skipped:
            found -= sum(aim <= day <= today and self.occurrence_after(day, 0) == day for day in skipped)
        return found

    def open_dates(self, aim: date, today: date, skipped: frozenset[date] = NO_DATES) -> tuple[date, ...]:
        """The occurrences that ``fell_due`` counts."""
        dates = (self.occurrence_after(aim, n) for n in range(self.fell_due(aim, today)))
        return tuple(day for day in dates if day not in skipped)

    def opens_of(self, aim: date) -> date:
        """The first day on which the occurrence at ``aim`` may be done."""
        if self.before is None:
            return aim - timedelta(days=self._length(aim) // 2)
        return self._moved(aim, self.before, -1)

    def limit_of(self, aim: date) -> date:
        """The last day on which the job is on time, extensions left aside (R14)."""
        return aim if self.after is None else self._moved(aim, self.after, 1)

    def limit_under(self, aim: date, extension: Extension | None) -> date:
        """The last day on which the job is on time: the extension where one is granted (R14)."""
        return extension.until_on if extension and extension.until_on else self.limit_of(aim)

    def _has_opened(self, aim: date, doing: Doing) -> bool:
        if doing.on < self.opens_of(aim):
            return False
        until = doing.extension and doing.extension.until_on
        return not until or self.windowed or doing.on >= aim - timedelta(days=max(0, (aim - until).days // 2))

    def _anchor(self, doing: Doing) -> date:
        return self.anchor or (doing.first or doing).on

    def _length(self, aim: date) -> int:
        return (aim - add_span(aim, self.every, -1)).days

    def _moved(self, aim: date, margin: Margin, direction: int) -> date:
        if isinstance(margin, Span):
            return add_span(aim, margin, direction)
        if isinstance(margin, Share):
            return aim + timedelta(days=direction * int(margin.of_interval * self._length(aim)))
        raise TypeError(margin)


@dataclass(frozen=True, slots=True)
class CountTerms:
    """A counter limb, ready to be worked out; amounts in base units."""

    index: int
    amount: int
    unit: str
    mode: CountsFrom
    anchor: int | None
    windowed: bool
    before: int
    after: int

    @property
    def on_grid(self) -> bool:
        """Marks lie on a grid."""
        return self.mode == "grid"

    def aim_after(self, doing: Doing) -> int | None:
        """The aim that follows a doing or a start; None when the total at that doing is not known."""
        base = doing.counts.get(self.unit)
        if base is None or self.mode == "done":
            return None if base is None else base + self.amount
        index = self.closed_index(doing)
        return None if index is None else self._anchor(doing, base) + max(0, index + 1) * self.amount

    def closed_index(self, doing: Doing) -> int | None:
        """Which mark a doing closes: the latest whose window has opened; None when its total is not known."""
        base = doing.counts.get(self.unit)
        if base is None:
            return None
        if doing.kind is DoingKind.START and self.mode == "grid":
            return (base - 1 - self._anchor(doing, base)) // self.amount
        anchor = self._anchor(doing, base)
        opening = self.before if self.windowed else self._half_way(base - anchor, doing, anchor)
        return (base + opening - anchor) // self.amount

    def occurrence(self, doing: Doing, index: int) -> int | None:
        """Mark ``index`` of the grid this doing belongs to; None when its total is not known."""
        base = doing.counts.get(self.unit)
        return None if base is None else self._anchor(doing, base) + index * self.amount

    def limit_of(self, aim: int) -> int:
        """The total up to which the job is on time, extensions left aside (R14)."""
        return aim + self.after

    def limit_under(self, aim: int, extension: Extension | None) -> int:
        """The total up to which the job is on time: the extension where one is granted (R14)."""
        until = dict(extension.until_counts).get(self.unit) if extension else None
        return aim + self.after if until is None else until

    def _half_way(self, done: int, doing: Doing, anchor: int) -> int:
        """How far before the next mark an unstated window opens; ``done`` counts from the anchor."""
        half = self.amount // 2
        until = dict(doing.extension.until_counts).get(self.unit) if doing.extension else None
        if until is None:
            return half
        following = (done // self.amount + 1) * self.amount
        return min(half, max(0, (following - (until - anchor)) // 2))

    def _anchor(self, doing: Doing, base: int) -> int:
        if self.anchor is not None:
            return self.anchor
        return (doing.first or doing).counts.get(self.unit, base)


class RuleTerms(NamedTuple):
    """A rule compiled for the engine: limbs in the order written, and the units they count."""

    rule: Rule
    limbs: tuple[CalendarTerms | CountTerms, ...]
    units: frozenset[str]


def compile_rule(rule: Rule) -> RuleTerms:
    """The terms of a rule. Pure and cheap; do it once per distinct rule."""
    limbs = tuple(_compile_limb(rule, index) for index in range(len(rule.limbs)))
    units = frozenset(limb.unit for limb in limbs if isinstance(limb, CountTerms))
    return RuleTerms(rule, limbs, units)


def _compile_limb(rule: Rule, index: int) -> CalendarTerms | CountTerms:
    limb = rule.limbs[index]
    if isinstance(limb, CalendarLimb):
        before, after = _calendar_margin(rule.opens), _calendar_margin(rule.closes)
        return CalendarTerms(index, limb.every, rule.counts_from, rule.anchor_on, before, after)
    before_amount, after_amount = _count_margin(rule.opens, limb), _count_margin(rule.closes, limb)
    anchor = dict(rule.anchor_counts).get(limb.unit)
    return CountTerms(
        index, limb.amount, limb.unit, rule.counts_from, anchor,
        before_amount is not None, before_amount or 0, after_amount or 0,
    )  # fmt: skip


def _calendar_margin(margins: tuple[Margin, ...]) -> Margin | None:
    return next((m for m in margins if not isinstance(m, CountMargin)), None)


def _count_margin(margins: tuple[Margin, ...], limb: CountLimb) -> int | None:
    for margin in margins:
        if isinstance(margin, Share):
            return int(margin.of_interval * limb.amount)
        if isinstance(margin, CountMargin) and margin.unit == limb.unit:
            return margin.amount
    return None
