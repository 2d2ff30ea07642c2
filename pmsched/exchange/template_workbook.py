"""A workbook to fill in: a sheet for each input file, its headings explained by notes, formats and choices.

Empty it reads back as a workbook without rows. What may be chosen freely is offered, not enforced.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any, get_args

from pmsched.domain.counts import READS
from pmsched.domain.errors import Refusal
from pmsched.domain.rules import CountsFrom
from pmsched.exchange.columns import INPUT_FILES, Column, FileKind, InputFile, Kind
from pmsched.exchange.places import letters
from pmsched.exchange.templates import explain
from pmsched.exchange.whole_files import whole_file

GUIDE = "# how to"
"""The sheet that explains the others; a name that begins with # is not read."""
_LAST_ROW = 2_000
_WIDTHS: dict[Kind, int] = {
    "long text": 40,
    "lines": 40,
    "interval": 26,
    "starts": 28,
    "counts on": 28,
    "grid from": 22,
}
_USUAL_WIDTH = 16

_CLOSED: dict[Kind, tuple[str, ...]] = {
    "yes/no": ("yes", "no"),
    "reads": READS,
    "counts from": get_args(CountsFrom),
}
_OPEN: dict[str, tuple[str, ...]] = {"department": ("engine", "deck", "electrical", "hotel", "office")}
_UNITS = ("h", "starts", "cycles", "m3")
_CODES: dict[str, FileKind] = {"machine": "machines", "parent": "machines", "job": "jobs", "counter": "counters"}
"""Columns in which codes of another sheet are offered."""

_FORMATS: dict[Kind, str] = {
    "date": "yyyy-mm-dd",
    "time": "hh:mm",
    "whole number": "0",
    "hours": "General",
    "count": "General",
}
# All others are text, so that no spreadsheet makes a date or a number of a code.
_TEXT = "@"

_NUMBERS: frozenset[Kind] = frozenset({"count", "hours", "whole number"})
_NUMBER = re.compile(r"[0-9]{1,9}(?:\.[0-9]{1,2})?")
_FIRST_YEAR = 1900

Cells = Mapping[str, str]
"""The cells of a row, by column."""

_HOW = (
    "Fill in the sheets and save, then: pmsched init, or pmsched load FILE --check",
    "First machines, counters, jobs, last_done and readings, in this order. The rest can wait.",
    "Point at a heading to see what the column is for. Every row needs the columns with a dark heading.",
    "The sheets may be in any order, and so may the columns. Sheets and columns you do not need may be deleted.",
    "Dates: type them as your spreadsheet does, or like 2025-03-04. Times: 14:30.",
    "Numbers: 12345, 12 345.5. Several things in one cell: apart by semicolons.",
    "A row that begins with # is not read, and neither is a sheet whose name begins with #, like this one.",
)


def write_template_workbook(path: Path, rows: Mapping[FileKind, Iterable[Cells]] = {}) -> Path:
    """Writes the workbook, into a folder that is made if need be; gives its path.

    Args:
        path: its name.
        rows: what stands in the sheets already, each cell as it is written by hand.

    Raises:
        Refusal: something of that name is there, or the place cannot be written to.
    """
    from xlsxwriter import Workbook  # noqa: PLC0415 - only where a workbook is written

    if path.exists():
        raise Refusal("file-exists", f"{path} is there already; nothing is overwritten.", "Name another file.")
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        message = f"{path.parent} cannot be made ({error.strerror})."
        raise Refusal("cannot-write", message, "Name another folder.") from error
    with whole_file(path) as stream:
        book = Workbook(stream, {"in_memory": True})
        _write_guide(book)
        for file in INPUT_FILES.values():
            _write_sheet(book, file, rows.get(file.stem, ()))
        book.close()
    return path


def choices(column: Column) -> tuple[tuple[str, ...], bool]:
    """What a column offers, and whether nothing else may be written in it; nothing for most columns."""
    if column.kind in _CLOSED:
        return _CLOSED[column.kind], True
    return _UNITS if column.kind == "unit" else _OPEN.get(column.name, ()), False


def _write_guide(book: Any) -> None:
    sheet = book.add_worksheet(GUIDE)
    sheet.set_column(0, 0, 18)
    sheet.set_column(1, 1, 100, book.add_format({"text_wrap": True, "valign": "top"}))
    bold = book.add_format({"bold": True})
    lines: list[tuple[str, str]] = [("", line) for line in _HOW] + [("", "")]
    lines += [(file.stem, file.lists) for file in INPUT_FILES.values()]
    for row, (name, text) in enumerate(lines):
        sheet.write_string(row, 0, name, bold)
        sheet.write_string(row, 1, text)


def _write_sheet(book: Any, file: InputFile, rows: Iterable[Cells]) -> None:
    sheet = book.add_worksheet(file.stem)
    held = list(rows)
    for at, column in enumerate(file.columns):
        colours = {"bg_color": "#1F3864", "font_color": "#FFFFFF"} if column.required else {"bg_color": "#D9E2F3"}
        shown_as = book.add_format({"num_format": _FORMATS.get(column.kind, _TEXT)})
        sheet.set_column(at, at, _WIDTHS.get(column.kind, max(_USUAL_WIDTH, len(column.name) + 2)), shown_as)
        sheet.write_string(0, at, column.name, book.add_format({"bold": True, "border": 1, **colours}))
        sheet.write_comment(0, at, explain(column), {"x_scale": 2, "y_scale": 1.2, "author": "pmsched"})
        for options in _validations(file, column):
            sheet.data_validation(1, at, _LAST_ROW, at, options)
        for row, cells in enumerate(held, 1):
            _put(sheet, row, at, cells.get(column.name, ""), column.kind, shown_as)
    sheet.freeze_panes(1, 1)


def _put(sheet: Any, row: int, at: int, text: str, kind: Kind, shown_as: Any) -> None:
    """Writes what was written by hand: a date as a date, a plain number as a number, all else as text."""
    if kind == "date" and (day := _iso_date(text)):
        sheet.write_datetime(row, at, day, shown_as)
    elif kind in _NUMBERS and _NUMBER.fullmatch(text):
        sheet.write_number(row, at, float(text), shown_as)
    elif text:
        sheet.write_string(row, at, text, shown_as)


def _iso_date(text: str) -> date | None:
    # Sheets count their days from 1900, each program in its own way.
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return None
    return day if day.year > _FIRST_YEAR else None


def _validations(file: InputFile, column: Column) -> Iterator[dict[str, Any]]:
    """The drop-down list of a column, if it has one."""
    offered, closed = choices(column)
    if offered:
        yield {
            "validate": "list",
            "source": list(offered),
            "show_error": closed,
            "error_title": column.name,
            "error_message": f"Choose one of: {', '.join(offered)}.",
        }
    elif (kind := _CODES.get(column.name)) and (kind != file.stem or column.name == "parent"):
        listed = INPUT_FILES[kind].columns
        at = letters(next(place for place, one in enumerate(listed) if one.name == "code"))
        # Codes that the register has already need not stand in the sheet.
        yield {"validate": "list", "source": f"={kind}!${at}$2:${at}${_LAST_ROW}", "show_error": False}
