"""Why a job is due then: the sum behind a standing, as frozen data from which it can be worked out again by hand.

For every limb: aim = base + times x interval, and for counters expected date = date read + left / use per day, rounded
down. Amounts are in seconds for hours and whole units otherwise. Knows the engine's own workings and adds none; the
words are in ``because``.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from enum import IntEnum
from typing import Any, Literal, NamedTuple

from pmsched.domain.aims import CalendarTerms, CountTerms, Doing, DoingKind, Extension, RuleTerms
from pmsched.domain.counters import Rate
from pmsched.domain.counts import HOURS, SECONDS_PER_DAY, format_amount
from pmsched.domain.due import CalendarDetail, CountDetail, Counts, Detail, Settings, Standing, State, stand
from pmsched.domain.periods import Span, grid_index_on_or_before
from pmsched.domain.rules import CountsFrom
from pmsched.domain.spans import write_span


class CalendarReason(NamedTuple):
    """One calendar limb: aim = base + times x interval.

    Attributes:
        place: index of the limb in the rule.
        what: the interval in words.
        counts_from: the last doing or start, a grid, or the aim.
        base: that doing's date; the first date of a grid; the first doing's date when counting from the aim.
        opens: first day of the window; None where none is stated.
        original: last day on time before any extension; ``limit`` is the one in force.
        left_days: days to the limit in force; negative when it is passed.
        missed: occurrences of a grid that fell due and are open.
    """

    place: int
    what: str
    counts_from: CountsFrom
    base: date
    interval: Span
    times: int
    opens: date | None
    aim: date
    original: date
    limit: date
    today: date
    left_days: int
    missed: tuple[date, ...]
    state: State
    kind: Literal["calendar"] = "calendar"


class CountReason(NamedTuple):
    """One counter limb: aim = base + times x interval; left = aim - total; expected = date read + left / rate.

    Attributes:
        place, what, counts_from, opens, original, limit: as for the calendar, in the counter's units.
        base: total at the last doing, first mark of the grid, or total at the first doing; None when not known.
        aim, original, limit: None when the base is not known.
        total, read_on: last reading; None without one.
        guessed: how much of the use since the last doing rests on estimates.
        left: amount left to the aim by the last reading; negative when it is passed.
        rate: use, with the dates it was measured between; None when it could not be measured.
        expected_on: date on which the aim is expected; None without a date.
        total_today, most_today: total expected and total possible today; only where the state rests on use since
            the last reading (case 15); the most is known for hours only, 24 a day.
    """

    place: int
    what: str
    unit: str
    counts_from: CountsFrom
    base: int | None
    interval: int
    times: int | None
    opens: int | None
    aim: int | None
    original: int | None
    limit: int | None
    total: int | None
    read_on: date | None
    guessed: int
    left: int | None
    rate: Rate | None
    expected_on: date | None
    total_today: int | None
    most_today: int | None
    state: State
    estimated: bool
    kind: Literal["count"] = "count"


Reason = CalendarReason | CountReason


class Because(NamedTuple):
    """The whole sum: every limb in the order of the rule, which one governs, and what it all counts from.

    ``since`` and ``since_kind`` are the last doing or start (None: neither is known), ``first_kind`` what a rule that
    counts from the aim began with.
    """

    today: date
    state: State
    governing: int
    limbs: tuple[Reason, ...]
    since: date | None
    since_kind: DoingKind | None
    first_kind: DoingKind | None
    overdue_days: int
    extension: Extension | None


def explain(
    terms: RuleTerms,
    doing: Doing | None,
    counts: Counts,
    today: date,
    settings: Settings,
    extension: Extension | None = None,
) -> tuple[Standing, Because]:
    """The standing of one job (unit), as ``stand`` gives it, with the sum it came from."""
    details: list[Detail] = []
    standing = stand(terms, doing, counts, today, settings, extension, details.append)
    because = Because(
        today, standing.state, standing.governing,
        tuple(_reasons(terms, doing, details, today)) if doing else (),
        doing and doing.on, doing and doing.kind, doing and (doing.first or doing).kind,
        standing.overdue_days, extension,
    )  # fmt: skip
    return standing, because


def as_data(because: Because) -> dict[str, Any]:
    """The sum as plain names and values for JSON: dates as ISO text, states and kinds as words, amounts as integers."""
    plain: dict[str, Any] = _plain(because)
    return plain


def _reasons(terms: RuleTerms, doing: Doing, details: Sequence[Detail], today: date) -> list[Reason]:
    reasons: list[Reason] = []
    for detail in details:
        limb = terms.limbs[detail.place]
        if isinstance(detail, CalendarDetail) and isinstance(limb, CalendarTerms):
            reasons.append(_calendar_reason(limb, doing, detail))
        elif isinstance(detail, CountDetail) and isinstance(limb, CountTerms):
            reasons.append(_count_reason(limb, doing, detail, today))
    return reasons


def _calendar_reason(limb: CalendarTerms, doing: Doing, detail: CalendarDetail) -> CalendarReason:
    done = limb.mode == "done"
    base = doing.on if done else limb.occurrence(doing, 0)
    times = 1 if done else grid_index_on_or_before(base, limb.every, detail.aim)
    return CalendarReason(
        detail.place, write_span(limb.every), limb.mode, base, limb.every, times, detail.opens, detail.aim,
        limb.limit_of(detail.aim), detail.limit, detail.today, detail.days_left, detail.missed, detail.state,
    )  # fmt: skip


def _count_reason(limb: CountTerms, doing: Doing, detail: CountDetail, today: date) -> CountReason:
    aim, shown = detail.aim, detail.shown
    base = doing.counts.get(limb.unit) if limb.mode == "done" else limb.occurrence(doing, 0)
    total_today = most_today = None
    if shown is not None and aim is not None and shown.on < today and _rests_on_use(detail.state, shown.total < aim):
        total_today = shown.expected_total(today)
        most_today = shown.total + (today - shown.on).days * SECONDS_PER_DAY if limb.unit == HOURS else None
    return CountReason(
        detail.place, format_amount(limb.amount, limb.unit), limb.unit, limb.mode, base, limb.amount,
        None if aim is None or base is None else (aim - base) // limb.amount,
        detail.opens, aim, None if aim is None else limb.limit_of(aim), detail.limit,
        shown and shown.total, shown and shown.on, detail.guessed, detail.left, shown and shown.rate,
        detail.due_on, total_today, most_today, detail.state, detail.estimated,
    )  # fmt: skip


def _rests_on_use(state: State, before_aim: bool) -> bool:
    return state is State.PAST_DUE_BY_ESTIMATE or (state is State.DUE and before_aim)


def _plain(value: Any) -> Any:
    if isinstance(value, IntEnum):
        return value.name.lower().replace("_", " ")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        names = getattr(value, "_fields", None)
        return dict(zip(names, map(_plain, value), strict=True)) if names else [_plain(item) for item in value]
    return value
