"""The parts of the simulation: the voyage, the words, and what the catalogue and the kinds make of a row."""

from __future__ import annotations

import re
from datetime import date, timedelta
from itertools import groupby, pairwise
from random import Random

import pytest

from pmsched.domain.clocks import check_offset
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb
from seeds_demo.catalogue import jobs, uses
from seeds_demo.grids import grid_before
from seeds_demo.jobs import Source
from seeds_demo.kinds import COLUMNS, job_rows
from seeds_demo.people import of_rank, on_board, people
from seeds_demo.reports import reporter
from seeds_demo.voyage import DAYS_BETWEEN_DOCKINGS, DOCKING_DAYS, sail
from seeds_demo.words import Writer, condition_found, fill, is_wordless

JOBS = {job.code: job for job in jobs()}


def chance(seed: int) -> Random:
    """A source of chance; nothing secret hangs on it."""
    return Random(seed)  # noqa: S311 - simulated data


@pytest.mark.parametrize("seed", range(5))
def test_voyage_has_two_dockings_and_calls_at_ports(seed: int) -> None:
    """Most days are at sea; a docking takes twelve days, and the second comes thirty months after the first."""
    states = sail(date(2025, 1, 1), 1826, chance(seed)).states
    stretches = [(state, len(list(days))) for state, days in groupby(states)]
    assert len(states) == 1826
    assert [days for state, days in stretches if state == "dock"] == [DOCKING_DAYS, DOCKING_DAYS]
    first = states.index("dock")
    second = states.index("dock", first + DOCKING_DAYS)
    assert abs(second - first - DAYS_BETWEEN_DOCKINGS) < 20
    assert 0.6 < states.count("sea") / 1826 < 0.9


@pytest.mark.parametrize("seed", range(5))
def test_clock_offsets_are_ones_that_clocks_have(seed: int) -> None:
    """The ship never crosses the date line."""
    for change in sail(date(2025, 1, 1), 1826, chance(seed)).clock:
        assert check_offset(change.offset_minutes) == change.offset_minutes


def test_no_counter_can_outrun_the_clock() -> None:
    """Daily use stays an hour below the day, which leaves room for clock changes."""
    hours = [use for use in uses() if use.counter.endswith("-H")]
    assert max(high for use in hours for _, high in use.by_state.values()) <= 23 * 3600


@pytest.mark.parametrize(
    ("template", "shape"),
    [
        pytest.param("{3-5} h", r"[345] h", id="whole"),
        pytest.param("{0.8-1.1} mm", r"(0\.[89]|1\.[01]) mm", id="tenths"),
        pytest.param("{0.01-0.03}", r"0\.0[123]", id="hundredths"),
        pytest.param("{good|dry}, {good|dry}", r"(good|dry), (good|dry)", id="words"),
        pytest.param("{dry|{2-3} l}", r"dry|[23] l", id="figure-in-words"),
        pytest.param("{-0.2|-0.1} bar", r"-0\.[12] bar", id="below-zero"),
    ],
)
def test_templates_are_filled(template: str, shape: str) -> None:
    """Every slot gives one of its values."""
    rng = chance(1)
    assert all(re.fullmatch(shape, fill(template, rng)) for _ in range(30))


def test_writer_never_lets_two_jobs_say_the_same() -> None:
    """The second job is given other words."""
    writer = Writer()
    first = writer.remark(JOBS["LBP-E-01"], "fair wear, will last", chance(3))
    second = writer.remark(JOBS["LBS-E-01"], "fair wear, will last", chance(3))
    assert first != second


def test_words_do_not_run_out() -> None:
    """Where all templates are used up by one job, what stands behind them still tells another job apart."""
    writer = Writer()
    for seed in range(3000):
        writer.remark(JOBS["OWS-01"], "fair wear, will last", chance(seed))
    twin = [writer.remark(JOBS["LGR-01"], "as new", chance(seed)) for seed in range(300)]
    assert len(set(twin)) > 100


@pytest.mark.parametrize("code", JOBS)
def test_every_job_has_words_for_every_condition(code: str) -> None:
    """No job is left speechless, and somebody reports it."""
    writer, rng = Writer(), chance(len(code))
    for condition in ("as new", "fair wear, will last", "worn, watch", "worn, renewed", "damaged, not repaired"):
        assert writer.remark(JOBS[code], condition, rng)
    assert condition_found(JOBS[code], rng)
    assert reporter(JOBS[code], 100, rng) in people()


