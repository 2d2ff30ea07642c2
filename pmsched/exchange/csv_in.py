"""Input files read whole: every row that reads well, and every problem of every file, not only the first.

Knows the files and their rows; whether they fit each other or the register is decided elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import time
from pathlib import Path
from typing import Any

from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem
from pmsched.exchange.build import BUILDERS, Cells
from pmsched.exchange.columns import INPUT_FILES, FileKind, InputFile
from pmsched.exchange.faults import Faults
from pmsched.exchange.headings import Heading, count_known, read_heading
from pmsched.exchange.input_files import Found, find_files
from pmsched.exchange.kinds import KINDS, blank_value
from pmsched.exchange.rows import Bundle, Row
from pmsched.exchange.tables import Record, read_table


def read_files(paths: Iterable[Path | str]) -> tuple[Bundle, list[Problem]]:
    """Everything in the files and folders given: the rows that read well, and all the problems, in reading order.

    Rows with a problem are left out of the bundle. Never raises for what stands in a file.
    """
    problems: list[Problem] = []
    piles = {stem: _Pile(file) for stem, file in INPUT_FILES.items()}
    for found in find_files((Path(path) for path in paths), problems):
        _read_file(found, piles[found.file.stem], problems)
    rows: dict[FileKind, Any] = {stem: tuple(pile.rows) for stem, pile in piles.items()}
    return Bundle(**rows), problems


class _Pile:
    """The rows of one kind from all its files, and where each key stands: a key may stand in one row only."""

    def __init__(self, file: InputFile) -> None:
        self.file = file
        self.rows: list[Row] = []
        self.count = 0
        self._places: dict[tuple[Any, ...], tuple[str, int]] = {}

    def is_new(self, values: dict[str, Any], row: int, faults: Faults) -> bool:
        """True for the first row with its key, which is noted; a later one is told of."""
        if any(name not in values for name in self.file.key):
            return True
        key = tuple(values[name] for name in self.file.key)
        file, other = self._places.setdefault(key, (faults.file, row))
        if (file, other) == (faults.file, row):
            return True
        shown = " ".join(_shown(part) for part in key if part not in ("", None))
        where = f"row {other}" if file == faults.file else f"{file}, row {other}"
        faults.tell(
            "row-twice", f"'{shown}' stands in {where} already.", "Keep one of them.", row=row, column=self.file.key[0]
        )
        return False


def _read_file(found: Found, pile: _Pile, problems: list[Problem]) -> None:
    faults = Faults(str(found.path), problems)
    records = read_table(found.path, lambda cells: count_known(cells, found.file), faults)
    heading = next(records, None)
    if heading is None or not count_known(heading.cells, found.file):
        if not faults.any_told:
            hint = f"The columns are: {', '.join(column.name for column in found.file.columns)}."
            faults.tell("no-heading", "There is no heading row with column names.", hint)
        return
    reader = _RowReader(read_heading(heading, found.file, faults), pile, faults)
    for record in records:
        reader.read(record)


class _RowReader:
    """Reads the rows under one heading onto their pile."""

    def __init__(self, heading: Heading, pile: _Pile, faults: Faults) -> None:
        self._width = heading.width
        self._cells = [(index, column, KINDS[column.kind].read) for index, column in heading.places]
        there = {column.name for _, column in heading.places}
        absent = [column for column in pile.file.columns if column.name not in there]
        self._absent = {column.name: blank_value(column) for column in absent if not column.required}
        self._blanks = {column.name: blank_value(column) for _, column in heading.places}
        self._build = BUILDERS[pile.file.stem]
        self._pile = pile
        self._faults = faults

    def read(self, record: Record) -> None:
        """Puts the row onto the pile, or tells everything that is wrong with it."""
        self._pile.count += 1
        if any(not _is_blank(cell) for cell in record.cells[self._width :]):
            message = f"The row has {len(record.cells)} cells; the heading has {self._width}."
            hint = 'A cell that holds the delimiter must stand between two ".'
            self._faults.tell("too-many-cells", message, hint, row=record.row)
            return
        values = self._read_cells(record)
        is_new = self._pile.is_new(values, record.row, self._faults)
        if len(values) < len(self._pile.file.columns):
            return
        row = self._build(Cells(self._faults.file, record.row, self._pile.count, values, self._faults))
        if row is not None and is_new:
            self._pile.rows.append(row)

    def _read_cells(self, record: Record) -> dict[str, Any]:
        """Values by column name; a cell that does not read is told of and left out."""
        values = dict(self._absent)
        for index, column, read in self._cells:
            cell = record.cells[index] if index < len(record.cells) else ""
            if not _is_blank(cell):
                try:
                    values[column.name] = read(cell)
                except Refusal as refusal:
                    self._faults.refuse(refusal, record.row, column.name)
            elif column.required:
                hint = f"Write it, such as {column.example}."
                self._faults.tell("missing-value", "The cell is blank.", hint, row=record.row, column=column.name)
            else:
                values[column.name] = self._blanks[column.name]
        return values


def _is_blank(cell: str) -> bool:
    return not cell or cell.isspace()


def _shown(part: Any) -> str:
    return part.isoformat("minutes") if isinstance(part, time) else str(part)
