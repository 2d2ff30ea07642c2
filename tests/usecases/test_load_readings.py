"""Readings loaded: judged in time order, held where they cannot be true, corrected with all that rests on them."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from registers import AT, DAY_SECONDS, empty_register, load_texts
from sqlalchemy import event

from pmsched.store.live import EVERYTHING, View
from pmsched.store.loaded_facts import live_rows
from pmsched.store.reading_facts import held_readings
from pmsched.store.register import Register
from pmsched.store.tables import CLOSING_COUNT, READING
from pmsched.usecases.amend_reading import AmendReading, amend_reading, held
from pmsched.usecases.change_clock import change_clock
from pmsched.usecases.load_register import LoadResult
from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

CE = Signer("CE", AT)
LATER = Signer("CE", AT + DAY_SECONDS)
HOUR = 3600
THINGS = {
    "machines": "code,name\nM,M\nN,N\n",
    "counters": "code,machine,unit,reads\nM-H,M,h,whole\nM-S,M,starts,\nN-H,N,h,tenths\n",
}
HEADING = "counter,read_on,time,offset,value,note\n"


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """Three counters without readings."""
    with empty_register(tmp_path) as opened:
        load_texts(opened, tmp_path / "things", THINGS)
        yield opened


def read(register: Register, tmp_path: Path, lines: str, signer: Signer = LATER, **options: str) -> LoadResult:
    """Load lines of readings, parted by blanks."""
    text = HEADING + "".join(f"{line}\n" for line in lines.split())
    return load_texts(register, tmp_path / "readings", {"readings": text}, signer, **options)


def kept(register: Register) -> list[tuple[str, int, str]]:
    """Live readings in time order: date and time in UTC, the dial in hours or units, the status."""
    with register.reading() as connection:
        found = sorted(live_rows(connection, READING), key=lambda row: (row.read_at, row.id))
    return [(f"{datetime.fromtimestamp(row.read_at, UTC):%m-%d %H:%M}", row.dial // HOUR, row.status) for row in found]


# --- judging --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("lines", "held_for"),
    [
        pytest.param("M-H,2025-06-01,,,100, M-H,2025-06-02,,,124,", [], id="a-day-of-24-h"),
        pytest.param("M-H,2025-06-01,,,100, M-H,2025-06-02,,,125,", [], id="rounding-of-one-step"),
        pytest.param(
            "M-H,2025-06-01,,,100, M-H,2025-06-02,,,126,", ["26 h in 1 day (24 h on the clock)"], id="faster-than-clock"
        ),
        pytest.param("M-S,2025-06-01,,,100, M-S,2025-06-02,,,126,", [], id="starts-have-no-clock"),
        pytest.param(
            "M-H,2025-06-02,,,124, M-H,2025-06-01,,,100,", [], id="rows-need-not-be-in-order"
        ),
        pytest.param(
            "M-H,2025-06-01,,,100, M-H,2025-06-02,,,90, M-H,2025-06-03,,,101,",
            ["lower than the reading of 2025-06-01 by 10 h"],
            id="backwards-and-what-follows-is-judged-without-it",
        ),
        pytest.param(
            "M-H,2025-07-01,,,31204, M-H,2025-07-01,18:00,,31420, N-H,2025-07-01,,,5.5,",
            ["216 h in 6 h"],
            id="each-counter-by-itself",
        ),
        pytest.param(
            "M-H,2025-06-01,12:00,UTC+8,100, M-H,2025-06-02,12:00,UTC+9,125,",
            ["25 h in 23 h"],
            id="clocks-advanced-one-hour-case-13a",
        ),
        pytest.param(
            "M-H,2025-06-10,12:00,UTC+12,60112, M-H,2025-06-10,12:00,UTC-12,60136,", [], id="date-line-case-13b"
        ),
        pytest.param(
            "M-H,2025-06-01,12:00,,100, M-H,2025-06-01,14:00,UTC+2,101,",
            ["another value is already entered for 12:00 (100)"],
            id="two-values-of-one-instant",
        ),
    ],
)  # fmt: skip
def test_lines_are_judged_as_on_a_round(register: Register, tmp_path: Path, lines: str, held_for: list[str]) -> None:
    """Against each other, in time order; what cannot be true is kept and held. The same lines again add nothing."""
    result = read(register, tmp_path, lines)
    assert result.receipt is not None
    assert result.added == {"readings": len(lines.split())}
    assert [one.message.split("; ")[0] for one in result.held] == held_for
    assert [status for *_, status in kept(register)].count("held") == len(held_for)
    again = read(register, tmp_path, lines)
    assert (again.receipt, again.revised) == (None, ())


def test_lines_are_judged_against_the_register(register: Register, tmp_path: Path) -> None:
    """Before, between and after what is there (case 14)."""
    read(register, tmp_path, "M-H,2025-06-20,08:00,,5410, M-H,2025-06-20,20:00,,5418,")
    result = read(register, tmp_path, "M-H,2025-06-20,16:00,,5419, M-H,2025-06-20,20:00,,5418,")
    assert (result.added, result.unchanged) == ({"readings": 1}, {"readings": 1})
    assert [one.message for one in result.held] == ["more than the later reading of 20:00 (5 418)"]
    assert read(register, tmp_path, "M-H,2025-06-20,14:00,,5414,").held == ()
    assert kept(register) == [
        ("06-20 08:00", 5410, "accepted"),
        ("06-20 14:00", 5414, "accepted"),
        ("06-20 16:00", 5419, "held"),
        ("06-20 20:00", 5418, "accepted"),
    ]


def test_far_neighbours_count_too(register: Register, tmp_path: Path) -> None:
    """A reading of years ago, or of years later, is still the neighbour."""
    read(register, tmp_path, "M-H,2020-06-01,,,1000, M-H,2025-06-01,,,2000,")
    result = read(register, tmp_path, "M-H,2022-06-01,,,999, M-H,2023-06-01,,,2001,")
    assert [one.message for one in result.held] == [
        "lower than the reading of 2020-06-01 by 1 h",
        "more than the later reading of 2025-06-01 (2 000)",
    ]


def test_a_held_line_is_told_with_its_place_number_and_what_was_probably_meant(
    register: Register, tmp_path: Path
) -> None:
    """It waits with the others to be settled (case 12)."""
    result = read(register, tmp_path, "M-H,2025-06-01,,,31204, M-H,2025-06-08,,,31430,")
    (one,) = result.held
    assert (one.counter, Path(one.file).name, one.row) == ("M-H", "readings.csv", 3)
    assert one.message == "226 h in 7 days (168 h on the clock); Did you mean 31 340 (+136 h)?"
    assert [waiting.number for waiting in held(register, Asked(LATER.at))] == [one.number]


def test_a_settled_line_stays_settled(register: Register, tmp_path: Path) -> None:
    """The file still says what was misread; that was answered."""
    lines = "M-H,2025-06-01,,,31204, M-H,2025-06-08,,,31430,"
    (one,) = read(register, tmp_path, lines).held
    amend_reading(register, AmendReading(one.number, "value", "digits swapped", "31340"), LATER)
    assert read(register, tmp_path, lines).receipt is None
    assert kept(register)[-1] == ("06-08 12:00", 31_340, "accepted")


def test_the_same_value_twice_in_one_load_is_one_reading(register: Register, tmp_path: Path) -> None:
    """Two rows can mean one instant: by ship's time, and by an offset."""
    result = read(register, tmp_path, "M-H,2025-06-01,12:00,,100, M-H,2025-06-01,14:00,UTC+2,100,")
    assert (result.added, result.unchanged) == ({"readings": 1}, {"readings": 1})


