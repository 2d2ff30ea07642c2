"""Cells of a spreadsheet: each value as what it is, exactly, and never a formula or a link.

Texts are written as texts. Numbers, dates and instants are such where a sheet gives the same value back, else they are
texts too. Knows one cell at a time.
"""

from __future__ import annotations

from datetime import date, datetime, time
from decimal import Decimal
from typing import TYPE_CHECKING, Any

from pmsched.domain.plain import plain
from pmsched.exchange.exports import Cell, Export
from pmsched.exchange.formula_guard import guarded

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.worksheet import Worksheet

_MOST_TEXT = 32_767
_CUT = " [cut here; a CSV or JSON lines file has all of it]"
_EXACT_DIGITS = 15
# Sheets count days from 1900, with a 29 February that never was: earlier days are shown differently by every program.
_FIRST_DAY = date(1900, 3, 1)
# Words are folded whole, so that a line holds less than its width.
_FILLED = 0.88


class Cells:
    """Puts values into cells, each as what it is."""

    def __init__(self, book: Workbook, export: Export) -> None:
        self._export = export
        looks: dict[str, Any] = {"valign": "top"}
        self._number = book.add_format({**looks, "align": "right", "indent": 1})
        self._day = book.add_format({**looks, "num_format": "yyyy-mm-dd", "align": "left"})
        self._instant = book.add_format({**looks, "num_format": "yyyy-mm-dd hh:mm:ss", "align": "left"})
        self._text = book.add_format({**looks, "text_wrap": True})
        # It stays a text even when somebody edits the cell.
        self._quoted = book.add_format({**looks, "text_wrap": True, "quote_prefix": True})

    def put(self, sheet: Worksheet, row: int, column: int, cell: Cell) -> None:
        """Write one value."""
        if cell is None or cell == "":
            return
        if isinstance(cell, date | time):
            self._put_time(sheet, row, column, cell)
        elif isinstance(cell, int | Decimal) and not isinstance(cell, bool) and _is_exact(cell):
            sheet.write_number(row, column, cell if isinstance(cell, int) else float(cell), self._number)
        else:
            self._put_text(sheet, row, column, plainly(cell))

    def _put_time(self, sheet: Worksheet, row: int, column: int, cell: date | time) -> None:
        if isinstance(cell, time) or (cell.date() if isinstance(cell, datetime) else cell) < _FIRST_DAY:
            self._put_text(sheet, row, column, cell.isoformat())
        elif isinstance(cell, datetime):
            # The column says that it is UTC; a sheet knows no zones.
            sheet.write_datetime(row, column, cell.replace(tzinfo=None), self._instant)
        else:
            sheet.write_datetime(row, column, cell, self._day)

    def _put_text(self, sheet: Worksheet, row: int, column: int, text: str) -> None:
        # A sheet knows one kind of line break.
        shown = self._not_too_long(plain(text.replace("\r\n", "\n").replace("\r", "\n"), line_breaks=True))
        look = self._text if guarded(shown) == shown else self._quoted
        if shown.startswith("<r>") and shown.endswith("</r>"):
            # The library takes such a text for one it marked up itself and writes it unescaped. Given in pieces, it
            # marks it up anew, each piece escaped.
            sheet.write_rich_string(row, column, shown[0], shown[1], shown[2:], look)
        else:
            sheet.write_string(row, column, shown, look)

    def _not_too_long(self, text: str) -> str:
        # A sheet counts as UTF-16 does: two bytes, or four.
        if 2 * len(text) <= _MOST_TEXT or len(units := text.encode("utf-16-le")) <= 2 * _MOST_TEXT:
            return text
        self._export.leave_out(f"the ends of texts of more than {_MOST_TEXT} characters, which a sheet cannot hold")
        return units[: 2 * (_MOST_TEXT - len(_CUT))].decode("utf-16-le", "ignore") + _CUT


def plainly(cell: Cell) -> str:
    """A value as text: yes and no, decimals without an exponent."""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return f"{cell:f}" if isinstance(cell, Decimal) else str(cell)


def lines_of(text: str, width: int) -> int:
    """The lines that a text takes in a column so wide."""
    filled = int(width * _FILLED)
    if len(text) <= filled and "\n" not in text:
        return 1
    # A line without blanks is not folded where it just fits.
    return sum(
        1 if len(line) <= width and " " not in line else -(-max(1, len(line)) // filled) for line in text.split("\n")
    )


def _is_exact(number: int | Decimal) -> bool:
    """Whether a sheet gives the same number back: it keeps fifteen digits."""
    digits = Decimal(number).normalize().as_tuple()
    return isinstance(digits.exponent, int) and len(digits.digits) <= _EXACT_DIGITS
