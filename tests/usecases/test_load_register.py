"""What a load writes: definitions, readings, last doings, starts and parts, in one signed entry."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
import registers
from registers import AT, FILES, empty_register, load_texts, make_register
from sqlalchemy import Table, select

from pmsched.domain.aims import DoingKind
from pmsched.store.live import EVERYTHING, View
from pmsched.store.loaded_facts import identities, live_rows
from pmsched.store.lookups import counters, jobs, machines, people
from pmsched.store.register import Register
from pmsched.store.tables import (
    ALIAS,
    CLOSING,
    CLOSING_COUNT,
    COUNTER,
    COUNTS_ON,
    ENTRY,
    JOB,
    JOB_UNIT,
    MACHINE,
    METER_PERIOD,
    PART,
    PART_MOVE,
    PART_REVISION,
    READING,
    REPORT,
)
from pmsched.usecases.ask_due import DueFilter, due_list, why
from pmsched.usecases.load_register import load
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

HOUR = 3600
EVERY = View(EVERYTHING, EVERYTHING, date.max)
BEGINNING = date(1900, 1, 1)


@pytest.fixture(scope="module")
def register(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """The small vessel, loaded; these tests only look."""
    with make_register(tmp_path_factory.mktemp("loaded")) as opened:
        yield opened


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Register]:
    """A register into which nothing is loaded yet."""
    with empty_register(tmp_path) as opened:
        yield opened


def instant(*when: int) -> int:
    """UTC epoch seconds of a date and time."""
    return int(datetime(*when, tzinfo=UTC).timestamp())  # type: ignore[arg-type, misc] # year, month, day, hour ...


def rows(register: Register, table: Table) -> list[Any]:
    """The live rows of a kind of fact."""
    with register.reading() as connection:
        return list(live_rows(connection, table))


def codes(register: Register, table: Table) -> dict[int, str]:
    """Codes by id."""
    with register.reading() as connection:
        return {row.id: row.code for row in identities(connection, table)}


def closings(register: Register, job: str) -> dict[str, Any]:
    """The live closings of a job by unit."""
    names = codes(register, JOB)
    return {row.unit: row for row in rows(register, CLOSING) if names[row.job_id] == job}


def totals(register: Register, closing: Any) -> dict[str, tuple[int, str]]:
    """The totals kept with a closing: amount and basis by unit of counter."""
    found = (row for row in rows(register, CLOSING_COUNT) if row.closing_id == closing.fact_id)
    return {row.unit: (row.total, row.basis) for row in found}


def test_people(register: Register) -> None:
    """Everybody in the file is on the books; the first person, set up before, is there once."""
    with register.reading() as connection:
        found = [(one.code, one.name, one.rank, one.department, one.active) for one in people(connection, EVERY)]
    assert found == [
        ("CE", "A. Ardmore", "Chief engineer", "engine", True),
        ("2E", "B. Bødal", "Second engineer", "engine", True),
    ]


def test_machines(register: Register) -> None:
    """The tree, the walk and the defaults of blank cells; all of it holds from the beginning."""
    with register.reading() as connection:
        found = list(machines(connection, View(EVERYTHING, AT, BEGINNING)))
    names = codes(register, MACHINE)
    assert [(m.code, names.get(m.parent_id), m.walking_order, m.critical, m.department) for m in found] == [
        ("AE", None, 10, False, "engine"),
        ("AE1", "AE", 20, True, "engine"),
        ("AE1-LOP", "AE1", 30, False, "engine"),
        ("STG", None, 40, True, "engine"),
    ]
    assert [row.name for row in rows(register, ALIAS)] == ["No. 1 generator", "G1"]


def test_a_parent_may_stand_below_its_child(empty: Register, tmp_path: Path) -> None:
    """The order of rows is the walk, not the tree."""
    load_texts(empty, tmp_path / "files", {"machines": "code,name,parent\nB,Child,A\nA,Parent,\n"})
    with empty.reading() as connection:
        child, parent = machines(connection, EVERY)
        assert child.parent_id == parent.id


def test_counters(register: Register) -> None:
    """A blank name is the machine's, and the running total begins where the file says."""
    with register.reading() as connection:
        found = [(c.code, c.name, c.unit, c.reads) for c in counters(connection, EVERY)]
    assert found == [
        ("AE1-H", "Auxiliary engine 1", "h", "whole"),
        ("AE1-S", "Starts of auxiliary engine 1", "starts", "whole"),
    ]


