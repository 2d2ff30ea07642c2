"""The sheet of a round: what is known and expected of every counter, and one value judged."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest
from small_ship import NOW, build_ship

from pmsched.domain.counts import Meter
from pmsched.domain.errors import NotFound, Refusal
from pmsched.store.register import Register
from pmsched.usecases.ask_round import SheetLine, judge_value, round_sheet
from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

H = 3600
DAY = 24 * H


@pytest.fixture(scope="module")
def register(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """The small ship, open; these tests only ask."""
    with Register(str(build_ship(tmp_path_factory.mktemp("ship")))) as opened:
        yield opened


@pytest.fixture
def own(tmp_path: Path) -> Iterator[Register]:
    """The small ship, to write in."""
    with Register(str(build_ship(tmp_path))) as opened:
        yield opened


def line_of(register: Register, counter: str, now: int = NOW) -> SheetLine:
    """One line of the sheet."""
    return next(line for line in round_sheet(register, Asked(now)) if line.counter == counter)


def test_walking_order(register: Register) -> None:
    """The counters stand in the order in which one passes them."""
    assert [line.counter for line in round_sheet(register, Asked(NOW))] == ["ME-H", "GE1-H", "GE1-S"]


def test_what_is_known_of_a_counter(register: Register) -> None:
    """Last value, when, use, and what the dial should show: 12 h a day over 6 days 22 h, down to whole hours."""
    line = line_of(register, "ME-H")
    assert (line.name, line.machine, line.machine_name, line.meter) == (
        "Main engine hours", "ME", "Main engine", Meter("h", "whole"),
    )  # fmt: skip
    assert (line.dial, line.read_on) == (12_004 * H, date(2030, 1, 8))
    assert line.expected == (12_004 + 83) * H


def test_expected_keeps_to_the_steps_of_the_dial(register: Register) -> None:
    """A dial of tenths is expected to show tenths."""
    expected = line_of(register, "GE1-H").expected
    assert expected is not None
    assert expected % 360 == 0
    assert expected % 3600 != 0


def test_name_of_the_machine_stands_in(register: Register) -> None:
    """A counter without a name of its own goes by its machine's."""
    assert line_of(register, "GE1-H").name == "Generator engine 1"


def test_one_reading_gives_no_use(register: Register) -> None:
    """Nothing is expected of a counter that was read once."""
    line = line_of(register, "GE1-S")
    assert (line.dial, line.rate, line.expected) == (640, None, None)


def test_asked_before_its_first_reading(register: Register) -> None:
    """A counter not read by then has no last value."""
    lines = {line.counter: line for line in round_sheet(register, Asked(NOW, as_of="2029-12-10"))}
    assert all(line.dial is None and line.expected is None for line in lines.values())


def test_held_readings_are_named(own: Register) -> None:
    """A line says which readings of its counter wait to be settled; they change nothing else."""
    record_round(own, [RoundLine("ME-H", "12900", NOW)], Signer("CE", NOW))
    line = line_of(own, "ME-H")
    assert len(line.held) == 1
    assert line.dial == 12_004 * H


@pytest.mark.parametrize(
    ("value", "accepted", "code"),
    [
        pytest.param("12090", True, "", id="possible"),
        pytest.param("12004", True, "", id="stood-still"),
        pytest.param("12171", True, "", id="all-the-time-and-a-step"),
        pytest.param("12172", False, "faster-than-clock", id="more-than-the-clock"),
        pytest.param("12003", False, "backwards", id="backwards"),
    ],
)
def test_value_judged(register: Register, value: str, accepted: bool, code: str) -> None:
    """166 h passed since the last reading; one step of the dial is allowed on top."""
    found = judge_value(register, Asked(NOW), "me-h", value, NOW)
    assert (found.counter, found.judgement.accepted, found.judgement.code) == ("ME-H", accepted, code)


def test_judging_writes_nothing(register: Register) -> None:
    """The sheet is the same afterwards."""
    before = round_sheet(register, Asked(NOW))
    judge_value(register, Asked(NOW), "ME-H", "12900", NOW)
    assert round_sheet(register, Asked(NOW)) == before


def test_unknown_counter(register: Register) -> None:
    """Near codes are named."""
    with pytest.raises(NotFound) as refused:
        judge_value(register, Asked(NOW), "ME-HH", "1", NOW)
    assert "ME-H" in refused.value.hint


def test_no_count(register: Register) -> None:
    """What is no count is refused, not held."""
    with pytest.raises(Refusal):
        judge_value(register, Asked(NOW), "ME-H", "many", NOW)
