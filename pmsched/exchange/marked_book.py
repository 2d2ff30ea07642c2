"""A workbook in which problems are marked: the cell coloured, a note with what is wrong, and a sheet that lists them all."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path
from typing import Any, BinaryIO

from pmsched.domain.problems import Problem
from pmsched.exchange.columns import INPUT_FILES, FileKind
from pmsched.exchange.headings import count_known
from pmsched.exchange.marked_cells import always_quoted, colour, empty_book, free_title, note, own_cell, put
from pmsched.exchange.marked_source import MOST_SHEET_ROWS, book_of_rows, copied_book, rows_of_interest
from pmsched.exchange.places import Source, cell_name
from pmsched.exchange.sheet_lines import LIST_OF_PROBLEMS, LISTED_IN
from pmsched.exchange.tables import read_all_rows
from pmsched.exchange.workbooks import quietly

MOST_LISTED = 20_000
MOST_NOTES = 5_000

_TOP = 4
_COLUMNS = (("sheet", 16), ("cell", 9), ("column", 18), ("what is wrong", 60), ("what to do", 70))


class MarkedBook:
    """A workbook under way.

    Args:
        workbook: the workbook that is copied; None for an empty one.
        problems: what will be marked and listed.
        rows_only: take over nothing of the workbook but its values.

    Raises:
        Refusal: the workbook cannot be read.
    """

    def __init__(self, workbook: Path | None, problems: tuple[Problem, ...], *, rows_only: bool = False) -> None:
        self._problems = problems
        if workbook is None:
            self._book = empty_book()
        else:
            wanted = {(problem.sheet, problem.row) for problem in problems}
            self._book = book_of_rows(workbook, wanted) if rows_only else copied_book(workbook, wanted)
        self._notes = 0
        # Where each problem is marked: the sheet and the cell.
        self._links: dict[int, tuple[str, str]] = {}

    def add_text(self, source: Source) -> None:
        """Takes over a file that is no workbook as a sheet, and marks it."""
        title = free_title(self._book, source.path.stem)
        sheet = self._book.create_sheet(title)
        kind: FileKind = source.stem  # type: ignore[assignment]
        records = read_all_rows(source.path, lambda cells: count_known(cells, INPUT_FILES[kind]))
        wanted = {problem.row for problem in self._problems if problem.file == str(source.path)}
        for record in rows_of_interest(records, wanted):
            for at, text in enumerate(record.cells, 1):
                if text:
                    put(sheet, record.row, at, text)
        self.mark(source, title)

    def mark(self, source: Source, title: str) -> None:
        """Marks the problems of a file or a sheet in the sheet of that title."""
        marks: dict[tuple[int, int], list[int]] = defaultdict(list)
        for index, problem in enumerate(self._problems):
            if (problem.file, problem.sheet) == (str(source.path), source.sheet):
                marks[max(problem.row, 1), _column(problem, source)].append(index)
        for (row, at), found in marks.items():
            where = cell_name(at, row)
            for index in found:
                self._links[index] = (title, where)
            if row <= MOST_SHEET_ROWS and any(self._problems[index].row for index in found):
                self._mark_cell(self._book[title], row, at, [self._problems[index] for index in found])

    def list_problems(self) -> None:
        """Puts the sheet with the list of all problems before the others."""
        from openpyxl.styles import Alignment, Font  # noqa: PLC0415 - only where a marked copy is written

        sheet = self._book.create_sheet(free_title(self._book, LISTED_IN), 0)
        bold = Font(bold=True)
        put(sheet, 1, 1, LIST_OF_PROBLEMS).font = Font(bold=True, size=14)
        put(sheet, 2, 1, "Each is marked in its cell. Put them right here or in your own file, and load that again.")
        for at, (name, width) in enumerate(_COLUMNS, 1):
            put(sheet, _TOP, at, name).font = bold
            sheet.column_dimensions[cell_name(at - 1, 1)[:-1]].width = width
        for index, problem in enumerate(self._problems[:MOST_LISTED]):
            self._list(sheet, _TOP + 1 + index, index, problem, Alignment(wrap_text=True, vertical="top"))
        if (more := len(self._problems) - MOST_LISTED) > 0:
            put(sheet, _TOP + 1 + MOST_LISTED, 1, f"and {more} more")
        sheet.freeze_panes = f"A{_TOP + 1}"
        self._book.active = 0
        for other in self._book.worksheets:
            other.sheet_view.tabSelected = other is sheet

    def save(self, stream: BinaryIO) -> None:
        """Writes the workbook."""
        quietly(lambda: self._book.save(stream))

    def _list(self, sheet: Any, row: int, index: int, problem: Problem, alignment: Any) -> None:
        from openpyxl.styles import Font  # noqa: PLC0415
        from openpyxl.worksheet.hyperlink import Hyperlink  # noqa: PLC0415

        title, where = self._links.get(index, ("", ""))
        shown = where if problem.row else ""
        texts = (title or problem.sheet or problem.file, shown, problem.column, problem.message, problem.hint)
        for at, text in enumerate(texts, 1):
            cell = put(sheet, row, at, text)
            cell.alignment = alignment
        if title:
            link = sheet.cell(row, 2 if shown else 1)
            link.hyperlink = Hyperlink(ref=link.coordinate, location=f"{always_quoted(title)}!{where}")
            link.font = Font(color="FF0563C1", underline="single")

    def _mark_cell(self, sheet: Any, row: int, at: int, problems: list[Problem]) -> None:
        cell = own_cell(sheet, row, at + 1)
        colour(cell)
        if self._notes < MOST_NOTES:
            self._notes += 1
            note(cell, "\n\n".join(f"{problem.message} {problem.hint}".strip() for problem in problems))


def _column(problem: Problem, source: Source) -> int:
    """The place of the column that a problem is marked in: its own, or the first."""
    if problem.column in source.places:
        return source.places[problem.column]
    if problem.cell:
        from openpyxl.utils.cell import coordinate_to_tuple  # noqa: PLC0415

        return coordinate_to_tuple(problem.cell)[1] - 1
    return min(source.places.values(), default=0)
