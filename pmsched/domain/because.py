"""The sum behind a due date in words: one plain sentence, and a few words of what is left for lists.

Words only; the figures come from ``reasons``, which is also reached through this module.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Any

from pmsched.domain.aims import DoingKind
from pmsched.domain.counters import Rate
from pmsched.domain.counts import HOURS, SECONDS_PER_DAY, SECONDS_PER_HOUR, format_amount
from pmsched.domain.due import Standing, State
from pmsched.domain.reasons import Because, CalendarReason, CountReason, Reason, explain
from pmsched.domain.reasons import as_data as _all_data

__all__ = [
    "Because", "CalendarReason", "CountReason", "Reason", "as_data", "dates_text", "explain", "left_text", "sentence",
]  # fmt: skip

LEFT_WIDTH = 17
"""Characters that ``left_text`` keeps to where it can."""

MOST_MISSED = 20
"""Missed dates that ``as_data`` tells of a limb, the first ones."""

_DATES_AT_EACH_END = 2
_HALF_DAY = SECONDS_PER_DAY // 2
_FROM_FIRST = {DoingKind.DONE: "the first doing", DoingKind.START: "the start"}


def sentence(because: Because) -> str:
    """Why the job is due then, on one line: every limb with its sum, what is past or left, and which limb is first."""
    if because.since is None:
        return "; ".join(["never reported done and no start stated: due now", *_at_once_limits(because)])
    if because.since_kind is DoingKind.DUE_AT_ONCE:
        return "; ".join([f"stated due at once on {because.since}", *_at_once_limits(because)])
    clauses = [clause for reason in because.limbs for clause in _clauses(reason, because)]
    if len(because.limbs) > 1 and because.governing >= 0:
        clauses.append(f"{_first_limb(because)} first")
    return "; ".join(clauses)


def left_text(standing: Standing, because: Because) -> str:
    """What is left in a few words: ``in 243 d``, ``2 920 h``, ``9 d overdue``, ``today``, ``no date; 250 h left``.

    The limb that makes the state is told, the governing one of several. Days and amounts are left to the limit where
    there is a window or the aim has come, and to the aim before.
    """
    if standing.overdue_days:
        return f"{standing.overdue_days} d overdue"
    if standing.overdue_counts:
        unit, amount = standing.overdue_counts[0]
        return _fitting(f"{_short(amount, unit)} overdue", f"{_short(amount, unit)} over")
    reason = _telling(standing, because)
    if reason is None:
        return "due now"
    return _calendar_left(reason) if isinstance(reason, CalendarReason) else _count_left(reason)


def as_data(because: Because) -> dict[str, Any]:
    """The sum as plain names and values for JSON, as ``reasons`` gives it, with at most ``MOST_MISSED`` missed dates a limb.

    A daily grid forgotten for decades has thousands of them; how many there are is ``missed`` of the standing.
    """
    return _all_data(because._replace(limbs=tuple(map(_with_fewer_missed, because.limbs))))


def dates_text(dates: Sequence[date]) -> str:
    """The dates one after another; of more than four only the first two and the last two."""
    ends = _DATES_AT_EACH_END
    if len(dates) <= 2 * ends:
        return ", ".join(map(str, dates))
    return f"{', '.join(map(str, dates[:ends]))}, ... {', '.join(map(str, dates[-ends:]))}"


def _with_fewer_missed(reason: Reason) -> Reason:
    return reason._replace(missed=reason.missed[:MOST_MISSED]) if isinstance(reason, CalendarReason) else reason


def _at_once_limits(because: Because) -> Iterator[str]:
    granted = because.extension
    if granted is not None and granted.until_on is not None:
        yield f"extended to {granted.until_on}"
    for unit, until in granted.until_counts if granted is not None else ():
        yield f"extended to {format_amount(until, unit)}"
    if because.overdue_days:
        yield f"overdue {_days(because.overdue_days)}"


def _clauses(reason: Reason, because: Because) -> Iterator[str]:
    if isinstance(reason, CalendarReason):
        yield _calendar_sum(reason, because)
        yield from _missed(reason)
        yield from _calendar_window(reason)
        yield from _calendar_limit(reason)
    elif reason.aim is None:
        yield f"{_name(reason)} at the last doing not known"
    else:
        yield from _count_clauses(reason, because, reason.aim)


def _calendar_sum(reason: CalendarReason, because: Because) -> str:
    if reason.counts_from == "done":
        start = "the start on " if because.since_kind is DoingKind.START else ""
        return f"{reason.what} from {start}{reason.base} -> {reason.aim}"
    every = reason.what.removeprefix("1 ")
    first = f"{_from_first(because)} on " if reason.counts_from == "aim" else ""
    return f"every {every} from {first}{reason.base}: {reason.aim}"


def _missed(reason: CalendarReason) -> Iterator[str]:
    if len(reason.missed) > 1:
        times = f"{len(reason.missed):,}".replace(",", " ")
        yield f"fell due {times} times ({dates_text(reason.missed)})"


def _calendar_window(reason: CalendarReason) -> Iterator[str]:
    if reason.opens is not None:
        yield f"may be done from {reason.opens} to {reason.original}"
    elif reason.original > reason.aim:
        yield f"on time to {reason.original}"
    if reason.state is State.NOT_OPEN and reason.opens is not None:
        yield f"opens in {_days((reason.opens - reason.today).days)}"


def _calendar_limit(reason: CalendarReason) -> Iterator[str]:
    past_aim = (reason.today - reason.aim).days
    past_original = (reason.today - reason.original).days
    extended = reason.limit != reason.original
    if reason.state is State.OVERDUE:
        beyond = f" past the extension to {reason.limit}" if extended else ""
        yield f"overdue {_days(-reason.left_days)}{beyond}"
        if extended and past_original > 0:
            yield f"{_days(past_original)} past the original {reason.original}"
    elif extended:
        yield f"extended from {reason.original} to {reason.limit}, {_days(reason.left_days)} left"
        if past_original > 0:
            yield f"{_days(past_original)} past the original"
    elif reason.state is State.MAY_BE_DONE:
        yield f"{_days(reason.left_days)} left"
    elif reason.state is State.DUE:
        tolerance = f", {_days(reason.left_days)} of tolerance left" if reason.limit > reason.aim else ""
        yield (f"{_days(past_aim)} past the aim" if past_aim else "due today") + tolerance


def _count_clauses(reason: CountReason, because: Because, aim: int) -> Iterator[str]:
    yield from _count_start(reason, because, aim)
    if reason.total is None or reason.left is None:
        yield f"no date from {_name(reason)}: no reading"
        return
    if reason.left > 0:
        yield _count_sum(reason, reason.left)
    yield from _count_window(reason)
    yield from _count_limit(reason, reason.total, aim)
    yield from _by_estimate(reason, reason.total, aim, because.today)
    if reason.guessed:
        yield f"{_amount(reason, reason.guessed)} of the {_amount(reason, reason.total)} are estimated"


def _count_start(reason: CountReason, because: Because, aim: int) -> Iterator[str]:
    """Where the interval is counted from; left out where what is left to go tells enough."""
    if reason.base is None:
        return
    if reason.counts_from == "done":
        if reason.left is None or reason.left <= 0:
            yield f"{reason.what} from {_amount(reason, reason.base)}: {_amount(reason, aim)}"
    else:
        first = f"{_from_first(because)} at " if reason.counts_from == "aim" else ""
        yield f"every {reason.what} from {first}{_amount(reason, reason.base)}: {_amount(reason, aim)}"


def _count_sum(reason: CountReason, left: int) -> str:
    rate, amount = reason.rate, _amount(reason, left)
    if rate is None:
        return f"no date from {_name(reason)}: no use measured; {amount} left"
    if rate.rise <= 0:
        return f"no date from {_name(reason)}: no use measured in the {_measured(rate)}; {amount} left"
    marked = ", rate from before lay-up" if rate.before_layup else ""
    then = reason.expected_on or "no date before the year 10000"
    return f"{amount} left at {rate.per_day(reason.unit)} ({_measured(rate)}{marked}) -> {then}"


def _count_window(reason: CountReason) -> Iterator[str]:
    if reason.opens is None or reason.original is None or reason.total is None:
        return
    yield f"may be done from {_amount(reason, reason.opens)} to {_amount(reason, reason.original)}"
    if reason.state is State.NOT_OPEN:
        yield f"opens in {_amount(reason, reason.opens - reason.total)}"


def _count_limit(reason: CountReason, total: int, aim: int) -> Iterator[str]:
    original, limit = reason.original, reason.limit
    if original is None or limit is None:
        return
    if reason.state is State.OVERDUE:
        yield from _count_overdue(reason, total, aim, original, limit)
        return
    if limit != original:
        yield f"extended from {_amount(reason, original)} to {_amount(reason, limit)}"
        if total >= aim:
            yield f"{_amount(reason, max(0, limit - total))} left"
        if total > original:
            yield f"{_amount(reason, total - original)} past the original"
    elif total >= aim and total <= limit:
        past = f"{_amount(reason, total - aim)} past the aim" if total > aim else "at the aim"
        yield past + (f", {_amount(reason, limit - total)} of tolerance left" if limit > aim else "")


def _count_overdue(reason: CountReason, total: int, aim: int, original: int, limit: int) -> Iterator[str]:
    over, reading = _amount(reason, total - limit), f"by the reading of {reason.read_on}"
    if limit != original:
        yield f"overdue {over} past the extension to {_amount(reason, limit)} {reading}"
        yield f"{_amount(reason, total - original)} past the original {_amount(reason, original)}"
    elif limit > aim:
        yield f"overdue {over} past the tolerance {reading}, {_amount(reason, total - aim)} past the aim"
    else:
        yield f"overdue {over} {reading}"


def _by_estimate(reason: CountReason, total: int, aim: int, today: date) -> Iterator[str]:
    """What is expected since the last reading (case 15); nothing where what was read decides."""
    limit = aim if reason.limit is None else reason.limit
    expected = reason.total_today
    if reason.state is State.PAST_DUE_BY_ESTIMATE:
        # Hours booked by estimate stay; hours since the last reading are settled by the next one.
        past = _amount(reason, max(total, expected or 0) - limit)
        yield f"{past} past due by estimate" + (": read the meter" if total <= limit else "")
    elif expected is not None:
        past = f"{_amount(reason, expected - aim)} past the aim" if expected > aim else "due today"
        yield f"{past} by estimate: read the meter"
    if expected is not None and reason.read_on is not None and total <= limit:
        most = reason.most_today
        possible = "" if most is None else f", {_amount(reason, total)} to {_amount(reason, most)} possible"
        yield f"{_amount(reason, expected)} expected today{possible}"
        yield f"last read {_days((today - reason.read_on).days)} ago on {reason.read_on}"


def _first_limb(because: Because) -> str:
    """The governing limb by its kind, or by its interval where another limb is of the same kind."""
    first = next(reason for reason in because.limbs if reason.place == because.governing)
    names = [_name(reason) for reason in because.limbs]
    return _name(first) if names.count(_name(first)) == 1 else first.what


def _from_first(because: Because) -> str:
    return _FROM_FIRST.get(because.first_kind or DoingKind.DONE, "the start")


def _telling(standing: Standing, because: Because) -> Reason | None:
    """The limb that makes the state; the governing one if several do."""
    found = [reason for reason in because.limbs if reason.state is standing.state]
    return next((reason for reason in found if reason.place == standing.governing), found[0] if found else None)


def _calendar_left(reason: CalendarReason) -> str:
    if reason.state is State.NOT_OPEN and reason.opens is not None:
        return f"opens in {(reason.opens - reason.today).days} d"
    if reason.state >= State.MAY_BE_DONE:
        return f"{reason.left_days} d left" if reason.left_days else "today"
    return f"in {(reason.aim - reason.today).days} d"


def _count_left(reason: CountReason) -> str:
    if reason.total is None or reason.left is None or reason.limit is None:
        return "no reading" if reason.aim is not None else f"{_name(reason)} not known"
    if reason.state is State.PAST_DUE_BY_ESTIMATE:
        past = max(reason.total, reason.total_today or 0) - reason.limit
        return _fitting(f"est. {_short(past, reason.unit)} past", "read the meter")
    if reason.state is State.NOT_OPEN and reason.opens is not None:
        return _fitting(f"opens in {_short(reason.opens - reason.total, reason.unit)}", "not open")
    if reason.state >= State.MAY_BE_DONE:
        left = reason.limit - reason.total
        if reason.total_today is not None:
            return "due by estimate"
        return f"{_short(left, reason.unit)} left" if left > 0 else "due now"
    amount = _short(reason.left, reason.unit)
    return f"no date; {amount} left" if reason.state is State.NO_DATE else amount


def _name(reason: Reason) -> str:
    if isinstance(reason, CalendarReason):
        return "calendar"
    return "hours" if reason.unit == HOURS else reason.unit


def _amount(reason: CountReason, value: int) -> str:
    return format_amount(value, reason.unit)


def _short(amount: int, unit: str) -> str:
    """The amount, hours from 100 on without decimals so that a column holds them."""
    if unit == HOURS and amount >= 100 * SECONDS_PER_HOUR:
        amount -= amount % SECONDS_PER_HOUR
    return format_amount(amount, unit)


def _fitting(text: str, shorter: str) -> str:
    return text if len(text) <= LEFT_WIDTH else shorter


def _days(count: int) -> str:
    return f"{count} day{'' if count == 1 else 's'}"


def _measured(rate: Rate) -> str:
    """What use was measured over: '90 days to 2025-04-15', '60 of 90 days to ...' where stretches are left out."""
    span = (rate.until - rate.since).days
    if not span:
        return f"readings of {rate.until}"
    measured = (rate.seconds + _HALF_DAY) // SECONDS_PER_DAY
    return f"{measured} of {_days(span)} to {rate.until}" if measured < span else f"{_days(span)} to {rate.until}"
