"""Problems: what is wrong with data somebody brings, as values, so that all of them can be listed at once."""

from __future__ import annotations

from typing import NamedTuple


class Problem(NamedTuple):
    """One thing wrong with brought-in data.

    Attributes:
        code: stable short name, e.g. ``unknown-machine``.
        file: name of the file as given.
        row: line of the file as a spreadsheet counts it (the heading is row 1); 0 when the whole file is meant.
        column: heading of the column; empty when the whole row is meant.
        message: what is wrong.
        hint: what would be right.
    """

    code: str
    file: str
    row: int
    column: str
    message: str
    hint: str

    def __str__(self) -> str:
        where = self.file
        if self.row:
            where += f", row {self.row}"
        if self.column:
            where += f", column {self.column}"
        return f"{where}: {self.message}" + (f" {self.hint}" if self.hint else "")
