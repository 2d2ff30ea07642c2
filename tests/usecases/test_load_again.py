"""The same files again add nothing: at once, later, and after what they brought was corrected in the program."""

from __future__ import annotations

import shutil
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, time
from pathlib import Path

import pytest
from registers import AT, DAY_SECONDS, FILES, empty_register, load_texts, make_register
from sqlalchemy import func, select

from pmsched.domain.aims import DoingKind
from pmsched.store.book import Work
from pmsched.store.live import EVERYTHING, View
from pmsched.store.loaded_facts import identities, live_rows, revisions_at_last
from pmsched.store.lookups import jobs
from pmsched.store.register import Register
from pmsched.store.tables import (
    ALIAS,
    CLOSING,
    COUNTER,
    COUNTER_REVISION,
    COUNTS_ON,
    ENTRY,
    JOB_REVISION,
    JOB_UNIT,
    MACHINE,
    MACHINE_REVISION,
    METER_PERIOD,
    PART_MOVE,
    READING,
)
from pmsched.usecases.amend_reading import AmendReading, amend_reading
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.ask_records import readings_history
from pmsched.usecases.change_clock import change_clock
from pmsched.usecases.correct_report import CorrectReport, correct_report
from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked

LATER = AT + DAY_SECONDS
CE = Signer("CE", LATER)
HOUR = 3600


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


def entries(register: Register) -> int:
    """How many entries there are."""
    with register.reading() as connection:
        return int(connection.execute(select(func.count()).select_from(ENTRY)).scalar_one())


def report_of(register: Register, job: str) -> str:
    """The number of the only report in force of a job."""
    rows = history(register, Asked(LATER), HistoryFilter(job=job)).rows
    (number,) = {row.number for row in rows if row.version in {"in force", "struck"}}
    return number


def reading_of(register: Register, counter: str, day: date) -> str:
    """The number of a counter's reading of that day."""
    rows = readings_history(register, Asked(LATER), counter).rows
    return next(row.number for row in rows if row.read_on == day)


@contextmanager
def deed(register: Register) -> Iterator[Work]:
    """A deed of the program for which there is no command yet, entered at the end."""
    with register.locked() as connection:
        work = begin(connection, CE)
        yield work
        work.enter("revise")


def amend_a_reading(register: Register) -> None:
    """A dial misread."""
    amend_reading(
        register, AmendReading(reading_of(register, "AE1-H", date(2025, 6, 1)), "value", "misread", "12300"), CE
    )


def strike_a_reading(register: Register) -> None:
    """A reading on the wrong line."""
    amend_reading(register, AmendReading(reading_of(register, "AE1-H", date(2025, 6, 1)), "strike", "wrong line"), CE)


def correct_a_report(register: Register) -> None:
    """Another day, another total, other words."""
    command = CorrectReport(
        report_of(register, "AE1-OIL"), "log book", done_on=date(2025, 5, 12), counts={"h": "12100"}, remarks="dirty"
    )
    correct_report(register, command, CE)


def strike_a_report(register: Register) -> None:
    """Work that was not done."""
    correct_report(register, CorrectReport(report_of(register, "AE1-EXV"), "not done", strike=True), CE)


def do_a_job_due_at_once(register: Register) -> None:
    """The start is past."""
    report_work(register, ReportWork("STG-TST", date(2025, 7, 1), time(9)), CE)


def do_a_job_that_began(register: Register) -> None:
    """Its start is past too."""
    report_work(register, ReportWork("LOP-BRG", date(2025, 7, 2)), CE)


def report_later_work(register: Register) -> None:
    """The last doing in the file is no longer the last."""
    report_work(register, ReportWork("AE1-OIL", date(2025, 7, 2)), CE)


def change_the_ships_clock(register: Register) -> None:
    """Found out a day late: an hour ahead since May, which moves every noon since."""
    change_clock(register, AT - 60 * DAY_SECONDS, 60, CE)


def cross_the_date_line(register: Register) -> None:
    """A whole day, so that every noon falls on the noon of another reading's day."""
    change_clock(register, AT - 90 * DAY_SECONDS, -12 * 60, CE)
    change_clock(register, AT - 80 * DAY_SECONDS, 12 * 60, CE)


def revise_a_job(register: Register) -> None:
    """Other rules and texts for every job."""
    with deed(register) as work:
        for job_id, row in list(revisions_at_last(work.connection, JOB_REVISION).items()):
            said = {"title": row.title, "department": "deck", "rank": row.rank, "critical": row.critical}
            said |= {"class_item": row.class_item, "cautions": "", "steps": "", "needs": "", "active": True}
            work.add(JOB_REVISION, job_id=job_id, valid_from=date(2025, 7, 2), rule="6 months", **said)