def test_a_value_that_cannot_be_true_is_held_once(register: Register, tmp_path: Path) -> None:
    """Also when two rows bring it."""
    lines = "M-H,2025-06-01,,,100, M-H,2025-06-02,12:00,,90, M-H,2025-06-02,14:00,UTC+2,90,"
    assert read(register, tmp_path, lines).added == {"readings": 2}


def test_values_are_kept_as_instants_with_the_ships_offset(register: Register, tmp_path: Path) -> None:
    """By the ship's clock of that moment, unless the row names its own offset."""
    change_clock(register, AT - 10 * DAY_SECONDS, 120, CE)
    read(register, tmp_path, "M-H,2025-06-01,12:00,,100, M-H,2025-06-30,12:00,,110, N-H,2025-06-30,12:00,UTC-3,7.5,")
    with register.reading() as connection:
        found = [(row.read_at, row.offset_minutes) for row in live_rows(connection, READING)]
    noon = int(datetime(2025, 6, 1, 12, tzinfo=UTC).timestamp())
    last = noon + 29 * DAY_SECONDS
    assert found == [(noon, 0), (last - 2 * HOUR, 120), (last + 3 * HOUR, -180)]


# --- corrections ----------------------------------------------------------------------------------------------------


def test_a_line_is_found_by_its_ships_time_when_the_clock_was_put_right(register: Register, tmp_path: Path) -> None:
    """The instant has moved, the row has not: a changed value corrects that reading and is not a new one."""
    read(register, tmp_path, "M-H,2025-06-01,12:00,,100, M-H,2025-06-02,12:00,,110,")
    change_clock(register, AT - 90 * DAY_SECONDS, -12 * 60, LATER)
    change_clock(register, AT - 80 * DAY_SECONDS, 12 * 60, LATER)
    result = read(register, tmp_path, "M-H,2025-06-01,12:00,,99, M-H,2025-06-02,12:00,,110,", reason="misread")
    assert [str(one) for one in result.revised] == ["M-H 2025-06-01 12:00: value 100 -> 99"]
    assert kept(register) == [("06-01 12:00", 99, "accepted"), ("06-02 12:00", 110, "accepted")]


