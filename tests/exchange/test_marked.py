"""Marked copies: every problem is marked where it stands and listed with a link; no file is ever overwritten."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook
from openpyxl.comments import Comment
from workbook_files import change_part, write_book

from pmsched.domain.errors import Refusal
from pmsched.exchange import marked_source
from pmsched.exchange.files_in import read_files
from pmsched.exchange.marked import check_target, write_marked_copies

HEADING = ["code", "name", "rank", "department"]
PEOPLE = [
    ["Crew list"],
    HEADING,
    ["2E", None, "2/E", "engine"],
    ["3E", "Bo", "3/E", "engine"],
    ["4E", "#N/A", None, "deck"],
]
CSV = "# note\ncode,name,rank,department\n2E,Ida,,engine\n=cmd,Bo,3/E,\n"
FILL = "FFFFD966"


def copies(paths: list[Path], target: Path | None = None) -> list[Path]:
    """Reads the files and writes the copies."""
    bundle, problems = read_files(paths)
    return write_marked_copies(bundle.sources, problems, target)


def marks(path: Path) -> dict[str, str]:
    """The note of every coloured cell, by its place."""
    return {
        f"{sheet.title}!{cell.coordinate}": cell.comment.text if cell.comment else ""
        for sheet in load_workbook(path).worksheets
        for cells in sheet.iter_rows()
        for cell in cells
        if cell.fill.start_color.rgb == FILL
    }


def listed(path: Path) -> list[tuple[Any, ...]]:
    """The rows of the list of problems: sheet, cell, column, message, what to do."""
    return list(load_workbook(path).worksheets[0].iter_rows(min_row=5, values_only=True))


def test_problems_of_a_workbook_are_marked_in_a_copy_next_to_it(tmp_path: Path) -> None:
    """The cells are coloured and have a note with what is wrong and what to do; the rest is as it was."""
    path = write_book(tmp_path / "ship.xlsx", {"People": PEOPLE, "Cover": [["=1+1"]]})
    before = path.read_bytes()
    (copy,) = copies([path])
    assert copy == tmp_path / "ship-problems.xlsx"
    assert path.read_bytes() == before
    assert marks(copy) == {
        "People!B3": "pmsched: The cell is blank. Write it, such as Ida Holm.",
        "People!B5": "pmsched: The cell holds the error #N/A. Mend its formula, or write what it should say.",
        "People!C5": "pmsched: The cell is blank. Write it, such as 2/E.",
    }
    book = load_workbook(copy)
    assert book.sheetnames == ["problems", "People", "Cover"]
    assert (book["People"]["A1"].value, book["Cover"]["A1"].value) == ("Crew list", "=1+1")


def test_the_list_leads_to_the_cells(tmp_path: Path) -> None:
    """Sheet, cell, column, what is wrong, what to do; a click on the cell goes there."""
    (copy,) = copies([write_book(tmp_path / "ship.xlsx", {"people o'hara": PEOPLE, "people": [HEADING, PEOPLE[3]]})])
    sheet = load_workbook(copy).worksheets[0]
    assert sheet["A1"].value == "Problems found by pmsched"
    rows = listed(copy)
    assert ("people o'hara", "B3", "name", "The cell is blank.", "Write it, such as Ida Holm.") in rows
    assert ("people", "A2", "code") in {row[:3] for row in rows}
    links = {cell.hyperlink.location for cells in sheet.iter_rows(min_row=5) for cell in cells if cell.hyperlink}
    assert links == {"'people o''hara'!B3", "'people o''hara'!B5", "'people o''hara'!C5", "'people'!A2"}


def test_all_problems_of_a_cell_stand_in_its_note(tmp_path: Path) -> None:
    """A heading that lacks two columns is marked once."""
    (copy,) = copies([write_book(tmp_path / "ship.xlsx", {"people": [["code", "name"], ["2E", "Ida"]]})])
    (note,) = marks(copy).values()
    assert note.count("Every row needs this column.") == 2
    assert len(listed(copy)) == 2


@pytest.mark.parametrize(
    ("there", "name"),
    [
        pytest.param([], "ship-problems.xlsx", id="first"),
        pytest.param(["ship-problems.xlsx"], "ship-problems-2.xlsx", id="second"),
        pytest.param(["ship-problems.xlsx", "ship-problems-2.xlsx"], "ship-problems-3.xlsx", id="third"),
    ],
)
def test_a_free_name_is_picked(tmp_path: Path, there: list[str], name: str) -> None:
    """Nothing is overwritten."""
    for one in there:
        (tmp_path / one).write_bytes(b"mine")
    (copy,) = copies([write_book(tmp_path / "ship.xlsx", {"people": PEOPLE})])
    assert copy.name == name
    assert all((tmp_path / one).read_bytes() == b"mine" for one in there)


def test_a_marked_copy_that_was_worked_on_can_be_checked_again(tmp_path: Path) -> None:
    """Its list is not read, older marks go, other notes stay, and the next copy has the next number."""

    def by_hand(book: Any) -> None:
        book["people"]["C5"].comment = Comment("ask the master", "CE")

    (first,) = copies([write_book(tmp_path / "ship.xlsx", {"people": PEOPLE}, by_hand)])
    book = load_workbook(first)
    assert book["people"]["C5"].comment.text.endswith("Note that was here before:\nask the master")
    book["people"]["B3"].value = "Ida"
    book["people"]["C5"].value = "4/E"
    book.save(first)
    (second,) = copies([first])
    assert second.name == "ship-problems-2.xlsx"
    assert list(marks(second)) == ["people!B5"]
    assert load_workbook(second).sheetnames == ["problems", "people"]
    assert load_workbook(second)["people"]["C5"].comment.text == "ask the master"


def test_files_that_are_no_workbooks_become_sheets(tmp_path: Path) -> None:
    """At the same rows, as text: nothing in them runs."""
    (tmp_path / "people.csv").write_text(CSV, encoding="utf-8")
    assert copies([tmp_path / "people.csv"]) == []
    target = tmp_path / "marked.xlsx"
    assert copies([tmp_path / "people.csv"], target) == [target]
    assert list(marks(target)) == ["people!C3", "people!D4"]
    cell = load_workbook(target)["people"]["A4"]
    assert (cell.value, cell.data_type) == ("=cmd", "s")
    assert listed(target)[0][:3] == ("people", "C3", "rank")


def test_one_target_for_files_and_several_workbooks(tmp_path: Path) -> None:
    """What was read as files goes into the first; the others get a number."""
    (tmp_path / "people.csv").write_text(CSV, encoding="utf-8")
    (tmp_path / "oddly:named?.csv").write_text(CSV, encoding="utf-8")
    for name in ("a", "b"):
        write_book(tmp_path / f"{name}.xlsx", {"people": PEOPLE})
    found = copies([tmp_path], tmp_path / "m.xlsx")
    assert [path.name for path in found] == ["m.xlsx", "m-2.xlsx"]
    assert load_workbook(found[0]).sheetnames == ["problems", "people", "people (2)"]
    assert load_workbook(found[1]).sheetnames == ["problems", "people"]
    assert {row[0] for row in listed(found[0])} == {"people", "people (2)", str(tmp_path / "oddly:named?.csv")}
    assert {row[0] for row in listed(found[1])} == {"people"}


@pytest.mark.parametrize(
    ("name", "code"),
    [("marked.csv", "not-a-workbook-name"), ("marked", "not-a-workbook-name"), ("there.xlsx", "file-exists")],
)
def test_targets_that_cannot_be(tmp_path: Path, name: str, code: str) -> None:
    """Told before anything is read."""
    (tmp_path / "there.xlsx").write_bytes(b"mine")
    with pytest.raises(Refusal) as refused:
        check_target(tmp_path / name)
    assert refused.value.code == code


def test_marks_in_merged_cells_stand_where_they_are_shown(tmp_path: Path) -> None:
    """Two problems of rows that share one cell stand in its one note."""
    rows = [["code", "machine", "title", "interval"], ["A", "x;y", "t", "1 month"], ["B", None, "t", "1 month"]]
    path = write_book(tmp_path / "ship.xlsx", {"jobs": rows}, lambda book: book["jobs"].merge_cells("B2:B3"))
    (copy,) = copies([path])
    (place, note), *others = marks(copy).items()
    assert (place, others) == ("jobs!B2", [])
    assert note.count("'x;y' cannot be a code.") == 2


@pytest.mark.parametrize("why", ["large", "odd", "merged"])
def test_what_cannot_be_taken_over_whole_gives_its_rows(
    tmp_path: Path, why: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The beginning, and every row with a problem, at their places."""
    rows = [HEADING, *([f"P{n}", "x", "2/E", "deck"] for n in range(30)), ["Q", None, "2/E", "deck"]]
    path = write_book(tmp_path / "ship.xlsx", {"people": rows})
    if why == "large":
        monkeypatch.setattr(marked_source, "MOST_CELLS", 10)
    elif why == "odd":
        monkeypatch.setattr("openpyxl.load_workbook", _only_reading())
    else:
        area = b'</sheetData><mergeCells count="1"><mergeCell ref="A90:XFD1048576"/></mergeCells>'
        change_part(path, "xl/worksheets/sheet1.xml", lambda content: content.replace(b"</sheetData>", area))
    started = time.monotonic()
    (copy,) = copies([path])
    assert list(marks(copy)) == ["people!B32"]
    people = load_workbook(copy)["people"]
    assert (people["A2"].value, people["A31"].value, people["A32"].value) == ("P0", None, "Q")
    assert time.monotonic() - started < 10


