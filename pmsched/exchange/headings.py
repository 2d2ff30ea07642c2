"""The heading row: which cell of a row belongs to which documented column, and near matches for slips.

Upper and lower case are alike, and so are blanks, hyphens and underscores.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from difflib import get_close_matches
from typing import NamedTuple

from pmsched.domain.plain import plain
from pmsched.exchange.columns import Column, InputFile
from pmsched.exchange.faults import Faults
from pmsched.exchange.tables import Record


class Place(NamedTuple):
    """The cell ``at`` that place of every row, counted from 0, belongs to ``column``."""

    at: int
    column: Column


class Heading(NamedTuple):
    """A heading understood: the known columns with their places, and how many cells a row may have."""

    places: tuple[Place, ...]
    width: int


def count_known(cells: Iterable[str], file: InputFile) -> int:
    """How many of the cells are headings of this file."""
    names = {column.name for column in file.columns}
    return sum(_normal(cell) in names for cell in cells)


def read_heading(record: Record, file: InputFile, faults: Faults) -> Heading:
    """Finds the columns; tells ``faults`` of unknown, doubled, nameless and missing ones."""
    written = [plain(cell.strip()) for cell in record.cells]
    while not written[-1]:
        written.pop()
    columns = {column.name: column for column in file.columns}
    places: dict[str, Place] = {}
    for index, name in enumerate(written):
        column = columns.get(_normal(name))
        if column is None:
            _tell_unknown(name, index, record.row, file, faults)
        elif column.name in places:
            faults.tell("column-twice", "The column stands there twice.", "Keep one.", row=record.row, column=name)
        else:
            places[column.name] = Place(index, column)
    for column in file.columns:
        if column.required and column.name not in places:
            hint = f"Add it: {column.meaning}"
            faults.tell("missing-column", "Every row needs this column.", hint, row=record.row, column=column.name)
    return Heading(tuple(places.values()), len(written))


def near_match(written: str, names: Iterable[str]) -> str:
    """A hint beginning 'Did you mean ...?' if one of the names is close, else empty; ends with a space if not empty."""
    close = get_close_matches(_normal(written), list(names), n=1)
    return f"Did you mean '{close[0]}'? " if close else ""


def _tell_unknown(name: str, index: int, row: int, file: InputFile, faults: Faults) -> None:
    if not name:
        faults.tell("nameless-column", f"Column {index + 1} has no name.", "Give it a name, or delete it.", row=row)
        return
    names = [column.name for column in file.columns]
    hint = f"{near_match(name, names)}The columns are: {', '.join(names)}."
    faults.tell("unknown-column", f"There is no such column in {file.stem}.csv.", hint, row=row, column=name)


def _normal(name: str) -> str:
    return re.sub(r"[\s_-]+", "_", name.strip().casefold())
