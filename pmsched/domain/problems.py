"""Problems: what is wrong with data somebody brings, as values, so that all of them can be listed at once."""

from __future__ import annotations

import re
from typing import NamedTuple

# A name that needs no quotes before the mark that parts sheet and cell.
_BARE = re.compile(r"[A-Za-z_][A-Za-z0-9_]*")


class Problem(NamedTuple):
    """One thing wrong with brought-in data.

    Attributes:
        code: stable short name, e.g. ``unknown-machine``.
        file: name of the file as given.
        row: line of the file as a spreadsheet counts it (the heading is row 1); 0 when the whole file is meant.
        column: heading of the column; empty when the whole row is meant.
        message: what is wrong.
        hint: what would be right.
        sheet: title of the sheet, where the file is a workbook.
        cell: the cell of that sheet, such as ``C14``; empty when no single cell is meant.
    """

    code: str
    file: str
    row: int
    column: str
    message: str
    hint: str
    sheet: str = ""
    cell: str = ""

    @property
    def place(self) -> str:
        """The sheet and the cell as a spreadsheet names them: ``jobs!C14``; empty when no single cell is meant."""
        return f"{quoted(self.sheet)}!{self.cell}" if self.cell else ""

    def __str__(self) -> str:
        where = self.file
        if self.sheet:
            where += f", {self.place or f'sheet {self.sheet}'}"
        if self.row and not self.cell:
            where += f", row {self.row}"
        if self.column:
            where += f", column {self.column}"
        return f"{where}: {self.message}" + (f" {self.hint}" if self.hint else "")


def quoted(sheet: str) -> str:
    """The title of a sheet as it stands before a cell: in apostrophes where a spreadsheet wants them."""
    return sheet if _BARE.fullmatch(sheet) else "'" + sheet.replace("'", "''") + "'"
