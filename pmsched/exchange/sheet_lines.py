"""The rows of a sheet as a person sees them: what is filled, which are comments, and how a row is called in a message.

Also what can be told of a sheet from its first rows alone.
"""

from __future__ import annotations

from itertools import islice
from typing import NamedTuple

from pmsched.exchange.columns import INPUT_FILES, InputFile
from pmsched.exchange.headings import count_known, normal
from pmsched.exchange.native_cells import Native, shown
from pmsched.exchange.sheet_scan import NOTHING_FOUND
from pmsched.exchange.tables import is_comment
from pmsched.exchange.workbooks import Sheet

LISTED_IN = "problems"
"""The sheet of a marked copy that lists them."""
LIST_OF_PROBLEMS = "Problems found by pmsched"
"""Stands in the first cell of that sheet."""
HEADING_AMONG = 50
"""The heading is looked for among so many rows that hold something."""
_LONGEST_SHOWN = 40


class Line(NamedTuple):
    """A row of a sheet that holds something.

    Attributes:
        number: its row.
        cells: what stands in it, from its first column on.
        after_gap: it stands behind a blank row.
    """

    number: int
    cells: list[Native]
    after_gap: bool

    @property
    def comment(self) -> bool:
        """It begins with a #, as rows do that are not to be read."""
        first = next(cell.value for cell in self.cells if not cell.blank)
        return isinstance(first, str) and is_comment(first)

    @property
    def filled(self) -> list[int]:
        """The places of the cells that hold something."""
        return [at for at, cell in enumerate(self.cells) if not cell.blank]

    @property
    def texts(self) -> list[str]:
        """What stands in the cells, near enough to be compared."""
        return [shown(cell) for cell in self.cells]

    def __str__(self) -> str:
        return f"row {self.number} '{short(self.cells[self.filled[0]])}'"


def stands_for(sheet: Sheet) -> list[InputFile]:
    """The input files whose headings a sheet of any name has: all that are needed, and most names; equals are all given.

    Raises:
        Refusal: the sheet cannot be read.
    """
    best: list[InputFile] = []
    most = 0
    for _, cells in islice(sheet.rows(NOTHING_FOUND), HEADING_AMONG):
        texts = [shown(cell) for cell in cells]
        names = {normal(text) for text in texts}
        for file in INPUT_FILES.values():
            known = count_known(texts, file)
            if known >= most and all(column.name in names for column in file.columns if column.required):
                best, most = [*(best if known == most else []), file], known
    return best


def is_list_of_problems(sheet: Sheet) -> bool:
    """Whether the program wrote this sheet itself, into a marked copy."""
    if not sheet.title.startswith(LISTED_IN):
        return False
    first = next(sheet.rows(NOTHING_FOUND), None)
    return first is not None and shown(first[1][0]) == LIST_OF_PROBLEMS


def short(cell: Native) -> str:
    """What stands in a cell, in one line that is not long."""
    text = " ".join(shown(cell).split())
    return text if len(text) <= _LONGEST_SHOWN else f"{text[: _LONGEST_SHOWN - 3]}..."
