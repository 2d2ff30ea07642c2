"""Exports as spreadsheet files: a sheet "about" with the header, a sheet "rows" with the list, ready to print.

Rows go to the disk as they come. Knows sheets, pages and margins; nothing of what the columns mean.
"""

from __future__ import annotations

import tempfile
from collections.abc import Sequence
from contextlib import suppress
from datetime import date
from io import RawIOBase
from pathlib import Path
from typing import TYPE_CHECKING, Any, BinaryIO

from pmsched.domain.plain import plain
from pmsched.exchange.exports import ABOUT, About, Cell, Export
from pmsched.exchange.xlsx_cells import Cells, lines_of, plainly

if TYPE_CHECKING:
    from xlsxwriter import Workbook
    from xlsxwriter.worksheet import Worksheet

MOST_ROWS = 1_048_575
"""Rows of a list on one sheet, below the names of the columns."""

ABOUT_SHEET, ROWS_SHEET = "about", "rows"
_A4 = 9
_LEAST_WIDTH = 10
# What one page takes across at a size that can still be read; a wider list goes on to the right.
_PAGE_CHARACTERS = 240
_WIDE_SCALE = 60
_LINE_POINTS, _MOST_LINES = 15, 27
_ALL_CELLS = "A1:XFD1048576"


def write_xlsx_export(
    stream: BinaryIO, export: Export, *, beside: Path | None = None, most_rows: int = MOST_ROWS
) -> None:
    """Writes an export.

    Args:
        stream: where to; it must allow going back.
        export: what.
        beside: a folder for the parts of the file until they are put together.
        most_rows: how many rows a sheet takes; the others go on to "rows 2" and so on.

    Raises:
        OSError: the disk is full, or as the stream does.
    """
    from xlsxwriter import Workbook  # noqa: PLC0415 - for this format only
    from xlsxwriter.exceptions import FileCreateError  # noqa: PLC0415

    with tempfile.TemporaryDirectory(dir=beside, prefix=".export-") as parts:
        options = {
            "constant_memory": True, "tmpdir": parts,
            "strings_to_formulas": False, "strings_to_urls": False, "strings_to_numbers": False,
        }  # fmt: skip
        outlet = _Outlet(stream)
        book = Workbook(outlet, options)
        try:
            book.use_zip64()
            _Sheets(book, export, most_rows).write()
            book.close()
        except FileCreateError as error:
            # The library wraps what the system said.
            outlet.broken = True
            raise error.args[0] if isinstance(error.args[0], OSError) else error from error
        except BaseException:
            outlet.broken = True
            raise
        finally:
            for sheet in book.worksheets():
                with suppress(OSError):
                    sheet._opt_close()  # noqa: SLF001 - the library closes its parts only when all went well


class _Outlet(RawIOBase):
    """The stream, until writing has failed: the library's archive writes its end even then, long after, and is let."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self.broken = False
        self._at = 0

    def write(self, data: Any) -> int:
        """How many bytes were taken. Raises OSError as the stream does."""
        if not self.broken:
            return self._stream.write(data)
        self._at += len(data)
        return len(data)

    def seek(self, offset: int, whence: int = 0, /) -> int:
        """As the stream; once writing has failed only the place is kept."""
        if self.broken:
            self._at = offset
            return offset
        return self._stream.seek(offset, whence)

    def tell(self) -> int:
        """As the stream."""
        return self._at if self.broken else self._stream.tell()

    def flush(self) -> None:
        """As the stream; nothing once writing has failed."""
        if not self.broken:
            self._stream.flush()

    def close(self) -> None:
        """The stream is the caller's to close."""


