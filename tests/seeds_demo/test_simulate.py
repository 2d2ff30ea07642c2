"""The simulated history: the same every time, possible by the clock, and believable at its end on any day."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from collections import Counter as Tally
from datetime import date, time, timedelta
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pmsched.domain.counts import HOURS, SECONDS_PER_DAY
from pmsched.domain.periods import Span, add_months, add_span
from pmsched.domain.plain import check_text
from pmsched.domain.rules import CalendarLimb
from seeds_demo.catalogue import counters, jobs
from seeds_demo.events import (
    ClockEvent,
    CorrectionEvent,
    History,
    ReportCorrectionEvent,
    ReportEvent,
    RoundEvent,
    SheetEvent,
    moment_of,
)
from seeds_demo.jobs import Job
from seeds_demo.people import people
from seeds_demo.simulate import MONTHS_TYPED, simulate
from seeds_demo.voyage import FIRST_OFFSET

TODAYS = [date(2024, 2, 29), date(2026, 1, 1), date(2026, 11, 25), date(2027, 12, 31)]
EVERY_TODAY = pytest.mark.parametrize("today", TODAYS, ids=str)
JOBS = {job.code: job for job in jobs()}

ALLOWED = {"pmsched", "pmsched.domain"} | {
    f"pmsched.domain.{module}" for module in ("counts", "errors", "periods", "problems", "rules")
}


@cache
def history(today: date) -> History:
    """The history with the usual seed; worked out once for all tests."""
    return simulate(today)


@cache
def reports(today: date) -> list[ReportEvent]:
    """The reports that stand, in order; those found to be void are left out."""
    void = {(event.job, event.done_on) for event in put_right(today) if event.condition is None}
    found = [event for event in history(today).events if isinstance(event, ReportEvent)]
    return [event for event in found if (event.job, event.done_on) not in void]


def put_right(today: date) -> list[ReportCorrectionEvent]:
    """The corrections of reports, in order."""
    return [event for event in history(today).events if isinstance(event, ReportCorrectionEvent)]


def rounds(today: date) -> list[RoundEvent]:
    """The rounds typed on the day, in order."""
    return [event for event in history(today).events if isinstance(event, RoundEvent)]


def walked(today: date) -> list[tuple[date, tuple[tuple[str, int], ...]]]:
    """Every round walked, in order, typed on the day or loaded from a sheet: its date and its lines."""
    sheets = [event for event in history(today).events if isinstance(event, SheetEvent)]
    loaded = [found for sheet in sheets for found in sheet.rounds]
    return [*loaded, *((event.recorded_on, event.lines) for event in rounds(today))]


def corrections(today: date) -> dict[tuple[str, date], CorrectionEvent]:
    """The corrections by the reading they put right."""
    found = (event for event in history(today).events if isinstance(event, CorrectionEvent))
    return {(event.counter, event.read_on): event for event in found}


@cache
def dials(today: date, counter: str, *, corrected: bool) -> list[tuple[date, int]]:
    """What a dial showed: the first reading and every round but a held one, as typed or as put right."""
    first = counters()[counter]
    readings = [(history(today).start, first.dial)]
    rights = corrections(today)
    for on, lines in walked(today):
        right = rights.get((counter, on))
        readings.append((on, right.dial if corrected and right else dict(lines)[counter]))
    held = {one.counter for one in history(today).ending.held}
    return readings[:-1] if counter in held else readings


def is_possible(meter_unit: str, step: int, before: tuple[date, int], after: tuple[date, int]) -> bool:
    """Not backwards, and hours not faster than the clock (one step of the dial allowed, R10)."""
    rise = after[1] - before[1]
    elapsed = (after[0] - before[0]).days * SECONDS_PER_DAY
    return rise >= 0 and (meter_unit != HOURS or rise <= elapsed + step)


def last_done(today: date, job: Job) -> date:
    """When a job without units was last reported done, or done before the start."""
    done = [event.done_on for event in reports(today) if event.job == job.code]
    return max(done, default=history(today).start - timedelta(days=1))


def test_same_day_and_seed_give_the_same_history() -> None:
    """Every file and every event is equal the second time."""
    assert simulate(TODAYS[0]) == history(TODAYS[0])


def test_another_seed_gives_another_history() -> None:
    """The seed is used."""
    assert simulate(TODAYS[0], seed=8).events != history(TODAYS[0]).events


def test_simulation_does_not_load_the_engine() -> None:
    """What is demonstrated has no part in making up the data."""
    code = "import sys, seeds_demo.simulate; print(*(m for m in sys.modules if m.startswith('pmsched')))"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout
    assert set(shown.split()) <= ALLOWED


@EVERY_TODAY
def test_volume(today: date) -> None:
    """Five years of rounds twice a week, and as many reports as a ship makes."""
    assert history(today).start == add_months(today, -60)
    counted = Tally(type(event) for event in history(today).events)
    assert 8000 <= counted[ReportEvent] <= 11000
    assert 520 <= len(walked(today)) <= 524
    assert sum(len(lines) for _, lines in walked(today)) >= 25_000
    assert counted[CorrectionEvent] == 5
    assert counted[ReportCorrectionEvent] == 7
    assert 10 <= counted[ClockEvent] <= 150


@EVERY_TODAY
def test_events_are_in_the_order_of_recording_and_before_today(today: date) -> None:
    """They can be entered one after the other, and nothing has been done today."""
    moments = [moment_of(event) for event in history(today).events]
    assert moments == sorted(moments)
    assert moments[0][0] > history(today).start
    assert moments[-1][0] < today


@EVERY_TODAY
def test_reports_follow_the_work_within_three_days(today: date) -> None:
    """Nothing is reported before it is done."""
    for event in reports(today):
        assert timedelta(0) <= event.recorded_on - event.done_on <= timedelta(days=3), event
        assert history(today).start <= event.done_on


@EVERY_TODAY
def test_a_unit_is_done_once_a_day_and_in_order(today: date) -> None:
    """Every report moves each of its units on."""
    last: dict[tuple[str, str], date] = {}
    for event in reports(today):
        for unit in event.units or ("",):
            assert last.get((event.job, unit), date.min) < event.done_on, event
            last[event.job, unit] = event.done_on


@EVERY_TODAY
def test_rounds_hold_every_meter_twice_a_week(today: date) -> None:
    """Nothing is left out, none is walked twice, and the last one is at most four days old."""
    for on, lines in walked(today):
        assert on.weekday() in {2, 6}
        assert [code for code, _ in lines] == list(counters())
    days = [on for on, _ in walked(today)]
    assert days == sorted(set(days))
    assert 1 <= (today - days[-1]).days <= 4


@EVERY_TODAY
def test_rounds_of_the_last_months_are_typed_on_the_day(today: date) -> None:
    """Those before stand on sheets, each loaded in the evening of its last round."""
    typed_from = add_months(today, -MONTHS_TYPED).replace(day=1)
    assert all(event.recorded_on >= typed_from and event.recorded_time < time(13) for event in rounds(today))
    sheets = [event for event in history(today).events if isinstance(event, SheetEvent)]
    assert 18 <= len(sheets) <= 21
    for sheet in sheets:
        assert sheet.rounds[-1][0] == sheet.recorded_on < typed_from
        assert sheet.recorded_time >= time(18)


@pytest.mark.parametrize("corrected", [False, True], ids=["as-typed", "as-put-right"])
@EVERY_TODAY
def test_meters_run_forwards_and_no_faster_than_the_clock(today: date, *, corrected: bool) -> None:
    """All readings but the planted one can be true, also the wrong ones that are put right later."""
    for code, counter in counters().items():
        for before, after in pairwise(dials(today, code, corrected=corrected)):
            assert is_possible(counter.meter.unit, counter.meter.step, before, after), (code, before, after)
            assert after[1] % counter.meter.step == counter.dial % counter.meter.step == 0


@EVERY_TODAY
def test_the_planted_readings_cannot_be_true_and_look_like_swapped_digits(today: date) -> None:
    """The last round holds one such reading, or two."""
    held = history(today).ending.held
    assert 1 <= len(held) <= 2
    last = rounds(today)[-1]
    for one in held:
        meter = counters()[one.counter].meter
        before = dials(today, one.counter, corrected=True)[-1]
        assert dict(last.lines)[one.counter] == one.dial
        assert not is_possible(meter.unit, meter.step, before, (last.recorded_on, one.dial))
        digits, rest = str(one.dial // 3600), one.dial % 3600
        swapped = {digits[:n] + digits[n + 1] + digits[n] + digits[n + 2 :] for n in range(len(digits) - 1)}
        meant = [(last.recorded_on, int(other) * 3600 + rest) for other in swapped]
        assert any(is_possible(meter.unit, meter.step, before, other) for other in meant)


@EVERY_TODAY
def test_corrections_put_a_wrong_reading_right(today: date) -> None:
    """They come after the next round, differ from what was typed, and name a reason."""
    days = [on for on, _ in walked(today)]
    for (counter, read_on), event in corrections(today).items():
        typed = next(dict(lines)[counter] for on, lines in walked(today) if on == read_on)
        assert typed != event.dial
        assert event.recorded_on > days[days.index(read_on) + 1]
        assert event.reason


@EVERY_TODAY
def test_corrections_of_reports_follow_them_and_change_nothing_that_is_due(today: date) -> None:
    """Words are added to four; three were put on a machine alike, of a job that goes by the calendar alone."""
    found = {(event.job, event.done_on): event for event in history(today).events if isinstance(event, ReportEvent)}
    for event in put_right(today):
        report = found[event.job, event.done_on]
        assert report.recorded_on < event.recorded_on <= report.recorded_on + timedelta(days=6)
        assert report.remarks == ""
        assert event.condition is None or event.remarks
        assert event.condition is not None or not JOBS[event.job].counted
    assert [event.condition is None for event in put_right(today)].count(True) == 3


@EVERY_TODAY
def test_clock_moves_by_an_hour_at_most(today: date) -> None:
    """From the offset of the first day on, at most once a night."""
    changes = [event for event in history(today).events if isinstance(event, ClockEvent)]
    offsets = [FIRST_OFFSET, *(event.offset_minutes for event in changes)]
    assert all(abs(b - a) in {30, 60} for a, b in pairwise(offsets))
    assert all(a.at_on < b.at_on for a, b in pairwise(changes))


@EVERY_TODAY
def test_typed_totals_lie_between_the_readings(today: date) -> None:
    """What a person types fits the rounds before and after; only hours are typed."""
    typed = [event for event in reports(today) if event.count is not None]
    assert typed
    shown = {code: dials(today, code, corrected=True) for code in counters()}
    for event in typed:
        source = JOBS[event.job].sources[HOURS]
        readings = shown[source.counter]
        assert event.count is not None
        assert max(dial for on, dial in readings if on <= event.done_on) <= event.count
        assert event.count <= min((dial for on, dial in readings if on > event.done_on), default=event.count)


def is_believable(today: date) -> bool:
    """4 to 10 overdue, at most one of them critical, 3 to 20 due by the day after tomorrow."""
    ending = history(today).ending
    critical = [code for code in ending.overdue if JOBS[code].critical]
    return (
        4 <= len(ending.overdue) <= 10
        and len(critical) <= 1
        and 3 <= len(ending.due_soon) <= 20
        and not set(ending.overdue) & set(ending.due_soon)
    )


@EVERY_TODAY
def test_the_end_is_believable(today: date) -> None:
    """A few jobs overdue and a few due."""
    assert is_believable(today)


@settings(max_examples=4, deadline=None)
@given(st.dates(date(2023, 1, 1), date(2040, 12, 31)))
def test_the_end_is_believable_on_any_day(today: date) -> None:
    """Whatever the date and the day of the week."""
    assert is_believable(today)


@EVERY_TODAY
def test_calendar_jobs_are_overdue_exactly_where_it_is_said(today: date) -> None:
    """Worked out again from the reports alone, for jobs that count days from the last doing."""
    seen = 0
    for job in jobs():
        limb = job.limbs[0]
        if job.counts_from != "done" or job.units or len(job.limbs) > 1 or not isinstance(limb, CalendarLimb):
            continue
        limit = add_span(add_span(last_done(today, job), limb.every), job.late.span)
        in_history = any(event.job == job.code for event in reports(today))
        assert not in_history or (limit < today) == (job.code in history(today).ending.overdue), job.code
        seen += in_history
    assert seen >= 100


@EVERY_TODAY
def test_weekly_jobs_are_overdue_exactly_where_it_is_said(today: date) -> None:
    """On a grid, the last date before today is open only where the doing was left out."""
    table = csv.DictReader(io.StringIO(history(today).files["jobs.csv"]))
    grids = {row["code"]: row["grid_from"] for row in table}
    for job in (job for job in jobs() if job.limbs == (CalendarLimb(Span(days=7)),)):
        since = (today - timedelta(days=1) - date.fromisoformat(grids[job.code])).days
        latest = today - timedelta(days=1 + since % 7)
        is_open = last_done(today, job) < latest - timedelta(days=3)
        assert is_open == (job.code in history(today).ending.overdue), job.code


@EVERY_TODAY
def test_what_is_isolated_was_left_alone_since(today: date) -> None:
    """The machine exists and is not overdue, nothing was done on it since, and it says why, under which tag, by whom."""
    isolated = history(today).ending.isolated
    own = {job.code for job in jobs() if job.machine == isolated.machine}
    assert own
    assert not own & set(history(today).ending.overdue)
    assert 1 <= (today - isolated.since_on).days <= 5
    assert all(event.done_on < isolated.since_on for event in reports(today) if event.job in own)
    assert isolated.by in {person.code for person in people()}
    check_text(isolated.why)
    check_text(isolated.tag)


@EVERY_TODAY
def test_every_code_in_an_event_exists(today: date) -> None:
    """People, jobs, units and counters."""
    known = {person.code for person in people()}
    for event in history(today).events:
        if isinstance(event, ClockEvent):
            continue
        assert event.by in known
        if isinstance(event, ReportCorrectionEvent):
            assert event.job in JOBS
        if isinstance(event, ReportEvent):
            assert set(event.units) <= set(JOBS[event.job].units)
            assert bool(event.units) == bool(JOBS[event.job].units)
    assert {counter for counter, _ in corrections(today)} <= set(counters())


@EVERY_TODAY
def test_remarks_are_plain_and_no_two_jobs_say_the_same(today: date) -> None:
    """Forty reports with one text is what an auditor looks for."""
    said_by: dict[str, str] = {}
    said = Tally(event.remarks for event in reports(today) if event.remarks)
    for event in reports(today):
        check_text(event.remarks)
        assert event.remarks == event.remarks.strip()
        assert not set(event.remarks) & set("{}|[]")
        assert event.remarks[:1] not in {"=", "+", "-", "@"}
        assert not event.remarks or said_by.setdefault(event.remarks, event.job) == event.job
    assert 0.5 * len(reports(today)) < said.total() < 0.9 * len(reports(today))
    assert max(said.values()) <= 10
    assert len(said_by) > 0.8 * said.total()
