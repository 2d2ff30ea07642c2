"""Sheets as people lay them out for people: what can only mean one thing is read, the rest is told by its cell."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import Any

import pytest
from openpyxl.styles import PatternFill
from workbook_files import change_part, put_sheet, write_book

from pmsched.domain.problems import Problem
from pmsched.exchange.files_in import read_files
from pmsched.exchange.rows import Bundle

HEADING = ["code", "name", "rank", "department"]
IDA = ["2E", "Ida Holm", "2/E", "engine"]
BO = ["3E", "Bo Lind", "3/E", "engine"]
JOB_HEADING = ["code", "machine", "title", "interval"]
BOTH = ["2E", "3E"]


def read(path: Path) -> tuple[list[str], list[tuple[str, str]], tuple[str, ...]]:
    """The codes of the people, code and place of every problem, and the notes without the path."""
    bundle, problems = read_files([path])
    notes = tuple(note.removeprefix(f"{path}, ") for note in bundle.notes)
    return [person.code for person in bundle.people], told(problems), notes


def told(problems: list[Problem]) -> list[tuple[str, str]]:
    """Code and place of every problem; each must name file and sheet, and say what to do."""
    assert all(problem.sheet and problem.message and problem.hint for problem in problems)
    return [(problem.code, problem.place or str(problem.row)) for problem in problems]


@pytest.mark.parametrize(
    "rows",
    [
        pytest.param([HEADING, IDA, BO], id="plain"),
        pytest.param([["Code", "NAME ", "Rank:", "Department *"], IDA, BO], id="other-case-and-marks"),
        pytest.param([["Code\n(short)", "Name [in full]", "Rank\n", " department "], IDA, BO], id="brackets-and-line-breaks"),
        pytest.param([[], [], HEADING, [], IDA, [], [], BO], id="blank-rows"),
        pytest.param([[None, *HEADING], [None, *IDA], [None, *BO]], id="blank-column-before"),
        pytest.param(
            [["code", None, "name", "rank", None, "department"]]
            + [[row[0], None, row[1], row[2], None, row[3]] for row in (IDA, BO)],
            id="blank-columns-between",
        ),
        pytest.param([["# who", *IDA], HEADING, IDA, ["# 4E", "gone", "", ""], BO], id="rows-with-a-hash"),
        pytest.param([["#", *HEADING], [1, *IDA], [2, *BO]], id="column-of-row-numbers"),
        pytest.param([[*HEADING, "# remarks"], [*IDA, "x"], [*BO, "y"]], id="column-left-out-by-a-hash"),
        pytest.param([HEADING, IDA, ["", " ", "\u00a0", "\n"], BO], id="row-of-blanks"),
    ],
)  # fmt: skip
def test_layouts_that_are_read_without_a_word(tmp_path: Path, rows: list[list[Any]]) -> None:
    """Two people, no problem, nothing to say."""
    assert read(write_book(tmp_path / "ship.xlsx", {"people": rows})) == (BOTH, [], ())


@pytest.mark.parametrize(
    ("rows", "note"),
    [
        pytest.param(
            [["MV Example"], ["Crew list", None, "rev 3"], HEADING, IDA, BO],
            "sheet people: not read, above the headings: row 1 'MV Example'; row 2 'Crew list'.",
            id="titles-above",
        ),
        pytest.param(
            [["name: MV Example"], ["Name", "of the list"], HEADING, IDA, BO],
            "sheet people: not read, above the headings: row 1 'name: MV Example'; row 2 'Name'.",
            id="titles-with-names-of-columns",
        ),
        pytest.param(
            [HEADING, IDA, BO, [], ["Prepared by: A. Ardmore"], [], ["Last seen by the master on Tuesday"]],
            "sheet people: passed over as titles or notes: row 5 'Prepared by: A. Ardmore'; "
            "row 7 'Last seen by the master on Tuesday'.",
            id="notes-at-the-end",
        ),
        pytest.param(
            [HEADING, IDA, HEADING, BO],
            "sheet people: passed over as titles or notes: row 3 'code'.",
            id="headings-once-more",
        ),
    ],
)
def test_what_is_passed_over_is_said(tmp_path: Path, rows: list[list[Any]], note: str) -> None:
    """So that nobody misses a row."""
    assert read(write_book(tmp_path / "ship.xlsx", {"people": rows})) == (BOTH, [], (note,))


@pytest.mark.parametrize(
    ("rows", "codes", "expected"),
    [
        pytest.param([HEADING, IDA, ["3E"], BO], BOTH, [("lone-cell", "people!A3")], id="lone-cell-between-rows"),
        pytest.param([HEADING, IDA, BO, [], ["4E"]], BOTH, [("lone-cell", "people!A5")], id="code-alone-at-the-end"),
        pytest.param(
            [HEADING, IDA, BO, [], [None, "Per and Paal and Espen"]],
            BOTH, [("lone-cell", "people!B5")], id="sentence-where-one-belongs",
        ),
        pytest.param([HEADING, IDA, BO, ["Total", 2]], BOTH,
                     [("missing-value", "people!C4"), ("missing-value", "people!D4")], id="total"),
        pytest.param([HEADING, [*IDA, "see log"], BO], BOTH, [("nameless-column", "people!E2")], id="right-of-the-table"),
        pytest.param(
            [["code", None, "name", "rank", "department"], ["2E", "x", "Ida", "2/E", "engine"]],
            ["2E"], [("nameless-column", "people!B2")], id="in-a-blank-column",
        ),
        pytest.param([IDA, HEADING, BO], ["3E"], [("row-above-heading", "people!A1")], id="row-sorted-above-the-headings"),
        pytest.param([["code", "nam", "rank", "department"], IDA], [],
                     [("unknown-column", "people!B1"), ("missing-column", "1")], id="misspelt-heading"),
        pytest.param([["code", "name", "rank", "department", "Name "], IDA], ["2E"], [("column-twice", "people!E1")], id="twice"),
        pytest.param([["a", "b"], ["c", "d"]], [], [("no-heading", "0")], id="no-heading"),
        pytest.param([HEADING, ["#REF!", "Ida", "2/E", "engine"], BO], ["3E"], [("error-cell", "people!A2")], id="error-first"),
        pytest.param([HEADING, ["2E", "#N/A", "2/E", "engine"], BO], ["3E"], [("error-cell", "people!B2")], id="error-as-text"),
        pytest.param([HEADING, ["2E", "=B3", "2/E", "engine"], BO], ["3E"], [("formula-without-value", "people!B2")], id="formula"),
        pytest.param([HEADING, IDA, [*IDA[:1], *BO[1:]]], ["2E"], [("row-twice", "people!A3")], id="twice-the-same-code"),
        pytest.param([HEADING, ["a;b", None, datetime(2025, 2, 3), "engine"]], [],  # noqa: DTZ001
                     [("not-a-code", "people!A2"), ("missing-value", "people!B2"), ("became-a-date", "people!C2")],
                     id="all-problems-of-a-row"),
    ],
)  # fmt: skip
def test_what_is_not_clear_is_told_by_its_cell(
    tmp_path: Path, rows: list[list[Any]], codes: list[str], expected: list[tuple[str, str]]
) -> None:
    """The other rows are read, and each problem names its cell as a spreadsheet does."""
    found, problems, _ = read(write_book(tmp_path / "ship.xlsx", {"people": rows}))
    assert (found, problems) == (codes, expected)


def test_a_message_names_the_cell_and_the_column(tmp_path: Path) -> None:
    """As people say it aloud."""
    path = write_book(tmp_path / "ship.xlsx", {"People list": [["Crew"], HEADING, ["2E", "Ida", None, "engine"]]})
    _, (problem,) = read_files([path])
    assert str(problem) == f"{path}, 'People list'!C3, column rank: The cell is blank. Write it, such as 2/E."
    assert (problem.file, problem.sheet, problem.cell, problem.row) == (str(path), "People list", "C3", 3)


# --- merged cells ---------------------------------------------------------------------------------------------------


def merge(*areas: str) -> Callable[[Any], None]:
    """Merges these cells of the first sheet."""

    def by_hand(book: Any) -> None:
        for area in areas:
            book.worksheets[0].merge_cells(area)

    return by_hand


@pytest.mark.parametrize(
    ("rows", "areas", "machines", "expected"),
    [
        pytest.param(
            [JOB_HEADING, ["A", "ME", "t", "1 month"], ["B", None, "t", "1 month"], ["C", None, "t", "1 month"]],
            ["B2:B4"], ["ME", "ME", "ME"], [], id="one-value-for-several-rows",
        ),
        pytest.param(
            [JOB_HEADING, ["MAIN ENGINE"], ["A", "ME", "t", "1 month"]],
            ["A2:D2"], ["ME"], [], id="title-across-the-columns",
        ),
        pytest.param(
            [["Planned jobs"], JOB_HEADING, ["A", "ME", "t", "1 month"]],
            ["A1:D1"], ["ME"], [], id="title-above-the-headings",
        ),
        pytest.param(
            [["code", "machine", "title", "interval", "margins", None], [None, None, None, None, "opens", "closes"],
             ["A", "ME", "t", "1 month", "2 days", "3 days"]],
            ["A1:A2", "B1:B2", "C1:C2", "D1:D2", "E1:F1"], ["ME"], [], id="headings-over-two-rows",
        ),
        pytest.param(
            [JOB_HEADING, ["A", "ME", "t", "1 month"], ["B", "ME", "Clean; 1 month", None]],
            ["C3:D3"], ["ME"], [("merged-cell", "jobs!C3"), ("missing-value", "jobs!D3")], id="across-two-columns",
        ),
        pytest.param(
            [JOB_HEADING, ["A", "ME", "t", "1 month"], [None, "ME", "u", "1 month"]],
            ["A2:A3"], ["ME"], [("row-twice", "jobs!A3")], id="one-code-for-two-rows",
        ),
        pytest.param(
            [JOB_HEADING, ["A", "ME", "t", "1 month"], ["B", None, None, "1 month"]],
            ["B2:C3"], [], [("merged-cell", "jobs!B2"), ("missing-value", "jobs!C2"), ("merged-cell", "jobs!B3"),
                            ("missing-value", "jobs!C3")], id="both-ways",
        ),
    ],
)  # fmt: skip
def test_merged_cells(
    tmp_path: Path, rows: list[list[Any]], areas: list[str], machines: list[str], expected: list[tuple[str, str]]
) -> None:
    """Downwards one value stands for all its rows; across, nobody knows which column is meant."""
    bundle, problems = read_files([write_book(tmp_path / "ship.xlsx", {"jobs": rows}, merge(*areas))])
    assert ([job.machine for job in bundle.jobs], told(problems)) == (machines, expected)


@pytest.mark.parametrize(
    ("rows", "areas", "critical", "expected"),
    [
        pytest.param(
            [[*JOB_HEADING, "critical"], ["A", "ME", "t", "1 month", "yes"], ["B", "ME", "t", "1 month"],
             ["C", "ME", "t", "1 month"]],
            ["E1:F1", "E2:F4"], [True, True, True], [], id="one-column-of-them-has-a-name",
        ),
        pytest.param(
            [[*JOB_HEADING, "critical", "class_item"], ["A", "ME", "t", "1 month", "yes"], ["B", "ME", "t", "1 month"],
             ["C", "ME", "t", "1 month"]],
            ["E2:F4"], [], [("merged-cell", f"jobs!E{row}") for row in (2, 3, 4)], id="two-have",
        ),
        pytest.param(
            [[*JOB_HEADING, None, "critical"], ["A", "ME", "t", "1 month", "yes"], ["B", "ME", "t", "1 month"]],
            ["E2:F3"], [False, False], [("nameless-column", f"jobs!E{row}") for row in (2, 3)], id="only-the-second-has",
        ),
    ],
)  # fmt: skip
def test_cells_merged_both_ways(
    tmp_path: Path, rows: list[list[Any]], areas: list[str], critical: list[bool], expected: list[tuple[str, str]]
) -> None:
    """They reach all their rows: read in each where one column is meant, else told in each."""
    bundle, problems = read_files([write_book(tmp_path / "ship.xlsx", {"jobs": rows}, merge(*areas))])
    assert ([job.critical for job in bundle.jobs], told(problems)) == (critical, expected)


@pytest.mark.parametrize("area", ["D2:D1048576", "A4:XFD1048576"])
def test_cells_merged_down_to_the_last_row(tmp_path: Path, area: str) -> None:
    """They make no rows of blank ones, and take no time."""
    path = write_book(tmp_path / "ship.xlsx", {"jobs": [JOB_HEADING, ["A", "ME", "t", "1 month"]]})
    merged = f'</sheetData><mergeCells count="1"><mergeCell ref="{area}"/></mergeCells>'.encode()
    change_part(path, "xl/worksheets/sheet1.xml", lambda content: content.replace(b"</sheetData>", merged))
    bundle, problems = read_files([path])
    assert ([job.machine for job in bundle.jobs], problems) == (["ME"], [])


# --- hidden things --------------------------------------------------------------------------------------------------


def hide(book: Any) -> None:
    """Hides rows, a column and the sheet."""
    sheet = book["people"]
    for row in (2, 3, 5, 900):
        sheet.row_dimensions[row].hidden = True
    sheet.column_dimensions["C"].hidden = True
    sheet.sheet_state = "hidden"
    book.create_sheet("Cover")


def test_hidden_rows_columns_and_sheets_are_read_and_said(tmp_path: Path) -> None:
    """What is hidden may be wanted or not; whoever loads it knows. A hidden blank row is not worth a word."""
    rows = [HEADING, IDA, BO, ["4E", "Eva Moe", "4/E", "deck"], ["5E", "Jo Berg", "4/E", "deck"]]
    path = write_book(tmp_path / "ship.xlsx", {"people": rows}, hide)
    codes, problems, notes = read(path)
    assert (codes, problems) == (["2E", "3E", "4E", "5E"], [])
    assert notes == (
        "sheet people: the sheet is hidden; it is read too.",
        "sheet people: hidden rows are read too: 2 to 3, 5.",
        "sheet people: hidden columns are read too: rank.",
        "sheet Cover: not read, as its name and its headings are not those of an input file.",
    )


# --- which sheets ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "title", ["people", "People", "PEOPLE", " people ", "people-deck", "People 2025", "people (2)"]
)
def test_names_of_sheets(tmp_path: Path, title: str) -> None:
    """Any case; more may follow, as with names of files."""
    assert read(write_book(tmp_path / "ship.xlsx", {title: [HEADING, IDA]}))[:2] == (["2E"], [])


@pytest.mark.parametrize("title", ["last_done", "Last done", "LAST-DONE", "last  done"])
def test_blanks_and_dashes_in_names_of_sheets(tmp_path: Path, title: str) -> None:
    """As in headings."""
    path = write_book(tmp_path / "ship.xlsx", {title: [["job", "done on"], ["A", date(2025, 3, 4)]]})
    bundle, problems = read_files([path])
    assert ([row.done_on for row in bundle.last_done], problems) == ([date(2025, 3, 4)], [])


def test_a_sheet_of_another_name_with_known_headings_is_told(tmp_path: Path) -> None:
    """It is neither read nor passed over in silence."""
    path = write_book(tmp_path / "ship.xlsx", {"people": [HEADING, IDA], "Sheet2": [[], JOB_HEADING, ["A", "ME"]]})
    bundle, (problem,) = read_files([path])
    assert (problem.code, problem.sheet) == ("sheet-name", "Sheet2")
    assert "the headings of jobs" in problem.message
    assert "jobs" in bundle.cut_short


def test_the_only_sheet_of_a_workbook_with_the_name_of_an_input_file_is_read(tmp_path: Path) -> None:
    """As when a CSV file was saved as a workbook."""
    assert read(write_book(tmp_path / "People-2025.xlsx", {"Sheet1": [HEADING, IDA]}))[:2] == (["2E"], [])


def test_a_workbook_without_any_known_sheet_is_told(tmp_path: Path) -> None:
    """With the names that sheets can have; the sheets that were passed over are said."""
    path = write_book(tmp_path / "ship.xlsx", {"a": [["x"]], "machine": [["y"]]})
    bundle, (problem,) = read_files([path])
    assert (problem.code, problem.row) == ("no-sheets", 0)
    assert "people, machines, counters" in problem.hint
    assert "Did you mean 'machines'?" in bundle.notes[1]


@pytest.mark.parametrize(("title", "noted"), [("# how to", False), ("#people", False), ("Cover", True)])
def test_sheets_that_are_passed_over(tmp_path: Path, title: str, noted: bool) -> None:
    """Silently only where its name begins with a hash, as rows do that are not to be read."""
    codes, problems, notes = read(write_book(tmp_path / "ship.xlsx", {"people": [HEADING, IDA], title: [["hello"]]}))
    assert (codes, problems, bool(notes)) == (["2E"], [], noted)


def test_a_blank_sheet_is_said_and_no_problem(tmp_path: Path) -> None:
    """Nobody has parts yet."""
    path = write_book(tmp_path / "ship.xlsx", {"people": [HEADING, IDA], "parts": []})
    assert read(path) == (["2E"], [], ("sheet parts: the sheet is blank.",))


def test_workbooks_and_files_together(tmp_path: Path) -> None:
    """A key may stand in one row only, wherever it stands."""
    (tmp_path / "people.csv").write_text("code,name,rank,department\n2E,Ida,2/E,engine\n", encoding="utf-8")
    write_book(tmp_path / "a.xlsx", {"people": [HEADING, BO]})
    write_book(tmp_path / "b.xlsx", {"people": [HEADING, ["4E", "Eva", "4/E", "deck"], IDA]})
    bundle, (problem,) = read_files([tmp_path])
    assert [person.code for person in bundle.people] == ["3E", "4E", "2E"]
    assert (problem.code, problem.file) == ("row-twice", str(tmp_path / "people.csv"))
    assert f"'2E' stands in {tmp_path / 'b.xlsx'}, sheet people, row 3 already." in problem.message


# --- values ---------------------------------------------------------------------------------------------------------

READING_HEADING = ["counter", "read_on", "time", "value"]


def readings(path: Path) -> tuple[list[tuple[date, time, str]], list[tuple[str, str]]]:
    """Date, time and value of every reading, and the problems."""
    bundle, problems = read_files([path])
    return [(row.read_on, row.time_of_day, row.value) for row in bundle.readings], told(problems)


def test_dates_times_and_numbers_of_a_real_sheet(tmp_path: Path) -> None:
    """However each was entered, it is the same reading."""
    day, morning = date(2025, 6, 1), time(8)
    cells: list[tuple[Any, Any, Any]] = [
        (datetime(2025, 6, 1), time(8), 12345.5),  # noqa: DTZ001
        (45809, "8:00", 12345.5),
        ("2025-06-01", "08:00", "12 345,5"),
        ("1 June 2025", "0800", "12,345.5"),
        ("1 Jun 2025", timedelta(hours=8), "12'345.5"),
        (date(2025, 6, 1), 800, "12\u00a0345.5"),
        (day, morning, "12\u2009345,5"),
        (day, morning, timedelta(hours=12345, minutes=30)),
        (day, morning, "12345:30"),
    ]
    rows = [[f"C{number}", *cell] for number, cell in enumerate(cells)]
    found, problems = readings(write_book(tmp_path / "ship.xlsx", {"readings": [READING_HEADING, *rows]}))
    assert problems == []
    assert {(on, at) for on, at, _ in found} == {(day, morning)}
    assert {value for *_, value in found} == {
        *("12345.5", "12 345,5", "12,345.5", "12'345.5", "12\u00a0345.5", "12\u2009345,5", "12345:30"),
    }  # fmt: skip


@pytest.mark.parametrize(
    ("cell", "code", "place"),
    [
        pytest.param(["C", "03/04/2030", None, 1], "ambiguous-date", "readings!B2", id="date-written-either-way"),
        pytest.param(["C", "3.4.2030", None, 1], "ambiguous-date", "readings!B2", id="date-with-points"),
        pytest.param(["C", "03/04/30", None, 1], "two-digit-year", "readings!B2", id="year-of-two-digits"),
        pytest.param(["C", datetime(2030, 4, 3, 9), None, 1], "date-with-time", "readings!B2", id="date-and-time"),  # noqa: DTZ001
        pytest.param(["C", 2030, None, 1], "not-a-date", "readings!B2", id="year-alone"),
        pytest.param(["C", True, None, 1], "not-a-date", "readings!B2", id="true-for-a-date"),
        pytest.param(["C", 45809, 25, 1], "not-a-time", "readings!C2", id="hour-alone"),
        pytest.param(["C", 45809, None, date(2030, 4, 3)], "date-for-a-count", "readings!D2", id="date-for-a-value"),
        pytest.param([date(2030, 4, 3), 45809, None, 1], "became-a-date", "readings!A2", id="code-made-a-date"),
    ],
)
def test_values_that_may_mean_another_thing(tmp_path: Path, cell: list[Any], code: str, place: str) -> None:
    """Each is told where it stands."""
    path = write_book(tmp_path / "ship.xlsx", {"readings": [READING_HEADING, cell]})
    assert readings(path) == ([], [(code, place)])


def test_a_workbook_that_counts_from_1904(tmp_path: Path) -> None:
    """Its dates and its bare day numbers are four years later than they seem."""

    def by_hand(book: Any) -> None:
        from openpyxl.utils.datetime import CALENDAR_MAC_1904  # noqa: PLC0415

        book.epoch = CALENDAR_MAC_1904

    rows = [READING_HEADING, ["A", date(2025, 3, 4), None, 1], ["B", 44258, None, 1]]
    found, problems = readings(write_book(tmp_path / "ship.xlsx", {"readings": rows}, by_hand))
    assert ([on for on, *_ in found], problems) == ([date(2025, 3, 4)] * 2, [])


# --- as other programs write it -------------------------------------------------------------------------------------

NAMES = "".join(f'<c t="inlineStr"><is><t>{name}</t></is></c>' for name in HEADING)


def cells(*content: str) -> str:
    """Cells without references, each with its attributes and content."""
    return "".join(f"<c {one}</c>" for one in content)


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        pytest.param('t="str"><f>A1</f><v>Ida</v>', ["Ida"], id="saved-text-of-a-formula"),
        pytest.param("><f>1+1</f><v>2</v>", ["2"], id="saved-number-of-a-formula"),
        pytest.param('t="str"><f>A9</f><v></v>', [("missing-value", "people!B2")], id="formula-that-gave-nothing"),
        pytest.param("><f>1+1</f><v/>", [("formula-without-value", "people!B2")], id="no-saved-result"),
        pytest.param("><f>1+1</f>", [("formula-without-value", "people!B2")], id="no-result-at-all"),
        pytest.param('t="e"><f>B9</f><v>#REF!</v>', [("error-cell", "people!B2")], id="error-of-a-formula"),
        pytest.param('t="e"><v>#DIV/0!</v>', [("error-cell", "people!B2")], id="error"),
        pytest.param('t="inlineStr"><is><r><t>Ida </t></r><r><t>Holm</t></r></is>', ["Ida Holm"], id="two-fonts"),
        pytest.param('t="str"><v>Ida_x000D_</v>', ["Ida"], id="carriage-return"),
    ],
)  # fmt: skip
def test_cells_as_programs_save_them(tmp_path: Path, cell: str, expected: list[Any]) -> None:
    """Of formulas the saved results count; where none was saved, it is told."""
    path = write_book(tmp_path / "ship.xlsx", {"people": [HEADING]})
    row = cells('t="str"><v>2E</v>', cell, 't="str"><v>2/E</v>', 't="str"><v>engine</v>')
    put_sheet(path, f'<row r="1">{NAMES}</row><row r="2">{row}</row>')
    bundle, problems = read_files([path])
    assert [*(person.name for person in bundle.people), *told(problems)] == expected


def test_rows_and_cells_without_numbers(tmp_path: Path) -> None:
    """They follow each other."""
    path = write_book(tmp_path / "ship.xlsx", {"people": [HEADING]})
    row = cells(*(f't="str"><v>{text}</v>' for text in IDA))
    put_sheet(path, f"<row>{NAMES}</row><row>{row}</row>")
    assert read(path) == (["2E"], [], ())


def test_prefixes_of_other_programs(tmp_path: Path) -> None:
    """Some name every tag with a prefix."""
    path = write_book(
        tmp_path / "ship.xlsx", {"jobs": [JOB_HEADING, ["A", "ME", "=B2", "1 month"], ["B"]]}, merge("B2:B3")
    )

    def prefix(content: bytes) -> bytes:
        text = content.decode().replace("<", "<x:").replace("<x:/", "</x:").replace("<x:?", "<?")
        return text.replace("xmlns=", "xmlns:x=").encode()

    bundle, problems = read_files([change_part(path, "xl/worksheets/sheet1.xml", prefix)])
    assert told(problems) == [
        ("formula-without-value", "jobs!C2"),
        ("missing-value", "jobs!C3"),
        ("missing-value", "jobs!D3"),
    ]
    assert bundle.unread[1].texts["machine"] == "ME"


def test_a_sheet_with_formats_down_to_its_last_row_ends_where_its_values_do(tmp_path: Path) -> None:
    """Blank rows at the end are not gone through, whatever size the sheet claims to have."""
    path = write_book(tmp_path / "ship.xlsx", {"people": [HEADING, IDA, BO]})

    def claim(content: bytes) -> bytes:
        blank = "".join(f'<row r="{row}" hidden="1"><c r="A{row}" s="0"/></row>' for row in range(4, 3000))
        blank += '<row r="1048576"><c r="XFD1048576" s="0"/></row>'
        content = content.replace(b"</sheetData>", blank.encode() + b"</sheetData>")
        return content.replace(b'<dimension ref="A1:D3"', b'<dimension ref="A1:XFD1048576"')

    assert read(change_part(path, "xl/worksheets/sheet1.xml", claim)) == (BOTH, [], ())


def test_rows_behind_some_blank_ones_are_read(tmp_path: Path) -> None:
    """A gap is no end."""

    def by_hand(book: Any) -> None:
        for at, value in enumerate(BO, 1):
            book["people"].cell(900, at).value = value
        book["people"].cell(1500, 1).fill = PatternFill("solid", start_color="FFFFFF00")

    assert read(write_book(tmp_path / "ship.xlsx", {"people": [HEADING, IDA]}, by_hand)) == (BOTH, [], ())


@pytest.mark.parametrize(
    ("again", "read_below"),
    [
        pytest.param(HEADING, True, id="the-same"),
        pytest.param(["CODE", "Name ", "Rank", "Department *"], True, id="the-same-in-other-letters"),
        pytest.param(HEADING[:3], True, id="fewer-of-them"),
        pytest.param(["Name", "Code", "Rank", "Department"], False, id="in-another-order"),
        pytest.param([None, *HEADING], False, id="one-column-further"),
        pytest.param(["name", "code"], False, id="two-in-another-order"),
        pytest.param(["name", "code", "rank", "department", "Cabin"], False, id="with-one-that-is-not-known"),
    ],
)
@pytest.mark.parametrize("suffix", ["xlsx", "csv"])
def test_headings_once_more(tmp_path: Path, suffix: str, again: list[Any], read_below: bool) -> None:
    """The same ones are passed over and said; below others nothing is read, and rows of that kind may be missing."""
    rows, path = [HEADING, IDA, again, BO], tmp_path / f"people.{suffix}"
    if suffix == "xlsx":
        write_book(path, {"people": rows})
    else:
        path.write_text("".join(",".join(cell or "" for cell in row) + "\n" for row in rows), encoding="utf-8")
    bundle, problems = read_files([path])
    assert [person.code for person in bundle.people] == (BOTH if read_below else ["2E"])
    assert [(one.code, one.row) for one in problems] == ([] if read_below else [("second-heading", 3)])
    assert (len(bundle.notes), bundle.cut_short) == ((1, set()) if read_below else (0, {"people"}))


def test_headings_once_more_with_other_units(tmp_path: Path) -> None:
    """Plain numbers below them mean something else."""
    rows = [
        [*JOB_HEADING[:3], "interval (h)"],
        ["A", "ME", "t", 500],
        [*JOB_HEADING[:3], "interval (months)"],
        ["B", "ME", "t", 6],
    ]
    bundle, problems = read_files([write_book(tmp_path / "ship.xlsx", {"jobs": rows})])
    assert ([job.code for job in bundle.jobs], told(problems)) == (["A"], [("second-heading", "jobs!A3")])


@pytest.mark.parametrize("value", [pytest.param(None, id="value"), pytest.param("=1+1", id="formula-without-result")])
def test_rows_behind_very_many_blank_ones_are_read(tmp_path: Path, value: str | None) -> None:
    """However long the gap is, no row is lost in silence."""

    def by_hand(book: Any) -> None:
        for at, cell in enumerate([*BO[:3], value or BO[3]], 1):
            book["people"].cell(2500, at).value = cell

    expected = (["2E"], [("formula-without-value", "people!D2500")], ()) if value else (BOTH, [], ())
    assert read(write_book(tmp_path / "ship.xlsx", {"people": [HEADING, IDA]}, by_hand)) == expected


def test_rows_that_do_not_read_are_known_all_the_same(tmp_path: Path) -> None:
    """What refers to them is then no second problem: their texts are kept, and the values that did read."""
    rows = [HEADING, ["2E", None, "2/E", "engine"], ["3E"]]
    bundle, _ = read_files([write_book(tmp_path / "ship.xlsx", {"people": rows})])
    assert bundle == Bundle()
    assert [row.texts["code"] for row in bundle.unread] == ["2E", "3E"]
    assert [dict(row.values) for row in bundle.unread] == [{"code": "2E", "rank": "2/E", "department": "engine"}, {}]
