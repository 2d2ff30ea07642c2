"""Cells that say several things at once: counters with shares, amounts with units, where a grid or a job begins.

Takes text that is not blank, like ``cells``. Whether a counter or a unit exists is not known here.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable
from fractions import Fraction
from typing import TypeVar

from pmsched.domain.counts import HOURS, Meter, parse_count
from pmsched.domain.errors import Refusal
from pmsched.domain.limbs import read_amount, write_amount
from pmsched.exchange.cells import read_code, read_text, read_words, single_blanks
from pmsched.exchange.dates import read_date
from pmsched.exchange.rows import Amount, Follow, GridStart, Start

T = TypeVar("T")

_RATIO = re.compile(r"([0-9]{1,9})\s*/\s*([0-9]{1,9})")
_PERCENT = re.compile(r"([0-9]{1,3})(?:[.,]([0-9]{1,6}))?\s*%")
_WITH_SHARE = re.compile(r"(.+?) ([0-9]+ ?/ ?[0-9]+|[0-9.,]+ ?%)")
_AMOUNT = re.compile(r"[0-9][0-9.,: '\u2019]*[^\W\d_]\w*")
# A hundred hours and more: no time of day.
_CLOCK_HOURS = re.compile(r"[0-9]{3,9}:[0-5][0-9]")
_START = re.compile(r"from (.+?)(?: at (.+))?", re.IGNORECASE)


def read_unit(text: str) -> str:
    """The unit of a counter by the word that rules use: ``hours`` is ``h``, ``Starts`` is ``starts``.

    Raises:
        Refusal: it is not a unit that a counter counts.
    """
    written = read_text(text)
    try:
        # The number only carries the word; every unit that a rule can name reads so.
        _, unit = read_amount(f"2 {written}")
    except Refusal:
        raise Refusal(
            "not-a-unit", f"'{written}' is not a unit.", "Write one word, such as h, starts, cycles or m3."
        ) from None
    return unit


def read_share(text: str) -> Fraction:
    """A share written as ``1/2`` or ``50 %``; more than 0 and at most 1. Raises Refusal for anything else."""
    written = read_text(text)
    share = None
    if (found := _RATIO.fullmatch(written)) and int(found[2]):
        share = Fraction(int(found[1]), int(found[2]))
    elif found := _PERCENT.fullmatch(written):
        share = Fraction(f"{found[1]}.{found[2] or 0}") / 100
    if share is None or not 0 < share <= 1:
        raise Refusal("not-a-share", f"'{written}' is not a share.", "Write it like 1/2 or 50 %, at most 1/1 or 100 %.")
    return share


def read_counts_on(text: str) -> tuple[Follow, ...]:
    """Counters a machine counts on, parted by semicolons: ``ME-H``, ``ME-H 1/2 from 2024-01-01``.

    Raises:
        Refusal: a share or a date does not read, or a counter stands twice from the same date.
    """
    follows = tuple(_follow(piece) for piece in read_words(text))
    if twice := _first_twice((follow.counter, follow.from_on) for follow in follows):
        raise Refusal("counter-twice", f"The counter '{twice[0]}' stands there twice.", "Write it once.")
    return follows


def read_amounts(text: str) -> tuple[Amount, ...]:
    """Amounts with their units, parted by semicolons: ``20000 h; 640 starts``; each unit once.

    ``12345:20`` needs no unit: it can only be hours and minutes.

    Raises:
        Ambiguous: a mark may part thousands or decimals.
        Refusal: an amount does not read, or a unit stands twice.
    """
    amounts = tuple(_amount(piece) for piece in read_words(text))
    if twice := _first_twice(unit for unit, _ in amounts):
        raise Refusal("unit-twice", f"There are two amounts in {twice}.", "Write one for each unit.")
    return amounts


def read_grid_from(text: str) -> GridStart:
    """First date of a grid, first marks of it, or both, parted by semicolons or ``and``: ``2025-01-31; 10000 h``.

    Raises:
        Refusal: a date or an amount does not read, or there are two dates.
    """
    pieces = read_words(re.sub(r" and |, ", ";", single_blanks(read_text(text))))
    marks = [piece for piece in pieces if _AMOUNT.fullmatch(piece)]
    dates = [read_date(piece) for piece in pieces if piece not in marks]
    if len(dates) > 1:
        raise Refusal("date-twice", "There are two first dates.", "Write one date.")
    return GridStart(dates[0] if dates else None, read_amounts(";".join(marks)) if marks else ())


def read_starts(text: str) -> Start:
    """Where a job never done begins: ``due at once``, ``from 2025-01-01``, ``from 2025-01-01 at 1200 h``.

    Raises:
        Refusal: it reads in none of these ways.
    """
    written = single_blanks(read_text(text))
    if written.casefold() == "due at once":
        return Start()
    found = _START.fullmatch(written)
    if not found:
        raise Refusal(
            "not-a-start", f"'{written}' does not say where to begin.", "Write 'from 2025-01-01' or 'due at once'."
        )
    return Start(read_date(found[1]), read_amounts(found[2]) if found[2] else ())


def write_starts(start: Start) -> str:
    """Where a job begins, as it is written in a cell; ``read_starts`` gives it back."""
    if start.from_on is None:
        return "due at once"
    at = "; ".join(write_amount(amount, unit) for unit, amount in start.from_counts)
    return f"from {start.from_on}" + (f" at {at}" if at else "")


def read_hours(text: str) -> int:
    """Hours, to the minute, as whole seconds; an ``h`` behind the number may stay. Raises as ``parse_count`` does."""
    return parse_count(read_text(text).removesuffix("h"), Meter(HOURS, "h:min"))


def _first_twice(values: Iterable[T]) -> T | None:
    return next((value for value, times in Counter(values).items() if times > 1), None)


def _follow(piece: str) -> Follow:
    who, *since = re.split(" from ", piece, maxsplit=1, flags=re.IGNORECASE)
    found = _WITH_SHARE.fullmatch(who)
    counter, share = (found[1], read_share(found[2])) if found else (who, Fraction(1))
    return Follow(read_code(counter), share, read_date(since[0]) if since else None)


def _amount(piece: str) -> Amount:
    if _CLOCK_HOURS.fullmatch(piece):
        piece = f"{piece} {HOURS}"
    if not _AMOUNT.fullmatch(piece):
        raise Refusal(
            "not-an-amount", f"'{piece}' is not an amount with its unit.", "Write it like 20000 h or 640 starts."
        )
    amount, unit = read_amount(piece)
    return unit, amount