def test_a_clock_put_right_by_a_whole_day_moves_no_line_to_its_neighbour(tmp_path: Path) -> None:
    """Entered as east of the date line, found to be west of it: every noon now falls on the next day's reading."""
    lines = "M-H,2025-06-01,12:00,,100, M-H,2025-06-02,12:00,,110, M-H,2025-06-03,12:00,,120,"
    with empty_register(tmp_path, offset_minutes=12 * 60) as register:
        load_texts(register, tmp_path / "things", THINGS)
        read(register, tmp_path, lines)
        change_clock(register, AT - 90 * DAY_SECONDS, -12 * 60, LATER)
        assert read(register, tmp_path, lines).receipt is None


def test_readings_corrected_together_do_not_contradict_each_other(register: Register, tmp_path: Path) -> None:
    """A whole column read a thousand too high is put right in one load, with nothing held."""
    days = [(date(2025, 6, 1) + timedelta(days=n), 2000 + 10 * n) for n in range(10)]
    wrong = " ".join(f"M-H,{day},,,{value}," for day, value in days)
    right = " ".join(f"M-H,{day},,,{value - 1000}," for day, value in days)
    read(register, tmp_path, wrong)
    result = read(register, tmp_path, right, reason="a thousand too much")
    assert (len(result.revised), result.held) == (10, ())
    assert [value for _, value, _ in kept(register)] == [value - 1000 for _, value in days]


def test_a_correction_that_cannot_be_true_is_held(register: Register, tmp_path: Path) -> None:
    """The file's value is kept and not used; a person settles it."""
    read(register, tmp_path, "M-H,2025-06-01,,,100, M-H,2025-06-02,,,110, M-H,2025-06-03,,,120,")
    result = read(register, tmp_path, "M-H,2025-06-02,,,1100,", reason="typing")
    assert [one.message.split("; ")[0] for one in result.held] == ["1 000 h in 1 day (24 h on the clock)"]
    assert kept(register)[1] == ("06-02 12:00", 1100, "held")


def test_a_note_alone_does_not_reopen_a_reading_that_was_confirmed(register: Register, tmp_path: Path) -> None:
    """Only the value is judged."""
    (one,) = read(register, tmp_path, "M-H,2025-06-01,,,100, M-H,2025-06-02,,,130,").held
    amend_reading(register, AmendReading(one.number, "confirm", "dial was set forward"), LATER)
    result = read(register, tmp_path, "M-H,2025-06-02,,,130,seen-by-two", reason="note")
    assert ([str(c) for c in result.revised], result.held) == (
        ["M-H 2025-06-02 12:00: note (blank) -> seen-by-two"], ()
    )  # fmt: skip
    assert kept(register)[1] == ("06-02 12:00", 130, "accepted")


