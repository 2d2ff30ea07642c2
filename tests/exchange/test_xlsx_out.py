"""Spreadsheet files: nothing runs, everything is there, and it prints."""

from __future__ import annotations

import gc
import re
import sys
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hostile_cells import HARMLESS, HOSTILE
from openpyxl.worksheet.worksheet import Worksheet
from read_exports import formulas_of, parts_of, read_xlsx_export
from xlsxwriter import Workbook

from pmsched.domain.plain import plain
from pmsched.exchange import xlsx_out
from pmsched.exchange.exports import About, Cell, Export
from pmsched.exchange.formula_guard import guarded
from pmsched.exchange.xlsx_out import write_xlsx_export

ALL = {**HOSTILE, **HARMLESS}
ABOUT = About(
    program="pmsched 0.1.0", site="MV R&D", what="history", machine="AE2", seal="dafa-a2ea-b653", made_by="not named",
    made_at_ship="2030-01-15T10:00:00+02:00", made_at_utc=datetime(2030, 1, 15, 8, tzinfo=UTC),
)  # fmt: skip


def write(
    folder: Path, rows: list[tuple[Cell, ...]], heading: tuple[str, ...] = ("job", "remarks"), most_rows: int = 10_000
) -> Path:
    """A spreadsheet file of these rows."""
    path = folder / "list.xlsx"
    with path.open("wb") as stream:
        export = Export(ABOUT, heading, ((None, row) for row in rows), {"remarks": 40})
        write_xlsx_export(stream, export, most_rows=most_rows)
    return path


def sheet_of(path: Path, name: str = "rows") -> Worksheet:
    """A sheet of the file."""
    sheet = openpyxl.load_workbook(path)[name]
    assert isinstance(sheet, Worksheet)
    return sheet


def test_no_hostile_cell_is_a_formula_or_a_link(tmp_path: Path) -> None:
    """No formula, no link, no call in any sheet; every cell is an inline text."""
    path = write(tmp_path, list(ALL.items()))
    assert formulas_of(path) == []
    cells = re.findall(r'<c r="B\d+"[^>]*?(?: t="(\w+)")?>', parts_of(path)["xl/worksheets/sheet2.xml"])
    assert cells == ["inlineStr"] * (len(ALL) + 1)


def test_hostile_header_is_a_text_too(tmp_path: Path) -> None:
    """What a person typed as a filter stands in the header."""
    path = tmp_path / "list.xlsx"
    about = ABOUT._replace(machine=HOSTILE["program"], words=HOSTILE["sheet-markup"], site=HOSTILE["link"])
    with path.open("wb") as stream:
        write_xlsx_export(stream, Export(about, ("a",), []))
    assert formulas_of(path) == []
    assert read_xlsx_export(path).about["words"] == HOSTILE["sheet-markup"]


@pytest.mark.parametrize("name", ALL)
def test_every_text_is_whole(tmp_path: Path, name: str) -> None:
    """As it stands in the register, but for hidden characters, which are shown, and for one kind of line break."""
    (row,) = read_xlsx_export(write(tmp_path, [(name, ALL[name])])).rows
    assert row["remarks"] == plain(ALL[name].replace("\r\n", "\n").replace("\r", "\n"), line_breaks=True)


def test_dangerous_text_stays_a_text_when_edited(tmp_path: Path) -> None:
    """Its cell is marked as quoted; others are not."""
    sheet = sheet_of(write(tmp_path, [("=1", "fine")]))
    assert [cell.quotePrefix for cell in sheet[2]] == [True, False]
    assert guarded("fine") == "fine"


def test_rows_go_on_to_further_sheets(tmp_path: Path) -> None:
    """A sheet that is full is followed by another with the same heading, and the header says so."""
    path = write(tmp_path, [(str(n), n) for n in range(7)], most_rows=3)
    book = openpyxl.load_workbook(path)
    assert book.sheetnames == ["about", "rows", "rows 2", "rows 3"]
    assert [[row[0] for row in book[name].values] for name in book.sheetnames[1:]] == [
        ["job", "0", "1", "2"], ["job", "3", "4", "5"], ["job", "6"],
    ]  # fmt: skip
    about = dict(book["about"].iter_rows(max_col=2, values_only=True))
    assert about["rows"] == "7"
    assert about["sheets"] == "The rows go on from the sheet 'rows' to 'rows 2', 'rows 3'."


@pytest.mark.parametrize("rows", [0, 3])
def test_a_list_that_fills_its_sheet_needs_no_other(tmp_path: Path, rows: int) -> None:
    """Nor does an empty one."""
    assert openpyxl.load_workbook(write(tmp_path, [("a", n) for n in range(rows)], most_rows=3)).sheetnames == [
        "about", "rows",
    ]  # fmt: skip


def test_a_sheet_takes_as_many_rows_as_spreadsheets_do() -> None:
    """2^20 rows, the names of the columns among them (ECMA-376 leaves it to programs; theirs is this, from memory)."""
    assert xlsx_out.MOST_ROWS == 2**20 - 1