def test_dial_and_total_may_begin_apart(empty: Register, tmp_path: Path) -> None:
    """A dial of 214.5 h at a total of 100 214.5 h: what the dial shows is turned into the total from then on."""
    files = {
        "machines": "code,name\nM,M\n",
        "counters": "code,machine,unit,reads,dial_start,total_start\nM-H,M,h,tenths,214.5,100214.5\n",
    }
    load_texts(empty, tmp_path / "files", files)
    (period,) = rows(empty, METER_PERIOD)
    assert (period.start, period.dial_start, period.base) == (0, 772_200, 360_772_200)
    assert (period.factor_num, period.factor_den) == (1, 1)


def test_a_machine_counts_on_the_counters_it_carries(register: Register) -> None:
    """Its own are implied; others are named."""
    machine_names, counter_names = codes(register, MACHINE), codes(register, COUNTER)
    found = {
        (machine_names[row.machine_id], counter_names[row.counter_id], row.from_on, row.share_num, row.share_den)
        for row in rows(register, COUNTS_ON)
    }
    assert found == {
        ("AE1", "AE1-H", BEGINNING, 1, 1),
        ("AE1", "AE1-S", BEGINNING, 1, 1),
        ("AE1-LOP", "AE1-H", BEGINNING, 1, 1),
    }


@pytest.mark.parametrize(
    ("counts_on", "expected"),
    [
        pytest.param("", [("P-H", BEGINNING, 1, 1)], id="implied"),
        pytest.param("M-H", [("M-H", BEGINNING, 1, 1)], id="another-of-the-unit-takes-its-place"),
        pytest.param("M-H 1/6", [("M-H", BEGINNING, 1, 6)], id="share"),
        pytest.param("p-h 50 %", [("P-H", BEGINNING, 1, 2)], id="share-of-its-own"),
        pytest.param(
            "M-H; P-H from 2025-03-01",
            [("M-H", BEGINNING, 1, 1), ("P-H", date(2025, 3, 1), 1, 1)],
            id="one-after-the-other",
        ),
        pytest.param(
            "M-S 1/2 from 2025-03-01",
            [("M-S", date(2025, 3, 1), 1, 2), ("P-H", BEGINNING, 1, 1)],
            id="another-unit-beside-its-own",
        ),
    ],
)
def test_what_a_machine_counts_on(
    empty: Register, tmp_path: Path, counts_on: str, expected: list[tuple[str, date, int, int]]
) -> None:
    """Shares and dates are kept as written; its own counter is implied unless the row names one of that unit."""
    files = {
        "machines": f"code,name,counts_on\nM,M,\nP,P,{counts_on}\n",
        "counters": "code,machine,unit\nM-H,M,h\nM-S,M,starts\nP-H,P,h\n",
    }
    for _ in range(2):
        load_texts(empty, tmp_path / "files", files)
        names, machine_names = codes(empty, COUNTER), codes(empty, MACHINE)
        found = [
            (names[row.counter_id], row.from_on, row.share_num, row.share_den)
            for row in rows(empty, COUNTS_ON)
            if machine_names[row.machine_id] == "P"
        ]
        assert sorted(found) == sorted(expected)


def test_a_counter_loaded_later_is_counted_on(empty: Register, tmp_path: Path) -> None:
    """The machine need not be named again, and no reason is asked: nothing about it changes."""
    load_texts(empty, tmp_path / "files", {"machines": "code,name\nM,M\n"})
    result = load_texts(empty, tmp_path / "files", {"counters": "code,machine,unit\nM-H,M,h\n"})
    assert (result.added, result.revised) == ({"counters": 1}, ())
    assert [row.from_on for row in rows(empty, COUNTS_ON)] == [BEGINNING]


def test_a_second_counter_of_a_unit_leaves_the_first_in_place(empty: Register, tmp_path: Path) -> None:
    """A machine that counts on one goes on counting on it, whether or not its row is loaded again."""
    machine, heading = {"machines": "code,name\nM,M\n"}, "code,machine,unit\n"
    load_texts(empty, tmp_path / "files", machine | {"counters": f"{heading}M-H,M,h\n"})
    for files in ({}, machine):
        result = load_texts(empty, tmp_path / "files", files | {"counters": f"{heading}M-H,M,h\nM-H2,M,h\n"})
        assert result.revised == ()
        assert [codes(empty, COUNTER)[row.counter_id] for row in rows(empty, COUNTS_ON)] == ["M-H"]


