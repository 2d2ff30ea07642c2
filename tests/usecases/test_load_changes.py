"""A changed file proposes what it changes, asks for a reason, and never rewrites what was: versions are added."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from registers import AT, DAY_SECONDS, FILES, empty_register, load_texts, make_register
from sqlalchemy import Table, func, select

from pmsched.domain.errors import NotAllowed
from pmsched.store.live import EVERYTHING, View
from pmsched.store.loaded_facts import identities, live_rows, revisions_at_last
from pmsched.store.lookups import jobs, machines
from pmsched.store.register import Register
from pmsched.store.tables import (
    ALIAS,
    CLOSING,
    CLOSING_COUNT,
    COUNTER,
    COUNTS_ON,
    ENTRY,
    JOB,
    JOB_REVISION,
    JOB_UNIT,
    MACHINE,
    MACHINE_REVISION,
    METER_PERIOD,
    PART_MOVE,
    REPORT,
)
from pmsched.usecases.ask_due import why
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.correct_report import CorrectReport, correct_report
from pmsched.usecases.load_changes import ReasonMissing
from pmsched.usecases.load_register import LoadResult
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked

LATER = AT + DAY_SECONDS
TODAY = date(2025, 7, 2)
CE = Signer("CE", LATER)
HOUR = 3600
EVERY = View(EVERYTHING, EVERYTHING, date.max)


@pytest.fixture(scope="module")
def loaded(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small vessel, loaded once and closed."""
    folder = tmp_path_factory.mktemp("loaded")
    make_register(folder).close()
    return folder / "register.db"


@pytest.fixture
def register(loaded: Path, tmp_path: Path) -> Iterator[Register]:
    """A copy of it, open."""
    with Register(str(shutil.copy(loaded, tmp_path))) as opened:
        yield opened


def changed(name: str, *replacements: tuple[str, str]) -> dict[str, str]:
    """One of the small vessel's files with these texts replaced, each of which stands there once."""
    text = FILES[name]
    for old, new in replacements:
        assert text.count(old) == 1, old
        text = text.replace(old, new)
    return {name: text}


def load(register: Register, tmp_path: Path, files: Mapping[str, str], **options: Any) -> LoadResult:
    """Load the day after, with a reason unless told otherwise; again at once, which must add nothing."""
    result = load_texts(register, tmp_path / "new", files, CE, **({"reason": "maker's letter"} | options))
    again = load_texts(register, tmp_path / "new", files, Signer("CE", LATER + 1))
    assert (again.receipt, again.added, again.revised) == (None, {}, ())
    return result


def told(result: LoadResult) -> list[str]:
    """Every change, as people read it."""
    return [str(one) for one in result.revised]


def rows(register: Register, table: Table) -> list[Any]:
    """The live rows of a kind of fact."""
    with register.reading() as connection:
        return list(live_rows(connection, table))


def count(register: Register, table: Table) -> int:
    """How many versions there are of a kind of fact."""
    with register.reading() as connection:
        return int(connection.execute(select(func.count()).select_from(table)).scalar_one())


def codes(register: Register, table: Table) -> dict[int, str]:
    """Codes by id."""
    with register.reading() as connection:
        return {row.id: row.code for row in identities(connection, table)}


def doings(register: Register, job: str) -> dict[str, Any]:
    """The live closings of a job by unit."""
    names = codes(register, JOB)
    return {row.unit: row for row in rows(register, CLOSING) if names[row.job_id] == job}


def total(register: Register, closing: Any, unit: str = "h") -> tuple[int, str]:
    """The total kept with a closing, in hours, and its basis."""
    (found,) = (r for r in rows(register, CLOSING_COUNT) if r.closing_id == closing.fact_id and r.unit == unit)
    return found.total // HOUR, found.basis


