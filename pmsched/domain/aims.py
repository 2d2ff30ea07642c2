"""From a rule and the last doing to the next aim: one set of terms per limb, compiled once per distinct rule.

On a grid (R13) a doing closes the latest occurrence whose window has opened; where no window is stated it opens half
an interval before the occurrence. "From the aim" is a grid that starts at the first doing, so nothing drifts.
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


class DoingKind(IntEnum):
    """What a job counts from: a doing, a stated start ("from 1 March"), or a stated "due at once"."""

    DONE = 0
    START = 1
    DUE_AT_ONCE = 2


class Doing(NamedTuple):
    """What a job (unit) counts from: ship's date, the machine's running totals then, and the first doing ever.

    ``first`` is needed only by rules that count from the aim; None means this one is the first.
    """

    on: date
    counts: Mapping[str, int] = NO_COUNTS
    kind: DoingKind = DoingKind.DONE
    first: Doing | None = None


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
        following = add_span(anchor, self.every, index + 1)
        return index + 1 if doing.on >= self.opens_of(following) else index

    def occurrence(self, doing: Doing, index: int) -> date:
        """The date of occurrence ``index`` of the grid this doing belongs to."""
        return add_span(self._anchor(doing), self.every, index)

    def occurrence_after(self, aim: date, steps: int) -> date:
        """The occurrence ``steps`` after the one at ``aim``, counted from the anchor so that month-ends do not slide."""
        if self.anchor is None:
            return add_span(aim, self.every, steps)
        return add_span(self.anchor, self.every, grid_index_on_or_before(self.anchor, self.every, aim) + steps)

    def fell_due(self, aim: date, today: date) -> int:
        """How many occurrences from ``aim`` on have fallen due by today."""
        anchor = self.anchor or aim
        last = grid_index_on_or_before(anchor, self.every, today)
        return last - grid_index_on_or_before(anchor, self.every, aim) + 1

    def opens_of(self, aim: date) -> date:
        """The first day on which the occurrence at ``aim`` may be done."""
        if self.before is None:
            return aim - timedelta(days=self._length(aim) // 2)
        return self._moved(aim, self.before, -1)

    def limit_of(self, aim: date) -> date:
        """The last day on which the job is on time (R14)."""
        return aim if self.after is None else self._moved(aim, self.after, 1)

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
        opening = self.before if self.windowed else self.amount // 2
        return (base + opening - self._anchor(doing, base)) // self.amount

    def _anchor(self, doing: Doing, base: int) -> int:
        if self.anchor is not None:
            return self.anchor
        return (doing.first or doing).counts.get(self.unit, base)


class RuleTerms(NamedTuple):
    """A rule compiled for the engine; ``limbs`` in the order written."""

    rule: Rule
    limbs: tuple[CalendarTerms | CountTerms, ...]


def compile_rule(rule: Rule) -> RuleTerms:
    """The terms of a rule. Pure and cheap; do it once per distinct rule."""
    return RuleTerms(rule, tuple(_compile_limb(rule, index) for index in range(len(rule.limbs))))


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
