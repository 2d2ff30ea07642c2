"""Exports read back with other means than they were written with: header, names of columns, rows, and what stands last.

Values come as the format has them: texts in CSV, typed cells in spreadsheets, JSON values in JSON lines.
"""

from __future__ import annotations

import csv
import json
import re
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any, NamedTuple

import openpyxl
from openpyxl.utils.escape import unescape


class Read(NamedTuple):
    """What stands in a file; ``end`` is the last line of JSON lines."""

    about: dict[str, Any]
    heading: tuple[str, ...]
    rows: list[dict[str, Any]]
    end: dict[str, Any]


def read_csv_export(path: Path) -> Read:
    """A CSV file: rows beginning with '#', an empty one, then the table."""
    with path.open(encoding="utf-8-sig", newline="") as stream:
        lines = list(csv.reader(stream, strict=True))
    empty = lines.index([])
    about = {name.removeprefix("# "): value for name, value in lines[:empty]}
    heading, *rows = lines[empty + 1 :]
    return Read(about, tuple(heading), [dict(zip(heading, row, strict=True)) for row in rows], {})


def read_jsonl_export(path: Path) -> Read:
    """A JSON lines file, as a script reads it."""
    head, *rows, end = map(json.loads, path.read_text(encoding="utf-8").split("\n")[:-1])
    return Read(head["export"], tuple(rows[0]) if rows else (), rows, end)


def read_xlsx_export(path: Path) -> Read:
    """A spreadsheet file: its sheets 'rows', 'rows 2' and so on as one list."""
    book = openpyxl.load_workbook(path)
    about = dict(book["about"].iter_rows(max_col=2, values_only=True))
    rows: list[tuple[Any, ...]] = []
    heading: tuple[str, ...] = ()
    for sheet in book.worksheets[1:]:
        heading, *more = sheet.iter_rows(values_only=True)
        rows += more
    width = len(heading)
    return Read(about, heading, [dict(zip(heading, map(_text, row[:width]), strict=True)) for row in rows], {})


def parts_of(path: Path) -> dict[str, str]:
    """The parts of a spreadsheet file, by name."""
    with zipfile.ZipFile(path) as parts:
        assert parts.testzip() is None
        return {name: parts.read(name).decode() for name in parts.namelist()}


def formulas_of(path: Path) -> list[str]:
    """Every formula, link or call in a spreadsheet file."""
    return [
        found
        for name, text in parts_of(path).items()
        if name.startswith("xl/worksheets")
        for found in re.findall(r"<(?:f|hyperlinks?|oleObjects|legacyDrawing)\b[^>]*>", text)
    ]


READERS: dict[str, Callable[[Path], Read]] = {
    "csv": read_csv_export,
    "xlsx": read_xlsx_export,
    "jsonl": read_jsonl_export,
}
"""By format."""


def _text(value: Any) -> Any:
    # The reader leaves escapes as they are.
    return unescape(value) if isinstance(value, str) else value