def test_list_can_be_worked_with_and_printed(tmp_path: Path) -> None:
    """The heading stays in sight and on every page, columns can be filtered; A4 across, pages numbered."""
    sheet = sheet_of(write(tmp_path, [("a", "b"), ("c", "d")]))
    assert sheet.freeze_panes == "A2"
    assert sheet.auto_filter.ref == "A1:B3"
    assert sheet.print_title_rows == "$1:$1"
    assert (sheet.page_setup.paperSize, sheet.page_setup.orientation) == (9, "landscape")
    assert (sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight) == (None, 0)
    assert "page &P of &N" in str(sheet.oddFooter.center.text).replace("&[Page]", "&P")
    assert "seal dafa-a2ea-b653" in str(sheet.oddFooter.right.text)
    assert sheet.column_dimensions["B"].width > 40
    # An ampersand of the ship's name is no command to the printer.
    assert "&L MV R&&D" in parts_of(tmp_path / "list.xlsx")["xl/worksheets/sheet2.xml"].replace("&amp;", "&").replace(
        "&9", ""
    )


@pytest.mark.parametrize(
    ("site", "title"),
    [
        pytest.param("2nd Ship", "&L&9 2nd Ship | history", id="begins-with-a-figure"),
        pytest.param("&" * 100, "&L&9 " + "&&" * 80, id="cut-between-characters-not-inside-a-command"),
    ],
)
def test_title_of_a_page_is_a_text(tmp_path: Path, site: str, title: str) -> None:
    """Nothing of it is taken for a size or a command."""
    path = tmp_path / "list.xlsx"
    with path.open("wb") as stream:
        write_xlsx_export(stream, Export(ABOUT._replace(site=site, machine=None), ("a",), []))
    header = re.search("<oddHeader>(.*?)</oddHeader>", parts_of(path)["xl/worksheets/sheet2.xml"])
    assert header is not None
    assert header[1].replace("&amp;", "&") == title


class _FullAfter(BytesIO):
    """A stream of which the disk is full after so many bytes."""

    def __init__(self, most: int) -> None:
        super().__init__()
        self._most = most

    def write(self, data: Any, /) -> int:
        if self.tell() + len(data) > self._most:
            raise OSError(28, "No space left on device")
        return super().write(data)


@pytest.mark.parametrize("most", [0, 500, 3_000])
def test_full_disk_ends_quietly(most: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is told once, as what it is; nothing is written to the stream afterwards, and nothing complains later."""
    late: list[object] = []
    monkeypatch.setattr(sys, "unraisablehook", late.append)
    with pytest.raises(OSError, match="No space left"):
        write_xlsx_export(_FullAfter(most), Export(ABOUT, ("a",), ((None, (f"x{n}",)) for n in range(50))))
    gc.collect()
    assert late == []


def test_wide_list_repeats_what_names_a_row(tmp_path: Path) -> None:
    """Pages to the right begin with the columns up to the job."""
    heading = ("report", "version", "job", *(f"column_number_{n}" for n in range(30)))
    sheet = sheet_of(write(tmp_path, [tuple("x" * len(heading))], heading))
    assert sheet.print_title_cols == "$A:$C"
    assert sheet.page_setup.pageOrder == "overThenDown"


def test_folded_text_has_room(tmp_path: Path) -> None:
    """The row is as high as its fullest text; others keep the usual height."""
    sheet = sheet_of(write(tmp_path, [("a", "word " * 40), ("b", "short"), ("c", "1\n2\n3"), ("d", "1\n2")]))
    assert [sheet.row_dimensions[row].height for row in (2, 3, 4, 5)] == [90, None, 45, 30]


def test_heights_are_not_gathered() -> None:
    """Of a million folded rows only those at hand are known."""
    book = Workbook(BytesIO(), {"constant_memory": True})
    export = Export(ABOUT, ("job", "remarks"), ((None, ("a", "1\n2")) for _ in range(50)))
    xlsx_out._Sheets(book, export, 10_000).write()
    assert max(len(sheet.row_info) + len(sheet.row_sizes) for sheet in book.worksheets()) <= 2
    book.close()


@pytest.mark.parametrize(
    ("text", "kept"),
    [pytest.param("x" * 32_767, 32_767, id="just-fits"), pytest.param("😀" * 16_383, 16_383, id="wide-just-fits")],
)
def test_long_text_that_fits(tmp_path: Path, text: str, kept: int) -> None:
    """A sheet counts as UTF-16 does."""
    read = read_xlsx_export(write(tmp_path, [("a", text)]))
    assert len(read.rows[0]["remarks"]) == kept
    assert read.about["complete"] == "yes"


@pytest.mark.parametrize("text", ["x" * 32_768, "😀" * 16_384], ids=["narrow", "wide"])
def test_text_that_a_sheet_cannot_hold_is_cut_and_told(tmp_path: Path, text: str) -> None:
    """The cell says so, and so does the header."""
    read = read_xlsx_export(write(tmp_path, [("a", text), ("b", text)]))
    assert read.rows[0]["remarks"].endswith("[cut here; a CSV or JSON lines file has all of it]")
    assert len(read.rows[0]["remarks"].encode("utf-16-le")) <= 2 * 32_767
    assert read.about["complete"] == "no"
    assert read.about["left_out"].count("the ends of texts") == 1


def test_same_list_gives_the_same_file(tmp_path: Path) -> None:
    """Byte for byte, at the same moment: two copies can be compared."""
    first = write(tmp_path, [("a", "b")]).read_bytes()
    assert write(tmp_path, [("a", "b")]).read_bytes() == first
