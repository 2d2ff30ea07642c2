"""Input files as people write them: what they give, and that every problem in them is told, not only the first."""

from __future__ import annotations

from datetime import date, time
from fractions import Fraction
from pathlib import Path

import pytest

from pmsched.domain.counts import Meter
from pmsched.domain.periods import Span
from pmsched.domain.problems import Problem
from pmsched.domain.rules import CalendarLimb, CountLimb, Rule, Share
from pmsched.exchange.files_in import read_files
from pmsched.exchange.rows import (
    Bundle,
    CounterRow,
    Follow,
    JobRow,
    LastDoneRow,
    MachineRow,
    PartRow,
    PersonRow,
    ReadingRow,
    Start,
)


def read(folder: Path, name: str, text: str) -> tuple[Bundle, list[Problem]]:
    """Writes one file and reads it."""
    path = folder / name
    path.write_bytes(text.encode())
    return read_files([path])


def places(problems: list[Problem]) -> list[tuple[str, int, str]]:
    """Code, row and column of each problem."""
    return [(problem.code, problem.row, problem.column) for problem in problems]


def test_people(tmp_path: Path) -> None:
    """Departments are lower-cased, names are not."""
    bundle, problems = read(tmp_path, "people.csv", "code,name,rank,department\n2E,Ida Holm,2/E,Engine\n")
    assert not problems
    assert bundle.people == (PersonRow(str(tmp_path / "people.csv"), 2, "2E", "Ida Holm", "2/E", "engine"),)


def test_machines(tmp_path: Path) -> None:
    """Blank cells take their defaults; the order follows the rows."""
    text = (
        "code,name,parent,order,critical,counts_on,other_names\n"
        "ME,Main engine,,,x,ME-H,\n"
        'P1,"Pump, No. 1",ME,,,"ME-H 1/2 from 2024-01-01; P1-S",LO pump; pump A\n'
        "P2,Pump No. 2,ME,5,no,,\n"
    )
    bundle, problems = read(tmp_path, "machines.csv", text)
    file = str(tmp_path / "machines.csv")
    follows = (Follow("ME-H", Fraction(1, 2), date(2024, 1, 1)), Follow("P1-S"))
    assert not problems
    assert bundle.machines == (
        MachineRow(file, 2, "ME", "Main engine", "", 10, True, "engine", (Follow("ME-H"),), ()),
        MachineRow(file, 3, "P1", "Pump, No. 1", "ME", 20, False, "engine", follows, ("LO pump", "pump A")),
        MachineRow(file, 4, "P2", "Pump No. 2", "ME", 5, False, "engine", (), ()),
    )


def test_counters(tmp_path: Path) -> None:
    """The dial is read as fine as its meter; the total starts with the dial unless it is written."""
    text = (
        "code,machine,name,unit,reads,order,dial_start,total_start\n"
        "ME-H,ME,,hours,tenths,,7214.5,107214:15\n"
        "ME-S,ME,Starts,starts,,7,640,\n"
        "AE-H,AE,,h,h:min,,,\n"
    )
    bundle, problems = read(tmp_path, "counters.csv", text)
    file = str(tmp_path / "counters.csv")
    dial, total = 7214 * 3600 + 1800, 107_214 * 3600 + 900
    assert not problems
    assert bundle.counters == (
        CounterRow(file, 2, "ME-H", "ME", "", Meter("h", "tenths"), 10, dial, total),
        CounterRow(file, 3, "ME-S", "ME", "Starts", Meter("starts", "whole"), 7, 640, 640),
        CounterRow(file, 4, "AE-H", "AE", "", Meter("h", "h:min"), 30, 0, 0),
    )