def test_jobs(register: Register) -> None:
    """Rules are kept in their one written form, cautions and steps a line each."""
    with register.reading() as connection:
        found = {job.code: job for job in jobs(connection, View(EVERYTHING, AT, BEGINNING))}
    assert {code: job.rule for code, job in found.items()} == {
        "AE1-OIL": "500 h or 3 months",
        "AE1-EXV": "8000 h",
        "LOP-BRG": "4000 h",
        "STG-TST": "3 months; on the grid from 2025-01-31",
    }
    oil = found["AE1-OIL"]
    assert (oil.title, oil.department, oil.critical, oil.active) == ("Change the lube oil", "engine", False, True)
    assert (oil.cautions, oil.steps) == ("Hot oil", "Stop the engine\ndrain\nfill")
    units = {job: [row.unit for row in rows(register, JOB_UNIT) if row.job_id == one.id] for job, one in found.items()}
    assert units == {"AE1-OIL": [""], "AE1-EXV": ["1", "2", "3"], "LOP-BRG": [""], "STG-TST": [""]}


def test_a_last_doing_is_a_report_that_closes_the_job(register: Register) -> None:
    """With who did it, and noon where no time is written (R15)."""
    reports = {row.remarks: row for row in rows(register, REPORT)}
    oil = reports["filter clean"]
    assert (oil.outcome, oil.done_on, oil.done_at, oil.time_stated, oil.done_by, oil.condition) == (
        "done", date(2025, 5, 15), instant(2025, 5, 15, 12), False, "B. Bødal", None
    )  # fmt: skip
    valves = reports[None]
    assert (valves.done_at, valves.time_stated, valves.done_by) == (
        instant(2024, 11, 20, 14, 30), True, "before this register"
    )  # fmt: skip
    closed = closings(register, "AE1-EXV")
    assert closed.keys() == {"1", "2", "3"}
    assert {(row.report_id, row.done_on, row.done_at) for row in closed.values()} == {
        (valves.fact_id, date(2024, 11, 20), valves.done_at)
    }
    assert totals(register, closed["2"]) == {"h": (10_000 * HOUR, "typed")}


def test_a_total_not_written_is_read_off_the_readings_of_the_same_load(register: Register) -> None:
    """12 000 h on 1 May and 12 310 h on 1 June, 10 h a day: 12 140 h on 15 May, kept with both readings."""
    (closing,) = closings(register, "AE1-OIL").values()
    counts = [row for row in rows(register, CLOSING_COUNT) if row.closing_id == closing.fact_id]
    assert [(row.unit, row.total, row.basis) for row in counts] == [("h", 12_140 * HOUR, "between")]
    dials = {row.fact_id: row.dial for row in rows(register, READING)}
    assert (dials[counts[0].reading_1], dials[counts[0].reading_2]) == (12_000 * HOUR, 12_310 * HOUR)


def test_the_machines_other_totals_are_kept_beside_a_typed_one(empty: Register, tmp_path: Path) -> None:
    """A rule may count them later on; before the first reading of a counter nothing shows its total."""
    files = {
        "machines": "code,name\nM,M\n",
        "counters": "code,machine,unit\nM-H,M,h\nM-S,M,starts\nM-C,M,cycles\n",
        "jobs": "code,machine,title,interval\nJ,M,J,100 h\n",
        "last_done": "job,done_on,count\nJ,2025-06-01,50 h\n",
        "readings": "counter,read_on,value\nM-S,2025-06-01,7\nM-C,2025-06-02,9\n",
    }
    load_texts(empty, tmp_path / "files", files)
    assert totals(empty, closings(empty, "J")[""]) == {"h": (50 * HOUR, "typed"), "starts": (7, "reading")}


def test_a_row_of_a_unit_speaks_before_the_row_of_the_whole_job(empty: Register, tmp_path: Path) -> None:
    """Four cylinders done together, one of them again later."""
    files = {
        "machines": "code,name\nM,M\n",
        "jobs": "code,machine,title,interval,units\nJ,M,J,1 month,4\n",
        "last_done": "job,unit,done_on\nJ,2,2025-06-20\nJ,,2025-06-01\n",
    }
    load_texts(empty, tmp_path / "files", files)
    days = {unit: row.done_on.day for unit, row in closings(empty, "J").items()}
    assert days == {"1": 1, "2": 20, "3": 1, "4": 1}
    assert len(rows(empty, REPORT)) == 2


