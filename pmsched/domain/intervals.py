"""Intervals and margins in words: "12 months or 4000 h", "30 days or 200 h", read and written back.

Whichever limit falls first governs (R7), so "or" joins them; "and" is refused, as it can mean both. Knows no rules.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TypeVar

from pmsched.domain.counts import parse_number
from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.habits import FIGURES
from pmsched.domain.limbs import put_back, read_limb, tidy, write_limb
from pmsched.domain.periods import Span
from pmsched.domain.rule_checks import check_limbs, check_margin, write_margin
from pmsched.domain.rules import CalendarLimb, CountMargin, Limb, Margin, Share
from pmsched.domain.spans import check_span, write_span

_T = TypeVar("_T")

_WHICHEVER = r"\bwhichever (?:(?:comes|is|occurs|falls) )?"
_FIRST = re.compile(rf"[ ,(]*{_WHICHEVER}(?:first|earlier|sooner)\)?$", re.IGNORECASE)
_LAST = re.compile(rf"{_WHICHEVER}(?:last|later)\b", re.IGNORECASE)
_OR = re.compile(r" or | ?/ ?", re.IGNORECASE)
_AND = re.compile(r" and | [&+] | ?; ?|, | ,|(?<=[^\W\d_]),", re.IGNORECASE)
_FRACTION = re.compile(r"(?<![\w.,:])[0-9][0-9.,:]* ?/ ?[0-9]")
_PERCENT = re.compile(rf"({FIGURES}) ?(?:%|percent|per cent)", re.IGNORECASE)
_EITHER_SIDE = re.compile(r"(?:\u00b1|\+ ?/? ?-) ?")


def parse_interval(text: str) -> tuple[Limb, ...]:
    """The limits of an interval in the order written: ``12 months or 4000 h``, ``P1Y6M``, ``1000 starts / 6 weeks``.

    Raises:
        Ambiguous: words can mean more than one thing; each choice is the whole text with them made clear.
        Refusal: the words mean no interval, an amount is zero or too fine, or two limits are of one kind.
    """
    words = tidy(text)
    if found := _LAST.search(words):
        raise Refusal(
            "whichever-last", f"'{found[0]}' cannot be kept: the limit that falls first governs.", "Keep one."
        )
    plain = _FIRST.sub("", words)
    limbs = read_each(_parts(plain, _AND), read_limb)
    if _AND.search(plain) and plain == words:
        raise _and_or_or(words, limbs)
    check_limbs(limbs)
    return limbs


def write_interval(limbs: Sequence[Limb]) -> str:
    """The limits in their one written form and their own order: ``12 months or 4000 h``. Empty for none."""
    return " or ".join(map(write_limb, limbs))


def parse_margins(text: str) -> tuple[Margin, ...]:
    """The margins in the order written, parted by ``or`` or ``;``: ``10 %``, ``30 days or 200 h``. Empty for no text.

    Raises:
        Ambiguous: words can mean more than one thing; each choice is the whole text with them made clear.
        Refusal: the words mean no margin, or it is zero, too fine, or not below 100 %.
    """
    words = _EITHER_SIDE.sub("", tidy(text), count=1)
    if not words:
        return ()
    either = words.replace(" ;", ";").replace("; ", " or ").replace(";", " or ")
    margins = read_each(_parts(either, _AND), _read_margin)
    if _AND.search(either):
        message = f"'{words}': each margin stands for its own limit; they are not added."
        raise Ambiguous("and-or-or", message, [write_margins(margins)])
    return margins


def write_margins(margins: Sequence[Margin]) -> str:
    """The margins in their one written form and their own order: ``30 days or 200 h``. Empty for none."""
    return " or ".join(map(write_margin, margins))


def read_each(parts: Sequence[str], read: Callable[[str], _T], joint: str = " or ") -> tuple[_T, ...]:
    """Each part read; the choices of an unclear one are put back among the others. Raises as ``read`` does."""
    values = []
    for index, part in enumerate(parts):
        try:
            values.append(read(part))
        except Ambiguous as refusal:
            before, after = parts[:index], parts[index + 1 :]
            raise put_back(refusal, joint.join([*before, ""]), joint.join(["", *after])) from None
    return tuple(values)


def _parts(words: str, also: re.Pattern[str]) -> list[str]:
    if _FRACTION.search(words):
        return [words]
    return [part for by_and in also.split(words) for part in _OR.split(by_and)]


def _and_or_or(words: str, limbs: Sequence[Limb]) -> Ambiguous:
    spans = [limb.every for limb in limbs if isinstance(limb, CalendarLimb)]
    if len(spans) == len(limbs) and len({bool(span.months) for span in spans}) == 1:
        total = Span(months=sum(span.months for span in spans), days=sum(span.days for span in spans))
        check_span(total)
        return Ambiguous("and-or-or", f"'{words}' can be one interval or two.", [write_span(total)])
    check_limbs(limbs)
    return Ambiguous(
        "and-or-or",
        f"'{words}' can mean whichever comes first, or only when both are reached; whichever comes first can be kept.",
        [write_interval(limbs)],
    )


def _read_margin(words: str) -> Margin:
    margin: Margin
    if found := _PERCENT.fullmatch(words):
        try:
            margin = Share(parse_number(found[1]) / 100)
        except Ambiguous:
            raise Refusal("too-fine", f"'{words}' is finer than 0.01 %.", "Write one such as 12.5 %.") from None
    else:
        limb = read_limb(words)
        margin = limb.every if isinstance(limb, CalendarLimb) else CountMargin(*limb)
    check_margin(margin)
    return margin
