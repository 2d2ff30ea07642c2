"""What is wrong with the files is told, all of it, each with file, row and column; and then nothing is written."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
import registers
from registers import AT, FILES, empty_register, load_texts, make_register
from sqlalchemy import func, select

from pmsched.domain.errors import NotFound, ProblemsFound
from pmsched.domain.problems import Problem
from pmsched.store.register import Register
from pmsched.store.tables import APPEND_ONLY
from pmsched.usecases.load_register import load
from pmsched.usecases.signing import Signer

MACHINES = "code,name,parent,counts_on\nAE1,Engine 1,,\nPMP,Pump,AE1,AE1-H\nVLV,Valve,,\n"
COUNTERS = "code,machine,unit,reads\nAE1-H,AE1,h,tenths\nAE1-S,AE1,starts,\n"
JOBS = "code,machine,title,interval,units,starts\nOIL,AE1,Change oil,500 h or 3 months,,\nEXV,AE1,Valves,1000 h,2,\n"
LAST_DONE = "job,unit,done_on,time,count\nOIL,,2025-05-01,,1000 h\nEXV,1,2025-05-01,,900 h\nEXV,2,2025-05-02,,905 h\n"
READINGS = "counter,read_on,time,offset,value\nAE1-H,2025-05-01,,,1000.5\n"
SOUND = {"machines": MACHINES, "counters": COUNTERS, "jobs": JOBS, "last_done": LAST_DONE, "readings": READINGS}
PART = "serial,name,machine,since\n"

Told = tuple[str, int, str, str]
"""File, row, column and code of a problem."""


@pytest.fixture(scope="module")
def empty(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """A register into which nothing is loaded; problems leave it so."""
    with empty_register(tmp_path_factory.mktemp("empty")) as register:
        yield register


@pytest.fixture(scope="module")
def filled(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """A register with the small vessel."""
    with make_register(tmp_path_factory.mktemp("filled")) as register:
        yield register


def problems(register: Register, folder: Path, files: dict[str, str]) -> tuple[Problem, ...]:
    """The problems that loading raises; nothing must have been written."""
    before = sizes(register)
    with pytest.raises(ProblemsFound) as raised:
        load_texts(register, folder, files)
    assert sizes(register) == before
    return raised.value.problems


def sizes(register: Register) -> dict[str, int]:
    """How many rows every table holds."""
    with register.reading() as connection:
        return {
            name: connection.execute(select(func.count()).select_from(table)).scalar_one()
            for name, table in APPEND_ONLY.items()
        }


def told(found: tuple[Problem, ...]) -> list[Told]:
    """Where the problems are and what they are, in the order given."""
    return [(Path(one.file).name, one.row, one.column, one.code) for one in found]


def test_the_sound_files_have_no_problem(empty: Register, tmp_path: Path) -> None:
    """Otherwise the cases below would prove nothing."""
    assert load_texts(empty, tmp_path, SOUND, check=True).problems == ()


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        pytest.param(
            {"machines": MACHINES.replace("PMP,Pump,AE1", "PMP,Pump,AE7")},
            ("machines.csv", 3, "parent", "unknown-machine"),
            id="unknown-parent",
        ),
        pytest.param(
            {"machines": MACHINES.replace("AE1-H", "AE1-X")},
            ("machines.csv", 3, "counts_on", "unknown-counter"),
            id="unknown-counter-to-count-on",
        ),
        pytest.param(
            {"machines": MACHINES.replace("AE1-H", "AE1-H from 1025-01-01")},
            ("machines.csv", 3, "counts_on", "too-early"),
            id="counts-on-from-a-year-mistyped",
        ),
        pytest.param(
            {"machines": MACHINES.replace("AE1,Engine 1,,", "AE1,Engine 1,PMP,")},
            ("machines.csv", 2, "parent", "parent-ring"),
            id="ring-of-two",
        ),
        pytest.param(
            {"machines": MACHINES.replace("VLV,Valve,,", "VLV,Valve,VLV,")},
            ("machines.csv", 4, "parent", "parent-ring"),
            id="ring-of-one",
        ),
        pytest.param(
            {"machines": f"{MACHINES}vlv,Another valve,,\n"},
            ("machines.csv", 5, "code", "same-but-for-capitals"),
            id="codes-that-differ-in-capitals",
        ),
        pytest.param(
            {"counters": f"{COUNTERS}VLV-H,VLW,h,\n"},
            ("counters.csv", 4, "machine", "unknown-machine"),
            id="machine-of-a-counter",
        ),
        pytest.param(
            {"counters": f"{COUNTERS}AE1-H2,AE1,h,\n"},
            ("machines.csv", 2, "counts_on", "two-counters-of-a-unit"),
            id="two-counters-of-one-unit",
        ),
        pytest.param(
            {
                "machines": MACHINES.replace("AE1-H", "AE1-H from 2025-01-01; VLV-H from 2025-01-01"),
                "counters": f"{COUNTERS}VLV-H,VLV,h,\n",
            },
            ("machines.csv", 3, "counts_on", "two-counters-of-a-unit"),
            id="two-counters-of-one-unit-from-one-date",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,AE9,New job,1 month,,due at once\n"},
            ("jobs.csv", 4, "machine", "unknown-machine"),
            id="machine-of-a-job",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,VLV,New job,100 h,,due at once\n"},
            ("jobs.csv", 4, "interval", "counts-on-nothing"),
            id="interval-in-a-unit-without-counter",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,VLV,New job,1 month,,\n"},
            ("jobs.csv", 4, "starts", "no-last-doing"),
            id="neither-last-done-nor-start",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("EXV,2,2025-05-02,,905 h\n", "")},
            ("jobs.csv", 3, "starts", "no-last-doing"),
            id="one-unit-without-last-done",
        ),
        pytest.param(
            {"jobs": JOBS.replace("3 months,,", "3 months,,due at once")},
            ("jobs.csv", 2, "starts", "start-of-done-job"),
            id="done-and-never-done-at-once",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,VLV,New job,1 month,,from 2025-07-02\n"},
            ("jobs.csv", 4, "starts", "in-future"),
            id="start-ahead",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,VLV,New job,1 month,,from 0205-07-02\n"},
            ("jobs.csv", 4, "starts", "too-early"),
            id="start-in-a-year-mistyped",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,AE1,New job,100 h,,from 2024-07-02\n"},
            ("jobs.csv", 4, "starts", "no-total"),
            id="start-without-total-before-the-first-reading",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,VLV,New job,1 month,,from 2025-01-01 at 10 h\n"},
            ("jobs.csv", 4, "starts", "counts-on-nothing"),
            id="start-at-a-total-of-no-counter",
        ),
        pytest.param(
            {"last_done": f"{LAST_DONE}OLI,,2025-05-01,,\n"},
            ("last_done.csv", 5, "job", "unknown-job"),
            id="last-done-of-unknown-job",
        ),
        pytest.param(
            {"last_done": f"{LAST_DONE}EXV,3,2025-05-01,,10 h\n"},
            ("last_done.csv", 5, "unit", "unknown-unit"),
            id="last-done-of-unknown-unit",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("OIL,,", "OIL,1,")},
            ("last_done.csv", 2, "unit", "unknown-unit"),
            id="unit-of-a-job-without-units",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("OIL,,2025-05-01", "OIL,,2025-07-02")},
            ("last_done.csv", 2, "done_on", "in-future"),
            id="done-tomorrow",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("OIL,,2025-05-01,", "OIL,,2025-07-01,20:01")},
            ("last_done.csv", 2, "time", "in-future"),
            id="done-in-a-minute",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("OIL,,2025-05-01", "OIL,,1025-05-01")},
            ("last_done.csv", 2, "done_on", "too-early"),
            id="done-in-a-year-mistyped",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("1000 h", "1000 h; 5 cycles")},
            ("last_done.csv", 2, "count", "counts-on-nothing"),
            id="total-of-a-unit-not-counted",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("1000 h", ""), "readings": "counter,read_on,value\n"},
            ("last_done.csv", 2, "count", "no-total"),
            id="no-total-and-no-reading",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("OIL,,2025-05-01,,1000 h", "OIL,,2025-04-30,,")},
            ("last_done.csv", 2, "count", "no-total"),
            id="no-total-and-the-first-reading-is-later",
        ),
        pytest.param(
            {"readings": f"{READINGS}AE2-H,2025-05-01,,,5\n"},
            ("readings.csv", 3, "counter", "unknown-counter"),
            id="reading-of-unknown-counter",
        ),
        pytest.param(
            {"readings": f"{READINGS}AE1-H,2025-05-02,,,1000.55\n"},
            ("readings.csv", 3, "value", "too-fine"),
            id="value-finer-than-the-dial",
        ),
        pytest.param(
            {"readings": f"{READINGS}AE1-S,2025-05-02,,,1.000\n"},
            ("readings.csv", 3, "value", "ambiguous-number"),
            id="value-that-reads-in-two-ways",
        ),
        pytest.param(
            {"readings": f"{READINGS}AE1-H,2025-07-01,20:01,,1001\n"},
            ("readings.csv", 3, "read_on", "in-future"),
            id="reading-in-a-minute",
        ),
        pytest.param(
            {"readings": f"{READINGS}AE1-H,2025-07-01,20:00,UTC-1,1001\n"},
            ("readings.csv", 3, "read_on", "in-future"),
            id="reading-ahead-by-its-own-offset",
        ),
        pytest.param(
            {"readings": f"{READINGS}AE1-H,0225-05-02,,,1001\n"},
            ("readings.csv", 3, "read_on", "too-early"),
            id="reading-in-a-year-mistyped",
        ),
        pytest.param(
            {"parts": f"{PART}R-1,Rotor,AE9,2025-01-01\n"},
            ("parts.csv", 2, "machine", "unknown-machine"),
            id="machine-of-a-part",
        ),
        pytest.param(
            {"parts": f"{PART}R-1,Rotor,AE1,2025-08-01\n"},
            ("parts.csv", 2, "since", "in-future"),
            id="part-fitted-tomorrow",
        ),
        pytest.param(
            {"parts": f"{PART}R-1,Rotor,AE1,1825-08-01\n"},
            ("parts.csv", 2, "since", "too-early"),
            id="part-fitted-in-a-year-mistyped",
        ),
    ],
)
def test_one_slip_is_one_problem(empty: Register, tmp_path: Path, changed: dict[str, str], expected: Told) -> None:
    """Every slip is told once, at its place, and writes nothing."""
    found = problems(empty, tmp_path, SOUND | changed)
    assert told(found) == [expected]
    assert found[0].message
    assert found[0].hint


@pytest.mark.parametrize(
    ("changed", "message", "hint"),
    [
        pytest.param(
            {"machines": MACHINES.replace("PMP,Pump,AE1", "PMP,Pump,AE7")},
            "There is no machine AE7.",
            "Did you mean AE1? Add it to machines, or correct the code.",
            id="near-name",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,VLV,New job,100 h,,due at once\n"},
            "Machine VLV counts on no h counter.",
            "Give it counts_on in machines.",
            id="no-counter",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("EXV,2,2025-05-02,,905 h\n", "")},
            "EXV, unit 2, has no last doing and no start.",
            "Name its last doing in last_done, or write in starts where it begins: 'from 2025-01-01', "
            "'from 2025-01-01 at 1200 h' or 'due at once'.",
            id="both-ways",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("OIL,,2025-05-01,,1000 h", "OIL,,2025-04-30,,")},
            "OIL counts h, and the first reading of AE1-H is of 2025-05-01, after that.",
            "Write the total at the doing, such as 1200 h.",
            id="first-reading-later",
        ),
        pytest.param(
            {"last_done": f"{LAST_DONE}EXV,3,2025-05-01,,10 h\n"},
            "EXV has no unit 3; its units are 1, 2.",
            "Write one of them, or leave unit blank for all of them.",
            id="units-that-are-there",
        ),
        pytest.param(
            {"machines": MACHINES.replace("AE1,Engine 1,,", "AE1,Engine 1,PMP,")},
            "The machines belong to each other in a ring: AE1 -> PMP -> AE1.",
            "Leave parent blank for the one at the top.",
            id="ring",
        ),
    ],
)
def test_the_words_say_what_is_wrong_and_what_would_be_right(
    empty: Register, tmp_path: Path, changed: dict[str, str], message: str, hint: str
) -> None:
    """A person can act on a problem without looking anything up."""
    (found,) = problems(empty, tmp_path, SOUND | changed)
    assert (found.message, found.hint) == (message, hint)


def test_problems_of_all_files_are_told_at_once(empty: Register, tmp_path: Path) -> None:
    """Cells that do not read and rows that do not fit come in one list, by file and row."""
    files = SOUND | {
        "jobs": f"{JOBS}NEW,AE9,New job,1 month,,due at once\nBAD,VLV,Bad job,sometimes,,due at once\n",
        "last_done": f"{LAST_DONE}OLI,,2025-05-01,,\n",
        "readings": f"{READINGS}AE1-H,2025-05-02,,,x\nAE2-H,2025-05-03,,,5\n",
    }
    assert told(problems(empty, tmp_path, files)) == [
        ("jobs.csv", 4, "machine", "unknown-machine"),
        ("jobs.csv", 5, "interval", "not-an-interval"),
        ("last_done.csv", 5, "job", "unknown-job"),
        ("readings.csv", 3, "value", "not-a-number"),
        ("readings.csv", 4, "counter", "unknown-counter"),
    ]


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        pytest.param(
            {
                "machines": MACHINES.replace("code,name,parent", "code,name,critical,parent")
                .replace("AE1,Engine 1,", "AE1,Engine 1,maybe,")
                .replace("PMP,Pump,", "PMP,Pump,,")
                .replace("VLV,Valve,", "VLV,Valve,,")
            },
            [("machines.csv", 2, "critical", "not-yes-or-no")],
            id="machine",
        ),
        pytest.param(
            {"counters": COUNTERS.replace("h,tenths", "h,roughly")},
            [("counters.csv", 2, "reads", "not-a-choice")],
            id="counter",
        ),
        pytest.param(
            {"jobs": JOBS.replace("500 h or 3 months", "often")},
            [("jobs.csv", 2, "interval", "not-an-interval")],
            id="job",
        ),
        pytest.param(
            {"last_done": LAST_DONE.replace("OIL,,2025-05-01", "OIL,,01/05/2025")},
            [("last_done.csv", 2, "done_on", "ambiguous-date")],
            id="last-done",
        ),
        pytest.param(
            {"readings": READINGS.replace("2025-05-01", "31/04/2025"), "last_done": LAST_DONE.replace("1000 h", "")},
            [("readings.csv", 2, "read_on", "no-such-date")],
            id="reading",
        ),
        pytest.param(
            {"machines": MACHINES.replace("name", "nmae", 1)},
            [("machines.csv", 1, "nmae", "unknown-column"), ("machines.csv", 1, "name", "missing-column")],
            id="whole-file",
        ),
    ],
)
def test_what_names_a_row_that_did_not_read_is_no_second_problem(
    empty: Register, tmp_path: Path, changed: dict[str, str], expected: list[Told]
) -> None:
    """One slip in one cell is not told a hundred times by the rows that refer to it."""
    assert told(problems(empty, tmp_path, SOUND | changed)) == expected


@pytest.mark.parametrize(
    ("changed", "expected"),
    [
        pytest.param(
            {"machines": "code,name,parent,critical,counts_on\nAE1,Engine 1,,,\nPMP,Pump,AE7,maybe,AE1-X\nVLV,Valve,,,\n"},
            [("critical", "not-yes-or-no"), ("parent", "unknown-machine"), ("counts_on", "unknown-counter")],
            id="machine",
        ),
        pytest.param(
            {"counters": f"{COUNTERS}X,VLW,h,roughly\n"},
            [("reads", "not-a-choice"), ("machine", "unknown-machine")],
            id="counter",
        ),
        pytest.param(
            {"jobs": f"{JOBS}NEW,VLW,New job,often,,from 2035-01-01\n"},
            [("interval", "not-an-interval"), ("machine", "unknown-machine"), ("starts", "in-future")],
            id="job",
        ),
        pytest.param(
            {"last_done": f"{LAST_DONE}OLI,,2035-05-01,noon,\nEXV,,1025-05-01,noon,\n"},
            [("time", "not-a-time"), ("job", "unknown-job"), ("done_on", "in-future"),
             ("time", "not-a-time"), ("done_on", "too-early")],
            id="last-done",
        ),
        pytest.param(
            {"readings": f"{READINGS}AE1-H,2035-05-01,noon,,12.34\nAE9-H,2025-05-01,noon,,5\n"},
            [("time", "not-a-time"), ("read_on", "in-future"), ("value", "too-fine"),
             ("time", "not-a-time"), ("counter", "unknown-counter")],
            id="reading",
        ),
        pytest.param(
            {"parts": f"{PART[:-1]},hours_since_new\nR-1,Rotor,AE9,2035-01-01,lots\n"},
            [("hours_since_new", "not-a-number"), ("machine", "unknown-machine"), ("since", "in-future")],
            id="part",
        ),
    ],
)  # fmt: skip
def test_a_row_that_did_not_read_is_told_all_of_its_problems(
    empty: Register, tmp_path: Path, changed: dict[str, str], expected: list[tuple[str, str]]
) -> None:
    """Not only those of the cell that did not read: nobody wants to find the next one at the next try."""
    assert [(column, code) for _, _, column, code in told(problems(empty, tmp_path, SOUND | changed))] == expected


def test_a_misnamed_file_is_told_once(empty: Register, tmp_path: Path) -> None:
    """Everything that stands in it would be unknown otherwise."""
    files = {("machine" if name == "machines" else name): text for name, text in SOUND.items()}
    assert told(problems(empty, tmp_path, files)) == [("machine.csv", 0, "", "unknown-file")]


@pytest.mark.parametrize(
    ("files", "expected"),
    [
        pytest.param(
            {"counters": registers.COUNTERS.replace("AE1-H,AE1", "AE1-H,STG")},
            ("counters.csv", 2, "machine", "fixed-for-life"),
            id="machine-of-a-counter",
        ),
        pytest.param(
            {"counters": registers.COUNTERS.replace("starts,,", "cycles,,")},
            ("counters.csv", 3, "unit", "fixed-for-life"),
            id="unit-of-a-counter",
        ),
        pytest.param(
            {"jobs": registers.JOBS.replace("STG-TST,STG", "STG-TST,AE")},
            ("jobs.csv", 5, "machine", "fixed-for-life"),
            id="machine-of-a-job",
        ),
        pytest.param(
            {"counters": "code,machine,unit\nAE1-H2,AE1,starts\nAE1-H3,STG,h\nAE1-H4,STG,h\n"},
            ("counters.csv", 3, "machine", "two-counters-of-a-unit"),
            id="two-new-counters-of-a-machine",
        ),
        pytest.param(
            {"machines": registers.MACHINES.replace("AE1,,,,AE1-H,", "AE1,,,,,")},
            ("machines.csv", 4, "counts_on", "counts-on-nothing"),
            id="counter-taken-from-a-machine-with-jobs",
        ),
    ],
)
def test_what_does_not_fit_the_register(
    filled: Register, tmp_path: Path, files: dict[str, str], expected: Told
) -> None:
    """Files are checked against what was loaded or entered before."""
    assert expected in told(problems(filled, tmp_path, files))


def test_codes_of_the_register_are_known_in_any_case(filled: Register, tmp_path: Path) -> None:
    """A file may name what another file brought earlier, with capitals or without."""
    files = {"jobs": "code,machine,title,interval,starts\nNEW,ae1,New job,100 h,from 2025-06-01\n"}
    result = load_texts(filled, tmp_path, files, check=True)
    assert (result.problems, result.added) == ((), {"jobs": 1})


def test_a_check_gives_the_problems_and_raises_nothing(empty: Register, tmp_path: Path) -> None:
    """``load --check`` is a question."""
    result = load_texts(empty, tmp_path, {"machines": "code,name,parent\nA,A,B\n"}, check=True)
    assert told(result.problems) == [("machines.csv", 2, "parent", "unknown-machine")]
    assert (result.receipt, result.added) == (None, {})


def test_one_bad_row_keeps_everything_out(empty: Register, tmp_path: Path) -> None:
    """All or nothing: a hundred good rows do not come in beside a bad one."""
    rows = "".join(f"M{n},Machine {n},\n" for n in range(100))
    found = problems(empty, tmp_path, {"machines": f"code,name,parent\n{rows}LAST,Last,NONE\n"})
    assert told(found) == [("machines.csv", 102, "parent", "unknown-machine")]


def test_only_people_on_the_books_load(empty: Register, tmp_path: Path) -> None:
    """The signer must be known before the load; the file of people does not make one."""
    with pytest.raises(NotFound, match="2E"):
        load_texts(empty, tmp_path, FILES, Signer("2E", AT))


def test_a_path_that_is_not_there(empty: Register, tmp_path: Path) -> None:
    """A mistyped path is a problem like any other."""
    with pytest.raises(ProblemsFound) as raised:
        load(empty, [tmp_path / "machines.csv"], Signer("CE", AT))
    assert [one.code for one in raised.value.problems] == ["no-such-file"]
