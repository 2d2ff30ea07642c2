"""A list of jobs in an engineer's own words becomes our sheets: what is clear is read, what is not is asked, nothing guessed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workbook_files import Hand, write_book

from pmsched.domain.errors import Refusal
from pmsched.exchange.files_in import read_files
from pmsched.exchange.list_codes import machine_codes, short_code
from pmsched.exchange.list_columns import meaning_of
from pmsched.exchange.list_read import find_lists
from pmsched.exchange.list_sheets import Parts, take_apart
from pmsched.exchange.template_workbook import write_template_workbook

NOW = datetime(2030, 1, 15, 10, 5)  # noqa: DTZ001 - as the ship's clock shows it
HEADING = ["Equipment", "Job description", "Frequency", "Last done", "Running hrs at last done", "Hours now"]


@pytest.mark.parametrize(
    ("headings", "roles", "unit"),
    [
        (["Equipment", "MACHINE", "Equip. name", "Machinery"], ("machine",), ""),
        (["Equip. No.", "Tag", "Machine code"], ("machine_code",), ""),
        (["Job description", "Maintenance task", "Description of work", "Work"], ("title",), ""),
        (["Task", "Job"], ("title", "job"), ""),
        (["Frequency", "Freq.", "Periodicity", "Interval"], ("interval",), ""),
        (["Interval (h)", "Interval hours", "Freq. (hrs)", "Hours interval", "Frequency [R/H]"], ("interval",), "h"),
        (["Interval (months)", "Freq. (mths)"], ("interval",), "months"),
        (["Unit", "Interval type"], ("interval_unit",), ""),
        (["Last done", "Date last done", "Last carried out", "Last overhaul", "Done on"], ("last_on",), ""),
        (["Hours at last done", "R/H at last overhaul", "Last done (hrs)", "Hrs @ last service"], ("last_count",), "h"),
        (["Hour meter", "Hours now", "Current running hours", "Total R/Hrs", "Last reading"], ("count_now",), "h"),
        (["Running hours", "Hrs", "RH"], ("count_now", "last_count"), "h"),
        (["Reading date", "Date of reading", "Read on"], ("read_on",), ""),
        (["Resp.", "Rank", "Assigned to"], ("rank",), ""),
        (["Crit.", "Critical"], ("critical",), ""),
        (["Colour", "Criticality", "System"], (), ""),
    ],
    ids=lambda value: value[0] if isinstance(value, list) else "",
)
def test_headings_in_words_of_the_trade(headings: list[str], roles: tuple[str, ...], unit: str) -> None:
    """Short forms, capitals and marks make no difference; two meanings stay two."""
    for heading in headings:
        meaning = meaning_of(heading)
        assert (meaning.roles, meaning.unit) == (roles, unit), heading


@pytest.mark.parametrize("heading", ["Next due", "Remaining hours", "Status", "No.", "#", "S/N", "Hours since last"])
def test_what_pmsched_works_out_by_itself_is_left(heading: str) -> None:
    """Nobody has to be told that it is not taken over."""
    meaning = meaning_of(heading)
    assert (meaning.roles, meaning.reckoned) == ((), True)


def listed(
    folder: Path, rows: Sequence[Sequence[Any]], by_hand: Hand | None = None, **sheets: Sequence[Sequence[Any]]
) -> Path:
    """A workbook with the list, and other sheets."""
    return write_book(folder / "plan.xlsx", {"Plan": rows, **sheets}, by_hand)


def apart(path: Path, answers: Mapping[str, str] = {}) -> Parts:
    """The sheets that the list in the file becomes."""
    found = find_lists(path)
    assert found is not None
    return take_apart(found, answers, NOW)


def said(parts: Parts, kind: str) -> list[dict[str, str]]:
    """The rows of a sheet, blank cells left out."""
    return [{name: text for name, text in row.items() if text} for row in parts.sheets[kind]]  # type: ignore[index]


def asked(parts: Parts) -> list[str]:
    """What is in doubt."""
    return [doubt.key for doubt, _ in parts.doubts]


ROWS = [
    HEADING,
    ["Feed pump A", "Grease", "500 hrs", datetime(2029, 12, 1), 11200, "11 545,5"],  # noqa: DTZ001
    ["Feed pump A", "Change oil", "2000 h / 12 months", datetime(2029, 6, 1), "10 020 h", None],  # noqa: DTZ001
    ["FEED PUMP A", "Align", "24 months", "never", None, None],
    ["Crane", "Inspect ropes", "3 months", datetime(2029, 12, 20, 14, 30), None, None],  # noqa: DTZ001
]


def test_a_clear_list_needs_no_answer_but_the_day_of_the_readings(tmp_path: Path) -> None:
    """Codes are made, hours read in any writing, a time with a date is kept, 'never' is nothing."""
    path = listed(tmp_path, ROWS)
    assert asked(apart(path)) == ["read-on"]
    parts = apart(path, {"read-on": "14 Jan 2030", "doings-as-readings": "no"})
    assert asked(parts) == []
    assert said(parts, "machines") == [{"code": "FPA", "name": "Feed pump A"}, {"code": "CRANE", "name": "Crane"}]
    assert said(parts, "counters") == [{"code": "FPA-H", "machine": "FPA", "unit": "h", "reads": "tenths"}]
    assert [(job["code"], job["title"], job["interval"]) for job in said(parts, "jobs")] == [
        ("FPA-01", "Grease", "500 h"),
        ("FPA-02", "Change oil", "2000 h or 12 months"),
        ("FPA-03", "Align", "24 months"),
        ("CRANE-01", "Inspect ropes", "3 months"),
    ]
    assert said(parts, "last_done") == [
        {"job": "FPA-01", "done_on": "2029-12-01", "count": "11200 h"},
        {"job": "FPA-02", "done_on": "2029-06-01", "count": "10 020 h"},
        {"job": "CRANE-01", "done_on": "2029-12-20", "time": "14:30"},
    ]
    assert said(parts, "readings") == [{"counter": "FPA-H", "read_on": "2030-01-14", "value": "11 545,5"}]


def test_what_it_becomes_is_read_without_a_problem(tmp_path: Path) -> None:
    """The workbook has our sheets, dates as dates, and says what the list said."""
    parts = apart(listed(tmp_path, ROWS), {"read-on": "2030-01-14", "doings-as-readings": "yes"})
    path = write_template_workbook(tmp_path / "made.xlsx", parts.sheets)
    bundle, problems = read_files([path])
    assert problems == []
    assert (len(bundle.machines), len(bundle.jobs), len(bundle.last_done), len(bundle.readings)) == (2, 4, 3, 3)
    assert find_lists(path) is None


def test_hours_at_last_doings_as_readings(tmp_path: Path) -> None:
    """Only if wanted, oldest first, and only those that go together with the reading of now."""
    rows = [*ROWS, ["Feed pump A", "Clean", "1000 h", "2030-01-01", 11900, None]]
    path = listed(tmp_path, rows)
    found = apart(path, {"read-on": "2030-01-14", "doings-as-readings": "yes"})
    assert [(row["read_on"], row["value"]) for row in said(found, "readings")] == [
        ("2029-06-01", "10 020"),
        ("2029-12-01", "11200"),
        ("2030-01-14", "11 545,5"),
    ]


@pytest.mark.parametrize(
    ("cells", "key", "answer", "expected"),
    [
        (("500 h", "03/04/2029"), "day-or-month", "day", "2029-04-03"),
        (("500 h", "03/04/2029"), "day-or-month", "month", "2029-03-04"),
        (("500 h", "03/04/2029"), "day-or-month", "", "03/04/2029"),
        (("500 h", "25.03.2029"), "day-or-month", "day", "2029-03-25"),
        (("500 h", "25.03.2029"), "day-or-month", "month", "25.03.2029"),
        (("500 h", "3 Mar 29"), "short-years", "yes", "2029-03-03"),
        (("500 h", "3 Mar 29"), "short-years", "", "3 Mar 29"),
        (("500 h", "2029/03/04"), "", "", "2029-03-04"),
        (("500 h", 47_184), "", "", "2029-03-07"),
        (("Monthly", "n/a"), "interval monthly", "1 month", "1 month"),
        (("6 M", "n/a"), "interval 6 m", "6 months", "6 months"),
        (("6 M", "n/a"), "interval 6 m", "", "6 M"),
        (("10,000 hrs", "n/a"), "mark ,", "thousands", "10000 hrs"),
        (("as required", "n/a"), "no-interval as required", "", "as required"),
        (("soon", "n/a"), "", "", "soon"),
    ],
    ids=str,
)  # fmt: skip
def test_what_can_be_read_in_two_ways_is_asked_once(
    tmp_path: Path, cells: tuple[Any, ...], key: str, answer: str, expected: str
) -> None:
    """The answer holds for all cells like it; without one they stay as they are, for the check to tell of."""
    row = ["Pump", "Grease", cells[0], cells[1], None, None]
    path = listed(tmp_path, [HEADING, row, row])
    if key:
        (doubt,) = apart(path).doubts
        assert (doubt[0].key, doubt[1]) == (key, 2)
    parts = apart(path, {key: answer} if key else {})
    assert asked(parts) == []
    column, kind = ("interval", "jobs") if cells[1] == "n/a" else ("done_on", "last_done")
    assert [row[column] for row in said(parts, kind)] == [expected, expected]


def test_a_column_that_can_hold_two_things_is_asked(tmp_path: Path) -> None:
    """'Running hours' alone; beside the hours at the last doing it is the hours now."""
    heading = ["Equipment", "Job", "Frequency", "Last done", "Running hours"]
    path = listed(tmp_path, [heading, ["Pump", "Grease", "500 h", "2029-12-01", 11200]])
    assert asked(apart(path)) == ["column Plan Running hours"]
    then = apart(path, {"column Plan Running hours": "last_count"})
    assert said(then, "last_done")[0]["count"] == "11200 h"
    assert said(then, "readings") == []
    now = apart(path, {"column Plan Running hours": "count_now", "read-on": "2030-01-15"})
    assert said(now, "readings") == [{"counter": "PUMP-H", "read_on": "2030-01-15", "time": "10:05", "value": "11200"}]
    left = apart(path, {"column Plan Running hours": "-"})
    assert said(left, "readings") == []
    assert left.notes == (f"{path}, sheet Plan: columns not taken over: Running hours.",)


def test_headings_in_two_rows_and_merged_cells(tmp_path: Path) -> None:
    """'Last service' over 'Date' and 'Hours', the machine merged over its jobs, a title on top, a note below."""
    rows = [
        ["Plan of the quarry"],
        ["Equipment", "Task", "Interval", None, "Last service", None, "No."],
        [None, None, "Hours", "Months", "Date", "Hours", None],
        ["Crusher", "Grease", 250, None, "2029-12-01", 900, 1],
        [None, "Change oil", 2000, 12, "2029-06-01", 100, 2],
        [],
        ["Read by the foreman"],
    ]

    def merge(book: Any) -> None:
        for area in ("A1:G1", "C2:D2", "E2:F2", "A2:A3", "B2:B3", "A4:A5"):
            book["Plan"].merge_cells(area)

    parts = apart(listed(tmp_path, rows, merge))
    assert asked(parts) == []
    assert [(job["machine"], job["interval"]) for job in said(parts, "jobs")] == [
        (short_code("Crusher"), "250 h"),
        (short_code("Crusher"), "2000 h or 12 months"),
    ]
    assert [row["count"] for row in said(parts, "last_done")] == ["900 h", "100 h"]


BLANKS = [HEADING[:3], ["Pump", "Grease", "1 month"], [None, "Align", "1 year"], ["Crane", "Look", "1 week"]]
TITLES = [["Task", "Interval"], ["PUMP 1"], ["Grease", "1 month"], ["Align", "1 year"], ["CRANE"], ["Look", "1 week"]]


@pytest.mark.parametrize(
    ("rows", "key", "named"),
    [(BLANKS, "blank Plan", ["Pump", "Pump", "Crane"]), (TITLES, "titles Plan", ["PUMP 1", "PUMP 1", "CRANE"])],
    ids=["as-above", "titles"],
)
def test_the_machine_of_a_row_stands_above_it(
    tmp_path: Path, rows: list[list[Any]], key: str, named: list[str]
) -> None:
    """Asked, not guessed: blank cells below a machine, or rows with one cell alone."""
    path = listed(tmp_path, rows)
    assert asked(apart(path)) == [key]
    parts = apart(path, {key: "yes"})
    names = {row["code"]: row["name"] for row in said(parts, "machines")}
    assert [names[job["machine"]] for job in said(parts, "jobs")] == named
    refused = apart(path, {key: ""})
    assert "machine" not in said(refused, "jobs")[1] or rows is TITLES


def test_a_title_between_ends_the_machine_above(tmp_path: Path) -> None:
    """What stands below a title belongs to no machine before it."""
    rows = [*BLANKS[:2], [None, None, None, "DECK"], [None, "Paint", "1 year"]]
    parts = apart(listed(tmp_path, rows))
    assert "machine" not in said(parts, "jobs")[1]


def test_tags_stand_for_machines_and_units_for_intervals(tmp_path: Path) -> None:
    """A sheet of hours is taken too; a code that stands in one row only is the job's."""
    rows = [
        ["Code", "Tag", "Equipment", "Component", "Task", "Frequency", "Unit", "Critical"],
        ["PM1", "P-101A", "Feed pump A", "Coupling", "Grease", 500, "Hours", "Y"],
        ["PM2", "P-101A", "Feed pump A", None, "Overhaul", 24, "Months", None],
        [None, "K-1", "Compressor", None, "Valves", 4000, "hrs", "N"],
    ]
    hours = [
        ["Equipment", "Running hours", "Date"],
        ["feed pump a", 4321, "2030-01-02"],
        ["Compressor", 9, "2030-01-02"],
    ]
    parts = apart(listed(tmp_path, rows, Hours=hours, Contacts=[["Ann", "12"]]))
    assert asked(parts) == []
    assert [row["code"] for row in said(parts, "machines")] == ["P-101A", "K-1"]
    assert said(parts, "jobs") == [
        {"code": "PM1", "machine": "P-101A", "title": "Coupling: Grease", "interval": "500 h", "critical": "yes"},
        {"code": "PM2", "machine": "P-101A", "title": "Overhaul", "interval": "24 months"},
        {"code": "K-1-01", "machine": "K-1", "title": "Valves", "interval": "4000 h", "critical": "no"},
    ]
    assert [(row["counter"], row["value"]) for row in said(parts, "readings")] == [("P-101A-H", "4321"), ("K-1-H", "9")]
    assert [note.rpartition(": ")[2] for note in parts.notes] == ["sheet Contacts is not taken over."]