def test_jobs(tmp_path: Path) -> None:
    """Six cells make one rule; lists are parted; a line break inside quotes keeps the row one row."""
    text = (
        "code,machine,title,interval,counts_from,grid_from,tolerance,units,critical,cautions,steps,needs,starts\n"
        'EXV,AE2,Valves,4000 h or 12 months,,,10 %,2,yes,"Lock out\nCool down",Open; close,stopped,due at once\n'
        "FIRE,SHIP,Fire pump test,1 month,grid,2025-01-31,,,,,,,from 2025-01-01 at 1200 h\n"
    )
    bundle, problems = read(tmp_path, "jobs.csv", text)
    file = str(tmp_path / "jobs.csv")
    year, tenth = CalendarLimb(Span(months=12)), (Share(Fraction(1, 10)),)
    valves = Rule((CountLimb(14_400_000, "h"), year), opens=tenth, closes=tenth)
    monthly = Rule((CalendarLimb(Span(months=1)),), "grid", date(2025, 1, 31))
    cautions, steps = ("Lock out", "Cool down"), ("Open", "close")
    begins = Start(date(2025, 1, 1), (("h", 4_320_000),))
    assert not problems
    assert bundle.jobs == (
        JobRow(
            file, 2, "EXV", "AE2", "Valves", valves, ("1", "2"), "engine", "", True, False, cautions, steps, "stopped", Start()
        ),
        JobRow(file, 3, "FIRE", "SHIP", "Fire pump test", monthly, (), "engine", "", False, False, (), (), "", begins),
    )  # fmt: skip


def test_last_done(tmp_path: Path) -> None:
    """A unit of its own; amounts with their units; no time of day stays none."""
    text = (
        "job,unit,done_on,time,count,by,remarks\n"
        "EXV,3,4 Mar 2025,1430,20000 h; 640 starts,Ida Holm,ok\n"
        "FIRE,,2025-03-04,,,,\n"
    )
    bundle, problems = read(tmp_path, "last_done.csv", text)
    file, day, counts = str(tmp_path / "last_done.csv"), date(2025, 3, 4), (("h", 72_000_000), ("starts", 640))
    assert not problems
    assert bundle.last_done == (
        LastDoneRow(file, 2, "EXV", "3", day, time(14, 30), counts, "Ida Holm", "ok"),
        LastDoneRow(file, 3, "FIRE", "", day, None, (), "", ""),
    )


def test_readings(tmp_path: Path) -> None:
    """Noon where no time is written (R9); the value stays text, the counter's meter is not known here."""
    text = "counter,read_on,time,offset,value,note\nME-H,2025-06-01,,,12 345.5,\nME-H,2025-06-01,08:00,UTC-3,1,stiff\n"
    bundle, problems = read(tmp_path, "readings.csv", text)
    file, day = str(tmp_path / "readings.csv"), date(2025, 6, 1)
    assert not problems
    assert bundle.readings == (
        ReadingRow(file, 2, "ME-H", day, time(12), None, "12 345.5", ""),
        ReadingRow(file, 3, "ME-H", day, time(8), -180, "1", "stiff"),
    )


def test_parts(tmp_path: Path) -> None:
    """Hours become seconds; what is not known is None, not nought (case 21)."""
    text = (
        "serial,name,machine,since,hours_since_overhaul,hours_since_new,place\n"
        "R-118,Rotor,AE1-TC,2023-03-05,0,12400,\n"
        "R-121,Rotor,,,,,Store 2\n"
    )
    bundle, problems = read(tmp_path, "parts.csv", text)
    file = str(tmp_path / "parts.csv")
    assert not problems
    assert bundle.parts == (
        PartRow(file, 2, "R-118", "Rotor", "AE1-TC", date(2023, 3, 5), 0, 44_640_000, "", ""),
        PartRow(file, 3, "R-121", "Rotor", "", None, None, None, "Store 2", ""),
    )