class _Sheets:
    """The sheets of one file."""

    def __init__(self, book: Workbook, export: Export, most_rows: int) -> None:
        self._book = book
        self._export = export
        self._most_rows = most_rows
        self._widths = [export.widths.get(name, max(_LEAST_WIDTH, len(name) + 3)) for name in export.heading]
        self._bold = book.add_format({"bold": True, "valign": "top", "bottom": 1, "text_wrap": True})
        self._name = book.add_format({"bold": True, "valign": "top"})
        self._cells = Cells(book, export)
        self._about = book.add_worksheet(ABOUT_SHEET)
        book.set_properties({
            "title": f"{export.about.site}: {export.about.what}",
            "author": export.about.made_by,
            "comments": f"{export.about.program}, seal {export.about.seal}",
            "created": export.about.made_at_utc,
        })  # fmt: skip

    def write(self) -> None:
        """All rows, then the header that tells how many they were."""
        sheet, at, number = self._rows_sheet(1), 0, 1
        for row in self._export.rows():
            if at == self._most_rows:
                self._finish(sheet, at)
                number += 1
                sheet, at = self._rows_sheet(number), 0
            at += 1
            lines = self._lines(row)
            if lines > 1:
                # Not every program finds the height of a folded row by itself.
                sheet.set_row(at, _LINE_POINTS * min(lines, _MOST_LINES))
            for column, cell in enumerate(row):
                self._cells.put(sheet, at, column, cell)
            # The row before went to the disk when this one was begun.
            _forget_height(sheet, at - 1)
        self._finish(sheet, at)
        self._tell(self._export.ended(), number)

    def _rows_sheet(self, number: int) -> Worksheet:
        sheet = self._book.add_worksheet(ROWS_SHEET if number == 1 else f"{ROWS_SHEET} {number}")
        heading, widths = self._export.heading, self._widths
        for column, (name, width) in enumerate(zip(heading, widths, strict=True)):
            sheet.set_column(column, column, width)
            sheet.write_string(0, column, plain(name), self._bold)
        sheet.freeze_panes(1, 0)
        sheet.repeat_rows(0)
        if sum(widths) <= _PAGE_CHARACTERS:
            sheet.fit_to_pages(1, 0)
        else:
            sheet.set_print_scale(_WIDE_SCALE)
            sheet.print_across()
            sheet.repeat_columns(0, self._named(heading))
        self._paper(sheet, number)
        return sheet

    def _named(self, heading: Sequence[str]) -> int:
        """The last of the columns that say which row it is; they stand at the left of every page."""
        return max((heading.index(name) for name in ("job", "counter", "code") if name in heading), default=0)

    def _paper(self, sheet: Worksheet, number: int) -> None:
        about = self._export.about
        sheet.set_landscape()
        # Lines between the cells, on paper too.
        sheet.hide_gridlines(0)
        sheet.set_paper(_A4)
        sheet.set_margins(left=0.4, right=0.4, top=0.7, bottom=0.6)
        part = f" ({ROWS_SHEET} {number})" if number > 1 else ""
        title = " | ".join(filter(None, (about.site, about.what + part, _asked(about))))
        # The blank behind a size keeps a text that begins with a figure from being part of it.
        sheet.set_header(f"&L&9 {_printable(title)}")
        # Who made it stands in a line of its own: a long name would run into the number of the page.
        made = f"{_printable(f'{about.program}, made {about.made_at_ship}')}\nby {_printable(about.made_by)}"
        sheet.set_footer(f"&L&8 {made}&C&8 page &P of &N&R&8 seal {_printable(about.seal)}")
        # Codes that look like numbers stay texts; programs need not point at each of them.
        sheet.ignore_errors({"number_stored_as_text": _ALL_CELLS})

    def _lines(self, row: Sequence[Cell]) -> int:
        """How many lines the fullest cell of a row is folded into."""
        texts = ((cell, width) for cell, width in zip(row, self._widths, strict=True) if isinstance(cell, str))
        return max((lines_of(text, width) for text, width in texts), default=1)

    def _finish(self, sheet: Worksheet, rows: int) -> None:
        sheet.autofilter(0, 0, rows, len(self._export.heading) - 1)

    def _tell(self, about: About, sheets: int) -> None:
        sheet = self._about
        sheet.set_column(0, 0, max(map(len, ABOUT)) + 3)
        sheet.set_column(1, 1, 80)
        last = 0
        for last, (name, value) in enumerate(about.pairs()):
            sheet.write_string(last, 0, name, self._name)
            self._cells.put(sheet, last, 1, value if value is None or isinstance(value, date) else plainly(value))
        if sheets > 1:
            names = ", ".join(f"'{ROWS_SHEET} {number}'" for number in range(2, sheets + 1))
            sheet.write_string(last + 1, 0, "sheets", self._name)
            text = f"The rows go on from the sheet '{ROWS_SHEET}' to {names}."
            self._cells.put(sheet, last + 1, 1, text)
        sheet.fit_to_pages(1, 0)
        self._paper(sheet, 1)
        sheet.set_portrait()


def _forget_height(sheet: Worksheet, row: int) -> None:
    """Let go of the height of a row that is written: the library keeps all of them, and there may be a million."""
    for kept in ("row_info", "row_sizes"):
        getattr(sheet, kept, {}).pop(row, None)


def _asked(about: About) -> str:
    """What the list was narrowed by and the past moment, as far as they were asked for."""
    names = ("machine", "job", "counter", "person", "words", "from", "to", "as_of", "known_on")
    said = dict(about.pairs())
    return ", ".join(f"{name.replace('_', ' ')} {said[name]}" for name in names if said[name] is not None)


def _printable(text: str) -> str:
    """A text for the margin of a page, where an ampersand begins a command."""
    return plain(text)[:80].replace("&", "&&")