def test_hours_without_a_date_begin_the_job_if_wanted(tmp_path: Path) -> None:
    """As a start, which is no doing; else the date is missed by the check."""
    path = listed(tmp_path, [HEADING, ["Pump", "Grease", "500 h", None, "9 100", None]])
    assert asked(apart(path)) == ["hours-without-date"]
    parts = apart(path, {"hours-without-date": "yes"})
    assert (said(parts, "jobs")[0]["starts"], said(parts, "last_done")) == ("from 2030-01-15 at 9 100 h", [])
    assert said(apart(path, {"hours-without-date": ""}), "last_done") == [{"job": "PUMP-01", "count": "9 100 h"}]


def test_jobs_without_a_date_may_be_left_out(tmp_path: Path) -> None:
    """Only if the person says so; which they were is said."""
    rows = [HEADING, ["Pump", "Grease", "500 h"], ["Pump", "Clean", "As required"], ["Pump", "Survey", "on condition"]]
    path = listed(tmp_path, rows)
    assert asked(apart(path)) == ["no-interval as required", "no-interval on condition"]
    parts = apart(path, {"no-interval as required": "out", "no-interval on condition": ""})
    assert [(job["code"], job["title"]) for job in said(parts, "jobs")] == [
        ("PUMP-01", "Grease"),
        ("PUMP-02", "Survey"),
    ]
    assert parts.notes == ("left out, as they have no interval: row 3 'Clean'.",)


