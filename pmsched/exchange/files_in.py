"""Input files and workbooks read whole: every row that reads well, and every problem of every file, not only the first.

Knows the files and their rows; whether they fit each other or the register is decided elsewhere.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import chain
from pathlib import Path
from typing import Any

from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem
from pmsched.exchange.columns import INPUT_FILES, FileKind, InputFile
from pmsched.exchange.faults import Faults
from pmsched.exchange.headings import count_known, near_match, read_heading
from pmsched.exchange.input_files import Found, find_files, marked_copies_in, recognise, recognise_sheet
from pmsched.exchange.places import Source, placed, sheet_name
from pmsched.exchange.row_reader import Pile, RowReader
from pmsched.exchange.rows import Bundle
from pmsched.exchange.second_heading import SECOND_HEADING, heading_in, says_the_same, tell_second_heading
from pmsched.exchange.sheet_lines import is_list_of_problems, stands_for
from pmsched.exchange.sheets import SheetTable
from pmsched.exchange.tables import read_table
from pmsched.exchange.workbooks import Sheet, opened

# These end the reading of a file, or keep it from being read at all: rows may be missing that nothing is known of.
_CUT_SHORT = frozenset(
    {"not-utf-8", "cannot-read", "quotes", "no-heading", "no-such-file", "broken-workbook", SECOND_HEADING}
)
_VERY_NEAR = 0.8
_UNKNOWN_NAMES = frozenset(
    {"unknown-file", "old-workbook", "protected-workbook", "workbook-too-large", "no-sheets", "no-files"}
)


def read_files(paths: Iterable[Path | str]) -> tuple[Bundle, list[Problem]]:
    """Everything in the files, workbooks and folders given: the rows that read well, and all the problems in order.

    Rows with a problem are left out of the rows of the bundle, and are in ``unread``. Never raises for what stands in a
    file.
    """
    reader = _Reader()
    places = [Path(path) for path in paths]
    reader.notes += [f"{path}: passed over, as its name is that of a marked copy." for path in marked_copies_in(places)]
    for found in find_files(places, reader.problems):
        reader.read(found)
    return reader.bundle(), placed(reader.problems, reader.sources)


class _Reader:
    """Reads one file after the other."""

    def __init__(self) -> None:
        self.problems: list[Problem] = []
        self.sources: list[Source] = []
        self.notes: list[str] = []
        self._piles = {stem: Pile(file) for stem, file in INPUT_FILES.items()}

    def bundle(self) -> Bundle:
        """All that was read."""
        rows: dict[FileKind, Any] = {stem: tuple(pile.rows) for stem, pile in self._piles.items()}
        return Bundle(
            **rows,
            unread=tuple(chain.from_iterable(pile.unread for pile in self._piles.values())),
            cut_short=frozenset(self._cut_short(rows)),
            sources=tuple(self.sources),
            notes=tuple(self.notes),
        )

    def read(self, found: Found) -> None:
        """Takes in an input file or a workbook."""
        if found.file is not None:
            self._read_text(found.path, found.file)
            return
        try:
            with opened(found.path) as sheets:
                self._read_sheets(found.path, sheets)
        except Refusal as refusal:
            self.problems.append(
                Problem(refusal.code, str(found.path), 0, "", refusal.message, refusal.hint),
            )

    def _read_text(self, path: Path, file: InputFile) -> None:
        source = Source(str(path), path, "", file.stem)
        faults = Faults(source.name, self.problems)
        records = read_table(path, lambda cells: count_known(cells, file), faults)
        first = next(records, None)
        if first is None or not count_known(first.cells, file):
            self.sources.append(source)
            if not faults.any_told:
                _tell_no_heading(file, faults)
            return
        heading = read_heading(first, file, faults)
        self.sources.append(source._replace(places=heading.names, heading_row=first.row))
        reader = RowReader(heading, self._piles[file.stem], faults)
        for record in records:
            if (again := heading_in(record.cells, file)) is None:
                reader.read(record)
            elif says_the_same(again, heading):
                self.notes.append(f"{path}: passed over, the headings once more: row {record.row}.")
            else:
                tell_second_heading(again, record.row, faults)
                break

    def _read_sheets(self, path: Path, sheets: list[Sheet]) -> None:
        known = [self._read_one_of(path, sheet, alone=len(sheets) == 1) for sheet in sheets]
        if not any(known):
            hint = f"The names are: {', '.join(INPUT_FILES)}."
            Faults(str(path), self.problems).tell("no-sheets", "No sheet has the name of an input file.", hint)

    def _read_one_of(self, path: Path, sheet: Sheet, *, alone: bool) -> bool:
        """Reads a sheet if its name is known, or tells why not; false if it says nothing to us."""
        file = recognise_sheet(sheet.title)
        if file is None and alone:
            # A file of one list keeps its name when it is saved as a workbook.
            file = recognise(f"{path.stem}.csv")
        try:
            if sheet.title.startswith("#") or is_list_of_problems(sheet):
                return False
            if file is None:
                return self._pass_over(path, sheet)
            self._read_sheet(path, sheet, file)
        except Refusal as refusal:
            name = sheet_name(path, sheet.title)
            if not self.sources or self.sources[-1].name != name:
                self.sources.append(Source(name, path, sheet.title, file.stem if file else ""))
            Faults(name, self.problems).refuse(refusal, 0, "")
        return True

    def _read_sheet(self, path: Path, sheet: Sheet, file: InputFile) -> None:
        source = Source(sheet_name(path, sheet.title), path, sheet.title, file.stem)
        faults = Faults(source.name, self.problems)
        self.sources.append(source)
        table = SheetTable(sheet, file, faults)
        first = table.heading()
        if first is None:
            if table.is_blank:
                self.notes.append(f"{source.name}: the sheet is blank.")
            else:
                _tell_no_heading(file, faults)
            return
        heading = read_heading(first, file, faults, may_have_gaps=True)
        self.sources[-1] = source._replace(places=heading.names, heading_row=first.row)
        reader = RowReader(heading, self._piles[file.stem], faults)
        for record in table.rows(heading):
            reader.read(record)
        self.notes += [f"{source.name}: {note}." for note in table.notes]

    def _pass_over(self, path: Path, sheet: Sheet) -> bool:
        """Tells of a sheet whose name is not known; true if it is a problem, because its headings are."""
        files = [file.stem for file in stands_for(sheet)]
        name = sheet_name(path, sheet.title)
        self.sources.append(Source(name, path, sheet.title, ""))
        if files:
            names = " or ".join(files)
            hint = f"Name the sheet {names} to have it read, or let its name begin with # to leave it out."
            Faults(name, self.problems).tell("sheet-name", f"The sheet has the headings of {names}.", hint)
            return True
        meant = near_match(sheet.title, INPUT_FILES, _VERY_NEAR)
        self.notes.append(
            f"{name}: not read, as its name and its headings are not those of an input file. {meant}".strip()
        )
        return False

    def _cut_short(self, rows: dict[FileKind, Any]) -> Iterable[FileKind]:
        stems: dict[str, str] = {source.name: source.stem for source in self.sources}
        for problem in self.problems:
            if problem.code in _CUT_SHORT | _UNKNOWN_NAMES:
                known = recognise(Path(problem.file).name)
                stem = stems.get(problem.file) or (known.stem if known else "")
                yield from [kind for kind in INPUT_FILES if (kind == stem if stem else not rows[kind])]
            elif problem.code == "sheet-name":
                yield from [kind for kind in INPUT_FILES if not rows[kind]]


def _tell_no_heading(file: InputFile, faults: Faults) -> None:
    hint = f"The columns are: {', '.join(column.name for column in file.columns)}."
    faults.tell("no-heading", "There is no heading row with column names.", hint)
