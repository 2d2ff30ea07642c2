"""Worked cases through the register: what is entered, what is held, corrected, shown then and shown now."""

from __future__ import annotations

from datetime import date, time
from pathlib import Path

import pytest
from registers import make_register

from pmsched.domain.clocks import ShipClock
from pmsched.domain.counts import SECONDS_PER_HOUR as H
from pmsched.domain.errors import NotAllowed, Refusal
from pmsched.store.register import Register
from pmsched.usecases.amend_reading import AmendReading, amend_reading, held
from pmsched.usecases.ask_due import DueFilter, DueRow, due_list
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.ask_records import readings_history
from pmsched.usecases.record_round import RoundLine, RoundResult, record_round
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

UTC_CLOCK = ShipClock()
EVERY = DueFilter(within_days=None)


def at(month: int, day: int, hour: int = 12, minute: int = 0, year: int = 2025) -> int:
    """The instant of a ship's time, the ship keeping UTC."""
    return UTC_CLOCK.instant_of(date(year, month, day), time(hour, minute))


def files(interval: str, last_done: str, reads: str = "whole", *, extra_jobs: str = "") -> dict[str, str]:
    """One engine with one hour counter and one job."""
    return {
        "machines.csv": "code,name\nAE1,Auxiliary engine 1\n",
        "counters.csv": f"code,machine,unit,reads\nAE1-H,AE1,h,{reads}\n",
        "jobs.csv": f"code,machine,title,interval\nJOB,AE1,The job,{interval}\n{extra_jobs}",
        "last_done.csv": f"job,done_on,count\nJOB,{last_done}\n",
    }


def read(register: Register, *values: tuple[int, str], counter: str = "AE1-H") -> RoundResult:
    """Enter readings, each an hour after it was taken; the result of the last."""
    result = None
    for instant, value in values:
        result = record_round(register, [RoundLine(counter, value, instant)], Signer("CE", instant + H))
    assert result is not None
    return result


def row(register: Register, now: int, as_of: str | None = None, known_on: str | None = None) -> DueRow:
    """The line of the only job."""
    (found,) = due_list(register, Asked(now, as_of, known_on), EVERY).rows
    return found


def reading_number(register: Register, now: int, value_hours: int) -> str:
    """The number of the accepted reading that shows this value."""
    rows = readings_history(register, Asked(now), "AE1-H").rows
    return next(r.number for r in rows if r.dial == value_hours * H and r.version == "accepted")


# --- case 12: faster than the clock ---------------------------------------------------------------------------------


def test_case_12_swapped_digits_are_held_with_the_only_swap_that_fits(tmp_path: Path) -> None:
    register = make_register(tmp_path, files("2000 h", "2025-06-01,30000 h"), at=at(6, 2))
    result = read(register, (at(7, 1), "31204"), (at(7, 8), "31430"))
    (line,) = result.lines
    assert not line.judgement.accepted
    assert "226 h in 7 days" in line.judgement.message
    assert [s.dial for s in line.judgement.suggestions] == [31_340 * H]
    assert [(h.counter, h.dial) for h in held(register, Asked(at(7, 8, 14)))] == [("AE1-H", 31_430 * H)]
    assert row(register, at(7, 8, 14)).marks == ("held reading",)
    # Kept, not used: the count still rests on the reading of 1 July.
    assert row(register, at(7, 8, 14)).because.limbs[0].total == 31_204 * H


def test_a_held_reading_entered_again_adds_nothing(tmp_path: Path) -> None:
    register = make_register(tmp_path, files("2000 h", "2025-06-01,30000 h"), at=at(6, 2))
    read(register, (at(7, 1), "31204"), (at(7, 8), "31430"))
    again = read(register, (at(7, 8), "31430"))
    assert again.receipt is None
    assert again.lines[0].judgement.duplicate
    assert len(held(register, Asked(at(7, 8, 16)))) == 1


def test_case_12_a_lost_decimal_point_on_a_meter_with_tenths(tmp_path: Path) -> None:
    register = make_register(tmp_path, files("2000 h", "2025-01-01,1000 h", reads="tenths"), at=at(1, 2))
    result = read(register, (at(2, 1), "1234.5"), (at(2, 2), "12367"))
    assert [s.dial for s in result.lines[0].judgement.suggestions] == [1236 * H + 7 * 360]
    assert "1 236.7" in result.lines[0].judgement.suggestions[0].text
    assert "+2.2 h" in result.lines[0].judgement.suggestions[0].text


