"""Ways of writing an interval that can mean more than one thing: "monthly", "3 m", "24000-30000 h", "half a year".

Holds the words, why they are not clear, and what may have been meant. Reads nothing that is clear: ``limbs`` does,
and offers only those meanings that it can read.
"""

from __future__ import annotations

import re
from difflib import get_close_matches
from fractions import Fraction
from typing import NamedTuple

from pmsched.domain.counts import parse_number
from pmsched.domain.errors import Refusal

FIGURES = r"[0-9](?:[0-9 .,:'\u2019]*[0-9])?"
WORDS = r"[^\W\d_]\w*(?: [^\W\d_]\w*)*"


class Unclear(NamedTuple):
    """Why words are not clear, and what may have been meant, as it would be written."""

    code: str
    message: str
    candidates: tuple[str, ...]


_MEANINGS = {
    "hourly/hour": "1 h",
    "daily/day": "1 day",
    "weekly/week": "1 week",
    "fortnightly/fortnight/biweekly/bi-weekly": "2 weeks",
    "monthly/month": "1 month",
    "bimonthly/bi-monthly": "2 months, 2 weeks",
    "quarterly/quarter": "3 months",
    "half a year/half year/half-year/half yearly/half-yearly": "6 months",
    "semi-annual/semi-annually/semiannual/semiannually": "6 months",
    "biannual/biannually/bi-annual/bi-annually": "6 months, 24 months",
    "yearly/year/annual/annually": "12 months",
    "biennial/biennially": "24 months",
}
_HABITS = {word: tuple(meant.split(", ")) for words, meant in _MEANINGS.items() for word in words.split("/")}
_ONCE_A = re.compile(r"(?:(?:once|a|an|per|every|each) )+")
_COUNTED = re.compile(r"([0-9]+)(?:[ -]?(hour|dai|week|month|year)ly|-(hour|day|week|month|year)s?)")
_NUMBER_WORDS = ("one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_RANGE = re.compile(rf"({FIGURES}) ?({WORDS}?)? ?(?:-|\.\.+|\bto\b) ?({FIGURES}) ?({WORDS})?")

_MINUTES = {"m", "min", "mins", "minute", "minutes"}
_SECONDS = {"s", "sec", "secs", "second", "seconds"}
_MULTIPLES = {"fortnight": (2, "weeks"), "quarter": (3, "months")}
# Each capital is a mark of ISO 8601 and, to others, a short word.
MARKS = {"Y": "year", "W": "week", "D": "day"}
_TIME_WORDS = ("days", "week", "weeks", "month", "months", "year", "years", "hour", "hours", "minutes", "seconds")
_AS_CLOSE_AS = 0.82


def unclear_phrase(text: str) -> Unclear | None:
    """What a whole phrase may mean, if it is one of the unclear ones: a habit word, a range, a number in words."""
    phrase = text.lower()
    bare = _ONCE_A.sub("", phrase, count=1) if _ONCE_A.match(phrase) else phrase
    if meant := _HABITS.get(bare):
        return Unclear(
            "unclear-habit",
            f"'{text}' can mean that long after the last doing, or once in each such part of the calendar.",
            meant,
        )
    if found := _COUNTED.fullmatch(phrase):
        unit = {"dai": "day"}.get(found[2], found[2]) or found[3]
        meant = (f"{found[1]} h" if unit == "hour" else f"{found[1]} {unit}s",)
        return Unclear("unclear-habit", f"'{text}' can be read in more than one way.", meant)
    first, _, rest = phrase.partition(" ")
    if first in _NUMBER_WORDS:
        meant = (f"{_NUMBER_WORDS.index(first) + 1} {rest}",)
        return Unclear("number-in-words", f"'{first}' is not in figures.", meant)
    return _range(text)


def unclear_mark(figures: str, unit: str) -> Unclear | None:
    """What a capital Y, W or D may mean: it marks a part of an ISO 8601 duration, which begins with P."""
    if unit not in MARKS:
        return None
    name = MARKS[unit] if figures == "1" else f"{MARKS[unit]}s"
    return Unclear("unclear-unit", f"'{figures}{unit}' is not clear.", (f"{figures} {name}", f"P{figures}{unit}"))


def unclear_unit(figures: str, unit: str) -> Unclear | None:
    """What a unit may mean, if it is not clear; ``figures`` stand before it."""
    word = unit.lower()
    if word in _MINUTES | _SECONDS:
        running = _as_hours(figures, 60 if word in _SECONDS else 1)
        if word != "m":
            return Unclear("unclear-unit", f"'{unit}' is too fine for an interval.", running)
        meant = (f"{figures} months", f"{figures} metres", *running)
        return Unclear("unclear-unit", f"'{unit}' can mean months, metres or minutes.", meant)
    if found := _MULTIPLES.get(word.removesuffix("s")):
        return Unclear("unclear-unit", f"'{unit}' is not a unit here.", _times(figures, *found))
    return _slip(figures, unit)


def _slip(figures: str, unit: str) -> Unclear | None:
    word = unit.lower()
    if " " in word:
        meant = (f"{figures} {word.rpartition(' ')[2]}",)
        return Unclear("unclear-unit", f"'{unit}' is more than one word; a unit is one.", meant)
    close = get_close_matches(word, _TIME_WORDS, n=2, cutoff=_AS_CLOSE_AS)
    close += [known for known in _TIME_WORDS if sorted(known) == sorted(word)]
    if close and word not in _TIME_WORDS:
        return Unclear("unclear-unit", f"'{unit}' is not a known word.", tuple(f"{figures} {known}" for known in close))
    if len(word) == 1:
        return Unclear("unclear-unit", f"'{unit}' is too short to be clear.", (f"{figures} h", f"{figures} months"))
    return None


def _range(text: str) -> Unclear | None:
    found = _RANGE.fullmatch(text)
    if not found:
        return None
    low, low_unit, high, high_unit = found[1], found[2], found[3], found[4]
    units = [high_unit or low_unit] if high_unit or low_unit else ["h", "months"]
    meant = [f"{end} {unit}" for unit in units for end in (low, high)]
    if low_unit and high_unit:
        meant[0] = f"{low} {low_unit}"
    return Unclear("range", f"'{text}' is a range; an interval is one number.", tuple(meant))


def _times(figures: str, factor: int, unit: str) -> tuple[str, ...]:
    number = _number(figures)
    return () if number is None else (f"{number * factor} {unit}",)


def _as_hours(figures: str, per_minute: int) -> tuple[str, ...]:
    number = _number(figures)
    if number is None or number % per_minute:
        return ()
    minutes = int(number / per_minute)
    return (f"{minutes // 60}:{minutes % 60:02d} h",)


def _number(figures: str) -> Fraction | None:
    try:
        return parse_number(figures)
    except Refusal:
        return None