def rename_a_machine(register: Register) -> None:
    """Other names, places and departments, and out of use."""
    with deed(register) as work:
        for machine_id, row in list(revisions_at_last(work.connection, MACHINE_REVISION).items()):
            work.add(
                MACHINE_REVISION, machine_id=machine_id, valid_from=date(2025, 7, 2), name=f"New {row.name}",
                parent_id=None, walking_order=5, critical=False, department="deck", active=False,
            )  # fmt: skip


def strike_names_units_and_follows(register: Register) -> None:
    """Everything that rows of machines and jobs list."""
    with deed(register) as work:
        for table in (ALIAS, JOB_UNIT, COUNTS_ON):
            for row in list(live_rows(work.connection, table)):
                work.strike(table, row._mapping, "not so")


def count_on_another_counter(register: Register) -> None:
    """A half from the next day on."""
    with deed(register) as work:
        pump = next(row.id for row in identities(work.connection, MACHINE) if row.code == "AE1-LOP")
        for row in list(live_rows(work.connection, COUNTS_ON)):
            if row.machine_id == pump:
                work.add(
                    COUNTS_ON, machine_id=pump, counter_id=row.counter_id, from_on=date(2025, 7, 2), share_num=1,
                    share_den=2,
                )  # fmt: skip


def move_the_parts(register: Register) -> None:
    """All of them ashore."""
    with deed(register) as work:
        for row in list(live_rows(work.connection, PART_MOVE)):
            work.add(PART_MOVE, part_id=row.part_id, machine_id=None, place="ashore", moved_on=date(2025, 7, 2))


@pytest.mark.parametrize(
    "correct",
    [
        pytest.param(lambda _: None, id="nothing"),
        amend_a_reading,
        strike_a_reading,
        correct_a_report,
        strike_a_report,
        do_a_job_due_at_once,
        do_a_job_that_began,
        report_later_work,
        change_the_ships_clock,
        cross_the_date_line,
        revise_a_job,
        rename_a_machine,
        strike_names_units_and_follows,
        count_on_another_counter,
        move_the_parts,
    ],
)
def test_same_files_add_nothing(register: Register, tmp_path: Path, correct: Callable[[Register], None]) -> None:
    """No entry, nothing changed, nothing held, no problem: whatever was corrected in between, soon and long after."""
    correct(register)
    before = entries(register)
    for days_later in (1, 400):
        result = load_texts(register, tmp_path / "again", FILES, Signer("CE", AT + days_later * DAY_SECONDS))
        assert (result.receipt, result.added, result.revised, result.held) == (None, {}, (), ())
        assert result.unchanged == {
            "people": 2, "machines": 4, "counters": 2, "jobs": 4, "last_done": 2, "readings": 4, "parts": 2
        }  # fmt: skip
    assert entries(register) == before


@pytest.mark.parametrize("name", FILES)
def test_each_file_alone_adds_nothing(register: Register, tmp_path: Path, name: str) -> None:
    """Rows of the other files are taken from the register; work that was struck is no slip of the jobs' file."""
    strike_a_report(register)
    result = load_texts(register, tmp_path / "again", {name: FILES[name]}, CE)
    assert (result.receipt, result.revised) == (None, ())


def test_part_of_the_files_adds_nothing(register: Register, tmp_path: Path) -> None:
    """Rows that are missing are left alone, and the rest keep their places on the walk."""
    files = {name: "".join(text.splitlines(keepends=True)[::2]) for name, text in FILES.items()}
    result = load_texts(register, tmp_path / "again", files, CE)
    assert (result.receipt, result.revised) == (None, ())
    with register.reading() as connection:
        view = View(EVERYTHING, EVERYTHING, date.max)
        assert [job.code for job in jobs(connection, view)] == ["AE1-OIL", "AE1-EXV", "LOP-BRG", "STG-TST"]


def test_a_file_corrected_as_the_program_was_adds_nothing(register: Register, tmp_path: Path) -> None:
    """Putting the file right as well, later, is no second correction."""
    amend_a_reading(register)
    correct_a_report(register)
    files = {
        "readings": FILES["readings"].replace("12310", "12300"),
        "last_done": FILES["last_done"].replace(
            "2025-05-15,,,B. Bødal,filter clean", "2025-05-12,,12100 h,B. Bødal,dirty"
        ),
    }
    result = load_texts(register, tmp_path / "again", files, CE)
    assert (result.receipt, result.added, result.revised) == (None, {}, ())


def test_a_definition_changed_in_the_file_as_in_the_program_adds_nothing(register: Register, tmp_path: Path) -> None:
    """The register says so already."""
    with deed(register) as work:
        row = next(
            r for r in revisions_at_last(work.connection, MACHINE_REVISION).values() if r.name == "Steering gear"
        )
        work.add(
            MACHINE_REVISION, machine_id=row.machine_id, valid_from=date(2025, 7, 2), name="Steering engine",
            parent_id=None, walking_order=row.walking_order, critical=True, department="engine", active=True,
        )  # fmt: skip
    text = FILES["machines"].replace("Steering gear", "Steering engine")
    result = load_texts(register, tmp_path / "again", {"machines": text}, CE)
    assert (result.receipt, result.revised) == (None, ())


