"""Cells of a copy that pmsched writes: written so that nothing in them runs, coloured, given a note, and cleared of older marks."""

from __future__ import annotations

from typing import Any

from pmsched.domain.plain import plain
from pmsched.domain.problems import quoted
from pmsched.exchange.native_cells import Native

_LONGEST_CELL = 32_000
_LINE = 45
_SIGN = "pmsched: "
_OLD_NOTE = "\n\nNote that was here before:\n"
_FILL = "FFFFD966"
_LONGEST_TITLE = 31
_FORBIDDEN = dict.fromkeys(map(ord, "[]:*?/\\"), "-")


def empty_book() -> Any:
    """A workbook without sheets."""
    from openpyxl import Workbook  # noqa: PLC0415

    book = Workbook()
    book.remove(book.worksheets[0])
    return book


def free_title(book: Any, wanted: str) -> str:
    """A title that no sheet of the workbook has, of characters that titles may have."""
    taken = {title.casefold() for title in book.sheetnames}
    base = plain(wanted).translate(_FORBIDDEN).strip("'")[:_LONGEST_TITLE] or "sheet"
    number, title = 1, base
    while title.casefold() in taken:
        number += 1
        tail = f" ({number})"
        title = base[: _LONGEST_TITLE - len(tail)] + tail
    return title


def colour(cell: Any) -> None:
    """Gives a cell the colour of what pmsched marked or wrote."""
    from openpyxl.styles import PatternFill  # noqa: PLC0415 - only where a marked copy is written

    cell.fill = PatternFill("solid", start_color=_FILL)


def note(cell: Any, said: str) -> None:
    """Writes a note to a cell; one that is there stays below it."""
    from openpyxl.comments import Comment  # noqa: PLC0415

    there = cell.comment.text if cell.comment else ""
    # Several cells may be merged into the one that shows them.
    whole = f"{there}\n\n{said}" if there.startswith(_SIGN) else f"{_SIGN}{said}" + (there and f"{_OLD_NOTE}{there}")
    text = plain(whole, line_breaks=True)[:_LONGEST_CELL]
    lines = sum(1 + len(line) // _LINE for line in text.splitlines())
    cell.comment = Comment(text, "pmsched", width=340, height=30 + 18 * lines)


def unmark(sheet: Any) -> None:
    """Takes away what an earlier check marked in a sheet; other notes stay."""
    from openpyxl.styles import PatternFill  # noqa: PLC0415

    for cells in sheet.iter_rows():
        for cell in cells:
            if cell.comment and cell.comment.text.startswith(_SIGN):
                _, _, before = cell.comment.text.partition(_OLD_NOTE)
                cell.comment.text = before
                if not before:
                    cell.comment = None
                if cell.fill.start_color.rgb == _FILL:
                    cell.fill = PatternFill()


def own_cell(sheet: Any, row: int, column: int) -> Any:
    """The cell, or the one that shows its value where it is merged with others."""
    from openpyxl.cell.cell import MergedCell  # noqa: PLC0415

    cell = sheet.cell(row, column)
    if isinstance(cell, MergedCell):
        for merged in sheet.merged_cells.ranges:
            if cell.coordinate in merged:
                return sheet.cell(merged.min_row, merged.min_col)
    return cell


def put(sheet: Any, row: int, column: int, text: str) -> Any:
    """Writes a text as a text, also where a spreadsheet would run it."""
    cell = sheet.cell(row, column)
    cell.value = plain(text, line_breaks=True)[:_LONGEST_CELL]
    cell.data_type = "s"
    return cell


def put_native(sheet: Any, row: int, column: int, native: Native) -> None:
    """Writes what a cell of a workbook holds, shown as it was there."""
    if isinstance(native.value, str):
        put(sheet, row, column, native.value)
    elif native.value is not None:
        cell = sheet.cell(row, column, native.value)
        cell.number_format = native.shown_as


def always_quoted(title: str) -> str:
    """The title of a sheet in apostrophes, as links want it."""
    written = quoted(title)
    return written if written.startswith("'") else f"'{written}'"
