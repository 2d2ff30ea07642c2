"""A list on its way into a file: the header that every export carries, the names of its columns, and its rows.

The rows pass once, one after the other, and are counted on their way. Knows no format and no register.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime, time
from decimal import Decimal
from typing import NamedTuple

Cell = str | int | Decimal | date | datetime | time | None
"""What a cell may hold. True and False are yes and no; a datetime is an instant in UTC; None is a blank cell."""

DayRow = tuple[date | None, Sequence[Cell]]
"""A row, and the day it is about, where it is about one."""

FORM = 1
"""The number of the form in which headers are written. Names in it are never reused; new ones come at the end."""

_NO_WIDTHS: Mapping[str, int] = {}
_TELL_EVERY = 256

Tell = Callable[[int, int], object]
"""Told how many rows are done, and of how many (0 if that is not known)."""


class About(NamedTuple):
    """What every export says of itself, in this order; None where nothing is known or nothing was asked.

    Attributes:
        form: how this header is written.
        program: the program and its version.
        site: of which vessel or plant.
        what: which list.
        from_on, to_on: the days asked for, both included; ``from`` and ``to`` in files.
        machine, job, counter, person, words: what the list was narrowed by.
        as_of, known_on: the past moment asked about, as typed.
        book, entry_no, seal: the last entry that the list knows, and the seal of its book then.
        made_by: code and name of the person who was named; 'not named' otherwise.
        made_at_ship, made_at_utc: when the file was made: ship's time with its offset, and UTC.
        rows, first_day, last_day: how many rows follow, and the days they are about.
        complete: whether it is all that was known; ``left_out`` says what is not in it.
    """

    form: int = FORM
    program: str = ""
    site: str = ""
    what: str = ""
    from_on: date | None = None
    to_on: date | None = None
    machine: str | None = None
    job: str | None = None
    counter: str | None = None
    person: str | None = None
    words: str | None = None
    as_of: str | None = None
    known_on: str | None = None
    book: int | None = None
    entry_no: int = 0
    seal: str = ""
    made_by: str = ""
    made_at_ship: str = ""
    made_at_utc: datetime | None = None
    rows: int | None = None
    first_day: date | None = None
    last_day: date | None = None
    complete: bool = True
    left_out: str = ""

    def pairs(self) -> list[tuple[str, Cell]]:
        """Names, as they stand in files, and values."""
        return [(_NAMES.get(name, name), value) for name, value in self._asdict().items()]


_NAMES = {"from_on": "from", "to_on": "to"}
ABOUT = tuple(name for name, _ in About().pairs())
"""The names in a header."""


class Export:
    """A list to be written.

    Args:
        about: its header, without what only the rows can tell.
        heading: the names of the columns.
        rows: the rows, each with its day; taken once.
        widths: how wide some columns are in a spreadsheet, in characters; texts are folded to fit.
        expected: about how many rows will come; 0 if that is not known.
        tell: told how many rows have passed.
    """

    def __init__(
        self,
        about: About,
        heading: Sequence[str],
        rows: Iterable[DayRow],
        widths: Mapping[str, int] = _NO_WIDTHS,
        expected: int = 0,
        tell: Tell | None = None,
    ) -> None:
        # What is known to be missing is said before the rows as well as after them.
        self.about = about._replace(complete=about.complete and not about.left_out)
        self.heading = tuple(heading)
        self.widths = widths
        self._source = rows
        self._expected = expected
        self._tell = tell
        self._count = 0
        self._days: tuple[date, date] | None = None
        self._left_out: list[str] = [about.left_out] if about.left_out else []

    def rows(self) -> Iterator[Sequence[Cell]]:
        """The rows, each once."""
        for day, cells in self._source:
            self._count += 1
            if day is not None:
                first, last = self._days or (day, day)
                self._days = min(first, day), max(last, day)
            if self._tell is not None and self._count % _TELL_EVERY == 0:
                self._tell(self._count, self._expected)
            yield cells

    def leave_out(self, what: str) -> None:
        """Say of something that the format could not take it."""
        if what not in self._left_out:
            self._left_out.append(what)

    def ended(self) -> About:
        """The header, once the rows have passed: how many they were, their days, and what is not in the file."""
        first, last = self._days or (None, None)
        return self.about._replace(
            rows=self._count,
            first_day=first,
            last_day=last,
            complete=not self._left_out,
            left_out="; ".join(self._left_out),
        )