def test_case_12_settling_with_the_suggested_value_moves_the_list(tmp_path: Path) -> None:
    register = make_register(tmp_path, files("2000 h", "2025-06-01,30000 h"), at=at(6, 2))
    read(register, (at(7, 1), "31204"), (at(7, 8), "31430"))
    (waiting,) = held(register, Asked(at(7, 8, 14)))
    command = AmendReading(waiting.number, "value", "read again", "31340")
    result = amend_reading(register, command, Signer("CE", at(7, 8, 15)))
    assert result.after == 31_340 * H
    assert held(register, Asked(at(7, 8, 16))) == ()
    assert row(register, at(7, 8, 16)).because.limbs[0].total == 31_340 * H


# --- case 14: two readings on one day -------------------------------------------------------------------------------


@pytest.fixture
def case_14(tmp_path: Path) -> Register:
    """Readings at 08:00 (5 410) and 20:00 (5 418) of one day."""
    register = make_register(tmp_path, files("2000 h", "2025-06-01,5000 h"), at=at(6, 2))
    read(register, (at(6, 20, 8), "5410"), (at(6, 20, 20), "5418"))
    return register


def test_case_14_end_of_day_value(case_14: Register) -> None:
    assert row(case_14, at(6, 20, 23)).because.limbs[0].total == 5418 * H


def test_case_14a_the_same_again_adds_nothing(case_14: Register) -> None:
    again = record_round(case_14, [RoundLine("AE1-H", "5418", at(6, 20, 20))], Signer("CE", at(6, 20, 22)))
    assert again.receipt is None
    assert again.lines[0].judgement.message == "already entered"


def test_case_14b_higher_than_the_later_reading_is_held(case_14: Register) -> None:
    later = record_round(case_14, [RoundLine("AE1-H", "5419", at(6, 20, 16))], Signer("CE", at(6, 20, 22)))
    assert later.lines[0].judgement.message == "more than the later reading of 20:00 (5 418)"


def test_case_14c_between_is_accepted_and_nothing_later_changes(case_14: Register) -> None:
    before = row(case_14, at(6, 20, 23)).standing
    between = record_round(case_14, [RoundLine("AE1-H", "5414", at(6, 20, 14))], Signer("CE", at(6, 20, 22)))
    assert between.lines[0].judgement.accepted
    assert row(case_14, at(6, 20, 23)).standing == before


# --- case 16: a wrong reading is corrected and the past changes ------------------------------------------------------


@pytest.fixture
def case_16(tmp_path: Path) -> Register:
    """Injectors every 2 000 h; done 2025-05-15 with the hours of that day's reading."""
    register = make_register(tmp_path, files("2000 h", "2024-12-01,48250 h"), at=at(4, 30))
    read(register, (at(5, 1), "50000"), (at(5, 15), "50320"))
    return register


def report_16(register: Register, typed: str | None = None) -> None:
    """The completion of 15 May, and the reading of the 22nd."""
    command = ReportWork("JOB", date(2025, 5, 15), counts={"h": typed} if typed else {})
    report_work(register, command, Signer("CE", at(5, 15, 18)))
    read(register, (at(5, 22), "50340"))


def correct_16(register: Register, *, rehearse: bool = False):  # noqa: ANN201 - the use case's own result
    """The log book shows 50 230 for 15 May."""
    number = reading_number(register, at(5, 23), 50_320)
    command = AmendReading(number, "value", "log book shows 50 230", "50230")
    return amend_reading(register, command, Signer("CE", at(5, 23)), rehearse=rehearse)


def test_case_16_before_the_correction(case_16: Register) -> None:
    shown = row(case_16, at(5, 15, 14))
    assert (shown.state, shown.standing.overdue_counts) == ("overdue", (("h", 70 * H),))
    report_16(case_16)
    limb = row(case_16, at(5, 22, 14)).because.limbs[0]
    assert (limb.base, limb.aim, limb.total - limb.base, limb.left) == (50_320 * H, 52_320 * H, 20 * H, 1980 * H)
    assert row(case_16, at(5, 22, 14)).due_on == date(2025, 9, 21)


def test_case_16_everything_touched_is_listed_before_it_is_confirmed(case_16: Register) -> None:
    report_16(case_16)
    touched = correct_16(case_16, rehearse=True).touched
    assert [(m.job, m.due_before, m.due_after) for m in touched.moved] == [
        ("JOB", date(2025, 9, 21), date(2025, 9, 15))
    ]
    assert [(c.job, c.before, c.after) for c in touched.recounted] == [("JOB", 50_320 * H, 50_230 * H)]
    assert touched.countersign
    # Rehearsed only: nothing has changed.
    assert row(case_16, at(5, 23, 14)).due_on == date(2025, 9, 21)