CASES = [
    pytest.param(changed("people", ("B. Bødal", "B. Bødal-Dahl")), ["2E: name B. Bødal -> B. Bødal-Dahl"], id="person"),
    pytest.param(
        changed("machines", ("Steering gear,,,yes", "Steering gear,AE,70,no")),
        ["STG: parent (blank) -> AE; order 40 -> 70; critical yes -> no"],
        id="machine",
    ),
    pytest.param(
        changed("machines", ("No. 1 generator; G1", "G1; Port generator")),
        ["AE1: other_names No. 1 generator; G1 -> G1; Port generator"],
        id="other-names",
    ),
    pytest.param(
        changed("machines", ("AE1-H,", "AE1-H 1/2,")),
        ["AE1-LOP: counts_on AE1-H -> AE1-H 1/2"],
        id="share",
    ),
    pytest.param(
        changed("counters", ("AE1-H,AE1,,h,whole,,0,0", "AE1-H,AE1,Hours,h,tenths,,100,50100")),
        [
            (
                "AE1-H: name Auxiliary engine 1 -> Hours; reads whole -> tenths; "
                "dial_start 0 h -> 100 h; total_start 0 h -> 50100 h"
            )
        ],
        id="counter",
    ),
    pytest.param(
        changed("jobs", ("500 h or 3 months", "450 h or 3 months"), ("Hot oil", "Hot oil; slippery")),
        ["AE1-OIL: interval 500 h or 3 months -> 450 h or 3 months; cautions Hot oil -> Hot oil; slippery"],
        id="job",
    ),
    pytest.param(
        changed(
            "jobs", ("from 2025-01-01 at 11000 h", "from 2025-01-02 at 11010 h"), ("due at once", "from 2025-06-01")
        ),
        [
            "LOP-BRG: starts from 2025-01-01 at 11000 h -> from 2025-01-02 at 11010 h",
            "STG-TST: starts due at once -> from 2025-06-01",
        ],
        id="starts",
    ),
    pytest.param(
        changed("last_done", ("2025-05-15,,,B. Bødal,filter clean", "2025-05-14,08:00,12120 h,2/E,")),
        [
            (
                "AE1-OIL: done_on 2025-05-15 -> 2025-05-14; time (blank) -> 08:00; count (blank) -> 12120 h; "
                "by B. Bødal -> 2/E; remarks filter clean -> (blank)"
            )
        ],
        id="last-done",
    ),
    pytest.param(
        changed("readings", ("12310,", "12301,dial dirty")),
        ["AE1-H 2025-06-01 12:00: value 12 310 -> 12 301; note (blank) -> dial dirty"],
        id="reading",
    ),
    pytest.param(
        changed("parts", ("Turbocharger rotor,AE1", "Rotor,AE1"), ("3300", "3310")),
        ["R-118: name Turbocharger rotor -> Rotor; hours_since_overhaul 3300 h -> 3310 h"],
        id="part",
    ),
    pytest.param(
        changed(
            "parts", ("R-121,Turbocharger rotor,,,0,,Store 2 shelf B", "R-121,Turbocharger rotor,AE1,2025-06-30,0,,")
        ),
        ["R-121: machine (blank) -> AE1; place Store 2 shelf B -> (blank); since (blank) -> 2025-06-30"],
        id="part-moved",
    ),
]


@pytest.mark.parametrize(("files", "expected"), CASES)
def test_changes_are_told_and_need_a_reason(
    register: Register, tmp_path: Path, files: dict[str, str], expected: list[str]
) -> None:
    """Thing by thing, column by column, old and new; nothing is written without a reason, or by a check."""
    entries = count(register, ENTRY)
    with pytest.raises(ReasonMissing) as raised:
        load_texts(register, tmp_path / "new", files, CE)
    assert isinstance(raised.value, NotAllowed)
    assert raised.value.code == "reason-missing-for-changes"
    assert [str(one) for one in raised.value.proposed] == expected
    assert all(one in raised.value.message for one in expected)
    checked = load_texts(register, tmp_path / "new", files, CE, check=True)
    assert (told(checked), checked.receipt, checked.added) == (expected, None, {})
    assert count(register, ENTRY) == entries
    result = load(register, tmp_path, files)
    assert (told(result), result.added) == (expected, {})
    assert count(register, ENTRY) == entries + 1


@pytest.mark.parametrize("reason", [None, "", "  "])
def test_a_blank_reason_is_none(register: Register, tmp_path: Path, reason: str | None) -> None:
    """A reason says something."""
    with pytest.raises(ReasonMissing):
        load_texts(register, tmp_path / "new", changed("readings", ("12310", "12301")), CE, reason=reason)


