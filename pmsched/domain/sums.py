"""The sum behind a due date step by step, as it is worked out by hand; ``because`` says the same in one sentence.

Words only; the figures come from ``reasons``.
"""

from __future__ import annotations

from collections.abc import Iterator

from pmsched.domain.aims import DoingKind
from pmsched.domain.because import dates_text
from pmsched.domain.counts import format_amount
from pmsched.domain.reasons import Because, CalendarReason, CountReason, Reason
from pmsched.domain.words import some

_SINCE = {
    DoingKind.DONE: "last done on {}",
    DoingKind.START: "started on {}",
    DoingKind.DUE_AT_ONCE: "stated due at once on {}",
}


def sum_lines(because: Because) -> Iterator[str]:
    """The arithmetic, a step a line; the governing limb is marked."""
    if because.since is not None and because.since_kind is not None:
        yield _SINCE[because.since_kind].format(because.since)
    for number, reason in enumerate(because.limbs, 1):
        first = " - falls first" if reason.place == because.governing and len(because.limbs) > 1 else ""
        yield f"limit {number}: {reason.what}{first}"
        steps = _calendar_steps(reason) if isinstance(reason, CalendarReason) else _count_steps(reason)
        yield from (f"  {step}" for step in steps)
    granted = because.extension
    if granted is not None:
        until = [str(granted.until_on)] if granted.until_on else []
        until += [format_amount(amount, unit) for unit, amount in granted.until_counts]
        yield f"extended to {' or '.join(until)}"


def _calendar_steps(reason: CalendarReason) -> Iterator[str]:
    yield f"{reason.base} + {_times(reason)}{reason.what} = {reason.aim}"
    if reason.opens is not None:
        yield f"may be done from {reason.opens}"
    yield from _limit(reason, str(reason.limit) if reason.limit != reason.aim else "")
    if reason.missed:
        yield f"fell due and open: {dates_text(reason.missed)}"
    left = reason.left_days
    yield (
        f"today {reason.today}: {some(left, 'day')} left"
        if left >= 0
        else f"today {reason.today}: {some(-left, 'day')} past"
    )


def _count_steps(reason: CountReason) -> Iterator[str]:
    unit = reason.unit
    if reason.base is None or reason.aim is None:
        yield f"running total at the last doing not known ({unit})"
    else:
        yield f"{format_amount(reason.base, unit)} + {_times(reason)}{reason.what} = {format_amount(reason.aim, unit)}"
    if reason.opens is not None:
        yield f"may be done from {format_amount(reason.opens, unit)}"
    differs = reason.limit is not None and reason.limit != reason.aim
    yield from _limit(reason, format_amount(reason.limit, unit) if reason.limit is not None and differs else "")
    if reason.total is None:
        yield "no reading"
        return
    yield f"last reading {format_amount(reason.total, unit)} on {reason.read_on}"
    if reason.guessed:
        yield f"of it estimated: {format_amount(reason.guessed, unit)}"
    if reason.left is None or reason.aim is None:
        return
    left = format_amount(abs(reason.left), unit) + (" left" if reason.left >= 0 else " past")
    yield f"{format_amount(reason.aim, unit)} - {format_amount(reason.total, unit)} = {left}"
    yield from _use(reason)


def _use(reason: CountReason) -> Iterator[str]:
    rate, unit = reason.rate, reason.unit
    if rate is None:
        yield "use not measured yet: no date"
        return
    marked = ", from before the lay-up" if rate.before_layup else ""
    rise = format_amount(rate.rise, unit)
    days = (rate.until - rate.since).days
    yield f"use {rate.per_day(unit)}: {rise} in {some(days, 'day')}, {rate.since} to {rate.until}{marked}"
    if reason.expected_on is not None and reason.left is not None and reason.left > 0:
        yield f"expected on {reason.expected_on}"
    if reason.total_today is not None:
        yield f"expected today {format_amount(reason.total_today, unit)}: an estimate, read the meter"


def _limit(reason: Reason, limit: str) -> Iterator[str]:
    if limit:
        extended = " (extended)" if reason.limit != reason.original else ""
        yield f"on time to {limit}{extended}"


def _times(reason: Reason) -> str:
    return f"{reason.times} x " if reason.times not in {None, 1} else ""