def _only_reading() -> Any:
    """The library as it is when a workbook can be read row by row, but not as a whole."""

    def load(stream: Any, *, read_only: bool = False, **options: Any) -> Any:
        if not read_only:
            raise TypeError
        return load_workbook(stream, read_only=True, **options)

    return load


def test_a_workbook_with_one_broken_sheet_is_marked_as_far_as_it_goes(tmp_path: Path) -> None:
    """The broken sheet stands in the list."""
    path = write_book(tmp_path / "ship.xlsx", {"people": PEOPLE, "jobs": [["code", "machine"]]})
    change_part(path, "xl/worksheets/sheet2.xml", lambda content: content[:-60])
    (copy,) = copies([path])
    assert "people!B3" in marks(copy)
    assert any(row[0] == "jobs" and "cannot be read" in row[3] for row in listed(copy))


def test_a_long_file_gives_its_rows_with_problems(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A copy of a hundred thousand rows helps nobody."""
    monkeypatch.setattr(marked_source, "MOST_ROWS", 10)
    lines = [*(f"P{n},x,2/E,deck" for n in range(40)), "Q,,2/E,deck"]
    (tmp_path / "people.csv").write_text("\n".join([",".join(HEADING), *lines]), encoding="utf-8")
    (copy,) = copies([tmp_path / "people.csv"], tmp_path / "m.xlsx")
    people = load_workbook(copy)["people"]
    assert [people.cell(row, 1).value for row in (20, 21, 42)] == ["P18", None, "Q"]
    assert list(marks(copy)) == ["people!B42"]


def test_hidden_characters_are_shown_and_not_written(tmp_path: Path) -> None:
    """A workbook cannot hold them, and nobody could see them."""
    (tmp_path / "people.csv").write_text("code,name,rank,department\n2E,I\x07da,2/E,engine\n", encoding="utf-8")
    (copy,) = copies([tmp_path / "people.csv"], tmp_path / "m.xlsx")
    assert load_workbook(copy)["people"]["B2"].value == "I\u2407da"