def test_going_back_is_a_change_too(register: Register, tmp_path: Path) -> None:
    """A file is compared with what it said last, not with everything it ever said."""
    load(register, tmp_path, changed("jobs", ("500 h", "450 h")))
    back = load(register, tmp_path, {"jobs": FILES["jobs"]}, reason="letter withdrawn")
    assert told(back) == ["AE1-OIL: interval 450 h or 3 months -> 500 h or 3 months"]


def test_the_reason_and_the_changed_rows_stand_in_the_entry(register: Register, tmp_path: Path) -> None:
    """Also for revisions, which have no reason of their own."""
    load(register, tmp_path, changed("jobs", ("500 h", "450 h")), reason=" maker's letter 12 ")
    with register.reading() as connection:
        body = json.loads(connection.execute(select(ENTRY.c.body).order_by(ENTRY.c.id.desc()).limit(1)).scalar_one())
    assert body["about"]["reason"] == "maker's letter 12"
    assert body["facts"].keys() == {"job_revision"}


def test_new_rows_beside_changes_wait_for_the_reason_too(register: Register, tmp_path: Path) -> None:
    """All or nothing."""
    files = changed("machines", ("Steering gear,", "Steering engine,"))
    files["machines"] += "EG,Emergency generator,,,,,,\n"
    with pytest.raises(ReasonMissing):
        load_texts(register, tmp_path / "new", files, CE)
    assert "EG" not in codes(register, MACHINE).values()


# --- definitions ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("valid_from", "acts_from"),
    [(None, TODAY), (date(2025, 9, 1), date(2025, 9, 1))],
)
def test_a_changed_interval_acts_from_its_date(
    register: Register, tmp_path: Path, valid_from: date | None, acts_from: date
) -> None:
    """By default from the ship's date of the load; before that date the old rule is in force, and stays so."""
    load(register, tmp_path, changed("jobs", ("500 h or 3 months", "1 month")), valid_from=valid_from)
    with register.reading() as connection:
        revision = revisions_at_last(connection, JOB_REVISION)
        names = codes(register, JOB)
        assert {names[job]: row.valid_from for job, row in revision.items()}["AE1-OIL"] == acts_from
    now = max(LATER, int(LATER + (acts_from - TODAY).days * DAY_SECONDS))
    assert why(register, Asked(now), "AE1-OIL")[0].due_on == date(2025, 6, 15)
    day_before = date.fromordinal(acts_from.toordinal() - 1)
    assert why(register, Asked(now, as_of=day_before.isoformat()), "AE1-OIL")[0].due_on != date(2025, 6, 15)


def test_past_lateness_is_not_touched(register: Register, tmp_path: Path) -> None:
    """Work on time by the rule of its day is not late by the rule of tomorrow."""
    report_work(register, ReportWork("AE1-OIL", date(2025, 6, 30)), CE)

    def lateness() -> list[tuple[date, bool | None, int | None]]:
        found = history(register, Asked(LATER + 10), HistoryFilter(job="AE1-OIL")).rows
        return [(row.done_on, row.on_time, row.days_late) for row in found]

    before = lateness()
    assert before[-1][:2] == (date(2025, 6, 30), True)
    load(register, tmp_path, changed("jobs", ("500 h or 3 months", "2 weeks")))
    assert lateness() == before


def test_what_no_file_says_stays(register: Register, tmp_path: Path) -> None:
    """A machine taken out of use in the program is not brought back by a new name."""
    with register.locked() as connection:
        work = begin(connection, CE)
        row = next(r for r in revisions_at_last(connection, MACHINE_REVISION).values() if r.name == "Steering gear")
        said = {c.name: getattr(row, c.name) for c in MACHINE_REVISION.columns} | {"active": False}
        kept = {"machine_id", "name", "parent_id", "walking_order", "critical", "department", "active", "valid_from"}
        work.add(MACHINE_REVISION, **{name: value for name, value in said.items() if name in kept})
        work.enter("revise machine")
    load(register, tmp_path, changed("machines", ("Steering gear,", "Steering engine,")))
    with register.reading() as connection:
        last = list(machines(connection, EVERY))[-1]
        assert (last.name, last.active) == ("Steering engine", False)


