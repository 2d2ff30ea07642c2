"""The rows of a list of jobs: each with its machine, whether it stands in the row, above it, or as a title over several."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from pmsched.exchange.list_cells import YES, Doubt, Doubts, plain_text
from pmsched.exchange.list_columns import Role
from pmsched.exchange.list_read import FoundLists, ListTable, text_at
from pmsched.exchange.list_roles import Layout, layout_of
from pmsched.exchange.native_cells import BLANK, Native
from pmsched.exchange.sheet_lines import Line


class ListRow(NamedTuple):
    """A row that states a job, or the hours of a machine.

    Attributes:
        table, number: where it stands.
        machine: name of its machine; empty if none is known.
        code: code of its machine; empty if the list has none.
        line: its cells.
        layout: what stands where.
    """

    table: ListTable
    number: int
    machine: str
    code: str
    line: Line
    layout: Layout

    def cell(self, role: Role) -> Native:
        """The cell of that role; a blank one if there is no such column."""
        column = self.layout.one.get(role)
        return self.line.cells[column.at] if column and column.at < len(self.line.cells) else BLANK

    def text(self, role: Role) -> str:
        """What it shows."""
        return plain_text(self.cell(role), "code" if role in ("job", "machine_code") else "text")


class Rows(NamedTuple):
    """The rows of all lists of a file: of jobs and of hours, and what was not taken over, a sentence each."""

    jobs: tuple[ListRow, ...]
    hours: tuple[ListRow, ...]
    notes: tuple[str, ...]


def rows_of(found: FoundLists, doubts: Doubts) -> Rows:
    """The rows, as far as they are known by now."""
    jobs: list[ListRow] = []
    hours: list[ListRow] = []
    notes: list[str] = []
    for table in (*found.jobs, *found.hours):
        reader = _Reader(table, doubts, alone=len(found.jobs) == 1)
        rows = list(reader.rows())
        (jobs if table.of_jobs else hours).extend(rows)
        notes += [f"{table.name}: {note}" for note in reader.notes()]
    notes += [f"{found.path}: sheet {title} is not taken over." for title in found.others]
    return Rows(tuple(jobs), tuple(hours), tuple(notes))


class _Reader:
    """Walks one list from top to bottom."""

    def __init__(self, table: ListTable, doubts: Doubts, *, alone: bool) -> None:
        self._table = table
        self._doubts = doubts
        self._alone = alone
        self._layout = layout_of(table, doubts)
        self._passed: list[str] = []
        self._above = ("", "")

    def rows(self) -> Iterator[ListRow]:
        """The rows with a job or with hours."""
        for line in self._table.lines:
            if line.comment or self._is_heading(line):
                continue
            if self._is_title(line):
                self._take_title(line)
            else:
                name, code = self._machine(line)
                yield ListRow(self._table, line.number, name, code, line, self._layout)

    def notes(self) -> Iterator[str]:
        """What is not taken over."""
        if self._layout.left:
            yield f"columns not taken over: {', '.join(self._layout.left)}."
        if self._passed:
            yield f"passed over as titles or notes: {'; '.join(self._passed)}."

    def _is_heading(self, line: Line) -> bool:
        """The headings once more, as at the top of a new page."""
        same = sum(text_at(line, column.at) == column.heading for column in self._table.columns)
        return same > 1 and same == len(line.filled)

    def _is_title(self, line: Line) -> bool:
        """A row that states neither a job nor hours: a title of the rows below it, or a note."""
        layout = self._layout
        wanted = ("title",) if self._table.of_jobs else ("count_now",)
        named = [layout.one[role].at for role in wanted if role in layout.one]
        named += [column.at for column in layout.intervals]
        filled = [at for at in named if text_at(line, at)]
        return not filled or (len(line.filled) == 1 and not self._has_machines and self._table.of_jobs)

    @property
    def _has_machines(self) -> bool:
        return "machine" in self._layout.one or "machine_code" in self._layout.one

    def _take_title(self, line: Line) -> None:
        text = text_at(line, line.filled[0])
        column = self._layout.one.get("machine")
        if len(line.filled) == 1 and (not self._has_machines or (column and line.filled[0] == column.at)):
            self._above = (text, "")
            if not self._has_machines and not self._titles_are_machines(text):
                self._passed.append(str(line))
        else:
            # What stands below it need not belong to the machine before it.
            self._above = ("", "")
            self._passed.append(str(line))

    def _titles_are_machines(self, example: str) -> bool:
        question = f"Some rows hold one cell alone, such as '{example}'. Is that the machine of the rows below?"
        doubt = Doubt(f"titles {self._table.title}", question, ((YES, "yes"), ("no", "no")), example, YES)
        return self._doubts.answer(doubt) == YES

    def _machine(self, line: Line) -> tuple[str, str]:
        """Name and code of the machine."""
        cells = {role: self._layout.one[role].at for role in ("machine", "machine_code") if role in self._layout.one}
        name, code = (text_at(line, cells[role]) if role in cells else "" for role in ("machine", "machine_code"))
        if name or code:
            self._above = (name, code)
        elif not self._has_machines:
            return (self._above[0] or ("" if self._alone else self._table.title), "")
        elif self._above != ("", "") and self._same_as_above():
            return self._above
        return name, code

    def _same_as_above(self) -> bool:
        question = "Rows without a machine: is it the same as in the row above?"
        doubt = Doubt(f"blank {self._table.title}", question, ((YES, "yes"), ("no", "no")), "", YES)
        return self._doubts.answer(doubt) == YES