MESSY = (
    '# a comment, with "marks, counts as row 1\n'
    "code,machin,title,interval,critical,units,counts_from,grid_from,starts,needs\n"
    "\n"
    'J1,ME,Overhaul,soon,perhaps,"a;a",done,,,\n'
    "J2,ME,,12 months,,,grid,,from 03/04/2025,\n"
    'J3,ME,Clean,"500 h",,,,,,"stop\x07ped"\n'
    "J1,ME,Test,1 month,,,,,,\n"
    "J5,ME,Check,1 month,,,,,,,surplus\n"
)  # fmt: skip


def test_messy_file_tells_all_of_its_problems(tmp_path: Path) -> None:
    """Eleven things are wrong in one small file; each is told once, where a spreadsheet shows it."""
    bundle, problems = read(tmp_path, "jobs.csv", MESSY)
    assert places(problems) == [
        ("unknown-column", 2, "machin"),
        ("missing-column", 2, "machine"),
        ("not-an-interval", 4, "interval"),
        ("not-yes-or-no", 4, "critical"),
        ("unit-twice", 4, "units"),
        ("missing-value", 5, "title"),
        ("ambiguous-date", 5, "starts"),
        ("grid-without-date", 5, "grid_from"),
        ("control-character", 6, "needs"),
        ("row-twice", 7, "code"),
        ("too-many-cells", 8, ""),
    ]
    assert {problem.file for problem in problems} == {str(tmp_path / "jobs.csv")}
    assert all(problem.message and problem.hint for problem in problems)
    assert bundle == Bundle()


def test_problem_says_what_would_be_right(tmp_path: Path) -> None:
    """Near match and list for a heading, both readings for a date, the other row for a repetition."""
    _, problems = read(tmp_path, "jobs.csv", MESSY)
    told = {problem.code: str(problem) for problem in problems}
    assert "Did you mean 'machine'? The columns are: code, machine, title," in told["unknown-column"]
    assert "Write one of: 2025-04-03; 2025-03-04." not in told["ambiguous-date"]
    assert "Write one of: 2025-03-04; 2025-04-03." in told["ambiguous-date"]
    assert "'J1' stands in row 4 already." in told["row-twice"]
    assert "U+0007 stands at position 5" in told["control-character"]
    assert told["too-many-cells"].startswith(
        f"{tmp_path / 'jobs.csv'}, row 8: The row has 11 cells; the heading has 10."
    )


JOB = "code,machine,title,interval,counts_from,grid_from,tolerance,opens,closes\nJ,ME,Test,"
COUNTER = "code,machine,unit,reads,dial_start,total_start\nC,ME,"


@pytest.mark.parametrize(
    ("name", "text", "expected"),
    [
        pytest.param("jobs.csv", f"{JOB}1 month,grid,,,,", [("grid-without-date", "grid_from")], id="grid-without-date"),
        pytest.param("jobs.csv", f"{JOB}1 month,,2025-01-31,,,", [("start-without-grid", "grid_from")], id="no-grid"),
        pytest.param("jobs.csv", f"{JOB}1 month,grid,100 h; 2025-01-31,,,", [("start-of-nothing", "grid_from")], id="mark"),
        pytest.param("jobs.csv", f"{JOB}1 month,,,100 h,,", [("margin-of-nothing", "tolerance")], id="tolerance-of-nothing"),
        pytest.param("jobs.csv", f"{JOB}1 month,,,5 days,,1 day", [("said-twice", "tolerance")], id="margins-twice"),
        pytest.param(
            "jobs.csv",
            f"{JOB}1 month,grid,,,1 year,100 h",
            [("grid-without-date", "grid_from"), ("margin-too-wide", "opens"), ("margin-of-nothing", "closes")],
            id="all-parts-of-a-rule",
        ),
        pytest.param("counters.csv", f"{COUNTER}starts,tenths,,", [("reads-hours-only", "reads")], id="tenths-of-starts"),
        pytest.param(
            "counters.csv",
            f"{COUNTER}h,whole,7214.5,lots",
            [("too-fine", "dial_start"), ("not-a-number", "total_start")],
            id="dial-and-total",
        ),
    ],
)  # fmt: skip
def test_cells_that_cannot_stand_together(
    tmp_path: Path, name: str, text: str, expected: list[tuple[str, str]]
) -> None:
    """Each is told at its own column."""
    bundle, problems = read(tmp_path, name, f"{text}\n")
    assert [(problem.code, problem.column) for problem in problems] == expected
    assert bundle == Bundle()


