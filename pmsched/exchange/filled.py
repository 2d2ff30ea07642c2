"""Filled copies: the workbook that was read, with cells that pmsched proposes or was told, each coloured and explained.

A copy holds all that its originals hold, so it is loaded in their place: what was proposed lies open in it, may be changed,
and says the same when it is loaded again. It never takes the place of a file that is there.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from datetime import date, time
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import INPUT_FILES, FileKind
from pmsched.exchange.headings import count_known
from pmsched.exchange.input_files import without_marked
from pmsched.exchange.marked_cells import colour, empty_book, free_title, note, own_cell, put
from pmsched.exchange.marked_source import whole_book
from pmsched.exchange.places import Source
from pmsched.exchange.tables import read_all_rows
from pmsched.exchange.whole_files import whole_file
from pmsched.exchange.workbooks import SUFFIX, quietly

READINGS_SHEET = "readings typed"
"""The sheet of readings that were typed; by its name it is read as readings."""
_READING_COLUMNS = ("counter", "read_on", "time", "value")
_FILLED = re.compile(r"-with-(?:starts|readings)(?:-[0-9]+)?")
_TEXT = "@"


class Fill(NamedTuple):
    """A cell to be filled: file and row as rows name them, the column, what is written, and a note on it."""

    file: str
    row: int
    column: str
    text: str
    said: str


class TypedReading(NamedTuple):
    """A reading that was typed: the counter, the ship's date and time, and the value as typed."""

    counter: str
    read_on: date
    time_of_day: time
    value: str


def write_filled_copy(
    sources: Sequence[Source], fills: Sequence[Fill], readings: Sequence[TypedReading] = (), target: Path | None = None
) -> Path:
    """Writes one copy of all that was read, with the cells filled and the readings added; its path.

    Args:
        sources: the files and sheets that were read: CSV files, and at most one workbook.
        fills: the cells; a column that a sheet lacks is added.
        readings: they get a sheet of their own.
        target: the name of the copy; by default one that is free, beside the workbook or the folder of the files.

    Raises:
        Refusal: there are several workbooks, a file of that name is there, or the place cannot be written to.
    """
    workbooks = list(dict.fromkeys(source.path for source in sources if source.sheet))
    if len(workbooks) > 1:
        message = f"There are {len(workbooks)} workbooks; a copy is made of one."
        raise Refusal("several-workbooks", message, "Bring their sheets together in one workbook.")
    if target is None:
        target = _free_name(sources, "starts" if fills else "readings")
    book = whole_book(workbooks[0]) if workbooks else empty_book()
    titles = {source.name: source.sheet or _add_text(book, source) for source in sources}
    for source in sources:
        own = [fill for fill in fills if fill.file == source.name]
        if own:
            _fill(book[titles[source.name]], source, own)
    if readings:
        _add_readings(book, readings)
    with whole_file(target) as stream:
        quietly(lambda: book.save(stream))
    return target


def _free_name(sources: Sequence[Source], what: str) -> Path:
    first = next((source for source in sources if source.sheet), sources[0])
    # Among CSV files the copy would be read with them, and say everything twice.
    place = first.path if first.sheet else first.path.resolve().parent
    stem = _FILLED.sub("", without_marked(place.name) if first.sheet else place.name) or "files"
    names = (f"{stem}-with-{what}{f'-{number}' if number > 1 else ''}{SUFFIX}" for number in count(1))
    return next(found for name in names if not (found := place.with_name(name)).exists())


def _add_text(book: Any, source: Source) -> str:
    """Takes over a file that is no workbook as a sheet, all its rows at their places; the title of the sheet."""
    title = free_title(book, source.path.stem)
    sheet = book.create_sheet(title)
    kind: FileKind = source.stem  # type: ignore[assignment]
    for record in read_all_rows(source.path, lambda cells: count_known(cells, INPUT_FILES[kind])):
        for at, text in enumerate(record.cells, 1):
            if text:
                put(sheet, record.row, at, text)
    return title


def _fill(sheet: Any, source: Source, fills: Iterable[Fill]) -> None:
    places = dict(source.places)
    for fill in fills:
        if fill.column not in places:
            places[fill.column] = max(places.values()) + 1
            _put(sheet, source.heading_row, places[fill.column], fill.column, "a column that the sheet lacked.")
        _put(sheet, fill.row, places[fill.column], fill.text, fill.said)


def _put(sheet: Any, row: int, at: int, text: str, said: str) -> None:
    shown_in = own_cell(sheet, row, at + 1)
    for merged in list(sheet.merged_cells.ranges):
        if shown_in.coordinate in merged:
            # Each of its rows says something of its own now.
            sheet.unmerge_cells(str(merged))
    cell = put(sheet, row, at + 1, text)
    cell.number_format = _TEXT
    colour(cell)
    note(cell, said)


def _add_readings(book: Any, readings: Iterable[TypedReading]) -> None:
    sheet = book.create_sheet(free_title(book, READINGS_SHEET))
    rows = [(one.counter, f"{one.read_on}", f"{one.time_of_day:%H:%M}", one.value) for one in readings]
    for number, cells in enumerate([_READING_COLUMNS, *rows], 1):
        for at, text in enumerate(cells, 1):
            put(sheet, number, at, text)