def test_a_revision_before_one_that_is_still_ahead_is_refused(register: Register, tmp_path: Path) -> None:
    """The one ahead would undo it on its day; from that day on it may be changed."""
    load(register, tmp_path, changed("jobs", ("500 h", "450 h")), valid_from=date(2025, 9, 1))
    with pytest.raises(NotAllowed, match="2025-09-01"):
        load(register, tmp_path, {"jobs": FILES["jobs"]})
    load(register, tmp_path, {"jobs": FILES["jobs"]}, valid_from=date(2025, 9, 1))
    with register.reading() as connection:
        found = {job.code: job.rule for job in jobs(connection, EVERY)}
    assert found["AE1-OIL"] == "500 h or 3 months"


def test_a_revision_never_acts_on_the_past(register: Register, tmp_path: Path) -> None:
    """It would change whether past work was on time."""
    with pytest.raises(NotAllowed, match="past"):
        load(register, tmp_path, changed("jobs", ("500 h", "450 h")), valid_from=date(2025, 6, 15))


def test_other_names_are_ended_and_added(register: Register, tmp_path: Path) -> None:
    """One that stays is not touched."""
    load(register, tmp_path, changed("machines", ("No. 1 generator; G1", "G1; Port generator")))
    assert [row.name for row in rows(register, ALIAS)] == ["G1", "Port generator"]
    assert count(register, ALIAS) == 4


def test_units_are_added_and_ended(register: Register, tmp_path: Path) -> None:
    """A new unit has a last doing of its own; what the ended ones did stays in the history."""
    files = changed("jobs", ("8000 h,,,3", "8000 h,,,1; 2; 4")) | {
        "last_done": f"{FILES['last_done']}AE1-EXV,4,2025-01-10,,10500 h,,\n"
    }
    result = load(register, tmp_path, files)
    assert told(result) == ["AE1-EXV: units 1; 2; 3 -> 1; 2; 4"]
    assert result.added == {"last_done": 1}
    assert [row.unit for row in rows(register, JOB_UNIT) if row.unit] == ["1", "2", "4"]
    assert sorted(doings(register, "AE1-EXV")) == ["1", "2", "3", "4"]
    assert [row.unit for row in why(register, Asked(LATER), "AE1-EXV")] == ["1", "2", "4"]


# --- who counts on whose counter ------------------------------------------------------------------------------------


def follows(register: Register, machine: str) -> list[tuple[str, date, int]]:
    """What a machine counts on: counter, date, and the denominator of its share."""
    names, counters = codes(register, MACHINE), codes(register, COUNTER)
    found = (row for row in rows(register, COUNTS_ON) if names[row.machine_id] == machine)
    return [(counters[row.counter_id], row.from_on, row.share_den) for row in found]


def test_another_counter_without_a_date_counts_from_the_day_of_the_load(register: Register, tmp_path: Path) -> None:
    """The past keeps the counter it was counted by."""
    files = {
        "machines": FILES["machines"].replace("AE1-H,", "STG-H,"),
        "counters": f"{FILES['counters']}STG-H,STG,,h,whole,,0,\n",
    }
    result = load(register, tmp_path, files)
    assert told(result) == ["AE1-LOP: counts_on AE1-H -> STG-H"]
    assert follows(register, "AE1-LOP") == [("AE1-H", date(1900, 1, 1), 1), ("STG-H", TODAY, 1)]


def test_another_counter_with_a_date_counts_from_it(register: Register, tmp_path: Path) -> None:
    """Naming both keeps both; a date put right replaces the one that was wrong."""
    both = "AE1-H; STG-H from 2025-{}-01,"
    counters = f"{FILES['counters']}STG-H,STG,,h,whole,,0,\n"
    text = FILES["machines"].replace("AE1-H,", both.format("06"))
    load(register, tmp_path, {"machines": text, "counters": counters})
    assert follows(register, "AE1-LOP")[1:] == [("STG-H", date(2025, 6, 1), 1)]
    load(register, tmp_path, {"machines": text.replace("2025-06-01", "2025-05-01")})
    assert follows(register, "AE1-LOP") == [("AE1-H", date(1900, 1, 1), 1), ("STG-H", date(2025, 5, 1), 1)]