def test_case_16_after_the_correction(case_16: Register) -> None:
    report_16(case_16)
    correct_16(case_16)
    limb = row(case_16, at(5, 23, 14)).because.limbs[0]
    assert (limb.base, limb.aim, limb.total - limb.base, limb.left) == (50_230 * H, 52_230 * H, 110 * H, 1890 * H)
    assert row(case_16, at(5, 23, 14)).due_on == date(2025, 9, 15)
    (done,) = history(case_16, Asked(at(5, 23, 14)), HistoryFilter(first=date(2025, 5, 1))).rows
    assert (done.on_time, done.counts_late) == (True, (("h", -20 * H),))


def test_case_16_what_the_list_showed_then_is_still_answered(case_16: Register) -> None:
    report_16(case_16)
    correct_16(case_16)
    then = row(case_16, at(5, 23, 14), known_on="2025-05-15 14:00")
    assert (then.state, then.left) == ("overdue", "70 h overdue")


def test_case_16_old_value_who_when_and_why_stay_readable(case_16: Register) -> None:
    report_16(case_16)
    correct_16(case_16)
    versions = [r for r in readings_history(case_16, Asked(at(5, 23, 14)), "AE1-H").rows if r.read_at == at(5, 15)]
    assert [(v.version, v.dial, v.signer, v.reason) for v in versions] == [
        ("corrected", 50_320 * H, "CE", ""),
        ("accepted", 50_230 * H, "CE", "log book shows 50 230"),
    ]


def test_case_16_hours_typed_by_hand_are_flagged_and_not_changed(case_16: Register) -> None:
    report_16(case_16, typed="50320")
    touched = correct_16(case_16).touched
    assert touched.flags == ("JOB: typed 50 320 h is above the corrected reading 50 230 h of the same day",)
    assert touched.recounted == ()
    assert row(case_16, at(5, 23, 14)).because.limbs[0].base == 50_320 * H


def test_case_16_a_correction_needs_a_reason(case_16: Register) -> None:
    number = reading_number(case_16, at(5, 23), 50_320)
    with pytest.raises(NotAllowed, match="reason"):
        amend_reading(case_16, AmendReading(number, "value", " ", "50230"), Signer("CE", at(5, 23)))


# --- case 17: back-dated completion ---------------------------------------------------------------------------------


@pytest.fixture
def case_17(tmp_path: Path) -> Register:
    """2 000 h or 12 months, reported on 9 June as done on 28 May, hours not written down."""
    register = make_register(tmp_path, files("2000 h or 12 months", "2024-06-01,10400 h"), at=at(6, 2, year=2024))
    read(register, (at(5, 25), "12280"), (at(6, 1), "12420"))
    read(register, (at(6, 8), "12560"))
    report_work(register, ReportWork("JOB", date(2025, 5, 28)), Signer("CE", at(6, 9, 18)))
    return register


def test_case_17_next_limits_and_date(case_17: Register) -> None:
    now = row(case_17, at(6, 9, 20))
    hours, months = now.because.limbs
    assert (hours.aim, hours.left, months.aim) == (14_340 * H, 1780 * H, date(2026, 5, 28))
    assert (now.due_on, now.standing.governing) == (date(2025, 9, 5), 0)


def test_case_17_interpolated_hours_are_marked_and_both_dates_are_kept(case_17: Register) -> None:
    (done,) = history(case_17, Asked(at(6, 9, 20)), HistoryFilter(first=date(2025, 1, 1))).rows
    assert [(c.total, c.basis) for c in done.counts] == [(12_340 * H, "interpolated")]
    assert (done.done_on, done.recorded_on, done.days_to_report) == (date(2025, 5, 28), date(2025, 6, 9), 12)


def test_case_17_as_now_known_it_was_done_on_time(case_17: Register) -> None:
    (done,) = history(case_17, Asked(at(6, 9, 20)), HistoryFilter(first=date(2025, 1, 1))).rows
    assert (done.on_time, done.days_late, done.counts_late) == (True, -4, (("h", -60 * H),))


def test_case_17_as_shown_on_5_june_it_was_overdue(case_17: Register) -> None:
    then = row(case_17, at(6, 9, 20), known_on="2025-06-05").standing
    assert (then.state.word, then.overdue_days, then.overdue_counts) == ("overdue", 4, (("h", 20 * H),))


