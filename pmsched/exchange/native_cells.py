"""One cell of a workbook as the text a person would have written in a file: dates, times, numbers and codes.

A spreadsheet keeps values, not what was typed. Where the value can only mean one thing it is written out, and the same
readers take it as take the cells of a file; where it cannot, it is refused. Knows one cell and the kind of its column.
"""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from math import isfinite
from typing import NamedTuple

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import Kind
from pmsched.exchange.decimals import decimal_text, minutes_text

Value = str | float | bool | date | time | timedelta | None
"""What a cell holds; a date with its time is a ``datetime``."""


class Native(NamedTuple):
    """A cell as the workbook keeps it.

    Attributes:
        value: what it holds; the result of a formula.
        shown_as: its number format, as spreadsheets write them: ``0.0``, ``yyyy-mm-dd``.
        no_result: it holds a formula, and its result was never saved.
    """

    value: Value
    shown_as: str = "General"
    no_result: bool = False

    @property
    def blank(self) -> bool:
        """Nothing is to be seen in it."""
        return not self.no_result and (self.value is None or (isinstance(self.value, str) and not self.value.strip()))


BLANK = Native(None)

_AMOUNTS: frozenset[Kind] = frozenset({"amounts", "interval", "margins", "grid from", "hours"})
_WRITTEN_DATES: frozenset[Kind] = frozenset({"date", "grid from", "long text", "starts"})
_COUNTS: frozenset[Kind] = frozenset({"count", "hours"})
_NAMES: frozenset[Kind] = frozenset({"code", "text", "word", "words", "units", "counts on"})

# Day numbers of 1950-01-01 and 2199-12-31: a number outside is something else, such as a year.
_FIRST_DAY, _LAST_DAY = 18_264, 109_574
_FIRST_YEAR, _LAST_YEAR = 1950, 2199
_EPOCH, _EPOCH_1904 = date(1899, 12, 30), date(1904, 1, 1)
_NOON_SECONDS, _DAY_SECONDS, _MINUTE_SECONDS = 43_200, 86_400, 60
# Spreadsheets keep 15 digits.
_MOST = 10**15
_NEAR = 1e-9

_ZEROS = re.compile(r"0+")
_PLAIN = frozenset({"general", "@"})
_WHOLE = frozenset({"0", "#", "#,##0"})
_FIXED = re.compile(r"#?,?#*0\.(0+)")
_IN_FORMATS = re.compile(r'"[^"]*"|\\.')
_TIME_SHOWN = re.compile(r"[hs]", re.IGNORECASE)
_SCIENTIFIC = re.compile(r"E[+-]", re.IGNORECASE)
_UNIT_SHOWN = re.compile(r'(?:General|[#0,.\s]*[#0])\s*"\s*([A-Za-z]\w*)\s*"\s*')


def text_of(cell: Native, kind: Kind, *, since_1904: bool = False) -> str:
    """What the cell says, as text for the reader of that kind; empty if it is blank.

    Args:
        cell: the cell.
        kind: what its column holds.
        since_1904: the workbook counts its days from 1904.

    Raises:
        Refusal: the value can mean more than one thing, or is not what the person saw or typed.
    """
    if cell.no_result:
        raise Refusal(
            "formula-without-value",
            "The formula in this cell has no saved result.",
            "Open the workbook in the spreadsheet program and save it, or write the value.",
        )
    value = cell.value
    if value is None or isinstance(value, str):
        # Some programs save the carriage return of a line break in this way.
        return (value or "").replace("_x000D_", "")
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, date | time | timedelta):
        return _moment(value, kind)
    return _number(value, cell.shown_as, kind, since_1904=since_1904)


def shown(cell: Native) -> str:
    """What the cell holds, near enough for a heading, a note, or to find it again; never refused."""
    value = cell.value
    if isinstance(value, str):
        return value.replace("_x000D_", "")
    if value is None or isinstance(value, bool):
        return str(value or "")
    if isinstance(value, date | time | timedelta):
        return str(value)
    return decimal_text(value) if isfinite(value) else str(value)


# --- dates, times, durations ----------------------------------------------------------------------------------------


def _moment(value: date | time | timedelta, kind: Kind) -> str:
    if kind == "time":
        return _time_of_day(value)
    if kind == "offset" and isinstance(value, time | timedelta):
        return f"+{_hours_minutes(value)}"
    if kind == "amounts" and isinstance(value, timedelta):
        return _hours_minutes(value)
    if kind in _COUNTS:
        if isinstance(value, date):
            message = f"The cell is shown as a date, {value:%Y-%m-%d}."
            raise Refusal("date-for-a-count", message, "Give it the format of a number, and look what it holds.")
        return _hours_minutes(value)
    if isinstance(value, date) and kind in _WRITTEN_DATES:
        return _date(value)
    what = "a date" if isinstance(value, date) else "a time"
    hint = "Give the cell the format Text, and write it again."
    raise Refusal("became-a-date", f"The spreadsheet made {what} of it: {_plainly(value)}.", hint)