def test_a_struck_reading_comes_back_only_with_another_value(register: Register, tmp_path: Path) -> None:
    """The change says that it was struck."""
    read(register, tmp_path, "M-H,2025-06-01,,,100, M-H,2025-06-02,,,110,")
    with register.reading() as connection:
        first = min(live_rows(connection, READING), key=lambda row: row.id)
    number = str(first.fact_id & ((1 << 40) - 1))
    amend_reading(register, AmendReading(number, "strike", "not read at all"), LATER)
    result = read(register, tmp_path, "M-H,2025-06-01,,,101,", reason="log book")
    assert [str(one) for one in result.revised] == ["M-H 2025-06-01 12:00: value struck -> 101"]
    assert kept(register)[0] == ("06-01 12:00", 101, "accepted")


def test_totals_kept_with_doings_follow_a_corrected_reading(register: Register, tmp_path: Path) -> None:
    """Those read off it are worked out again and told; typed ones never (case 16)."""
    files = {
        "jobs": "code,machine,title,interval\nJ,M,J,2000 h\nT,M,T,2000 h\n",
        "last_done": "job,done_on,count\nJ,2025-05-15,\nT,2025-05-15,50320 h\n",
        "readings": f"{HEADING}M-H,2025-05-01,,,50000,\nM-H,2025-05-15,,,50320,\nM-H,2025-05-22,,,50340,\n",
    }
    load_texts(register, tmp_path / "files", files)
    result = read(register, tmp_path, "M-H,2025-05-15,,,50230,", reason="log book")
    assert [(one.job, one.before // HOUR, one.after // HOUR) for one in result.recounted] == [("J", 50_320, 50_230)]
    with register.reading() as connection:
        found = {row.basis: row.total // HOUR for row in live_rows(connection, CLOSING_COUNT)}
    assert found == {"reading": 50_230, "typed": 50_320}


def test_an_explicit_offset_put_right_is_a_change(register: Register, tmp_path: Path) -> None:
    """The same instant by another clock may be another ship's date."""
    read(register, tmp_path, "M-H,2025-06-01,23:00,UTC-1,100,")
    result = read(register, tmp_path, "M-H,2025-06-02,01:00,UTC+1,100,", reason="clock")
    assert [str(one) for one in result.revised] == ["M-H 2025-06-02 01:00: offset UTC-1 -> UTC+1"]


# --- what was entered in the program --------------------------------------------------------------------------------


def test_rounds_and_loads_judge_alike(tmp_path: Path) -> None:
    """The same values, walked or loaded, are accepted and held alike."""
    values = [100, 124, 150, 149, 151, 400, 180, 175, 190, 190, 215, 239, 238, 264]
    start = int(datetime(2025, 6, 1, 12, tzinfo=UTC).timestamp())
    instants = [start + n * DAY_SECONDS for n in range(len(values))]
    found: list[Any] = []
    for way in ("walked", "loaded"):
        with empty_register(tmp_path / way) as register:
            load_texts(register, tmp_path / "things", THINGS)
            if way == "walked":
                lines = [RoundLine("M-H", str(value), at) for value, at in zip(values, instants, strict=True)]
                record_round(register, lines, LATER)
            else:
                days = (date(2025, 6, 1) + timedelta(days=n) for n in range(len(values)))
                read(register, tmp_path, " ".join(f"M-H,{day},,,{v}," for day, v in zip(days, values, strict=True)))
            found.append(kept(register))
            with register.reading() as connection:
                view = View(EVERYTHING, EVERYTHING, date.max)
                found.append([(row.dial, row.held_for) for row in held_readings(connection, view)])
    assert found[:2] == found[2:]
    assert {status for *_, status in found[0]} == {"accepted", "held"}


def test_questions_to_the_register_do_not_grow_with_the_readings(register: Register, tmp_path: Path) -> None:
    """A counter is asked for once, however many readings come: that is what lets a hundred thousand in."""
    asked: list[int] = []
    event.listen(register.engine, "after_cursor_execute", lambda *_: asked.append(1))
    amounts = []
    for n in (10, 400):
        days = (date(2020, 1, 1) + timedelta(days=day) for day in range(n))
        lines = " ".join(f"M-H,{day},,,{day.toordinal()}," for day in days)
        asked.clear()
        assert read(register, tmp_path, lines).added["readings"] == (10 if n == 10 else 390)
        amounts.append(len(asked))
    # The second load also looks for work done after what was the last reading.
    assert amounts[1] <= amounts[0] + 2
