"""The parts of the simulation: the voyage, the words, and what the catalogue makes of a row."""

from __future__ import annotations

import re
from datetime import date
from itertools import groupby
from random import Random

import pytest

from pmsched.domain.clocks import check_offset
from seeds_demo.catalogue import Source, jobs, uses
from seeds_demo.voyage import DOCKING_DAYS, sail
from seeds_demo.words import Writer, condition_found, fill, reporter

JOBS = {job.code: job for job in jobs()}


def chance(seed: int) -> Random:
    """A source of chance; nothing secret hangs on it."""
    return Random(seed)  # noqa: S311 - simulated data


@pytest.mark.parametrize("seed", range(5))
def test_voyage_has_one_docking_and_calls_at_ports(seed: int) -> None:
    """Most days are at sea; the docking takes twelve days and lies near the middle."""
    states = sail(date(2025, 1, 1), 730, chance(seed)).states
    stretches = [(state, len(list(days))) for state, days in groupby(states)]
    assert len(states) == 730
    assert [days for state, days in stretches if state == "dock"] == [DOCKING_DAYS]
    assert 0.35 < states.index("dock") / 730 < 0.65
    assert 0.6 < states.count("sea") / 730 < 0.9


@pytest.mark.parametrize("seed", range(5))
def test_clock_offsets_are_ones_that_clocks_have(seed: int) -> None:
    """The ship never crosses the date line."""
    for change in sail(date(2025, 1, 1), 730, chance(seed)).clock:
        assert check_offset(change.offset_minutes) == change.offset_minutes


def test_no_counter_can_outrun_the_clock() -> None:
    """Daily use stays an hour below the day, which leaves room for clock changes."""
    hours = [use for use in uses() if not use.counter.endswith(("-S", "-M3"))]
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
    first = writer.remark(JOBS["LBP-01"], "fair wear, will last", chance(3))
    second = writer.remark(JOBS["LBS-01"], "fair wear, will last", chance(3))
    assert first != second


@pytest.mark.parametrize("code", JOBS)
def test_every_job_has_words_for_every_condition(code: str) -> None:
    """No job is left speechless, and somebody reports it."""
    writer, rng = Writer(), chance(len(code))
    for condition in ("as new", "fair wear, will last", "worn, watch", "worn, renewed", "damaged, not repaired"):
        assert writer.remark(JOBS[code], condition, rng)
    assert condition_found(JOBS[code], rng)
    assert reporter(JOBS[code], rng)


def test_margin_of_a_job_in_parts_and_in_hours() -> None:
    """10 % of 3 000 h is 300 h; 400 h is 400 h."""
    margins = {code: JOBS[code].margin(JOBS[code].limbs[0]) for code in ("CU-01", "CU-02")}  # type: ignore[arg-type]
    assert margins == {"CU-01": 300 * 3600, "CU-02": 400 * 3600}


def test_machines_count_on_their_own_and_on_others() -> None:
    """A share is kept as a fraction; a compressor has two counters."""
    assert JOBS["SWP1-01"].sources == {"h": Source("ME-H", 1, 2)}
    assert JOBS["AE2-CP-01"].sources == {"h": Source("AE2-H")}
    assert JOBS["SAC1-01"].sources == {"h": Source("SAC1-H"), "starts": Source("SAC1-S")}


def test_units_are_done_together_or_one_by_one() -> None:
    """Long hours intervals are worked off unit by unit."""
    assert JOBS["ME-02"].lines == (("1", "2", "3", "4", "5", "6"),)
    assert JOBS["CU-02"].lines == (("1",), ("2",), ("3",), ("4",), ("5",), ("6",))
    assert JOBS["ME-01"].lines == ((),)