def test_rows_that_disagree_on_the_hours_give_none(tmp_path: Path) -> None:
    """It is said, and the guide asks for the reading."""
    rows = [HEADING, ["Pump", "A", "500 h", None, None, 9100], ["Pump", "B", "500 h", None, None, 9010]]
    parts = apart(listed(tmp_path, rows), {"read-on": "2030-01-15"})
    assert said(parts, "readings") == []
    assert parts.notes == ("PUMP has different hours, so none is taken over: 9100 (row 2), 9010 (row 3).",)


def test_columns_of_our_own_are_kept(tmp_path: Path) -> None:
    """Whoever has filled in a sheet of jobs loses nothing of it."""
    rows = [
        ["code", "machine", "title", "interval", "units", "starts"],
        ["P-1", "P", "Look", "1 year", "P; S", "due at once"],
    ]
    (job,) = said(apart(listed(tmp_path, rows)), "jobs")
    assert (job["code"], job["units"], job["starts"]) == ("P-1", "P; S", "due at once")


@pytest.mark.parametrize("mark", [",", ";", "\t"], ids=["comma", "semicolon", "tab"])
def test_text_files(tmp_path: Path, mark: str) -> None:
    """A title above the headings does not hide what parts the cells."""
    lines = [["Plan, 2030; rev. 2"], ["Equipment", "Job", "Interval"], ["Pump", "Grease", "1 month"]]
    text = "\n".join(mark.join(f'"{cell}"' for cell in row) for row in lines)
    (tmp_path / "my plan.csv").write_text(text, encoding="utf-8-sig")
    assert [job["title"] for job in said(apart(tmp_path / "my plan.csv"), "jobs")] == ["Grease"]