def test_work_of_today_without_a_time_is_done_by_now(empty: Register, tmp_path: Path) -> None:
    """At eight in the morning noon is still ahead; the doing must not wait for it."""
    files = {
        "machines": "code,name\nM,M\n",
        "jobs": "code,machine,title,interval\nJ,M,J,1 month\n",
        "last_done": "job,done_on\nJ,2025-07-01\n",
    }
    morning = instant(2025, 7, 1, 8)
    load_texts(empty, tmp_path / "files", files, Signer("CE", morning))
    assert closings(empty, "J")[""].done_at == morning
    assert why(empty, Asked(morning), "J")[0].due_on == date(2025, 8, 1)


@pytest.mark.parametrize(
    ("interval", "starts", "kind", "done_on", "counts", "due_on"),
    [
        pytest.param(
            "100 h", "due at once", DoingKind.DUE_AT_ONCE, date(2025, 7, 1), {}, date(2025, 7, 1), id="due-at-once"
        ),
        pytest.param(
            "2 months", "from 2025-06-20", DoingKind.START, date(2025, 6, 20), {"h": (90 * HOUR, "between")},
            date(2025, 8, 20), id="from-a-date",
        ),
        pytest.param(
            "100 h", "from 2025-06-20 at 150 h", DoingKind.START, date(2025, 6, 20), {"h": (150 * HOUR, "typed")},
            date(2025, 7, 6), id="from-a-date-and-a-total",
        ),
        pytest.param(
            "240 h", "from 2025-06-11", DoingKind.START, date(2025, 6, 11), {"h": (0, "reading")}, date(2025, 7, 5),
            id="from-the-day-of-the-first-reading",
        ),
    ],
)  # fmt: skip
def test_where_a_job_never_done_begins(
    empty: Register,
    tmp_path: Path,
    interval: str,
    starts: str,
    kind: DoingKind,
    done_on: date,
    counts: dict[str, tuple[int, str]],
    due_on: date,
) -> None:
    """A start is no report; it counts from the beginning of its day. The counter runs 10 h a day from 0 on 11 June."""
    files = {
        "machines": "code,name\nM,M\n",
        "counters": "code,machine,unit\nM-H,M,h\n",
        "jobs": f"code,machine,title,interval,starts\nJ,M,J,{interval},{starts}\n",
        "readings": "counter,read_on,time,value\nM-H,2025-06-11,00:00,0\nM-H,2025-07-01,00:00,200\n",
    }
    load_texts(empty, tmp_path / "files", files)
    (closing,) = closings(empty, "J").values()
    assert (closing.kind, closing.done_on, closing.report_id) == (kind, done_on, None)
    assert closing.done_at == instant(done_on.year, done_on.month, done_on.day)
    assert totals(empty, closing) == counts
    assert why(empty, Asked(AT), "J")[0].due_on == due_on
    assert rows(empty, REPORT) == []


def test_never_done_is_never_not_due(register: Register) -> None:
    """What begins due at once is due on the day of the load."""
    (test,) = why(register, Asked(AT), "STG-TST")
    assert (test.state, test.due_on) == ("due", date(2025, 7, 1))


def test_units_may_begin_apart(empty: Register, tmp_path: Path) -> None:
    """Those with a last doing count from it, the others from the start."""
    files = {
        "machines": "code,name\nM,M\n",
        "jobs": "code,machine,title,interval,units,starts\nJ,M,J,1 month,3,from 2025-06-20\n",
        "last_done": "job,unit,done_on\nJ,2,2025-06-01\n",
    }
    load_texts(empty, tmp_path / "files", files)
    found = {unit: (row.kind, row.done_on.day) for unit, row in closings(empty, "J").items()}
    assert found == {"1": (DoingKind.START, 20), "2": (DoingKind.DONE, 1), "3": (DoingKind.START, 20)}


def test_parts(register: Register) -> None:
    """Where they are, since when, and their own hours; not known is not zero."""
    with register.reading() as connection:
        serials = {row.id: row.serial for row in identities(connection, PART)}
    names = codes(register, MACHINE)
    assert [row.name for row in rows(register, PART_REVISION)] == ["Turbocharger rotor", "Turbocharger rotor"]
    found = {
        serials[row.part_id]: (
            names.get(row.machine_id), row.moved_on, row.since_overhaul, row.since_new, row.place
        )
        for row in rows(register, PART_MOVE)
    }  # fmt: skip
    assert found == {
        "R-118": ("AE1", date(2023, 3, 5), 3300 * HOUR, 15_700 * HOUR, ""),
        "R-121": (None, BEGINNING, 0, None, "Store 2 shelf B"),
    }


