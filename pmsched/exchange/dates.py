"""Dates and times of day as people write them in cells.

Reads only what can mean one thing. Knows English month names; does not know today's date, so a year is never guessed.
"""

from __future__ import annotations

import re
from datetime import date, time

from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.periods import days_in_month

_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
_MONTH_NUMBERS = {name.casefold(): number for number, name in enumerate(_MONTHS, 1)}
_MONTH_NUMBERS |= {name[:3].casefold(): number for number, name in enumerate(_MONTHS, 1)} | {"sept": 9}
_MONTHS_IN_YEAR = 12
_HOURS_IN_DAY = 24

_ISO = re.compile(r"([0-9]{4})-([0-9]{1,2})-([0-9]{1,2})")
_NAMED = re.compile(r"([0-9]{1,2})[ -]([^\W\d_]+)\.?[ -]([0-9]{4})")
_TWO_DIGIT_YEAR = re.compile(r"[0-9]{1,2}(?:[/. -][0-9]{1,2}[/. -]|[ -][^\W\d_]+\.?[ -])'?[0-9]{2}")
_NUMBERS = re.compile(r"([0-9]{1,2})([/. -])([0-9]{1,2})\2([0-9]{4})")
_TIME = re.compile(r"([0-9]{1,2}):?([0-9]{2})(?::00)?")


def read_date(text: str) -> date:
    """The date written as ``2025-03-04``, ``4 Mar 2025`` or ``4 March 2025``.

    Raises:
        Ambiguous: day and month are both numbers and their order cannot be told (``03/04/2025``).
        Refusal: the date does not exist, the year has two digits, or it is not a date.
    """
    written = " ".join(text.split())
    if found := _ISO.fullmatch(written):
        return _existing(int(found[1]), int(found[2]), int(found[3]))
    if found := _NAMED.fullmatch(written):
        month = _MONTH_NUMBERS.get(found[2].casefold())
        if month:
            return _existing(int(found[3]), month, int(found[1]))
        raise Refusal(
            "unknown-month", f"'{found[2]}' is not a month.", "Write the month in English, such as 4 Mar 2025."
        )
    if found := _NUMBERS.fullmatch(written):
        raise _either_order(written, int(found[1]), int(found[3]), int(found[4]))
    if _TWO_DIGIT_YEAR.fullmatch(written):
        raise Refusal("two-digit-year", f"'{written}' has a year of two digits.", "Write it like 2025-03-04.")
    raise Refusal("not-a-date", f"'{written}' is not a date.", "Write it like 2025-03-04 or 4 Mar 2025.")


def read_time(text: str) -> time:
    """The time of day written as ``14:30`` or ``1430``; whole minutes, 00:00 to 23:59.

    Raises:
        Refusal: not a time of day.
    """
    written = text.strip()
    found = _TIME.fullmatch(written)
    if not found:
        raise Refusal("not-a-time", f"'{written}' is not a time of day.", "Write it like 14:30 or 1430.")
    hour, minute = int(found[1]), int(found[2])
    if hour == _HOURS_IN_DAY and minute == 0:
        raise Refusal("no-such-time", f"'{written}' is the end of the day.", "Write 00:00 with the next day's date.")
    try:
        return time(hour, minute)
    except ValueError:
        raise Refusal("no-such-time", f"There is no time {written}.", "Times go from 00:00 to 23:59.") from None


def read_date_time(text: str) -> tuple[date, time]:
    """The date and the time of day written as ``2030-01-15 10:00``; the date as ``read_date`` reads it.

    Raises:
        Refusal: there is no time, or either cannot be read.
    """
    day, _, hour = text.strip().replace("T", " ").rpartition(" ")
    if not day or ":" not in hour:
        raise Refusal("no-time", f"'{text}' is not a date with a time.", "Write it like '2030-01-15 10:00'.")
    return read_date(day), read_time(hour)


def _existing(year: int, month: int, day: int) -> date:
    if not 1 <= month <= _MONTHS_IN_YEAR:
        raise Refusal("no-such-date", f"There is no month {month}.", "Write year-month-day, such as 2025-03-04.")
    if year < 1:
        raise Refusal("no-such-date", "There is no year 0.", "Check the year.")
    last = days_in_month(year, month)
    if not 1 <= day <= last:
        raise Refusal(
            "no-such-date",
            f"{_MONTHS[month - 1]} {year} has no day {day}.",
            f"Its last day is {date(year, month, last).isoformat()}.",
        )
    return date(year, month, day)


def _either_order(written: str, first: int, second: int, year: int) -> Refusal:
    """Month first and day first, as far as each exists. Never guessed, even if only one exists: the habit is unsafe."""
    orders = ((first, second), (second, first))
    choices = [
        date(year, month, day).isoformat()
        for month, day in dict.fromkeys(orders)
        if year and 1 <= month <= _MONTHS_IN_YEAR and 1 <= day <= days_in_month(year, month)
    ]
    if not choices:
        return Refusal("no-such-date", f"There is no date {written}.", "Write year-month-day, such as 2025-03-04.")
    return Ambiguous("ambiguous-date", f"'{written}' does not say which number is the month.", choices)