def test_what_was_found_wrong_is_always_put_into_words() -> None:
    """Only a report that all was well may stay without a remark, and after a look more often than after an overhaul."""
    looked, opened = JOBS["EG-01"], JOBS["ME-CU-03"]
    assert not any(is_wordless(looked, "worn, watch", chance(seed)) for seed in range(200))
    wordless = [sum(is_wordless(job, "as new", chance(seed)) for seed in range(500)) for job in (looked, opened)]
    assert wordless[0] > 2 * wordless[1] > 0


def test_margin_of_a_job_in_parts_and_in_hours() -> None:
    """10 % of 3 000 h is 300 h; 400 h is 400 h."""
    margins = {code: JOBS[code].margin(JOBS[code].counted[0]) for code in ("ME-CU-01", "ME-CU-02")}
    assert margins == {"ME-CU-01": 300 * 3600, "ME-CU-02": 400 * 3600}


def test_margin_of_a_job_on_the_calendar() -> None:
    """3 months after 30 November; 10 % of a year of 365 days; without a margin the aim itself."""
    aim = date(2025, 11, 30)
    limits = {code: JOBS[code].limit(JOBS[code].calendar, aim) for code in ("BLR-04", "DOP-01", "EG-03")}  # type: ignore[arg-type]
    assert limits == {"BLR-04": date(2026, 2, 28), "DOP-01": date(2026, 1, 5), "EG-03": aim}


def test_machines_count_on_their_own_and_on_others() -> None:
    """A share is kept as a fraction; a compressor has two counters; a motor counts the starts of its thruster."""
    assert JOBS["SWP1-01"].sources == {"h": Source("ME-H", 1, 2)}
    assert JOBS["AE2-CP-01"].sources == {"h": Source("AE2-H")}
    assert JOBS["SAC1-01"].sources == {"h": Source("SAC1-H"), "starts": Source("SAC1-S")}
    assert JOBS["BTH-M-01"].sources == {"starts": Source("BTH-S")}


def test_units_are_done_together_or_one_by_one() -> None:
    """As the kind says."""
    assert JOBS["ME-02"].lines == (("1", "2", "3", "4", "5", "6"),)
    assert JOBS["ME-CU-02"].lines == (("1",), ("2",), ("3",), ("4",), ("5",), ("6",))
    assert JOBS["ME-01"].lines == ((),)


def test_a_kind_stands_for_a_job_on_every_machine_it_lists() -> None:
    """The code is the machine's and the kind's number; everything else is the same, cautions written out."""
    rows = {row["code"]: row for row in job_rows()}
    trips = [rows[f"AE{n}-04"] for n in (1, 2, 3)]
    assert [row["machine"] for row in trips] == ["AE1", "AE2", "AE3"]
    assert len({tuple(row[column] for column in COLUMNS[2:]) for row in trips}) == 1
    assert trips[0]["cautions"].startswith("Tell the bridge before the test and after it; ")


def test_routine_is_spread_over_the_days() -> None:
    """Of the monthly jobs on fixed dates, no day of the month ahead has more than four."""
    today, start = date(2026, 3, 1), date(2021, 3, 1)
    monthly = [job for job in jobs() if job.dated_grid == CalendarLimb(Span(months=1))]
    days = [grid_before(job.code, Span(months=1), start, today).day for job in monthly]
    assert len(monthly) > 30
    assert max(days.count(day) for day in days) <= 4
    assert all(start - timedelta(days=31) <= grid_before(j.code, Span(months=1), start, today) < start for j in monthly)


def test_officers_relieve_each_other() -> None:
    """One of the two is on board on a day; both come in a year; of three motormen each may have done it."""
    seen = [on_board("Chief engineer", day, chance(day)) for day in range(365)]
    assert set(seen) == set(of_rank("Chief engineer"))
    assert sum(a != b for a, b in pairwise(seen)) <= 4
    assert {on_board("Motorman", 5, chance(seed)) for seed in range(50)} == set(of_rank("Motorman"))
