"""A list of jobs as engineers keep it: one sheet, a row a job, its machine, interval and last doing beside it.

Finds such lists in a workbook or a CSV file, their headings (of one row or two), and their rows. Sheets that only tell the
hours of machines are found too. What the cells mean is read elsewhere.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import INPUT_FILES, JOBS, MACHINES
from pmsched.exchange.headings import normal
from pmsched.exchange.input_files import SUFFIX as CSV_SUFFIX
from pmsched.exchange.input_files import recognise, recognise_sheet
from pmsched.exchange.list_columns import Meaning, Role, meaning_of
from pmsched.exchange.merged import MergedCells
from pmsched.exchange.native_cells import Native, shown
from pmsched.exchange.places import sheet_name
from pmsched.exchange.sheet_lines import HEADING_AMONG, Line, is_list_of_problems
from pmsched.exchange.tables import DELIMITERS
from pmsched.exchange.workbooks import SUFFIX, Sheet, opened

MOST_LINES = 20_000
_OWN_COLUMNS = {"counts_from", "grid_from", "tolerance", "opens", "closes", "units", "steps", "needs", "starts"}
"""Columns of our own sheet of jobs that no word of the trade stands for; they are taken over as they are."""


class ListColumn(NamedTuple):
    """A column with a heading: its place from 0, the heading, what it may mean, or the column of our own it is."""

    at: int
    heading: str
    meaning: Meaning
    own: str = ""


class ListTable(NamedTuple):
    """A list found.

    Attributes:
        name: what messages call it.
        title: the sheet's title; empty for a CSV file.
        heading: the row of the headings, the last of two.
        columns: those with a heading.
        lines: the rows below it that hold something.
        since_1904: day numbers count from 1904.
    """

    name: str
    title: str
    heading: int
    columns: tuple[ListColumn, ...]
    lines: tuple[Line, ...]
    since_1904: bool = False

    def may_be(self, role: Role) -> bool:
        """Whether some column may have that role."""
        return any(role in column.meaning.roles for column in self.columns)

    @property
    def of_jobs(self) -> bool:
        """It lists jobs with their intervals."""
        return self.may_be("title") and self.may_be("interval")

    @property
    def of_hours(self) -> bool:
        """It only tells the hours of machines."""
        named = self.may_be("machine") or self.may_be("machine_code")
        return named and self.may_be("count_now") and not self.may_be("interval")


class FoundLists(NamedTuple):
    """The lists of a file: those of jobs, those of hours, and the names of the other sheets."""

    path: Path
    jobs: tuple[ListTable, ...]
    hours: tuple[ListTable, ...]
    others: tuple[str, ...]


def find_lists(path: Path) -> FoundLists | None:
    """The lists of jobs in a workbook or a CSV file; None if there is none, or it has sheets of our own kind.

    Raises:
        Refusal: the file cannot be read.
    """
    if path.suffix.casefold() == SUFFIX:
        found = list(_of_workbook(path))
    elif path.suffix.casefold() == CSV_SUFFIX:
        found = [_of_text(path)]
    else:
        return None
    jobs = tuple(table for table in found if isinstance(table, ListTable) and table.of_jobs)
    if not jobs or any(table is None for table in found):
        return None
    if any(len(table.lines) >= MOST_LINES for table in jobs):
        hint = "Part it into several, or fill in the sheets: pmsched init --templates FILE.xlsx."
        raise Refusal("list-too-long", f"{path} has more than {MOST_LINES} rows.", hint)
    hours = tuple(table for table in found if isinstance(table, ListTable) and table.of_hours and not table.of_jobs)
    others = tuple(table for table in found if isinstance(table, str))
    return FoundLists(path, jobs, hours, others)


def _of_workbook(path: Path) -> Iterator[ListTable | str | None]:
    """Each sheet as a list, by its title if it is none, and None if it is a sheet of machines as we read it."""
    with opened(path) as sheets:
        for sheet in sheets:
            if sheet.title.startswith("#") or is_list_of_problems(sheet):
                continue
            table = _table(sheet_name(path, sheet.title), sheet.title, list(_lines(sheet)), since_1904=sheet.since_1904)
            if recognise_sheet(sheet.title) is MACHINES and _is_ours(table):
                yield None
            elif table is None or not (table.of_jobs or table.of_hours):
                yield sheet.title
            else:
                yield table


def _is_ours(table: ListTable | None) -> bool:
    written = {normal(column.heading) for column in table.columns} if table else set()
    return all(column.name in written for column in MACHINES.columns if column.required)


def _lines(sheet: Sheet) -> Iterator[Line]:
    found = sheet.scan()
    merged, before = MergedCells(found.merged), 0
    for number, cells in islice(sheet.rows(found), HEADING_AMONG + MOST_LINES):
        yield Line(number, merged.fill(number, cells), number > before + 1)
        before = number


def _of_text(path: Path) -> ListTable | None:
    if (file := recognise(path.name)) is not None and file is not JOBS:
        return None
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        raise Refusal(
            "cannot-read", f"{path} cannot be read ({error.strerror}).", "Check that you may read it."
        ) from error
    except UnicodeDecodeError:
        raise Refusal("not-utf-8", f"{path} is not UTF-8 text.", "Save it again as 'CSV UTF-8'.") from None
    tables = [_table(str(path), "", list(_text_lines(text, mark))) for mark in DELIMITERS]
    return max((table for table in tables if table), key=_known, default=None)


def _text_lines(text: str, delimiter: str) -> Iterator[Line]:
    before = 0
    try:
        for number, row in enumerate(
            islice(csv.reader(io.StringIO(text), delimiter=delimiter), HEADING_AMONG + MOST_LINES), 1
        ):
            cells = [Native(cell) for cell in row]
            if any(not cell.blank for cell in cells):
                yield Line(number, cells, number > before + 1)
                before = number
    except csv.Error as error:
        message = f"The file cannot be read as a table ({error})."
        raise Refusal("quotes", message, 'Look for a cell that begins with " and does not end.') from None


def _table(name: str, title: str, lines: list[Line], *, since_1904: bool = False) -> ListTable | None:
    """The list under the row, or the two rows, with most headings that say something; None where none does."""
    best: ListTable | None = None
    for place, line in enumerate(lines[:HEADING_AMONG]):
        trials = [(line.texts, place)]
        if place + 1 < len(lines):
            trials.append((_both(line.texts, lines[place + 1].texts), place + 1))
        for texts, last in trials:
            columns = tuple(_columns(texts))
            made = ListTable(name, title, lines[last].number, columns, tuple(lines[last + 1 :]), since_1904)
            if _known(made) > (_known(best) if best else (False, 0)):
                best = made
    return best


def _known(table: ListTable) -> tuple[bool, int]:
    """How much its headings say: most if they make a list of jobs."""
    said = sum(bool(column.meaning.roles or column.meaning.reckoned or column.own) for column in table.columns)
    return table.of_jobs, said


def _both(top: Sequence[str], below: Sequence[str]) -> list[str]:
    """Headings of two rows as one: 'Last done' over 'Date' and 'Hours'."""
    texts, over = [], ""
    for at in range(max(len(top), len(below))):
        own = top[at].strip() if at < len(top) else ""
        sub = below[at].strip() if at < len(below) else ""
        # A heading that goes over several columns stands in the first of them only.
        over = own or (over if sub else "")
        # A heading merged over both rows stands in both.
        texts.append(sub if over == sub else f"{over} {sub}".strip())
    return texts


def _columns(texts: Iterable[str]) -> Iterator[ListColumn]:
    ours = {column.name for column in INPUT_FILES["jobs"].columns} & _OWN_COLUMNS
    for at, text in enumerate(texts):
        if heading := " ".join(text.split()):
            own = normal(heading)
            yield ListColumn(at, heading, meaning_of(heading), own if own in ours else "")


def text_at(line: Line, at: int) -> str:
    """What stands in a cell of a line, as a text without blanks around it; empty beyond its end."""
    return " ".join(shown(line.cells[at]).split()) if at < len(line.cells) else ""
