"""What stands in the XML of a sheet beside the values of its cells: merged cells, hidden rows, formulas without results.

The library that reads the values row by row leaves these out. The bytes are looked through once, in pieces; nothing is
kept of cells, so that a sheet with formats down to its last row costs a second and no memory.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import IO, NamedTuple

from pmsched.domain.errors import Refusal

MOST_MERGED = 100_000
BLANK_ROWS_AT_END = 1_000
"""After so many rows without a value it is asked whether more follow: a sheet may have formats down to its last row."""
UNNUMBERED = 1 << 31
"""Behind every row that can be."""

_PIECE_BYTES = 1 << 20
_LONGEST_TAG = 1 << 16
_FORMULA = re.compile(rb"<(?:\w+:)?f[\s/>]")
_ROW = re.compile(rb'<(?:\w+:)?row\s[^<>]*?\br="([0-9]{1,9})"')
_ROW_AT = re.compile(rb'[<:]row\s[^<>]*?\br="([0-9]{1,9})"')
_ROW_TAGS = (b"<row ", b"<row>", b"<row/", b":row ", b":row>", b":row/")
# Where there is a prefix, the last one ends rows too.
_COUNTED = tuple(tag for tag in _ROW_TAGS if tag != b":row>")
_VALUE_TAGS = (b"<v>", b"<v ", b":v>", b":v ", b"<is>", b":is>", b"<f>", b"<f ", b"<f/", b":f>", b":f ", b":f/")
_MERGED = re.compile(rb'<(?:\w+:)?mergeCell\s[^<>]*?\bref="([^"<>]*)"')
_HIDDEN = re.compile(rb'<(?:\w+:)?(row|col)\s[^<>]*?\bhidden="(?:1|true)"[^<>]*>')
_ATTRIBUTE = re.compile(rb'\b(r|min|max)="([0-9]*)"')
_SPAN = re.compile(r"([A-Z]{1,3})([0-9]{1,7}):([A-Z]{1,3})([0-9]{1,7})")
_WIDE_CHARACTERS = (b"\xff\xfe", b"\xfe\xff", b"\x00<", b"<\x00")


class Merged(NamedTuple):
    """Cells that are shown as one, from one corner to the other; rows from 1, columns from 0."""

    first_row: int
    first: int
    last_row: int
    last: int

    @property
    def cells(self) -> int:
        """How many cells they are."""
        return (self.last_row - self.first_row + 1) * (self.last - self.first + 1)


class Scan(NamedTuple):
    """What was found.

    Attributes:
        merged: in the order of the file.
        hidden_rows: those with cells.
        hidden_columns: from 0; first and last of each run.
        has_formulas: some cell holds a formula.
        cells: how many cells there are, formatted blank ones too.
        last_value: the last row that holds a value or a formula; ``UNNUMBERED`` if rows have no numbers.
    """

    merged: tuple[Merged, ...]
    hidden_rows: frozenset[int]
    hidden_columns: tuple[tuple[int, int], ...]
    has_formulas: bool
    cells: int
    last_value: int = 0


NOTHING_FOUND = Scan((), frozenset(), (), has_formulas=False, cells=0)
"""The scan of a sheet that was not looked through."""


def scan(stream: IO[bytes]) -> Scan:
    """Looks through the XML of one sheet.

    Raises:
        Refusal: it is written in a way that no spreadsheet program writes it; ``broken-workbook``.
    """
    merged: list[Merged] = []
    hidden_rows: set[int] = set()
    hidden_columns: list[tuple[int, int]] = []
    formulas, cells, row, last_value, unnumbered = False, 0, 0, 0, False
    for piece in _pieces(stream):
        cells += piece.count(b"<c ") + piece.count(b":c ")
        formulas = formulas or _FORMULA.search(piece) is not None
        last_value = max(last_value, _last_value(piece, row))
        numbers = [int(number) for number in _ROW.findall(piece)]
        unnumbered = unnumbered or sum(map(piece.count, _COUNTED)) > len(numbers)
        row = _last_row(numbers, row)
        for found in _HIDDEN.finditer(piece):
            said = dict(_ATTRIBUTE.findall(found[0]))
            if found[1] == b"col":
                hidden_columns.append((_number(said, b"min") - 1, _number(said, b"max") - 1))
            elif not found[0].endswith(b"/>"):
                hidden_rows.add(_number(said, b"r"))
        merged += (one for ref in _MERGED.findall(piece) for one in _corners(ref))
    if len(merged) > MOST_MERGED:
        raise broken("It has too many merged cells.")
    return Scan(
        tuple(merged),
        frozenset(hidden_rows),
        tuple(hidden_columns),
        formulas,
        cells,
        UNNUMBERED if unnumbered and last_value else last_value,
    )


def formulas_without_result(stream: IO[bytes], last_value: int) -> frozenset[tuple[int, int]]:
    """Row (from 1) and column (from 0) of every formula whose result was never saved."""
    from openpyxl.utils.cell import coordinate_to_tuple  # noqa: PLC0415 - only where a workbook is read
    from openpyxl.xml.functions import iterparse  # noqa: PLC0415

    found: set[tuple[int, int]] = set()
    number = 0
    for _, row in iterparse(stream):
        if _local(row.tag) != "row":
            continue
        number = int(row.get("r") or number + 1)
        column = -1
        for cell in row:
            column = coordinate_to_tuple(cell.get("r"))[1] - 1 if cell.get("r") else column + 1
            children = {_local(child.tag): child for child in cell}
            result = children.get("v")
            if "f" in children and cell.get("t") != "str" and (result is None or not result.text):
                found.add((number, column))
        row.clear()
        if number >= last_value:
            break
    return frozenset(found)


def _local(tag: str) -> str:
    """The name of a tag without its namespace."""
    return tag.rpartition("}")[2]


def broken(what: str) -> Refusal:
    """The refusal of a workbook that cannot be read."""
    hint = "Open it in the spreadsheet program and save it as an Excel workbook (.xlsx) under another name."
    return Refusal("broken-workbook", f"The workbook cannot be read. {what}", hint)


def _pieces(stream: IO[bytes]) -> Iterator[bytes]:
    """The bytes in pieces that end before a tag begins."""
    rest = b""
    first = True
    while data := stream.read(_PIECE_BYTES):
        if first and data.startswith(_WIDE_CHARACTERS):
            raise broken("It is not UTF-8.")
        first = False
        data = rest + data
        cut = data.rfind(b"<")
        if cut < 0 or len(data) - cut > _LONGEST_TAG:
            cut = len(data)
        yield data[:cut]
        rest = data[cut:]
    yield rest


def _last_row(numbers: list[int], before: int) -> int:
    """The last of the rows; they must follow each other, as those that go back would be lost in silence."""
    if not numbers:
        return before
    if numbers[0] <= before or numbers != sorted(set(numbers)):
        raise broken("Its rows do not stand in their order.")
    return numbers[-1]


def _last_value(piece: bytes, row: int) -> int:
    """The row of the last value of a piece that begins in this row; 0 if it has none."""
    at = max(map(piece.rfind, _VALUE_TAGS))
    if at < 0:
        return 0
    begins = max(piece.rfind(tag, 0, at) for tag in _ROW_TAGS)
    if begins < 0:
        return row or UNNUMBERED
    found = _ROW_AT.match(piece, begins)
    return int(found[1]) if found else UNNUMBERED


def _corners(ref: bytes) -> Iterator[Merged]:
    if found := _SPAN.fullmatch(ref.decode("ascii", "replace").replace("$", "")):
        yield Merged(int(found[2]), _column(found[1]), int(found[4]), _column(found[3]))


def _column(letters: str) -> int:
    at = 0
    for letter in letters:
        at = at * 26 + ord(letter) - ord("A") + 1
    return at - 1


def _number(said: Mapping[bytes, bytes], name: bytes) -> int:
    try:
        return int(said[name])
    except (KeyError, ValueError):
        raise broken("A hidden row or column has no number.") from None
