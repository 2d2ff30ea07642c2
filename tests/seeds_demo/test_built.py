"""The whole demo as a register, built twice for two days: its size, its soundness, and every sum on its due list.

Each build takes some ten seconds and serves all tests of this file.
"""

from __future__ import annotations

from collections import Counter as Tally
from collections.abc import Iterator
from datetime import date, time, timedelta
from itertools import pairwise
from pathlib import Path
from typing import Any, NamedTuple

import pytest
from by_hand import worked_out
from raw_rows import RawRegister

from pmsched.domain.because import as_data
from pmsched.store.register import Register
from pmsched.store.verify import verify
from pmsched.usecases.amend_reading import held
from pmsched.usecases.ask_due import DueFilter, DueList, DueRow, due_list
from pmsched.usecases.ask_isolations import isolation_list
from pmsched.usecases.views import Asked, ship_clock_of
from seeds_demo.build import build_demo, build_register
from seeds_demo.events import History
from seeds_demo.simulate import simulate

TODAYS = [date(2026, 11, 25), date(2028, 2, 29)]
MORNING = time(7)
SHORT_MONTHS = 9


class Built(NamedTuple):
    """A built register: the day it stands on, its file, the history it was made from, and every line of its due list."""

    today: date
    path: Path
    history: History
    rows: tuple[DueRow, ...]

    def asked(self, **when: str) -> Asked:
        """A question asked on that morning."""
        return Asked(instant(self.path, self.today), **when)


def instant(path: Path, day: date) -> int:
    """The morning of that ship's date."""
    with Register(str(path)) as register:
        return ship_clock_of(register).instant_of(day, MORNING)


def every_line(path: Path, asked: Asked) -> DueList:
    """The due list with all jobs on it."""
    with Register(str(path)) as register:
        return due_list(register, asked, DueFilter(within_days=None))


