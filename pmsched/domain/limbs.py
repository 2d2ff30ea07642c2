"""One limit in words: "4000 h", "1000 starts", "12 months", read as engineers write them, and written back.

Words that can mean more than one thing are refused, with choices that can be typed instead; nothing is guessed.
Several limits, margins and whole rules are put together in ``written``.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Sequence
from fractions import Fraction

from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR, Meter, format_hours, parse_count, parse_number
from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.habits import FIGURES, MARKS, WORDS, unclear_mark, unclear_phrase, unclear_unit
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, Limb
from pmsched.domain.spans import CALENDAR_UNITS, is_like_iso, read_iso, whole_span, write_span

_LONGEST_TEXT = 200
_MOST_COUNTED = 10**12  # in seconds about 278 million hours; leaves room in 64 bits
_FINEST_SECONDS = 60
_EXAMPLE = "Write one such as 12 months, 4000 h or 1000 starts."
_DASHES = dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2212"), "-")

_HOUR_WORDS = re.compile(r"(?:(?:running|run|operating|service) )?(?:h|hrs?|hours?)|rh")
_PLURAL = {"start": "starts", "cycle": "cycles", "lift": "lifts"}
# These hold intervals, margins and clauses together.
_NOT_UNITS = {"or", "and", "percent", "before", "after", "whichever"}

_EVERY = re.compile(r"(?:every|each) ", re.IGNORECASE)
_PAIR = re.compile(rf"({FIGURES}) ?({WORDS})\.?")
_PAIRS = re.compile(rf"{FIGURES} ?{WORDS}\.?(?: {FIGURES} ?{WORDS}\.?)*")


def tidy(text: str) -> str:
    """The text with every kind of space as one plain space, dashes as ``-``, full-width and raised signs made plain."""
    return " ".join(unicodedata.normalize("NFKC", text).translate(_DASHES).split())


def read_limb(text: str) -> Limb:
    """The one limit that the words mean; counters in seconds for hours, else whole units.

    Raises:
        Ambiguous: the words can mean more than one thing; each choice can be typed instead.
        Refusal: the words mean no limit, or one of zero or less.
    """
    written = tidy(text)
    if not written or len(written) > _LONGEST_TEXT:
        raise _not_an_interval(written[:_LONGEST_TEXT])
    if found := unclear_phrase(written):
        raise _unclear(*found)
    word = _EVERY.sub("", written, count=1)
    if is_like_iso(word):
        return CalendarLimb(read_iso(word))
    if word.startswith("-"):
        raise Refusal("negative-number", f"'{word}' is below zero.", "Write it without the minus sign.")
    if re.fullmatch(FIGURES, word):
        raise _unclear("no-unit", f"'{word}' has no unit.", [f"{word} {unit}" for unit in ("h", "days", "months")])
    if not _PAIRS.fullmatch(word):
        raise _not_an_interval(word)
    return _read_pairs(word)


def read_amount(text: str) -> tuple[int, str]:
    """An amount on a counter, zero allowed, and its unit: ``10000 h`` is 36 000 000 "h". Raises as ``read_limb``."""
    word = tidy(text)
    found = _PAIR.fullmatch(word)
    if not found:
        raise _not_an_interval(word)
    figures, words = found[1], found[2]
    unit = _read_unit(figures, words)
    try:
        return parse_count(figures, Meter(unit, "h:min")), unit
    except Ambiguous as both:
        raise put_back(both, "", f" {words}") from None


def write_limb(limb: Limb) -> str:
    """The limit in its one written form: ``12 months``, ``2 weeks``, ``4000 h``, ``0.5 h``, ``0:20 h``, ``1 starts``."""
    return write_span(limb.every) if isinstance(limb, CalendarLimb) else write_amount(limb.amount, limb.unit)


def write_amount(amount: int, unit: str) -> str:
    """An amount on a counter, thousands not set apart; hours with up to two decimals, else as ``h:min``."""
    if unit != HOURS:
        return f"{amount} {unit}"
    if amount % (SECONDS_PER_HOUR // 100) == 0:
        return f"{format_hours(amount).replace(' ', '')} h"
    return f"{amount // SECONDS_PER_HOUR}:{amount % SECONDS_PER_HOUR // 60:02d} h"


def check_unit(word: str) -> None:
    """Refuse a word that rules cannot name a counter's unit by: it must be ``h``, or one lower-case word that means no time."""
    sample = SECONDS_PER_HOUR if word == HOURS else 1
    try:
        limb = read_limb(f"1 {word}")
    except Refusal:
        limb = None
    if limb != CountLimb(sample, word):
        raise Refusal(
            "not-a-unit", f"'{word}' cannot name what a counter counts.", "Use h, or one word such as starts."
        )


