"""Calendar arithmetic: adding spans of months or days, and grids of dates.

Conventions R1-R3: a month added keeps the day number, or takes the last day of a shorter month; a grid is
always anchor + n x span, never the previous date + span, so a month-end anchor does not slide.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import NamedTuple

from pmsched.domain.errors import Refusal

_DAYS_IN_MONTH = (0, 31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
_NO_SHORTER_MONTH = 28


class Span(NamedTuple):
    """A stretch of the calendar: whole months, or whole days; exactly one of the two is not zero."""

    months: int = 0
    days: int = 0


def days_in_month(year: int, month: int) -> int:
    """Days in that month of the Gregorian calendar (28-31)."""
    if month == 2 and year % 4 == 0 and (year % 100 or year % 400 == 0):  # noqa: PLR2004 - the calendar's own numbers
        return 29
    return _DAYS_IN_MONTH[month]


def add_months(start: date, months: int) -> date:
    """The same day number ``months`` later (or earlier), clamped to the last day of a shorter month (R2).

    Equals RFC 7529 ``SKIP=BACKWARD`` counted from the anchor. Raises Refusal beyond the years 1-9999.
    """
    index = start.month - 1 + months
    year = start.year + index // 12
    month = index % 12 + 1
    day = start.day
    if day > _NO_SHORTER_MONTH:
        day = min(day, days_in_month(year, month))
    try:
        return date(year, month, day)
    except (ValueError, OverflowError):
        raise _beyond_calendar(start, months, "months") from None


def add_span(start: date, span: Span, times: int = 1) -> date:
    """``start`` + ``times`` x ``span`` in one step; ``times`` may be negative. Raises Refusal beyond the calendar."""
    if span.months:
        return add_months(start, span.months * times)
    try:
        return start + timedelta(days=span.days * times)
    except OverflowError:
        raise _beyond_calendar(start, span.days * times, "days") from None


def grid_index_on_or_before(anchor: date, span: Span, day: date) -> int:
    """The greatest n with anchor + n x span <= day, in closed form; negative before the anchor."""
    if span.days:
        return (day - anchor).days // span.days
    months = (day.year - anchor.year) * 12 + day.month - anchor.month
    n, into = divmod(months, span.months)
    # Only a date of the same month can lie after the day: one step back is enough.
    if into == 0 and min(anchor.day, days_in_month(day.year, day.month)) > day.day:
        return n - 1
    return n


def _beyond_calendar(start: date, amount: int, unit: str) -> Refusal:
    return Refusal(
        "beyond-calendar",
        f"{amount} {unit} from {start.isoformat()} lies outside the years 1-9999.",
        "Check the interval and the date.",
    )