def _date(value: date) -> str:
    if not _FIRST_YEAR <= value.year <= _LAST_YEAR:
        message = f"The cell is shown as a date of the year {value.year}; it may be a number, or a slip."
        raise Refusal("not-a-date", message, "Write the date again, like 2025-03-04.")
    if not isinstance(value, datetime):
        return value.isoformat()
    if value.time() != time():
        message = f"With the date stands a time of day, {value:%H:%M}."
        raise Refusal("date-with-time", message, "Write the date alone, and the time in a column of its own.")
    return value.date().isoformat()


def _time_of_day(value: date | time | timedelta) -> str:
    if isinstance(value, date):
        raise Refusal("time-with-date", f"It holds a date, {value:%Y-%m-%d}.", "Write the time of day alone.")
    if isinstance(value, timedelta):
        if not timedelta() <= value < timedelta(days=1):
            raise Refusal("no-such-time", f"There is no time {_hours_minutes(value)}.", "Times go to 23:59.")
        return _hours_minutes(value)
    return value.isoformat("auto") if value.second or value.microsecond else value.isoformat("minutes")


def _hours_minutes(value: time | timedelta) -> str:
    """Hours and minutes, over 24 hours too; seconds are kept, so that the reader can refuse them."""
    if isinstance(value, time):
        value = timedelta(hours=value.hour, minutes=value.minute, seconds=value.second, microseconds=value.microsecond)
    sign = "-" if value < timedelta() else ""
    # A sum of times is off by less than this; spreadsheets show whole seconds.
    minutes, seconds = divmod(round(abs(value).total_seconds(), 2), _MINUTE_SECONDS)
    hours, minutes = divmod(int(minutes), 60)
    return f"{sign}{hours}:{minutes:02d}" + (f":{seconds:05.2f}".removesuffix(".00") if seconds else "")


def _plainly(value: date | time | timedelta) -> str:
    return value.isoformat(" ") if isinstance(value, datetime) else str(value)


# --- numbers --------------------------------------------------------------------------------------------------------


def _number(value: float, shown_as: str, kind: Kind, *, since_1904: bool) -> str:
    if not isfinite(value):
        raise Refusal("not-a-number", "The cell holds no number that can be read.", "Write it again.")
    if kind == "date":
        return _date_of(value, since_1904=since_1904)
    if kind == "time" and 0 < value < 1:
        return _part_of_a_day(value, shown_as)
    if kind in _NAMES:
        return _name(value, shown_as)
    return f"{decimal_text(value * 100)} %" if "%" in shown_as else _amount(value, shown_as, kind)


def _part_of_a_day(value: float, shown_as: str) -> str:
    """The time of day that the cell shows; where it shows a number, 0.30 may be half past midnight."""
    at = _hours_minutes(timedelta(seconds=round(value * _DAY_SECONDS, 3)))
    if _TIME_SHOWN.search(_IN_FORMATS.sub("", shown_as)):
        return at
    message = f"The number {decimal_text(value)} does not say which time; as part of a day it is {at}."
    raise Refusal("not-a-time", message, "Write the time with a colon, like 14:30.")


def _amount(value: float, shown_as: str, kind: Kind) -> str:
    """A number with what belongs to it: minutes, a sign, the unit that the cell shows behind it."""
    minutes = minutes_text(value) if kind in _COUNTS or kind == "amounts" else ""
    sign = "+" if kind == "offset" and value > 0 else ""
    unit = _UNIT_SHOWN.fullmatch(shown_as) if kind in _AMOUNTS else None
    return sign + (minutes or decimal_text(value)) + (f" {unit[1]}" if unit else "")


def _date_of(value: float, *, since_1904: bool) -> str:
    """The date of a day number."""
    epoch = _EPOCH_1904 if since_1904 else _EPOCH
    days = round(value)
    if not _FIRST_DAY <= days + (epoch - _EPOCH).days <= _LAST_DAY:
        raise Refusal("not-a-date", f"The number {decimal_text(value)} is not a date.", "Write it like 2025-03-04.")
    if abs(value - days) > _NEAR:
        at = datetime.combine(epoch, time()) + timedelta(days=value)
        return _date(at.replace(microsecond=0))
    return (epoch + timedelta(days=days)).isoformat()


def _name(value: float, shown_as: str) -> str:
    """A code or a name that was made a number: as the cell shows it, where that can be told for sure."""
    if _SCIENTIFIC.search(shown_as):
        message = f"The spreadsheet made the number {decimal_text(value)} of it."
        raise Refusal("became-a-number", message, "Give the cell the format Text, and write it again.")
    if abs(value) >= _MOST:
        message = "The spreadsheet has kept only the first 15 digits of it."
        raise Refusal("digits-lost", message, "Give the cell the format Text, and write it again.")
    written = decimal_text(value)
    if shown_as.casefold() in _PLAIN or (shown_as in _WHOLE and written.removeprefix("-").isdecimal()):
        return written
    if _ZEROS.fullmatch(shown_as) and written.isdecimal():
        return written.zfill(len(shown_as))
    if (fixed := _FIXED.fullmatch(shown_as)) and round(Decimal(written), len(fixed[1])) == Decimal(written):
        return f"{Decimal(written):.{len(fixed[1])}f}"
    message = f"The cell holds {written}, and its format shows something else."
    raise Refusal("shown-otherwise", message, "Give the cell the format Text, and write it as it is to be read.")
