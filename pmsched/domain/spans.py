"""Stretches of the calendar in words: "12 months", "1 year 6 months", "90 days", ISO 8601 "P1Y6M", and back.

Months and days are never turned into one another (R2): what mixes them, or has parts of a unit, is refused with
choices. Knows no counters; ``limbs`` reads those.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from math import ceil, floor

from pmsched.domain.counts import SECONDS_PER_DAY, SECONDS_PER_HOUR
from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.periods import Span

_WORDS = {
    "d day days": Span(days=1),
    "w wk wks week weeks": Span(days=7),
    "mo mos mth mths month months": Span(months=1),
    "y yr yrs year years": Span(months=12),
}
CALENDAR_UNITS: Mapping[str, Span] = {word: span for words, span in _WORDS.items() for word in words.split()}

_MOST_MONTHS, _MOST_DAYS = 1200, 36_525  # a hundred years
_MEAN_DAYS_IN_MONTH = Fraction(146_097, 4800)  # over 400 Gregorian years; for choices only, never for dates
_N = r"([0-9]{1,9}(?:[.,][0-9]{1,9})?)"
_ISO_LIKE = re.compile(r"[+-]?P(?=[0-9T.+-]|$)", re.IGNORECASE)
_ISO = re.compile(rf"P(?=.)(?:{_N}W|(?:{_N}Y)?(?:{_N}M)?(?:{_N}D)?(?:T(?=.)(?:{_N}H)?(?:{_N}M)?(?:{_N}S)?)?)")


def is_like_iso(word: str) -> bool:
    """True for words that can only be meant as an ISO 8601 duration, valid or not."""
    return bool(_ISO_LIKE.match(word))


def read_iso(word: str) -> Span:
    """The stretch an ISO 8601 duration stands for: ``P2M``, ``P1Y6M``, ``P90D``, ``P2W``.

    Raises:
        Ambiguous: months with days, parts of a unit, or time by the clock (``PT8000H`` is not running hours).
        Refusal: not a duration by ISO 8601 and W3C XML Schema (``P-1Y``, ``P1M2Y``, ``P1S``), or zero.
    """
    found = _ISO.fullmatch(word.upper())
    if not found:
        raise Refusal(
            "not-iso-8601", f"'{word}' is not a duration of ISO 8601.", "Write it like P1Y6M, P90D or P2W, or in words."
        )
    weeks, years, months, days, *clock = (Fraction((part or "0").replace(",", ".")) for part in found.groups())
    if "T" in word.upper():
        raise _by_the_clock(word, bool(years or months), [days, *clock])
    return whole_span({Span(months=12): years, Span(months=1): months, Span(days=7): weeks, Span(days=1): days}, word)


def whole_span(amounts: Mapping[Span, Fraction], word: str) -> Span:
    """The stretch of so many of each unit; ``word`` is how it was written, for the message.

    Raises:
        Ambiguous: months with days, or parts of a unit.
        Refusal: it is zero.
    """
    months = sum((span.months * amount for span, amount in amounts.items()), Fraction(0))
    days = sum((span.days * amount for span, amount in amounts.items()), Fraction(0))
    if months and days:
        message = f"'{word}' mixes months and days, and months differ in days."
        raise Ambiguous("months-and-days", message, _near(months, days))
    if any(amount.denominator > 1 for amount in amounts.values()):
        raise Ambiguous("part-of-a-unit", f"'{word}' is not a whole number of its unit.", _near(months, days))
    if not months and not days:
        raise Refusal("zero-amount", f"'{word}' is zero.", "Write how much, or leave it out.")
    span = Span(months=int(months), days=int(days))
    check_span(span)
    return span


def check_span(span: Span) -> None:
    """Refuse what is not one stretch of whole months or of whole days, of at least one and at most a hundred years."""
    if min(span) < 0 or bool(span.months) == bool(span.days):
        raise Refusal(
            "not-an-interval",
            f"{span.months} months and {span.days} days is not one stretch of months or of days.",
            "Write months, or days; more than zero.",
        )
    if not _is_in_range(span):
        raise Refusal("too-long", f"'{write_span(span)}' is more than 100 years.", "Check the number and the unit.")


def write_span(span: Span) -> str:
    """A stretch of the calendar: months as months, days as weeks where they come out whole."""
    if span.months:
        return f"{span.months} month{'' if span.months == 1 else 's'}"
    count, unit = (span.days // 7, "week") if span.days % 7 == 0 else (span.days, "day")
    return f"{count} {unit}{'' if count == 1 else 's'}"


def _near(months: Fraction, days: Fraction) -> list[str]:
    """What may have been meant by months with days or by parts; the exact meaning alone where there is one."""
    if not days and months.denominator == 1:
        near = [Span(months=int(months))]
    elif not months:
        near = [Span(days=floor(days)), Span(days=ceil(days))]
    else:
        near = [Span(days=round(months * _MEAN_DAYS_IN_MONTH + days))]
        near += [Span(months=floor(months)), Span(months=ceil(months + days / _MEAN_DAYS_IN_MONTH))]
    return [write_span(span) for span in dict.fromkeys(near) if any(span) and _is_in_range(span)]


def _is_in_range(span: Span) -> bool:
    return span.months <= _MOST_MONTHS and span.days <= _MOST_DAYS


def _by_the_clock(word: str, with_months: bool, parts: list[Fraction]) -> Refusal:
    message = f"'{word}' is time by the clock, not running hours."
    days, hours, minutes, seconds = parts
    elapsed = days * SECONDS_PER_DAY + hours * SECONDS_PER_HOUR + minutes * 60 + seconds
    if with_months or not elapsed or elapsed % 60:
        return Refusal("time-by-the-clock", message, "Write running hours, such as 8000 h.")
    full, rest = divmod(int(elapsed) // 60, 60)
    choices = [f"{full}:{rest:02d} h" if rest else f"{full} h"]
    if elapsed % SECONDS_PER_DAY == 0:
        choices.append(write_span(Span(days=int(elapsed) // SECONDS_PER_DAY)))
    return Ambiguous("time-by-the-clock", message, choices)
