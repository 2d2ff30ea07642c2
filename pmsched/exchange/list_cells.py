"""Single cells of a list of jobs: dates, hours and intervals as people write them for themselves, made ours.

What can only mean one thing is written as our sheets want it. What can mean several is a doubt, settled once for all cells
like it by the person's answer; without an answer, and where nothing can be made of a cell, it stays as it is written and is
told of by the check of the sheets.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from datetime import date, datetime, time
from typing import NamedTuple

from pmsched.domain.counts import Meter, parse_count
from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.limbs import tidy
from pmsched.domain.written import parse_interval, write_interval
from pmsched.exchange.columns import Kind
from pmsched.exchange.dates import read_date
from pmsched.exchange.native_cells import Native, shown, text_of

Answers = Mapping[str, str]
"""What was answered, by the key of the doubt. An empty answer leaves the cells as they are."""

_NOTHING = frozenset({"-", "--", "---", "n/a", "na", "n.a.", "none", "nil", "never", "unknown", "not known", "?", "tbd", "tba", "new"})  # fmt: skip
_NUMBERED = re.compile(r"(\d{1,2})([./ -])(\d{1,2})\2(\d{4}|\d{2})")
_YEAR_FIRST = re.compile(r"(\d{4})[./-](\d{1,2})[./-](\d{1,2})")
_SHORT_YEAR = re.compile(r"(\d{1,2}[ -][^\W\d_]+\.?[ -])'?(\d{2})")
_HOURS_BEHIND = re.compile(r"\s*(?:running\s+)?(?:hours?|hrs?|rh|r/h|h)\.?$", re.IGNORECASE)
_FIGURES = re.compile(r"[0-9][0-9 .,:'\u2019\u00a0\u202f]*")
_MARK = re.compile(r"[1-9]\d{0,2}([.,])\d{3}")
_CENTURY = "20"
_FINEST = Meter(reads="h:min")

DAY_FIRST, MONTH_FIRST = "day", "month"
THOUSANDS, DECIMALS = "thousands", "decimals"
YES = "yes"


class Doubt(NamedTuple):
    """Something that can be read in more than one way.

    Attributes:
        key: the same for all that one answer settles.
        question: what is asked.
        choices: each answer with what it means in words; none where any text is an answer.
        example: what stands in the cell.
        usual: the answer that Enter gives; empty: none.
    """

    key: str
    question: str
    choices: tuple[tuple[str, str], ...]
    example: str = ""
    usual: str = ""


class Doubts:
    """Collects what is in doubt, each once, and how often."""

    def __init__(self, answers: Answers) -> None:
        self.answers = answers
        self.open: dict[str, Doubt] = {}
        self.times: dict[str, int] = {}

    def answer(self, doubt: Doubt) -> str:
        """What was answered; empty while nothing is, and the doubt is noted."""
        found = self.answers.get(doubt.key)
        if found is None:
            self.open.setdefault(doubt.key, doubt)
            self.times[doubt.key] = self.times.get(doubt.key, 0) + 1
        return found or ""


def is_nothing(cell: Native) -> bool:
    """Whether a cell is blank, or says that nothing is known: -, n/a, never."""
    return cell.blank or shown(cell).strip().casefold() in _NOTHING


def plain_text(cell: Native, kind: Kind = "text") -> str:
    """A text, a name or a code on one line, as the cell shows it."""
    try:
        return " ".join(text_of(cell, kind).split())
    except Refusal:
        return " ".join(shown(cell).split())


def read_day(cell: Native, doubts: Doubts, *, since_1904: bool) -> tuple[str, str]:
    """A date and the time of day with it, as our sheets write them; the time is empty where none stands."""
    if is_nothing(cell):
        return "", ""
    if isinstance(cell.value, datetime) and cell.value.time() != time():
        return cell.value.date().isoformat(), f"{cell.value:%H:%M}"
    try:
        written = tidy(text_of(cell, "date", since_1904=since_1904))
    except Refusal:
        return tidy(shown(cell)), ""
    return _day(written, doubts), ""


def read_hours(cell: Native, doubts: Doubts) -> str:
    """A number of hours as our sheets write it: ``12345``, ``12345.5``, ``12345:30``."""
    if is_nothing(cell):
        return ""
    try:
        written = tidy(text_of(cell, "count"))
    except Refusal:
        return tidy(shown(cell))
    bare = _HOURS_BEHIND.sub("", written) if not _FIGURES.fullmatch(written) else written
    return _number(bare, written, doubts)


def read_interval(parts: Iterable[tuple[Native, str]], doubts: Doubts) -> str:
    """An interval as our sheets write it, from one column or several, each with the unit of its plain numbers."""
    texts = [_with_unit(cell, unit) for cell, unit in parts if not is_nothing(cell)]
    written = " or ".join(text for text in texts if text)
    return _interval(written, doubts) if written else ""


def unit_words(text: str) -> str:
    """A cell that names the unit of an interval; empty if it names none, clear or not."""
    try:
        parse_interval(f"2 {text}")
    except Ambiguous:
        return text
    except Refusal:
        return ""
    return text


# --- dates ----------------------------------------------------------------------------------------------------------


def _day(written: str, doubts: Doubts) -> str:
    if found := _YEAR_FIRST.fullmatch(written):
        written = "-".join(found.groups())
    elif found := _NUMBERED.fullmatch(written):
        year = _year(found[4], written, doubts)
        order = doubts.answer(_which_first(written))
        day, month = (found[1], found[3]) if order == DAY_FIRST else (found[3], found[1])
        meant = f"{year}-{month}-{day}" if year and order else written
        written = meant if as_date(meant) else written
    elif found := _SHORT_YEAR.fullmatch(written):
        year = _year(found[2], written, doubts)
        written = f"{found[1]}{year}" if year else written
    try:
        return read_date(written).isoformat()
    except Refusal:
        return written


def _year(digits: str, written: str, doubts: Doubts) -> str:
    if len(digits) > len(_CENTURY):
        return digits
    question = f"Years of two digits, such as {written}: is {_CENTURY}{digits} meant?"
    doubt = Doubt("short-years", question, ((YES, f"{_CENTURY}{digits}"),), written, YES)
    return f"{_CENTURY}{digits}" if doubts.answer(doubt) == YES else ""


def _which_first(written: str) -> Doubt:
    question = f"Dates such as {written}: which comes first?"
    return Doubt("day-or-month", question, ((DAY_FIRST, "the day"), (MONTH_FIRST, "the month")), written)


# --- numbers and intervals ------------------------------------------------------------------------------------------


def _number(bare: str, written: str, doubts: Doubts) -> str:
    try:
        parse_count(bare, _FINEST)
    except Ambiguous as both:
        meant = _meant(bare, both.choices, doubts)
        return meant or written
    except Refusal:
        return written
    return bare


def _meant(bare: str, choices: tuple[str, ...], doubts: Doubts) -> str:
    """Which number is meant by ``12,345``: the whole one stands first among the choices."""
    mark = _MARK.search(bare)
    if mark is None or not choices:
        return ""
    question = f"Numbers such as {bare}: what does the mark part?"
    labels = ((THOUSANDS, f"thousands: {choices[0]}"), (DECIMALS, f"decimals: {choices[-1]}"))
    answer = doubts.answer(Doubt(f"mark {mark[1]}", question, labels, bare))
    return {THOUSANDS: choices[0], DECIMALS: choices[-1]}.get(answer, "")


def _with_unit(cell: Native, unit: str) -> str:
    """The text of a cell, with the unit that its heading or its neighbour names behind a plain number."""
    written = tidy(plain_text(cell, "interval"))
    return f"{written} {unit}" if unit and _FIGURES.fullmatch(written) else written


def _interval(written: str, doubts: Doubts) -> str:
    try:
        return write_interval(parse_interval(written))
    except Ambiguous as several:
        if several.code == "ambiguous-number":
            return _meant(written, several.choices, doubts) or written
        choices = tuple((choice, choice) for choice in several.choices)
        doubt = Doubt(f"interval {written.casefold()}", several.message, choices, written)
        return doubts.answer(doubt) or written
    except Refusal:
        return written


def as_date(text: str) -> date | None:
    """The date that a cell of ours holds; None if it holds none."""
    try:
        return read_date(text)
    except Refusal:
        return None
