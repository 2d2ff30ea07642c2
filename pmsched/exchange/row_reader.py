"""Rows under a heading, read onto the pile of their kind: each cell by its column, and all that is wrong with it told."""

from __future__ import annotations

import re
from datetime import time
from typing import Any

from pmsched.domain.errors import Refusal
from pmsched.exchange.build import BUILDERS, Cells
from pmsched.exchange.columns import Column, InputFile
from pmsched.exchange.faults import Faults
from pmsched.exchange.headings import Heading
from pmsched.exchange.kinds import KINDS, CellReader, blank_value
from pmsched.exchange.rows import Row, UnreadRow
from pmsched.exchange.tables import Record

_WITH_UNITS = frozenset({"interval", "amounts", "margins"})
_PLAIN_NUMBER = re.compile(r"[0-9][0-9 .,:'\u2019\u00a0\u202f]*")


class Pile:
    """The rows of one kind from all its files, and where each key stands: a key may stand in one row only.

    Attributes:
        rows: those that read well.
        unread: the others.
        count: how many rows there were.
    """

    def __init__(self, file: InputFile) -> None:
        self.file = file
        self.rows: list[Row] = []
        self.unread: list[UnreadRow] = []
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


class RowReader:
    """Reads the rows under one heading onto their pile."""

    def __init__(self, heading: Heading, pile: Pile, faults: Faults) -> None:
        self._width = heading.width
        self._cells = [
            (index, column, _reader_of(column, heading.units.get(column.name, ""))) for index, column in heading.places
        ]
        there = {place.column.name for place in heading.places}
        absent = [column for column in pile.file.columns if column.name not in there]
        self._absent = {column.name: blank_value(column) for column in absent if not column.required}
        self._blanks = {column.name: blank_value(column) for _, column in heading.places}
        self._build = BUILDERS[pile.file.stem]
        self._pile = pile
        self._faults = faults

    def read(self, record: Record) -> None:
        """Puts the row onto the pile, or tells everything that is wrong with it."""
        self._pile.count += 1
        if record.told:
            self._put_aside(record, {})
            return
        if any(not _is_blank(cell) for cell in record.cells[self._width :]):
            message = f"The row has {len(record.cells)} cells; the heading has {self._width}."
            hint = 'A cell that holds the delimiter must stand between two ".'
            self._faults.tell("too-many-cells", message, hint, row=record.row)
            # Every cell behind the surplus one would be taken for what it is not.
            self._put_aside(record, {})
            return
        values = self._read_cells(record)
        is_new = self._pile.is_new(values, record.row, self._faults)
        # Cells that do not go together are told even where another one does not read.
        row = self._build(Cells(self._faults.file, record.row, self._pile.count, values, self._faults))
        if row is not None and is_new:
            self._pile.rows.append(row)
        else:
            self._put_aside(record, values if is_new else {})

    def _put_aside(self, record: Record, values: dict[str, Any]) -> None:
        texts = {column.name: record.cells[at].strip() for at, column, _ in self._cells if at < len(record.cells)}
        self._pile.unread.append(UnreadRow(self._pile.file.stem, self._faults.file, record.row, texts, values))

    def _read_cells(self, record: Record) -> dict[str, Any]:
        """Values by column name; a cell that does not read is told of and left out."""
        values = dict(self._absent)
        for index, column, read in self._cells:
            cell = record.cells[index] if index < len(record.cells) else ""
            if refusal := record.refused.get(index):
                self._faults.refuse(refusal, record.row, column.name)
            elif not _is_blank(cell):
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


def _reader_of(column: Column, unit: str) -> CellReader:
    """The reader of a column's cells; where its heading names a unit, plain numbers are of that unit."""
    read = KINDS[column.kind].read
    if not unit or column.kind not in _WITH_UNITS:
        return read
    return lambda cell: read(f"{cell} {unit}" if _PLAIN_NUMBER.fullmatch(cell.strip()) else cell)


def _is_blank(cell: str) -> bool:
    return not cell or cell.isspace()


def _shown(part: Any) -> str:
    return part.isoformat("minutes") if isinstance(part, time) else str(part)