def test_units_added_in_the_program_are_not_the_files_to_end(register: Register, tmp_path: Path) -> None:
    """The file never named them."""
    with deed(register) as work:
        job = next(row.job_id for row in live_rows(work.connection, JOB_UNIT) if row.unit == "3")
        work.add(JOB_UNIT, job_id=job, unit="4")
    result = load_texts(register, tmp_path / "again", FILES, CE)
    assert (result.receipt, result.revised) == (None, ())


def test_who_counts_on_what_in_the_program_is_not_overruled_by_what_is_implied(
    register: Register, tmp_path: Path
) -> None:
    """A counter made in the program, that its machine does not count on: the first load of both leaves it so."""
    with deed(register) as work:
        ids = {row.code: row for row in identities(work.connection, MACHINE)}
        steering = ids["STG"]
        counter = work.add(COUNTER, site_id=steering.site_id, machine_id=steering.id, code="STG-H", unit="h")
        work.add(
            COUNTER_REVISION, counter_id=counter, valid_from=date(2025, 7, 1), name="Hours", reads="whole",
            walking_order=30,
        )  # fmt: skip
        work.add(METER_PERIOD, counter_id=counter, start=0, dial_start=0, base=0, factor_num=1, factor_den=1)
        other = next(row for row in identities(work.connection, COUNTER) if row.code == "AE1-H")
        work.add(
            COUNTS_ON, machine_id=steering.id, counter_id=other.id, from_on=date(2025, 7, 1), share_num=1, share_den=1
        )
    files = dict(FILES) | {"counters": f"{FILES['counters']}STG-H,STG,Hours,h,whole,,0,\n"}
    result = load_texts(register, tmp_path / "again", files, CE)
    assert (result.receipt, result.revised) == (None, ())


def test_a_last_doing_moved_to_a_day_that_was_reported_adds_nothing(register: Register, tmp_path: Path) -> None:
    """The file caught up with work that was entered in the program; the older doing stays what it was."""
    report_later_work(register)
    before = entries(register)
    text = FILES["last_done"].replace("2025-05-15", "2025-07-02")
    result = load_texts(register, tmp_path / "again", {"last_done": text}, Signer("CE", LATER + 1))
    assert (result.receipt, result.added, result.revised) == (None, {}, ())
    assert entries(register) == before


def test_what_was_entered_in_the_program_counts_as_entered(register: Register, tmp_path: Path) -> None:
    """A reading of the same instant and value, and work of the same job and day, are there already."""
    record_round(register, [RoundLine("AE1-H", "12610", AT + 16 * HOUR)], CE)
    report_work(register, ReportWork("STG-TST", date(2025, 7, 2)), CE)
    before = entries(register)
    files = {
        "readings": "counter,read_on,value\nAE1-H,2025-07-02,12610\n",
        "last_done": "job,done_on,by\nSTG-TST,2025-07-02,somebody\n",
    }
    result = load_texts(register, tmp_path / "again", files, CE)
    assert (result.receipt, result.added, result.unchanged) == (None, {}, {"readings": 1, "last_done": 1})
    assert entries(register) == before


def test_an_attempt_repeated_with_its_request_adds_nothing(tmp_path: Path) -> None:
    """The receipt of the first attempt is given again."""
    with empty_register(tmp_path) as register:
        signer = Signer("CE", AT, request_id="load-1")
        first = load_texts(register, tmp_path / "files", FILES, signer).receipt
        assert first is not None
        again = load_texts(register, tmp_path / "files", FILES, signer).receipt
        assert again == first._replace(repeated=True)


def test_new_rows_in_the_middle_are_all_that_is_added(register: Register, tmp_path: Path) -> None:
    """A machine put between two others moves none of them, and says nothing new about them."""
    text = FILES["machines"].replace("STG,", "EG,Emergency generator,,,yes,,,\nSTG,")
    result = load_texts(register, tmp_path / "again", {"machines": text}, CE)
    assert (result.added, result.revised) == ({"machines": 1}, ())
    again = load_texts(register, tmp_path / "again", {"machines": text}, CE)
    assert (again.receipt, again.added, again.revised) == (None, {}, ())


def test_closings_stay_as_they_were_corrected(register: Register, tmp_path: Path) -> None:
    """The files do not bring back what a correction took away."""
    strike_a_report(register)
    load_texts(register, tmp_path / "again", FILES, CE)
    with register.reading() as connection:
        done = [row for row in live_rows(connection, CLOSING) if row.kind == DoingKind.DONE]
        assert len(done) == 1
        assert len([row for row in live_rows(connection, READING) if row.status == "accepted"]) == 4