def test_a_share_put_right_with_its_date_is_a_correction(register: Register, tmp_path: Path) -> None:
    """A half that should have been a third from the same day on."""
    text = FILES["machines"].replace("AE1-H,", "AE1-H; AE1-H 1/2 from 2025-06-01,")
    load(register, tmp_path, {"machines": text})
    load(register, tmp_path, {"machines": text.replace("1/2", "1/3")})
    assert follows(register, "AE1-LOP") == [("AE1-H", date(1900, 1, 1), 1), ("AE1-H", date(2025, 6, 1), 3)]


def test_a_counter_given_to_a_machine_without_one_counts_from_ever(register: Register, tmp_path: Path) -> None:
    """Nothing else was counted on before, so nothing changes its meaning."""
    load(register, tmp_path, changed("machines", ("STG,Steering gear,,,yes,,", "STG,Steering gear,,,yes,,AE1-H")))
    assert follows(register, "STG") == [("AE1-H", date(1900, 1, 1), 1)]


def test_a_machine_told_of_no_other_counter_counts_on_its_own_again(register: Register, tmp_path: Path) -> None:
    """Also when only its own row is loaded; from the day of the load, as another one counted before."""
    counters = {"counters": f"{FILES['counters']}LOP-H,AE1-LOP,,h,whole,,0,\n"}
    load(register, tmp_path, {"machines": FILES["machines"]} | counters)
    assert follows(register, "AE1-LOP") == [("AE1-H", date(1900, 1, 1), 1)]
    load(register, tmp_path, changed("machines", ("AE1-H,", ",")))
    assert follows(register, "AE1-LOP")[1:] == [("LOP-H", TODAY, 1)]


def test_a_struck_report_comes_back_only_with_another_statement(register: Register, tmp_path: Path) -> None:
    """The change says that it was struck; its closing and total come back with it."""
    number = next(row.number for row in history(register, Asked(LATER), HistoryFilter(job="AE1-OIL")).rows)
    correct_report(register, CorrectReport(number, "not done", strike=True), CE)
    result = load(register, tmp_path, changed("last_done", ("2025-05-15", "2025-05-07")))
    assert told(result) == ["AE1-OIL: done_on struck -> 2025-05-07"]
    assert total(register, doings(register, "AE1-OIL")[""]) == (12_060, "between")


# --- last doings and starts -----------------------------------------------------------------------------------------


def test_a_corrected_last_doing_is_the_same_report_with_a_reason(register: Register, tmp_path: Path) -> None:
    """Its total is read again for the new day: 12 060 h on 7 May, 10 h a day from 12 000 h on the first."""
    before = doings(register, "AE1-OIL")[""]
    load(register, tmp_path, changed("last_done", ("2025-05-15", "2025-05-07")), reason="log book")
    after = doings(register, "AE1-OIL")[""]
    assert (after.fact_id, after.report_id, after.done_on) == (before.fact_id, before.report_id, date(2025, 5, 7))
    assert total(register, after) == (12_060, "between")
    report = next(row for row in rows(register, REPORT) if row.fact_id == before.report_id)
    assert (report.done_on, report.reason) == (date(2025, 5, 7), "log book")


def test_a_unit_corrected_alone_gets_a_report_of_its_own(register: Register, tmp_path: Path) -> None:
    """The row of the whole job still speaks for the others."""
    files = {"last_done": f"{FILES['last_done']}AE1-EXV,2,2024-12-01,,10100 h,,\n"}
    result = load(register, tmp_path, files)
    assert told(result) == [
        "AE1-EXV 2: done_on 2024-11-20 -> 2024-12-01; time 14:30 -> (blank); count 10000 h -> 10100 h"
    ]
    found = doings(register, "AE1-EXV")
    assert {unit: row.done_on for unit, row in found.items()} == {
        "1": date(2024, 11, 20), "2": date(2024, 12, 1), "3": date(2024, 11, 20)
    }  # fmt: skip
    assert found["1"].report_id == found["3"].report_id != found["2"].report_id
    assert [total(register, found[unit])[0] for unit in "123"] == [10_000, 10_100, 10_000]