def test_case_17_as_of_5_june_by_what_is_known_now_it_was_done(case_17: Register) -> None:
    assert row(case_17, at(6, 9, 20), as_of="2025-06-05").state == "later"


# --- work done where no reading stands yet ---------------------------------------------------------------------------


@pytest.mark.parametrize("report_first", [True, False], ids=["reported-before-the-reading", "after-it"])
def test_total_of_work_does_not_depend_on_the_order_of_entering(tmp_path: Path, *, report_first: bool) -> None:
    """R12: the hours that count are those when the work was done, as soon as they can be told."""
    register = make_register(tmp_path, files("2000 h", "2024-06-01,10400 h"), at=at(6, 2, year=2024))
    read(register, (at(5, 11), "12000"), (at(5, 25), "12280"))

    def report() -> None:
        report_work(
            register, ReportWork("JOB", date(2025, 6, 4)), Signer("CE", at(6, 4, 18) if report_first else at(6, 9))
        )

    if report_first:
        report()
    read(register, (at(6, 8), "12560"))
    if not report_first:
        report()
    (done,) = history(register, Asked(at(6, 9, 20)), HistoryFilter(first=date(2025, 1, 1))).rows
    assert [(c.total, c.basis) for c in done.counts] == [(12_480 * H, "interpolated")]
    assert (done.on_time, done.counts_late) == (False, (("h", 80 * H),))


def test_a_stale_total_is_said_to_be_one(tmp_path: Path) -> None:
    register = make_register(tmp_path, files("2000 h", "2024-06-01,10400 h"), at=at(6, 2, year=2024))
    read(register, (at(5, 11), "12000"), (at(5, 25), "12280"))
    result = report_work(register, ReportWork("JOB", date(2025, 6, 4)), Signer("CE", at(6, 4, 18)))
    assert "reading of 2025-05-25, the last one" in result.notes[0]


def test_work_before_the_first_reading_needs_a_typed_total(tmp_path: Path) -> None:
    register = make_register(tmp_path, files("2000 h", "2024-06-01,10400 h"), at=at(6, 2, year=2024))
    read(register, (at(5, 11), "12000"))
    with pytest.raises(NotAllowed, match="--count h"):
        report_work(register, ReportWork("JOB", date(2024, 12, 1)), Signer("CE", at(6, 4, 18)))
    report_work(register, ReportWork("JOB", date(2024, 12, 1), counts={"h": "11000"}), Signer("CE", at(6, 4, 18)))


@pytest.mark.parametrize(("typed", "said"), [("50000", "above"), ("5", "below"), ("12100", "")])
def test_a_typed_total_is_held_against_both_neighbours(tmp_path: Path, typed: str, said: str) -> None:
    register = make_register(tmp_path, files("2000 h", "2024-06-01,10400 h"), at=at(6, 2, year=2024))
    read(register, (at(5, 11), "12000"), (at(5, 25), "12280"))
    result = report_work(register, ReportWork("JOB", date(2025, 5, 18), counts={"h": typed}), Signer("CE", at(6, 4)))
    assert (said in result.notes[0]) if said else result.notes == ()


def test_a_unit_the_machine_does_not_count_is_refused(tmp_path: Path) -> None:
    register = make_register(tmp_path, files("2000 h", "2024-06-01,10400 h"), at=at(6, 2, year=2024))
    read(register, (at(5, 11), "12000"))
    with pytest.raises(Refusal, match="counts no starts"):
        report_work(register, ReportWork("JOB", date(2025, 5, 18), counts={"starts": "5"}), Signer("CE", at(6, 4)))


def test_a_machine_that_changed_its_counter_counts_on_the_old_one_before(tmp_path: Path) -> None:
    """Half of the counter only from January on; the doing of July lies before that."""
    changed = files("1000 h", "2024-07-01,") | {
        "machines.csv": "code,name,counts_on\nAE1,Auxiliary engine 1,AE1-H; AE1-H 1/2 from 2025-01-01\n",
        "readings.csv": "counter,read_on,value\nAE1-H,2024-07-01,11000\nAE1-H,2025-01-01,12000\nAE1-H,2025-03-01,12300\n",
    }
    register = make_register(tmp_path, changed, at=at(3, 2))
    limb = row(register, at(3, 2, 14)).because.limbs[0]
    assert limb.base == 11_000 * H
    # 1 000 h to the change and half of what came after it; the change is at the beginning of the day.
    assert 12_140 * H < limb.total < 12_160 * H
    assert row(register, at(3, 2, 14)).state == "overdue"
