"""Which rules can be kept: every limit, first date or mark, and margin must mean something for the rule it stands in.

Knows no words; ``written`` reads and writes those. What is refused here would be dropped or misread when the due
list is worked out.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from itertools import combinations

from pmsched.domain.errors import Refusal
from pmsched.domain.limbs import check_amount, check_unit, write_amount, write_limb
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountMargin, CountsFrom, Limb, Margin, Rule, Share
from pmsched.domain.spans import check_span, write_span

_PERCENT_PARTS = 10_000
_FEWEST_DAYS_IN_MONTH, _MOST_DAYS_IN_MONTH = 28, 31


def build_rule(
    limbs: Sequence[Limb],
    counts_from: CountsFrom = "done",
    anchor_on: date | None = None,
    anchor_counts: Iterable[tuple[str, int]] = (),
    opens: Iterable[Margin] = (),
    closes: Iterable[Margin] = (),
) -> Rule:
    """The rule, checked; first marks in the order of the limits, and 0 for a counter grid without one.

    A margin must be smaller than its interval; days against months are taken at their least favourable, 28 or 31 days
    a month. Margins of 100 % or of the whole interval are too wide.

    Raises:
        Refusal: no limits, or two of one kind; an amount out of range or too fine; a calendar grid without its first
            date; a first date or mark that no limit uses; a margin that applies to no limit, is too wide, or meets
            another one on the same limit.
    """
    limbs, opens, closes = tuple(limbs), tuple(opens), tuple(closes)
    check_limbs(limbs)
    marks = tuple(anchor_counts)
    _check_start(limbs, counts_from, anchor_on, bool(marks))
    marks = _ordered_marks(limbs, counts_from, marks)
    for margins in (opens, closes):
        _check_margins(margins, limbs)
    return Rule(limbs, counts_from, anchor_on, marks, opens, closes)


def check_limbs(limbs: Sequence[Limb]) -> None:
    """Refuse limits that cannot stand together or at all; as ``build_rule`` says."""
    if not limbs:
        raise Refusal("no-interval", "The rule has no interval.", "Write one such as 12 months or 4000 h.")
    for limb in limbs:
        if isinstance(limb, CalendarLimb):
            check_span(limb.every)
        else:
            _check_count(limb.amount, limb.unit)
    for one, other in combinations(limbs, 2):
        if _kind(one) == _kind(other):
            raise Refusal(
                "two-of-a-kind",
                f"'{write_limb(one)}' and '{write_limb(other)}' are limits of one kind.",
                "Keep the one that falls first.",
            )


def check_margin(margin: Margin) -> None:
    """Refuse a margin that is no margin for any interval: zero or less, 100 % or more, or too fine."""
    if isinstance(margin, Share):
        if not 0 < margin.of_interval < 1:
            percent = f"{float(margin.of_interval * 100):g} %"
            raise Refusal(
                "margin-too-wide",
                f"{percent} is not between 0 % and 100 %.",
                "Write one such as 10 %, or leave it out.",
            )
        if _PERCENT_PARTS % margin.of_interval.denominator:
            raise Refusal("too-fine", "A margin in % has at most two decimals.", "Write one such as 12.5 %.")
    elif isinstance(margin, Span):
        check_span(margin)
    else:
        _check_count(margin.amount, margin.unit)


def write_margin(margin: Margin) -> str:
    """The margin in its one written form: ``10 %``, ``30 days``, ``200 h``."""
    if isinstance(margin, Share):
        hundredths = int(margin.of_interval * _PERCENT_PARTS)
        return f"{hundredths // 100}.{hundredths % 100:02d}".rstrip("0").rstrip(".") + " %"
    return write_span(margin) if isinstance(margin, Span) else write_amount(margin.amount, margin.unit)


def _check_count(amount: int, unit: str) -> None:
    check_unit(unit)
    check_amount(amount, unit)


def _check_start(limbs: Sequence[Limb], counts_from: CountsFrom, anchor_on: date | None, has_marks: bool) -> None:
    calendar = any(isinstance(limb, CalendarLimb) for limb in limbs)
    if counts_from == "done" and (anchor_on or has_marks):
        raise Refusal(
            "start-without-grid",
            "A rule from the last doing has no first date or mark.",
            "Put it on the grid, or leave it out.",
        )
    if anchor_on and not calendar:
        raise Refusal("start-of-nothing", f"{anchor_on} starts nothing: no limit is on the calendar.", "Leave it out.")
    if counts_from == "grid" and calendar and not anchor_on:
        raise Refusal(
            "grid-without-date", "A grid on the calendar needs its first date.", "Write: on the grid from 2025-01-31."
        )


def _ordered_marks(
    limbs: Sequence[Limb], counts_from: CountsFrom, anchor_counts: Sequence[tuple[str, int]]
) -> tuple[tuple[str, int], ...]:
    units = [limb.unit for limb in limbs if isinstance(limb, CountLimb)]
    marks = dict(anchor_counts)
    if len(marks) < len(anchor_counts):
        raise Refusal("mark-twice", "Two first marks are given for one counter.", "Keep one.")
    for unit, amount in marks.items():
        check_amount(amount, unit, least=0)
        if unit not in units:
            message = f"'{write_amount(amount, unit)}' starts nothing: no limit counts {unit}."
            raise Refusal("start-of-nothing", message, "Leave it out.")
    return tuple((unit, marks.get(unit, 0)) for unit in units if unit in marks or counts_from == "grid")


def _check_margins(margins: Sequence[Margin], limbs: Sequence[Limb]) -> None:
    for margin in margins:
        check_margin(margin)
        if not any(_applies(margin, limb) for limb in limbs):
            raise Refusal(
                "margin-of-nothing",
                f"The margin '{write_margin(margin)}' applies to no limit of the rule.",
                f"The limits are: {' or '.join(map(write_limb, limbs))}.",
            )
    for limb in limbs:
        _check_margins_of(limb, [margin for margin in margins if _applies(margin, limb)])


def _check_margins_of(limb: Limb, margins: Sequence[Margin]) -> None:
    if len(margins) > 1:
        raise Refusal(
            "two-margins",
            f"'{write_margin(margins[0])}' and '{write_margin(margins[1])}' both apply to {write_limb(limb)}.",
            "Keep one margin for each limit.",
        )
    if margins and _too_wide(margins[0], limb):
        message = f"The margin '{write_margin(margins[0])}' is not smaller than {write_limb(limb)}."
        raise Refusal("margin-too-wide", message, "Write a smaller margin.")


def _kind(limb: Limb) -> str:
    # No unit of a counter has a space.
    return "the calendar" if isinstance(limb, CalendarLimb) else limb.unit


def _applies(margin: Margin, limb: Limb) -> bool:
    if isinstance(margin, Share):
        return True
    if isinstance(margin, CountMargin):
        return isinstance(limb, CountLimb) and limb.unit == margin.unit
    return isinstance(limb, CalendarLimb)


def _too_wide(margin: Margin, limb: Limb) -> bool:
    if isinstance(margin, CountMargin) and isinstance(limb, CountLimb):
        return margin.amount >= limb.amount
    if not (isinstance(margin, Span) and isinstance(limb, CalendarLimb)):
        return False
    if margin.months and limb.every.months:
        return margin.months >= limb.every.months
    widest = margin.days or margin.months * _MOST_DAYS_IN_MONTH
    return widest >= (limb.every.days or limb.every.months * _FEWEST_DAYS_IN_MONTH)