def test_a_typed_total_taken_back_is_read_off_the_readings(register: Register, tmp_path: Path) -> None:
    """And one that is typed later takes the place of what was read off."""
    typed = changed("last_done", ("2025-05-15,,,", "2025-05-15,,12150 h,"))
    load(register, tmp_path, typed)
    assert total(register, doings(register, "AE1-OIL")[""]) == (12_150, "typed")
    load(register, tmp_path, {"last_done": FILES["last_done"]})
    assert total(register, doings(register, "AE1-OIL")[""]) == (12_140, "between")


def test_a_start_gives_way_to_a_last_doing(register: Register, tmp_path: Path) -> None:
    """The job was done after all: the start is withdrawn, with the reason, and the doing counts."""
    files = changed("jobs", ("due at once", "")) | {"last_done": f"{FILES['last_done']}STG-TST,,2025-05-20,,,,\n"}
    result = load(register, tmp_path, files)
    assert (told(result), result.added) == (["STG-TST: starts due at once -> (blank)"], {"last_done": 1})
    assert why(register, Asked(LATER), "STG-TST")[0].due_on == date(2025, 7, 31)


def test_a_corrected_start_counts_from_its_new_total(register: Register, tmp_path: Path) -> None:
    """4000 h from 11 010 h: due at 15 010 h."""
    load(register, tmp_path, changed("jobs", ("from 2025-01-01 at 11000 h", "from 2025-01-02 at 11010 h")))
    start = doings(register, "LOP-BRG")[""]
    assert (start.done_on, total(register, start)) == (date(2025, 1, 2), (11_010, "typed"))


# --- counters and parts ---------------------------------------------------------------------------------------------


def test_a_corrected_start_of_the_meter_moves_the_totals_read_off_it(register: Register, tmp_path: Path) -> None:
    """What rests on the counter's readings is worked out again and told; what was typed stays."""
    result = load(register, tmp_path, changed("counters", ("h,whole,,0,0", "h,whole,,0,100")))
    assert [(one.job, one.before // HOUR, one.after // HOUR) for one in result.recounted] == [
        ("AE1-OIL", 12_140, 12_240)
    ]
    assert total(register, doings(register, "AE1-OIL")[""]) == (12_240, "between")
    assert total(register, doings(register, "AE1-EXV")["1"]) == (10_000, "typed")
    assert [row.base // HOUR for row in rows(register, METER_PERIOD)] == [0, 100]


def test_a_later_date_moves_a_part_and_any_other_change_corrects_its_place(register: Register, tmp_path: Path) -> None:
    """The rotor's stay on the engine is history; a slip in the file is not."""
    moved = changed("parts", ("AE1,2023-03-05,3300,15700", ",2025-06-01,20000,32400"))
    load(register, tmp_path, moved)
    assert sorted(row.moved_on.year for row in rows(register, PART_MOVE)) == [1900, 2023, 2025]
    load(register, tmp_path, {"parts": moved["parts"].replace("20000", "20100")})
    found = [row for row in rows(register, PART_MOVE) if row.moved_on == date(2025, 6, 1)]
    assert [(row.since_overhaul // HOUR, row.replaces_id is not None) for row in found] == [(20_100, True)]


def test_many_changes_are_named_up_to_a_limit(tmp_path: Path) -> None:
    """A list of thousands helps nobody; all of them are in the exception and in the check."""
    with empty_register(tmp_path) as register:
        rows_of = "code,name\n" + "".join(f"M{n},Machine {n}\n" for n in range(30))
        load_texts(register, tmp_path / "new", {"machines": rows_of}, CE)
        with pytest.raises(ReasonMissing, match="and 10 more") as raised:
            load_texts(register, tmp_path / "new", {"machines": rows_of.replace("Machine", "Engine")}, CE)
    assert len(raised.value.proposed) == 30