def test_hints_speak_of_columns(tmp_path: Path) -> None:
    """In a table the first date has a column of its own."""
    _, problems = read(tmp_path, "jobs.csv", f"{JOB}1 month,grid,,,,\n")
    assert problems[0].hint == "Write it in grid_from, such as 2025-01-31."


@pytest.mark.parametrize(
    ("name", "heading", "row", "shown"),
    [
        ("people.csv", "code,name,rank,department", "2E,Ida,2/E,engine", "2E"),
        ("last_done.csv", "job,unit,done_on", "EXV,3,2025-03-04", "EXV 3"),
        ("readings.csv", "counter,read_on,value", "ME-H,2025-06-01,5", "ME-H 2025-06-01 12:00"),
        ("parts.csv", "serial,name", "R-118,Rotor", "R-118"),
    ],
)
def test_a_key_stands_in_one_row(tmp_path: Path, name: str, heading: str, row: str, shown: str) -> None:
    """The later row is told of, with the place of the earlier one; only the earlier one is kept."""
    bundle, problems = read(tmp_path, name, f"{heading}\n{row}\n{row}\n")
    assert [kept.row for kept in getattr(bundle, name.removesuffix(".csv"))] == [2]
    assert [(problem.code, problem.row) for problem in problems] == [("row-twice", 3)]
    assert f"'{shown}' stands in row 2 already." in problems[0].message


def test_readings_at_one_ship_time_differ_by_their_offset(tmp_path: Path) -> None:
    """Eastbound over the date line the ship lives one date twice (case 13b)."""
    text = "counter,read_on,offset,value\nME-H,2025-09-10,UTC+12,60112\nME-H,2025-09-10,UTC-12,60136\n"
    bundle, problems = read(tmp_path, "readings.csv", text)
    assert not problems
    assert [reading.offset_minutes for reading in bundle.readings] == [720, -720]


def test_a_key_stands_in_one_of_several_files(tmp_path: Path) -> None:
    """Files of one kind are one list; the other file is named, and the order of rows runs on."""
    heading = "code,name\n"
    (tmp_path / "machines-deck.csv").write_text(f"{heading}A,Anchor\nB,Boat\n", encoding="utf-8")
    (tmp_path / "Machines-engine.CSV").write_text(f"{heading}C,Cooler\nA,Other\n", encoding="utf-8")
    first, second = tmp_path / "machines-deck.csv", tmp_path / "Machines-engine.CSV"
    bundle, problems = read_files([first, second, tmp_path])
    assert [(machine.code, machine.order) for machine in bundle.machines] == [("A", 10), ("B", 20), ("C", 30)]
    assert [(problem.file, problem.row) for problem in problems] == [(str(second), 3)]
    assert f"'A' stands in {first}, row 2 already." in problems[0].message


def test_problems_of_all_files_are_told(tmp_path: Path) -> None:
    """One faulty file does not hide the next."""
    (tmp_path / "people.csv").write_text("code,name,rank\n2E,Ida,2/E\n", encoding="utf-8")
    (tmp_path / "readings-2025-06.csv").write_text("counter,read_on,value\nME-H,2025-06-31,5\n", encoding="utf-8")
    (tmp_path / "notes.csv").write_text("anything\n", encoding="utf-8")
    _, problems = read_files([tmp_path])
    assert sorted(places(problems)) == [
        ("missing-column", 1, "department"),
        ("no-such-date", 2, "read_on"),
        ("unknown-file", 0, ""),
    ]
