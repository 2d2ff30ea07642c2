"""The heading row: which cell of a row belongs to which documented column, and near matches for slips.

Upper and lower case are alike, and so are blanks, line breaks, hyphens and underscores. What stands in brackets, such as
a unit, and marks around the name do not count.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from difflib import get_close_matches
from typing import NamedTuple

from pmsched.domain.plain import plain
from pmsched.exchange.cells import single_blanks
from pmsched.exchange.columns import Column, InputFile
from pmsched.exchange.faults import Faults
from pmsched.exchange.tables import COMMENT, Record
from pmsched.exchange.trade_names import other_name, unit_in

_BRACKETS = re.compile(r"\([^()]*\)|\[[^\[\]]*\]")
_MARKS = " \t\r\n\u00a0\u202f*:."


class Place(NamedTuple):
    """The cell ``at`` that place of every row, counted from 0, belongs to ``column``."""

    at: int
    column: Column


class Heading(NamedTuple):
    """A heading understood.

    Attributes:
        places: the known columns with their places.
        width: how many cells a row may have.
        names: the place of every name, as it is written and as the column is called.
        gaps: places inside the width without a name.
        units: by column, the unit of its plain numbers, where its heading names one.
    """

    places: tuple[Place, ...]
    width: int
    names: Mapping[str, int]
    gaps: tuple[int, ...]
    units: Mapping[str, str] = {}


def count_known(cells: Iterable[str], file: InputFile) -> int:
    """How many of the cells are headings of this file."""
    names = {column.name for column in file.columns}
    return sum(normal(cell) in names or other_name(file.stem, cell) is not None for cell in cells)


def read_heading(record: Record, file: InputFile, faults: Faults, *, may_have_gaps: bool = False) -> Heading:
    """Finds the columns; tells ``faults`` of unknown, doubled and missing ones, and of nameless ones unless gaps may be."""
    written = [plain(single_blanks(cell)) for cell in record.cells]
    while not written[-1]:
        written.pop()
    found = _columns_of(written, file)
    places: dict[str, Place] = {}
    units: dict[str, str] = {}
    for index, name in enumerate(written):
        column, unit = found[index]
        if column is None:
            if not name.startswith(COMMENT) and (name or not may_have_gaps):
                _tell_unknown(name, index, record.row, file, faults)
        elif column.name in places:
            faults.tell("column-twice", "The column stands there twice.", "Keep one.", row=record.row, column=name)
        else:
            places[column.name] = Place(index, column)
            units[column.name] = unit
    for column in file.columns:
        if column.required and column.name not in places:
            hint = f"Add it: {column.meaning}"
            faults.tell("missing-column", "Every row needs this column.", hint, row=record.row, column=column.name)
    names = {name: index for index, name in enumerate(written) if name}
    names |= {place.column.name: place.at for place in places.values()}
    gaps = tuple(index for index, name in enumerate(written) if not name)
    return Heading(tuple(places.values()), len(written), names, gaps, units)


def _columns_of(written: list[str], file: InputFile) -> list[tuple[Column | None, str]]:
    """The column that each heading means, and the unit that it names; another name counts where no other means the same."""
    columns = {column.name: column for column in file.columns}
    ours = [columns.get(normal(name)) for name in written]
    others = [None if column else other_name(file.stem, name) for name, column in zip(written, ours, strict=True)]
    taken = [column.name for column in ours if column] + [other.column for other in others if other]
    found: list[tuple[Column | None, str]] = []
    for name, column, other in zip(written, ours, others, strict=True):
        if column is not None:
            found.append((column, unit_in(name)))
        elif other is not None and taken.count(other.column) == 1:
            found.append((columns[other.column], other.unit))
        else:
            found.append((None, ""))
    return found


def near_match(written: str, names: Iterable[str], how_near: float = 0.6) -> str:
    """A hint beginning 'Did you mean ...?' if one of the names is close, else empty; ends with a space if not empty."""
    close = get_close_matches(normal(written), list(names), n=1, cutoff=how_near)
    return f"Did you mean '{close[0]}'? " if close else ""


def _tell_unknown(name: str, index: int, row: int, file: InputFile, faults: Faults) -> None:
    if not name:
        faults.tell("nameless-column", f"Column {index + 1} has no name.", "Give it a name, or delete it.", row=row)
        return
    names = [column.name for column in file.columns]
    hint = f"{near_match(name, names)}The columns are: {', '.join(names)}. Write # before its name to leave it out."
    faults.tell("unknown-column", f"There is no such column in {file.stem}.", hint, row=row, column=name)


def normal(name: str) -> str:
    """A name as names are compared: ``Done-on (ship's date) *`` is ``done_on``."""
    if not (written := _BRACKETS.sub(" ", name).strip(_MARKS)):
        written = name.strip(_MARKS)
    return re.sub(r"[\s_-]+", "_", written.casefold())