def test_one_entry_with_the_files_it_came_from(register: Register) -> None:
    """Who loaded what can be proved later: the entry holds the SHA-256 of every file."""
    with register.reading() as connection:
        entry = connection.execute(select(ENTRY).order_by(ENTRY.c.id.desc()).limit(1)).one()
    body = json.loads(entry.body)
    assert (entry.no, entry.deed, entry.recorded_at, entry.rank) == (2, "load register", AT, "Chief engineer")
    assert body["about"] == {
        "files": [
            {"name": f"{name}.csv", "sha256": hashlib.sha256(FILES[name].encode()).hexdigest()}
            for name in sorted(FILES)
        ]
    }


def test_files_of_one_name_from_two_folders_are_both_named(empty: Register, tmp_path: Path) -> None:
    """Neither hides the other in the record."""
    for folder, code in (("a", "A"), ("b", "B")):
        registers.write_files(tmp_path / folder, {"machines": f"code,name\n{code},{code}\n"})
    load(empty, [tmp_path / "a", tmp_path / "b"], Signer("CE", AT))
    with empty.reading() as connection:
        body = connection.execute(select(ENTRY.c.body).order_by(ENTRY.c.id.desc()).limit(1)).scalar_one()
    assert [file["name"] for file in json.loads(body)["about"]["files"]] == ["machines.csv", "machines.csv"]


def test_the_result_counts_rows(empty: Register, tmp_path: Path) -> None:
    """By kind of file: what was added, and what was there."""
    files = {"machines": "code,name\nM,M\n", "people": registers.PEOPLE}
    result = load_texts(empty, tmp_path / "files", files)
    assert (result.added, result.unchanged) == ({"machines": 1, "people": 1}, {"people": 1})
    assert result.receipt is not None
    assert result.receipt.no == 2


def test_acting_rank_is_signed(empty: Register, tmp_path: Path) -> None:
    """A load is signed like any other deed."""
    signer = Signer("ce", AT, acting="superintendent")
    load_texts(empty, tmp_path / "files", {"machines": "code,name\nM,M\n"}, signer)
    with empty.reading() as connection:
        rank = connection.execute(select(ENTRY.c.rank).order_by(ENTRY.c.id.desc()).limit(1)).scalar_one()
    assert rank == "Chief engineer acting superintendent"


def test_a_check_tells_what_would_be_added_and_writes_nothing(empty: Register, tmp_path: Path) -> None:
    """The same answer as the load gives, without an entry."""
    files = dict(FILES) | {"readings": f"{registers.READINGS}AE1-H,2025-06-15,,,99000,\n"}
    checked = load_texts(empty, tmp_path / "files", files, check=True)
    with empty.reading() as connection:
        assert len(list(connection.execute(select(ENTRY.c.id)))) == 1
        assert identities(connection, MACHINE) == []
    loaded = load_texts(empty, tmp_path / "files", files)
    assert checked.receipt is None
    assert (checked.added, checked.unchanged) == (loaded.added, loaded.unchanged)
    assert [(one.counter, one.number) for one in checked.held] == [("AE1-H", "")]
    assert [one.message for one in checked.held] == [one.message for one in loaded.held]


def test_progress_is_told(empty: Register, tmp_path: Path) -> None:
    """How much of what is done, up to all of it."""
    said: list[tuple[str, int, int]] = []
    load_texts(empty, tmp_path / "files", FILES, progress=lambda *one: said.append(one))
    assert [one for one in said if one[1] == one[2]] == [("files", 1, 1), ("readings", 4, 4), ("last doings", 2, 2)]


def test_every_loaded_job_unit_stands_on_the_due_list(register: Register) -> None:
    """Nothing that was loaded is dropped."""
    listed = due_list(register, Asked(AT), DueFilter(within_days=None)).rows
    assert {(row.job, row.unit): row.due_on for row in listed} == {
        ("STG-TST", ""): date(2025, 7, 1),
        ("AE1-OIL", ""): date(2025, 7, 5),
        ("LOP-BRG", ""): date(2026, 3, 2),
        ("AE1-EXV", "1"): date(2027, 1, 1),
        ("AE1-EXV", "2"): date(2027, 1, 1),
        ("AE1-EXV", "3"): date(2027, 1, 1),
    }
