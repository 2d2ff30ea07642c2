"""One text file as a table: its rows with their numbers, whatever the delimiter; comments and blank rows left out.

Knows delimiters, quotes and UTF-8, and nothing of what the columns mean. Reads row by row, never the whole file.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import suppress
from itertools import chain
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.errors import Refusal
from pmsched.exchange.cells import ERRORS
from pmsched.exchange.faults import Faults

DELIMITERS = (",", ";", "\t")
COMMENT = "#"

_LONGEST_HEADING = 10_000
# What a byte that is not UTF-8 becomes when it is kept for inspection.
_UNDECODED = re.compile("[\udc80-\udcff]")

CountKnown = Callable[[list[str]], int]
"""How many of these headings are known; decides between delimiters."""


class Record(NamedTuple):
    """The cells of one row.

    Attributes:
        row: counts as a spreadsheet does: from 1, comments and blank rows included.
        cells: what stands in them.
        refused: why a cell cannot be taken for what it seems to say, by its place from 0; only in workbooks.
        told: what is wrong with the whole row was told already.
    """

    row: int
    cells: list[str]
    refused: Mapping[int, Refusal] = {}
    told: bool = False


class _NotUtf8Error(Exception):
    """A line holds bytes that are not UTF-8."""


def read_table(path: Path, known: CountKnown, faults: Faults) -> Iterator[Record]:
    """The rows that hold something, the heading first.

    A file that cannot be opened or is not UTF-8 ends early, and an ill-quoted row is left out; ``faults`` are told.
    """
    try:
        with path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as stream:
            yield from _records(_text_lines(stream), known, faults)
    except OSError as error:
        faults.tell(
            "cannot-read", f"The file cannot be read ({error.strerror}).", "Close it elsewhere, then try again."
        )


def read_all_rows(path: Path, known: CountKnown) -> Iterator[Record]:
    """Every row that can be read, comments and blank ones too."""
    unheard = Faults(str(path), [])
    with suppress(OSError), path.open(encoding="utf-8-sig", errors="surrogateescape", newline="") as stream:
        yield from _records(_text_lines(stream), known, unheard, keep=bool)


def _records(
    lines: Iterator[str], known: CountKnown, faults: Faults, keep: Callable[[list[str]], bool] | None = None
) -> Iterator[Record]:
    row = 0
    try:
        delimiter, lines = _find_delimiter(lines, known)
        reader = csv.reader(lines, delimiter=delimiter, strict=True)
        while True:
            row += 1
            try:
                cells = next(reader)
            except StopIteration:
                return
            except csv.Error as error:
                if _tell_quotes(error, row, faults):
                    return
                continue
            if keep(cells) if keep else _holds_something(cells) or (bool(cells) and is_numbered_heading(cells, known)):
                yield Record(row, cells)
    except _NotUtf8Error:
        faults.tell("not-utf-8", "The file is not UTF-8 text.", "Save it again as 'CSV UTF-8'.", row=row)


def _text_lines(stream: Iterator[str]) -> Iterator[str]:
    for line in stream:
        if not line.isascii() and _UNDECODED.search(line):
            raise _NotUtf8Error
        yield line


def _find_delimiter(lines: Iterator[str], known: CountKnown) -> tuple[str, Iterator[str]]:
    """The delimiter that makes most known headings out of the heading line, and all the lines again."""
    passed = []
    for line in lines:
        passed.append(line)
        if _holds_something([line.strip(' \t\r\n",;')]):
            break
    heading = passed[-1][:_LONGEST_HEADING] if passed else ""
    scores = {mark: known(next(csv.reader([heading], delimiter=mark), [])) for mark in DELIMITERS}
    best = max(DELIMITERS, key=lambda mark: (scores[mark], heading.count(mark)))
    return best, chain(passed, lines)


def is_numbered_heading(cells: Sequence[str], known: CountKnown) -> bool:
    """Whether a row that begins with a bare # is no comment but a heading whose first column numbers the rows."""
    return cells[0].strip() == COMMENT and known(list(cells)) > 1


def is_comment(cell: str) -> bool:
    """Whether a row that begins with this cell is a comment; the error of a formula begins with the mark too."""
    written = cell.strip()
    return written.startswith(COMMENT) and written not in ERRORS


def _holds_something(cells: list[str]) -> bool:
    return any(cell and not cell.isspace() for cell in cells) and not is_comment(cells[0])


def _tell_quotes(error: csv.Error, row: int, faults: Faults) -> bool:
    """Tells of ill-placed quotes; True if the rest of the file cannot be trusted."""
    if "expected after" in str(error):
        faults.tell("quotes", 'Text follows a closing ".', 'Write a " inside a quoted cell twice.', row=row)
        return False
    message = 'A cell begins with " and does not end.'
    faults.tell("quotes", message, 'Close it with "; the rows after it were not read.', row=row)
    return True
