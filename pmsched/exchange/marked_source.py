"""What a marked copy is made of: the workbook as it is, or the rows of interest at their places where that is too much."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from contextlib import suppress
from itertools import islice
from pathlib import Path
from typing import Any

from pmsched.domain.errors import Refusal
from pmsched.exchange.marked_cells import empty_book, put_native, unmark
from pmsched.exchange.sheet_lines import LIST_OF_PROBLEMS
from pmsched.exchange.tables import Record
from pmsched.exchange.workbooks import opened, quietly

MOST_CELLS = 500_000
"""A workbook with more cells, formatted blank ones and parts of merged ones too, is not taken over whole."""
MOST_ROWS = 50_000
"""Of a longer file only the beginning and the rows with problems are taken over."""
MOST_SHEET_ROWS = 1_048_576
"""A sheet has no more."""
_BEGINNING = 20
_LONGEST_MERGED = 10_000


def copied_book(path: Path, wanted: Collection[tuple[str, int]]) -> Any:
    """The workbook without what an earlier check marked in it; only its rows, if it is too large or too odd.

    Args:
        path: the workbook.
        wanted: sheet and row of the problems.

    Raises:
        Refusal: it cannot be read.
    """
    from openpyxl import load_workbook  # noqa: PLC0415 - only where a marked copy is written

    try:
        if _is_large(path):
            return book_of_rows(path, wanted)
        # By its name it would stay open where the library fails.
        with path.open("rb") as stream:
            book = quietly(lambda: load_workbook(stream))
    except Exception:  # noqa: BLE001 - the library raises whatever the odd part happens to cause
        return book_of_rows(path, wanted)
    _clear(book)
    return book


def whole_book(path: Path) -> Any:
    """The workbook with everything in it that can be read, its formulas as their results, without earlier marks.

    Raises:
        Refusal: it cannot be read.
    """
    from openpyxl import load_workbook  # noqa: PLC0415 - only where a copy is written

    try:
        if _is_large(path):
            return _book_of_values(path)
        with path.open("rb") as stream:
            book = quietly(lambda: load_workbook(stream, data_only=True))
    except Exception:  # noqa: BLE001 - the library raises whatever the odd part happens to cause
        return _book_of_values(path)
    _clear(book)
    return book


def _book_of_values(path: Path) -> Any:
    book = empty_book()
    with opened(path) as sheets:
        for one in sheets:
            sheet, found = book.create_sheet(one.title), one.scan()
            for row, cells in one.rows(found):
                for at, cell in enumerate(cells, 1):
                    put_native(sheet, row, at, cell)
            # Only a cell that is merged downwards says something in the rows below it.
            for merged in (one for one in found.merged if one.first == one.last and one.cells <= _LONGEST_MERGED):
                at = merged.first + 1
                sheet.merge_cells(start_row=merged.first_row, start_column=at, end_row=merged.last_row, end_column=at)
    return book


def _is_large(path: Path) -> bool:
    with opened(path) as sheets:
        scans = [sheet.scan() for sheet in sheets]
    return sum(scan.cells + sum(one.cells for one in scan.merged) for scan in scans) > MOST_CELLS


def _clear(book: Any) -> None:
    """Takes away what an earlier check listed and marked."""
    for sheet in book.worksheets:
        if sheet["A1"].value == LIST_OF_PROBLEMS:
            book.remove(sheet)
        else:
            unmark(sheet)


def book_of_rows(path: Path, wanted: Collection[tuple[str, int]]) -> Any:
    """The values of the first rows of every sheet and of the wanted ones. Arguments and refusals as above."""
    book = empty_book()
    with opened(path) as sheets:
        for one in sheets:
            sheet = book.create_sheet(one.title)
            # A sheet that cannot be read is a problem, and is listed.
            with suppress(Refusal):
                for row, cells in one.rows(one.scan()):
                    if row <= _BEGINNING or (one.title, row) in wanted:
                        for at, cell in enumerate(cells, 1):
                            put_native(sheet, row, at, cell)
    return book


def rows_of_interest(records: Iterator[Record], wanted: Collection[int]) -> Iterator[Record]:
    """All rows of a file, or of a long one the beginning and the wanted rows."""
    first = list(islice(records, MOST_ROWS + 1))
    if len(first) <= MOST_ROWS:
        yield from first
        return
    for part in (first, records):
        for record in part:
            if record.row <= _BEGINNING or (record.row in wanted and record.row <= MOST_SHEET_ROWS):
                yield record
