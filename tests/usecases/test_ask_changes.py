"""What was changed in the schedule: every revision and correction, with what stood before, by whom and why."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from registers import AT, COUNTERS, DAY_SECONDS, FILES, JOBS, MACHINES, load_texts, make_register

from pmsched.domain.errors import NotFound
from pmsched.store.register import Register
from pmsched.store.tables import JOB_REVISION, SETTING
from pmsched.usecases.ask_changes import ChangeFilter, ChangeRow, change_rows
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, scene

LATER = AT + 10 * DAY_SECONDS
CHANGED = {
    "machines": MACHINES.replace("No. 1 generator; G1", "G1; Port generator")
    .replace("AE1-LOP,Lube-oil pump of auxiliary engine 1,AE1,,,,AE1-H,", "AE1-LOP,Lube-oil pump,STG,,yes,,AE1-H 1/2,"),
    "counters": COUNTERS.replace("AE1-H,AE1,,h,whole,,0,0", "AE1-H,AE1,Hours,h,tenths,,0,100"),
    "jobs": JOBS.replace("500 h or 3 months", "400 h or 3 months")
    .replace("Stop the engine; drain; fill", "Stop the engine; lock out; drain; fill")
    .replace("8000 h,,,3", "8000 h,,,2")
    .replace("from 2025-01-01 at 11000 h", "from 2025-02-01 at 11200 h")
    + "STG-NEW,STG,Look at the rudder,1 month,,,,,,,due at once\n",
}  # fmt: skip


@pytest.fixture(scope="module")
def register(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """A register loaded, and loaded again ten days later with changes, and a reason."""
    folder = tmp_path_factory.mktemp("changes")
    with make_register(folder, FILES) as made:
        load_texts(made, folder / "again", {**FILES, **CHANGED}, Signer("2E", LATER), reason="maker's letter 12")
        yield made


def rows(register: Register, wanted: ChangeFilter = ChangeFilter(), asked: Asked = Asked(LATER)) -> list[ChangeRow]:  # noqa: B008 - immutable
    """The changes found."""
    with register.reading() as connection:
        return list(change_rows(connection, scene(connection, asked), wanted))


def told(found: list[ChangeRow]) -> set[tuple[str, ...]]:
    """Code, act, field, old and new of each."""
    return {(row.code, row.act, row.field, row.old, row.new) for row in found}


CHANGES = {
    ("AE1", "added", "other_names", "", "Port generator"),
    ("AE1", "struck", "other_names", "No. 1 generator", ""),
    ("AE1-LOP", "revised", "name", "Lube-oil pump of auxiliary engine 1", "Lube-oil pump"),
    ("AE1-LOP", "revised", "parent", "AE1", "STG"),
    ("AE1-LOP", "revised", "critical", "no", "yes"),
    ("AE1-LOP", "revised", "counts_on", "AE1-H", "AE1-H 1/2 from 2025-07-11"),
    ("AE1-H", "revised", "name", "Auxiliary engine 1", "Hours"),
    ("AE1-H", "revised", "reads", "whole", "tenths"),
    ("AE1-H", "corrected", "total_start", "0 h", "100 h"),
    ("AE1-OIL", "revised", "rule", "500 h or 3 months", "400 h or 3 months"),
    ("AE1-OIL", "revised", "steps", "Stop the engine\ndrain\nfill", "Stop the engine\nlock out\ndrain\nfill"),
    ("AE1-EXV", "struck", "units", "3", ""),
    ("LOP-BRG", "corrected", "starts", "from 2025-01-01 at 11000 h", "from 2025-02-01 at 11200 h"),
    ("STG-NEW", "added", "rule", "", "1 month"),
}


def test_everything_that_changed_and_nothing_else(register: Register) -> None:
    """In the words of the input files: what it was and what it became; what is new has one row."""
    found = rows(register, ChangeFilter(first=date(2025, 7, 11)))
    assert told(found) - CHANGES == set()
    assert CHANGES - told(found) == set()


def test_who_when_and_why(register: Register) -> None:
    """The signature, the reason of the whole load, and the day from which it acts."""
    (row,) = [
        row for row in rows(register, ChangeFilter(job="ae1-oil")) if row.field == "rule" and row.act == "revised"
    ]
    assert (row.kind, row.title, row.machine) == ("job", "Change the lube oil", "AE1")
    assert (row.signer, row.signed_as, row.deed, row.reason) == (
        "2E", "Second engineer", "load register", "maker's letter 12",
    )  # fmt: skip
    assert (row.acts_from, row.recorded_on, row.entry_no) == (date(2025, 7, 11), date(2025, 7, 11), 3)
    assert row.recorded_at == LATER


def test_new_things_have_one_row_and_act_from_the_beginning(register: Register) -> None:
    """Their names, units, follows and meters of the same entry are no changes; here no reason was given."""
    found = rows(register, ChangeFilter(last=date(2025, 7, 1)))
    assert {row.act for row in found} == {"added"}
    assert {(row.acts_from, row.reason) for row in found} == {(None, "")}
    assert sorted(row.code for row in found) == sorted(
        ["AE", "AE1", "AE1-LOP", "STG", "AE1-H", "AE1-S", "AE1-OIL", "AE1-EXV", "LOP-BRG", "STG-TST"]
    )


def test_what_a_later_load_adds_has_its_reason(register: Register) -> None:
    """Whether or not one is asked for."""
    found = [row for row in rows(register) if row.act == "added" and row.entry_no == 3]
    assert {(row.code, row.reason) for row in found} == {
        ("AE1", "maker's letter 12"), ("STG-NEW", "maker's letter 12"),
    }  # fmt: skip


def test_in_the_order_signed(register: Register) -> None:
    """Over all kinds of facts."""
    numbers = [int(row.number) for row in rows(register) if row.act in {"added", "revised"}]
    assert numbers == sorted(numbers)


@pytest.mark.parametrize(
    ("wanted", "codes"),
    [
        pytest.param(ChangeFilter(machine="STG"), {"STG", "STG-TST", "STG-NEW"}, id="machine-with-its-jobs"),
        pytest.param(ChangeFilter(machine="ae1-lop"), {"AE1-LOP", "LOP-BRG"}, id="any-case"),
        pytest.param(ChangeFilter(job="AE1-EXV"), {"AE1-EXV"}, id="job"),
        pytest.param(ChangeFilter(counter="AE1-H"), {"AE1-H", "AE1-LOP"}, id="counter-and-who-counts-on-it"),
        pytest.param(ChangeFilter(last=date(2025, 6, 30)), set(), id="days"),
    ],
)
def test_narrowed(register: Register, wanted: ChangeFilter, codes: set[str]) -> None:
    """All conditions hold."""
    assert {row.code for row in rows(register, wanted)} == codes


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        pytest.param(ChangeFilter(machine="STQ"), "unknown-machine", id="machine"),
        pytest.param(ChangeFilter(job="AE1-0IL"), "unknown-job", id="job"),
        pytest.param(ChangeFilter(counter="AE1"), "unknown-counter", id="counter"),
    ],
)
def test_slip_is_told(register: Register, wanted: ChangeFilter, code: str) -> None:
    """At once, with near codes: it must not read as "nothing was changed"."""
    with register.reading() as connection, pytest.raises(NotFound) as refused:
        change_rows(connection, scene(connection, Asked(LATER)), wanted)
    assert refused.value.code == code


def test_known_on_a_past_day(register: Register) -> None:
    """Before the second load nothing was changed."""
    found = rows(register, asked=Asked(LATER, None, "2025-07-05"))
    assert {row.act for row in found} == {"added"}


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Register]:
    """A register for this test alone."""
    with make_register(tmp_path, FILES) as made:
        yield made


def test_correction_and_strike_of_a_revision(own: Register) -> None:
    """Compared with the version that they replace, each with its own reason; a strike may be undone."""
    with own.reading() as connection:
        (row,) = connection.execute(JOB_REVISION.select().where(JOB_REVISION.c.rule == "8000 h")).mappings()
    last = dict(row)
    for n, (reason, changes) in enumerate(
        (("typing error", {"rule": "6000 h"}), ("never so", None), ("so after all", {}))
    ):
        with own.locked() as connection:
            work = begin(connection, Signer("CE", LATER + n))
            if changes is None:
                work.strike(JOB_REVISION, last, reason)
            else:
                work.replace(JOB_REVISION, last, reason, **changes)
            last = work.added(JOB_REVISION)[0]
            work.enter("correct job")
    found = [row for row in rows(own, ChangeFilter(job="AE1-EXV")) if row.field in {"rule", ""} and row.act != "added"]
    assert [(row.act, row.old, row.new, row.reason) for row in found] == [
        ("corrected", "8000 h", "6000 h", "typing error"),
        ("struck", "6000 h", "", "never so"),
        ("put back", "", "6000 h", "so after all"),
    ]


def test_later_day_is_compared_with_what_acts_before_it(own: Register) -> None:
    """A revision for August stands before one for July is signed: each is told against what acted before its day."""
    with own.reading() as connection:
        (row,) = connection.execute(JOB_REVISION.select().where(JOB_REVISION.c.rule == "8000 h")).mappings()
    said = {
        name: value
        for name, value in row.items()
        if name not in {"id", "entry_id", "fact_id", "replaces_id", "struck", "reason"}
    }
    for rule, day in (("7000 h", date(2025, 8, 1)), ("7500 h", date(2025, 7, 20)), ("6500 h", date(2025, 9, 1))):
        with own.locked() as connection:
            work = begin(connection, Signer("CE", LATER))
            work.add(JOB_REVISION, **{**said, "rule": rule, "valid_from": day})
            work.enter("revise job")
    found = [row for row in rows(own, ChangeFilter(job="AE1-EXV")) if row.act == "revised"]
    assert [(row.old, row.new, row.acts_from) for row in found] == [
        ("8000 h", "7000 h", date(2025, 8, 1)),
        ("8000 h", "7500 h", date(2025, 7, 20)),
        ("7000 h", "6500 h", date(2025, 9, 1)),
    ]


def test_settings_are_part_of_the_schedule(own: Register) -> None:
    """They change what is due."""
    for value, day in ((90, date(2025, 7, 1)), (60, date(2025, 7, 11))):
        with own.locked() as connection:
            work = begin(connection, Signer("CE", LATER))
            work.add(SETTING, name="rate_window_days", valid_from=day, value=value)
            work.enter("change setting")
    found = [row for row in rows(own) if row.kind == "setting"]
    assert [(row.code, row.act, row.old, row.new) for row in found] == [
        ("rate_window_days", "added", "", "90"),
        ("rate_window_days", "revised", "90", "60"),
    ]


def test_work_done_is_no_change(own: Register) -> None:
    """A report closes a job; it changes nothing in the schedule."""
    before = rows(own)
    report_work(own, ReportWork("STG-TST", date(2025, 7, 1)), Signer("CE", LATER))
    assert rows(own) == before
