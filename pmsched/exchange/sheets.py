"""One sheet of a workbook as a table: where its heading row is, which rows are data, and each cell as text.

People lay sheets out for other people: titles above the headings, merged cells, notes at the end. What can only mean one
thing is read, and what is passed over is said; everything else is told by its cell. Knows no library and no XML.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import InputFile, Kind
from pmsched.exchange.faults import Faults
from pmsched.exchange.headings import Heading, count_known, normal
from pmsched.exchange.kinds import KINDS
from pmsched.exchange.merged import MergedCells
from pmsched.exchange.native_cells import shown, text_of
from pmsched.exchange.places import cell_name, ranges
from pmsched.exchange.second_heading import heading_in, says_the_same, tell_second_heading
from pmsched.exchange.sheet_lines import HEADING_AMONG, Line, short
from pmsched.exchange.sheet_scan import Scan
from pmsched.exchange.tables import Record, is_numbered_heading
from pmsched.exchange.workbooks import Sheet

_WORDS_OF_A_NOTE = 3


class SheetTable:
    """A sheet read as the input file it stands for.

    Args:
        sheet: the sheet.
        file: what it stands for.
        faults: told of what is wrong.

    Attributes:
        notes: what is passed over, or read although it is hidden; complete once all rows were read.
    """

    def __init__(self, sheet: Sheet, file: InputFile, faults: Faults) -> None:
        self._sheet = sheet
        self._file = file
        self._faults = faults
        self._scan = sheet.scan()
        self._merged = MergedCells(self._scan.merged)
        self._lines = self._read(sheet, self._scan)
        self._above: list[Line] = []
        self._hidden: list[int] = []
        self._passed: list[str] = []
        self._titles: list[str] = []
        self.notes: list[str] = []

    def heading(self) -> Record | None:
        """The row with most names of columns, the first of equals; None if no row has any.

        Raises:
            Refusal: the sheet cannot be read.
        """
        first, best, most = [], -1, 0
        for line in self._lines:
            texts = line.texts
            known = self._known(texts)
            if line.comment and not is_numbered_heading(texts[line.filled[0] :], self._known):
                continue
            first.append(line)
            if known > most:
                best, most = len(first) - 1, known
            if len(first) == HEADING_AMONG:
                break
        if best < 0:
            self._above = first
            return None
        self._above = first[:best]
        self._lines = chain(first[best + 1 :], self._lines)
        self._titles = first[best].texts
        return Record(first[best].number, self._titles)

    @property
    def is_blank(self) -> bool:
        """Whether nothing stood in the sheet, once its heading was looked for in vain."""
        return not self._above

    def rows(self, heading: Heading) -> Iterator[Record]:
        """The rows of data under the heading, in order, their cells as text.

        Raises:
            Refusal: the rest of the sheet cannot be read.
        """
        yield from self._look_above(heading)
        held: list[Line] = []
        for line in self._lines:
            if again := heading_in(line.texts, self._file):
                if not says_the_same(again, heading):
                    tell_second_heading(again, line.number, self._faults)
                    break
                self._passed.append(str(line))
                continue
            if line.comment or self._is_passed_over(line, heading):
                continue
            if len(line.filled) == 1 and (held or line.after_gap):
                held.append(line)
                continue
            yield from self._records([*held, line], heading)
            held = []
        for line in held:
            if _is_note(line, heading):
                self._passed.append(str(line))
            else:
                yield from self._records([line], heading)
        self._say(heading)

    def _known(self, cells: Iterable[str]) -> int:
        return count_known(cells, self._file)

    def _read(self, sheet: Sheet, found: Scan) -> Iterator[Line]:
        before = 0
        for number, cells in sheet.rows(found):
            yield Line(number, self._merged.fill(number, cells), number > before + 1)
            before = number

    def _look_above(self, heading: Heading) -> Iterator[Record]:
        """Rows above the headings are titles, unless they look like the rows below: those are told of."""
        for line in self._above:
            record = self._record(line, heading)
            if all(not column.required or _reads(record, at, column.kind) for at, column in heading.places):
                self._faults.tell(
                    "row-above-heading",
                    "This row stands above the headings, and looks like the rows below them.",
                    "Move it below the headings, or write # at its beginning.",
                    row=line.number,
                    column=heading.places[0].column.name,
                )
                yield record._replace(told=True)

    def _is_passed_over(self, line: Line, heading: Heading) -> bool:
        """A title across the columns, or the headings once more."""
        filled = line.filled
        named = {at for at, _ in heading.places}
        if len(filled) == 1 and len(named & set(self._merged.across(line.number, filled[0]))) > 1:
            self._passed.append(str(line))
            return True
        if len(filled) > 1 and all(
            at < len(self._titles) and normal(shown(line.cells[at])) == normal(self._titles[at]) for at in filled
        ):
            self._passed.append(str(line))
            return True
        return False

    def _records(self, lines: list[Line], heading: Heading) -> Iterator[Record]:
        for line in lines:
            if line.number in self._scan.hidden_rows:
                self._hidden.append(line.number)
            filled = line.filled
            if len(filled) == 1:
                at = filled[0]
                self._faults.tell(
                    "lone-cell",
                    "This is the only cell of its row that is filled.",
                    "Fill the row in. If it is a title or a note, write # before it.",
                    row=line.number,
                    column=_column_at(heading, at),
                    cell=cell_name(at, line.number),
                )
                yield self._record(line, heading)._replace(told=True)
                continue
            self._tell_nameless(line, heading)
            yield self._record(line, heading)

    def _tell_nameless(self, line: Line, heading: Heading) -> None:
        for at in (*heading.gaps, *range(heading.width, len(line.cells))):
            if at < len(line.cells) and not line.cells[at].blank:
                message = f"'{short(line.cells[at])}' stands in a column without a heading."
                hint = "Delete it, or give the column its heading."
                self._faults.tell("nameless-column", message, hint, row=line.number, cell=cell_name(at, line.number))

    def _record(self, line: Line, heading: Heading) -> Record:
        cells = [""] * heading.width
        refused: dict[int, Refusal] = {}
        named = {at: column.name for at, column in heading.places}
        for at, column in heading.places:
            if at >= len(line.cells) or line.cells[at].blank:
                continue
            cells[at] = shown(line.cells[at])
            try:
                cells[at] = text_of(line.cells[at], column.kind, since_1904=self._sheet.since_1904)
            except Refusal as refusal:
                refused[at] = refusal
            if over := [named[one] for one in self._merged.across(line.number, at) if one in named and one != at]:
                refused[at] = _merged_over(column.name, over)
        return Record(line.number, cells, refused)

    def _say(self, heading: Heading) -> None:
        if self._sheet.hidden:
            self.notes.append("the sheet is hidden; it is read too")
        if self._above:
            self.notes.append(f"not read, above the headings: {'; '.join(map(str, self._above))}")
        if self._passed:
            self.notes.append(f"passed over as titles or notes: {'; '.join(self._passed)}")
        if self._hidden:
            self.notes.append(f"hidden rows are read too: {ranges(self._hidden)}")
        hidden = [
            column.name
            for at, column in heading.places
            if any(first <= at <= last for first, last in self._scan.hidden_columns)
        ]
        if hidden:
            self.notes.append(f"hidden columns are read too: {', '.join(hidden)}")


def _reads(record: Record, at: int, kind: Kind) -> bool:
    """Whether the cell holds something that its column can take."""
    if at in record.refused or not record.cells[at].strip():
        return False
    try:
        KINDS[kind].read(record.cells[at])
    except Refusal:
        return False
    return True


def _is_note(line: Line, heading: Heading) -> bool:
    """Whether the one cell of a row reads as a sentence or a signature, and stands where no sentence belongs."""
    at = line.filled[0]
    places = [place.at for place in heading.places]
    text = shown(line.cells[at])
    return (at <= min(places) or at not in places) and (len(text.split()) >= _WORDS_OF_A_NOTE or ":" in text)


def _column_at(heading: Heading, at: int) -> str:
    return next((column.name for place, column in heading.places if place == at), "")


def _merged_over(column: str, over: list[str]) -> Refusal:
    message = f"The cell is merged over {', '.join([column, *over])}."
    return Refusal("merged-cell", message, "Part it again, and write in each column what belongs there.")