@pytest.mark.parametrize("name", ["plan.txt", "readings.csv", "people.csv"])
def test_other_files_are_no_lists(tmp_path: Path, name: str) -> None:
    """Input files of our own are read as they are."""
    (tmp_path / name).write_text("Equipment,Job,Interval\nPump,Grease,1 month\n", encoding="utf-8")
    assert find_lists(tmp_path / name) is None


def test_sheets_of_our_own_are_no_list(tmp_path: Path) -> None:
    """Machines with codes and jobs with codes: nothing has to be made of them."""
    machines = [["code", "name"], ["P", "Pump"]]
    jobs = [["code", "machine", "title", "interval"], ["P-1", "P", "Grease", "1 month"]]
    assert find_lists(write_book(tmp_path / "ours.xlsx", {"machines": machines, "jobs": jobs})) is None


def test_a_text_that_is_not_utf_8_is_refused(tmp_path: Path) -> None:
    """With what to do."""
    (tmp_path / "plan.csv").write_bytes("Equipment,Job,Interval\nKühler,x,1 month\n".encode("cp1252"))
    with pytest.raises(Refusal) as refused:
        find_lists(tmp_path / "plan.csv")
    assert refused.value.code == "not-utf-8"


@pytest.mark.parametrize(
    ("text", "code"),
    [("Pump,Grease,1 month\n" * 40, "list-too-long"), ('"' + "x" * 200_000, "quotes")],
    ids=["long", "endless-cell"],
)
def test_no_row_is_lost_in_silence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, text: str, code: str) -> None:
    """What cannot be read whole is refused."""
    monkeypatch.setattr("pmsched.exchange.list_read.MOST_LINES", 30)
    (tmp_path / "plan.csv").write_text(f"Equipment,Job,Interval\n{text}", encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        find_lists(tmp_path / "plan.csv")
    assert refused.value.code == code


@pytest.mark.parametrize(
    ("name", "code"),
    [
        ("Main engine No 1", "ME1"),
        ("Crane", "CRANE"),
        ("Excavator", "EXCA"),
        ("P-101A", "P-101A"),
        ("RAW WATER PUMP A", "RWPA"),
        ("ME turbocharger", "MET"),
        ("Generator 2", "GENE2"),
        ("ЛЕБЁДКА", "ЛЕБЁ"),
        ("- -", "M"),
    ],
)
def test_codes_are_short(name: str, code: str) -> None:
    """Initials and figures, or the beginning of a single word."""
    assert short_code(name) == code


def test_codes_are_told_apart_and_wanted_ones_kept() -> None:
    """No machine gets a code that another one has, or is to have."""
    wanted: Mapping[str, str] = {"Compressor one": "CB"}
    names = ["Cargo boiler", "Cold box", "Compressor one", "Cargo boiler"]
    assert machine_codes(names, wanted) == {"Cargo boiler": "CB-2", "Cold box": "CB-3", "Compressor one": "CB"}


CELLS = st.one_of(
    st.none(),
    st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs")), max_size=12),
    st.sampled_from(["Monthly", "500 h", "03/04/29", "12,345", "never", "as required", "6 M", "x;y", "#N/A", "=1+1"]),
    st.integers(-5, 200_000),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.datetimes(datetime(1950, 1, 1), datetime(2100, 1, 1)),  # noqa: DTZ001
    st.booleans(),
)


@settings(max_examples=40, deadline=None)
@given(st.lists(st.lists(CELLS, max_size=7), max_size=8), st.booleans())
def test_whatever_stands_in_a_list_it_becomes_sheets(
    tmp_path_factory: pytest.TempPathFactory, rows: list[list[Any]], answered: bool
) -> None:
    """With every doubt answered one way or left; the sheets can be written, read, and are the same each time."""
    folder = tmp_path_factory.mktemp("any")
    found = find_lists(write_book(folder / "plan.xlsx", {"Plan": [[*HEADING, "Crit."], *rows]}))
    assert found is not None
    answers: dict[str, str] = {}
    parts = take_apart(found, answers, NOW)
    while parts.doubts:
        answers |= {one.key: one.choices[0][0] if answered and one.choices else "" for one, _ in parts.doubts}
        parts = take_apart(found, answers, NOW)
    assert parts == take_apart(found, answers, NOW)
    bundle, problems = read_files([write_template_workbook(folder / "made.xlsx", parts.sheets)])
    read = len(bundle.jobs) + sum(row.kind == "jobs" for row in bundle.unread)
    assert read == len(parts.sheets["jobs"]) or any(problem.sheet == "jobs" for problem in problems)