@pytest.fixture(scope="module", params=TODAYS, ids=str)
def built(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Built:
    """The demo of a day."""
    today = request.param
    history = simulate(today)
    path = build_register(tmp_path_factory.mktemp("demo") / "demo.db", history)
    return Built(today, path, history, every_line(path, Asked(instant(path, today))).rows)


@pytest.fixture
def raw(built: Built) -> Iterator[RawRegister]:
    """The same register, read by the database alone."""
    with RawRegister(built.path) as register:
        yield register


@pytest.mark.parametrize(
    ("table", "where", "least"),
    [
        pytest.param("machine", "1", 150, id="machines"),
        pytest.param("job", "1", 400, id="jobs"),
        pytest.param("counter", "1", 40, id="counters"),
        pytest.param("report", "replaces_id IS NULL", 8_000, id="reports"),
        pytest.param("reading", "replaces_id IS NULL", 25_000, id="readings"),
        pytest.param("person", "1", 20, id="people"),
        pytest.param("part", "1", 30, id="parts"),
    ],
)
def test_size(raw: RawRegister, table: str, where: str, least: int) -> None:
    """As much as a ship gathers in five years."""
    assert raw.count(table, where) >= least


def test_register_verifies_clean(built: Built) -> None:
    """Every entry is chained, every body agrees with its rows, no id is missing: the deeds were the real ones."""
    with Register(str(built.path)) as register:
        assert verify(register) == []


def test_deeds_are_those_that_people_do(raw: RawRegister) -> None:
    """Each entered in the order of time, and nothing by another way."""
    deeds = Tally(deed for deed, _ in raw.entries())
    assert deeds.keys() == {
        "set up", "load register", "record round", "report work", "change clock", "correct reading", "correct report",
        "isolate",
    }  # fmt: skip
    assert all(before <= after for (_, before), (_, after) in pairwise(raw.entries()))


def test_overdue_are_the_jobs_that_were_left_undone(built: Built) -> None:
    """The simulation reckons by days and knows no engine; the engine reckons by seconds: they agree on every job."""
    overdue = {row.job for row in built.rows if row.state == "overdue"}
    assert overdue == set(built.history.ending.overdue)


def test_one_machine_must_not_be_started(built: Built) -> None:
    """The one the simulation says, for the reason and with the tag that it says; its jobs are marked."""
    expected = built.history.ending.isolated
    with Register(str(built.path)) as register:
        (row,) = isolation_list(register, built.asked())[1]
    assert (row.machine, row.why, row.tag) == (expected.machine, expected.why, expected.tag)
    assert (row.begun_on, row.signer) == (expected.since_on, expected.by)
    assert expected.machine in {one.machine for one in built.rows if "isolated" in one.marks}


def test_the_day_is_believable(built: Built) -> None:
    """A handful overdue, some due, a month of routine ahead, a reading or two to settle, no date beyond reason."""
    states = Tally(row.state for row in built.rows)
    assert 3 <= states["overdue"] <= 12
    assert 2 <= states["due"] + states["past due by estimate"] <= 12
    assert 60 <= states["upcoming"] <= 140
    assert states["no date"] == 0
    overdue = [row for row in built.rows if row.state == "overdue"]
    assert any(not row.critical for row in overdue)
    assert any(row.standing.overdue_counts and not row.standing.overdue_days for row in overdue)
    assert max(row.standing.overdue_days for row in overdue) <= 40
    dates = [row.due_on for row in built.rows if row.due_on]
    assert built.today - timedelta(days=75) <= min(dates)
    assert max(dates) <= built.today + timedelta(days=5 * 366)


def test_held_readings_are_those_that_were_planted(built: Built) -> None:
    """And nothing that was meant to be true is held."""
    with Register(str(built.path)) as register:
        waiting = held(register, built.asked())
    assert [(one.counter, one.dial) for one in waiting] == sorted(built.history.ending.held)


def test_every_sum_agrees_with_one_worked_out_by_hand(built: Built, raw: RawRegister) -> None:
    """For each limit of each job unit: base, aim, window, limit, last reading, use, dates, state and what governs."""
    lines = {(row.job, row.unit): row for row in built.rows}
    units = list(raw.job_units())
    assert {(unit.job, unit.unit) for unit in units} == lines.keys()
    for unit in units:
        expected = worked_out(unit.rule, unit.last, unit.first, unit.uses, built.today)
        assert _told(lines[unit.job, unit.unit]) == expected, (unit.job, unit.unit)


def _told(row: DueRow) -> dict[str, Any]:
    because = as_data(row.because)
    limbs = [{name: value for name, value in limb.items() if name != "what"} for limb in because["limbs"]]
    return {
        "state": because["state"], "due_on": row.due_on and row.due_on.isoformat(), "governing": because["governing"],
        "limbs": limbs,
    }  # fmt: skip


@pytest.mark.parametrize("days_ago", [14, 90, 365, 730, 1400, 1800])
@pytest.mark.parametrize("way", ["as_of", "known_on"])
def test_days_past_were_believable_too(built: Built, way: str, days_ago: int) -> None:
    """Few jobs were overdue on them, by what is known now as by what was known then."""
    day = built.today - timedelta(days=days_ago)
    states = Tally(row.state for row in every_line(built.path, built.asked(**{way: str(day)})).rows)
    assert states["overdue"] <= 15
    assert states["past due by estimate"] <= 25
    assert 50 <= states["upcoming"] <= 160


def test_fewer_months_give_the_same_kind_of_day_and_the_same_each_time(tmp_path: Path) -> None:
    """The whole vessel with a short history, twice: every byte signed is the same but for the name of the book."""
    told: list[tuple[int, int]] = []
    signed = []
    for name in ("first.db", "second.db"):
        path = build_demo(
            tmp_path / name, TODAYS[0], months=SHORT_MONTHS, progress=lambda done, of: told.append((done, of))
        )
        with RawRegister(path) as raw:
            signed.append(raw.bodies()[1:])
    assert signed[0] == signed[1] != []
    assert told == [(n, len(told) // 2) for _ in range(2) for n in range(1, len(told) // 2 + 1)]
    states = Tally(row.state for row in every_line(path, Asked(instant(path, TODAYS[0]))).rows)
    assert 3 <= states["overdue"] <= 12
    assert 2 <= states["due"] + states["past due by estimate"] <= 12


def test_broken_off_build_leaves_nothing_behind(tmp_path: Path) -> None:
    """No half a register, and no folder of it."""

    def give_up(_done: int, _of: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        build_demo(tmp_path / "demo.db", TODAYS[0], months=SHORT_MONTHS, progress=give_up)
    assert list(tmp_path.iterdir()) == []