def check_amount(amount: int, unit: str, least: int = 1) -> None:
    """Refuse an amount that no rule can use: below ``least``, too large, or hours finer than a minute."""
    if not least <= amount <= _MOST_COUNTED:
        raise Refusal("amount-out-of-range", f"'{write_amount(amount, unit)}' cannot be used.", "Check the number.")
    if unit == HOURS and amount % _FINEST_SECONDS:
        raise Refusal(
            "too-fine", f"{amount} seconds is not a whole number of minutes.", "Hours are kept to the minute."
        )


def put_back(refusal: Ambiguous, before: str, after: str) -> Ambiguous:
    """The same refusal, its choices put back among the words around them, so that the whole can be typed."""
    return Ambiguous(refusal.code, refusal.message, [f"{before}{choice}{after}" for choice in refusal.choices])


def _read_pairs(word: str) -> Limb:
    pairs = list(_PAIR.finditer(word))
    counted = [pair for pair in pairs if pair[2] not in MARKS and pair[2].lower() not in CALENDAR_UNITS]
    if not counted:
        return CalendarLimb(_read_calendar(pairs, word))
    if len(pairs) > 1:
        raise _several(pairs, counted[0], word)
    amount, unit = read_amount(word)
    if not amount:
        raise Refusal("zero-amount", f"'{word}' is zero.", "Write how much, or leave it out.")
    check_amount(amount, unit)
    return CountLimb(amount, unit)


def _read_calendar(pairs: Sequence[re.Match[str]], word: str) -> Span:
    amounts: dict[Span, Fraction] = {}
    for pair in pairs:
        figures, unit = pair[1], pair[2]
        if mark := unclear_mark(figures, unit):
            raise _in_place(_unclear(*mark), pair, word)
        span = CALENDAR_UNITS[unit.lower()]
        if span in amounts:
            raise Refusal("unit-twice", f"'{word}' has '{unit}' twice.", "Write one number for each unit.")
        try:
            amounts[span] = parse_number(figures)
        except Ambiguous as both:
            raise _in_place(put_back(both, "", f" {unit}"), pair, word) from None
    return whole_span(amounts, word)


def _read_unit(figures: str, words: str) -> str:
    word = words.lower()
    if _HOUR_WORDS.fullmatch(word):
        return HOURS
    if word in CALENDAR_UNITS or word in _NOT_UNITS:
        raise Refusal("not-a-unit", f"'{words}' is not something a counter counts.", _EXAMPLE)
    if found := unclear_unit(figures, words):
        raise _unclear(*found)
    return _PLURAL.get(word, word)


def _several(pairs: Sequence[re.Match[str]], counted: re.Match[str], word: str) -> Refusal:
    try:
        _read_unit(counted[1], counted[2])
    except Refusal as refusal:
        return _in_place(refusal, counted, word)
    limits = " or ".join(f"{pair[1]} {pair[2]}" for pair in pairs)
    return Refusal("no-or", f"'{word}' has no 'or' between its limits.", f"Write {limits}.")


def _unclear(code: str, message: str, candidates: Iterable[str]) -> Refusal:
    """An Ambiguous offering those candidates that can be read; a plain Refusal where none can."""
    choices = [choice for choice in dict.fromkeys(candidates) if _is_readable(choice)]
    return Ambiguous(code, message, choices) if choices else Refusal(code, message, _EXAMPLE)


def _in_place(refusal: Refusal, pair: re.Match[str], word: str) -> Refusal:
    if not isinstance(refusal, Ambiguous):
        return refusal
    whole = put_back(refusal, word[: pair.start()], word[pair.end() :])
    return _unclear(whole.code, whole.message, whole.choices)


def _is_readable(text: str) -> bool:
    try:
        read_limb(text)
    except Refusal:
        return False
    return True


def _not_an_interval(word: str) -> Refusal:
    if not word:
        return Refusal("nothing-written", "No interval is written.", _EXAMPLE)
    return Refusal("not-an-interval", f"'{word}' is not an interval.", _EXAMPLE)
