"""Workbooks for tests: made from rows, laid out by hand, or with a part of their XML changed as other programs write it."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Mapping, Sequence
from pathlib import Path
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile

from openpyxl import Workbook

Rows = Iterable[Sequence[Any]]
Hand = Callable[[Any], object]
"""What is done to a workbook, or to a sheet of it, by hand."""


def write_book(path: Path, sheets: Mapping[str, Rows], by_hand: Hand | None = None) -> Path:
    """A workbook with these sheets; None leaves a cell blank."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, rows in sheets.items():
        sheet = book.create_sheet(title)
        for number, row in enumerate(rows, 1):
            for at, value in enumerate(row, 1):
                if value is not None:
                    sheet.cell(number, at).value = value
    if by_hand is not None:
        by_hand(book)
    book.save(path)
    return path


def rows_of(text: str) -> list[list[str | None]]:
    """The rows of a CSV text, blank cells as None."""
    return [[cell or None for cell in row] for row in csv.reader(io.StringIO(text))]


def change_part(path: Path, part: str, change: Callable[[bytes], bytes]) -> Path:
    """The workbook with the bytes of one part changed."""
    with ZipFile(path) as archive:
        parts = {info.filename: archive.read(info) for info in archive.infolist()}
    parts[part] = change(parts[part])
    with ZipFile(path, "w", ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def put_sheet(path: Path, xml: str) -> Path:
    """The workbook with the rows of its first sheet replaced by XML: what stands between the tags of sheetData."""

    def replace(content: bytes) -> bytes:
        before, _, rest = content.partition(b"<sheetData")
        after = rest.partition(b"</sheetData>")[2] if b"</sheetData>" in rest else rest.partition(b"/>")[2]
        return before + b"<sheetData>" + xml.encode() + b"</sheetData>" + after

    return change_part(path, "xl/worksheets/sheet1.xml", replace)
