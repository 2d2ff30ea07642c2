"""The ship's clock: case 13, days of 23 and 25 hours, and the date line."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, time, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.clocks import (
    ClockChange,
    ShipClock,
    check_offset,
    format_offset,
    from_datetime,
    parse_offset,
    to_utc,
)
from pmsched.domain.errors import Refusal

LAST_SECOND = datetime(9999, 12, 31, 23, 59, 59, tzinfo=UTC)


def at(text: str) -> int:
    """The instant of '2025-09-04 12:00' in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


# Case 13a: clocks advanced from UTC+8 to UTC+9 at 02:00 ship's time of 2025-09-05.
ADVANCED = ShipClock([ClockChange(at("2025-09-01"), 480), ClockChange(at("2025-09-04 18:00"), 540)])
# The other way: put back from UTC+9 to UTC+8 at 02:00 ship's time of 2025-09-05.
PUT_BACK = ShipClock([ClockChange(at("2025-09-01"), 540), ClockChange(at("2025-09-04 17:00"), 480)])
# Case 13b: eastbound, the line crossed at the end of the first 10 September (24:00 at UTC+12).
EASTBOUND = ShipClock([ClockChange(at("2025-09-01"), 720), ClockChange(at("2025-09-10 12:00"), -720)])
# Case 13c: westbound, the line crossed at the end of 3 October (24:00 at UTC-12).
WESTBOUND = ShipClock([ClockChange(at("2025-09-20"), -720), ClockChange(at("2025-10-04 12:00"), 720)])
# Westbound in the morning: 06:00 of 3 October becomes 06:00 of 4 October.
WEST_IN_MORNING = ShipClock([ClockChange(0, -720), ClockChange(at("2025-10-03 18:00"), 720)])
# Westbound in the evening: 18:00 of 3 October becomes 18:00 of 4 October.
WEST_IN_EVENING = ShipClock([ClockChange(0, -720), ClockChange(at("2025-10-04 06:00"), 720)])


def test_case_13a_noon_to_noon_is_23_hours_when_clocks_are_advanced() -> None:
    """Noon at UTC+8 to the next noon at UTC+9."""
    passed = ADVANCED.instant_of(date(2025, 9, 5), time(12)) - ADVANCED.instant_of(date(2025, 9, 4), time(12))
    assert passed == 23 * 3600


def test_case_13b_the_date_occurs_twice_and_24_hours_pass_between_its_noons() -> None:
    """Both noons carry the ship's date 10 September; a date alone means the first."""
    first, second = at("2025-09-10 00:00"), at("2025-09-11 00:00")
    assert [EASTBOUND.ship_time(noon).isoformat() for noon in (first, second)] == [
        "2025-09-10T12:00:00+12:00",
        "2025-09-10T12:00:00-12:00",
    ]
    assert EASTBOUND.instant_of(date(2025, 9, 10)) == first


def test_case_13c_the_date_is_skipped_and_24_hours_pass_between_noons() -> None:
    """Noon of 3 October at UTC-12 to noon of 5 October at UTC+12; 4 October never occurs."""
    before, after = WESTBOUND.instant_of(date(2025, 10, 3)), WESTBOUND.instant_of(date(2025, 10, 5))
    assert (before, after) == (at("2025-10-04 00:00"), at("2025-10-05 00:00"))
    skipped = [d for d in range(1, 8) if WESTBOUND.is_skipped(date(2025, 10, d))]
    assert skipped == [4]


@pytest.mark.parametrize(
    ("clock", "day", "hours"),
    [
        pytest.param(ADVANCED, date(2025, 9, 4), 24, id="the day before"),
        pytest.param(ADVANCED, date(2025, 9, 5), 23, id="clocks advanced one hour"),
        pytest.param(PUT_BACK, date(2025, 9, 5), 25, id="clocks put back one hour"),
        pytest.param(EASTBOUND, date(2025, 9, 10), 48, id="date lived twice"),
        pytest.param(WESTBOUND, date(2025, 10, 4), 0, id="date skipped"),
        pytest.param(WEST_IN_MORNING, date(2025, 10, 3), 6, id="crossed westbound at 06:00, the date left"),
        pytest.param(WEST_IN_MORNING, date(2025, 10, 4), 18, id="crossed westbound at 06:00, the date entered"),
    ],
)
def test_length_of_a_ships_date(clock: ShipClock, day: date, hours: int) -> None:
    """From the end of the date before to the end of this one."""
    assert clock.end_of_day(day) - clock.end_of_day(day - timedelta(days=1)) == hours * 3600


@pytest.mark.parametrize(
    ("clock", "day", "end"),
    [
        pytest.param(ShipClock(), date(2025, 6, 1), "2025-06-01 23:59:59", id="UTC"),
        pytest.param(EASTBOUND, date(2025, 9, 10), "2025-09-11 11:59:59", id="twice: the end of the second"),
        pytest.param(EASTBOUND, date(2025, 9, 9), "2025-09-09 11:59:59", id="before the line"),
        pytest.param(WESTBOUND, date(2025, 10, 4), "2025-10-04 11:59:59", id="skipped: the second before the jump"),
        pytest.param(WESTBOUND, date(2025, 10, 5), "2025-10-05 11:59:59", id="after the line"),
        pytest.param(WEST_IN_MORNING, date(2025, 10, 3), "2025-10-03 17:59:59", id="cut short by the line"),
    ],
)
def test_end_of_day(clock: ShipClock, day: date, end: str) -> None:
    """The last second of the ship's date."""
    assert clock.end_of_day(day) == at(end)


@pytest.mark.parametrize(
    ("clock", "day", "time_of_day", "instant"),
    [
        pytest.param(ShipClock(), date(2025, 6, 1), None, "2025-06-01 12:00", id="no time is noon"),
        pytest.param(ShipClock(), date(2025, 6, 1), time(0), "2025-06-01 00:00", id="midnight is not 'no time'"),
        pytest.param(PUT_BACK, date(2025, 9, 5), time(1, 30), "2025-09-04 16:30", id="twice: the first"),
        pytest.param(PUT_BACK, date(2025, 9, 5), time(2), "2025-09-04 18:00", id="just after the hour lived twice"),
        pytest.param(ADVANCED, date(2025, 9, 5), time(1, 59, 59), "2025-09-04 17:59:59", id="just before the jump"),
        pytest.param(ADVANCED, date(2025, 9, 5), time(2, 30), "2025-09-04 18:30", id="jumped over: offset before"),
        pytest.param(ADVANCED, date(2025, 9, 5), time(2), "2025-09-04 18:00", id="jumped over: its first second"),
        pytest.param(ADVANCED, date(2025, 9, 5), time(3), "2025-09-04 18:00", id="the first time after the jump"),
        pytest.param(WESTBOUND, date(2025, 10, 4), None, "2025-10-05 00:00", id="skipped date: offset before"),
        pytest.param(WEST_IN_MORNING, date(2025, 10, 3), None, "2025-10-03 17:59:59", id="noon gone, date not: before"),
        pytest.param(WEST_IN_EVENING, date(2025, 10, 4), None, "2025-10-04 06:00", id="noon gone, date not: after"),
    ],
)
def test_instant_of(clock: ShipClock, day: date, time_of_day: time | None, instant: str) -> None:
    """What a ship's date and time mean, also where the clock was changed."""
    assert clock.instant_of(day, time_of_day) == at(instant)


def test_a_clock_without_changes_shows_utc() -> None:
    """No changes recorded: UTC for all time."""
    assert ShipClock().ship_time(at("2025-06-01 23:30")).isoformat() == "2025-06-01T23:30:00+00:00"


def test_changes_may_come_unsorted_and_the_first_holds_before_it() -> None:
    """Offsets before the first change, from its own second on, and after the last."""
    clock = ShipClock([ClockChange(2000, 60), ClockChange(3000, 120), ClockChange(1000, -180)])
    instants = (-10_000, 999, 1000, 1999, 2000, 2999, 3000, 9_000_000)
    assert [clock.offset_at(instant) for instant in instants] == [-180, -180, -180, -180, 60, 60, 120, 120]


def test_the_later_given_of_two_changes_at_one_instant_counts() -> None:
    """A change entered twice is no contradiction."""
    assert ShipClock([ClockChange(0, 0), ClockChange(500, 60), ClockChange(500, 120)]).offset_at(500) == 120


def test_a_clock_refuses_an_offset_no_clock_has() -> None:
    """The range is checked where the clock is made."""
    with pytest.raises(Refusal) as refused:
        ShipClock([ClockChange(0, 15 * 60)])
    assert refused.value.code == "offset-out-of-range"


@pytest.mark.parametrize("minutes", [-720, 0, 330, 840])
def test_offsets_that_clocks_have(minutes: int) -> None:
    """UTC-12 and UTC+14 are the ends, themselves allowed."""
    assert check_offset(minutes) == minutes


@pytest.mark.parametrize("minutes", [-721, 841])
def test_offsets_that_no_clock_has(minutes: int) -> None:
    """One minute beyond either end."""
    with pytest.raises(Refusal) as refused:
        check_offset(minutes)
    assert refused.value.code == "offset-out-of-range"


@pytest.mark.parametrize(
    ("minutes", "written"),
    [(480, "UTC+8"), (330, "UTC+5:30"), (-720, "UTC-12"), (-210, "UTC-3:30"), (0, "UTC"), (5, "UTC+0:05")],
)
def test_format_offset(minutes: int, written: str) -> None:
    """As people write it."""
    assert format_offset(minutes) == written


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("+8", 480),
        ("+08:00", 480),
        ("UTC+8", 480),
        ("utc+8", 480),
        ("UTC+5:30", 330),
        ("-3", -180),
        ("-03:30", -210),
        ("Z", 0),
        ("z", 0),
        ("UTC", 0),
        ("+0", 0),
        (" +14 ", 840),
    ],
)
def test_parse_offset(text: str, minutes: int) -> None:
    """Every form that is read."""
    assert parse_offset(text) == minutes


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("", "not-an-offset"),
        ("8", "not-an-offset"),
        ("+", "not-an-offset"),
        ("+8:60", "not-an-offset"),
        ("+8:3", "not-an-offset"),
        ("+0800", "not-an-offset"),
        ("CET", "not-an-offset"),
        ("Z+8", "not-an-offset"),
        ("+\u0668", "not-an-offset"),  # ARABIC-INDIC DIGIT EIGHT
        ("+14:01", "offset-out-of-range"),
        ("-13", "offset-out-of-range"),
        ("+99", "offset-out-of-range"),
    ],
)
def test_parse_offset_refuses(text: str, code: str) -> None:
    """A number without a sign is not guessed at."""
    with pytest.raises(Refusal) as refused:
        parse_offset(text)
    assert refused.value.code == code


def test_from_datetime_refuses_a_time_without_offset() -> None:
    """It cannot be told which instant is meant."""
    with pytest.raises(Refusal) as refused:
        from_datetime(datetime(2025, 9, 4, 12, 0))  # noqa: DTZ001 - the naive time is what is tested
    assert refused.value.code == "time-without-offset"


def test_from_datetime_drops_parts_of_a_second() -> None:
    """Downwards, also before 1970."""
    half = timedelta(microseconds=500_000)
    assert from_datetime(to_utc(10) + half) == 10
    assert from_datetime(to_utc(-10) + half) == -10


@pytest.mark.parametrize(
    "ask",
    [
        pytest.param(lambda: to_utc(10**12), id="to_utc"),
        pytest.param(lambda: ShipClock([ClockChange(0, 60)]).ship_time(from_datetime(LAST_SECOND)), id="ship_time"),
        pytest.param(lambda: ShipClock([ClockChange(0, 60)]).ship_date(from_datetime(LAST_SECOND)), id="ship_date"),
    ],
)
def test_moments_beyond_the_calendar_are_refused(ask: Callable[[], object]) -> None:
    """Year 10000 and beyond."""
    with pytest.raises(Refusal) as refused:
        ask()
    assert refused.value.code == "beyond-calendar"


@pytest.mark.parametrize("day", [date.min, date.max])
def test_the_ends_of_the_calendar_do_not_raise(day: date) -> None:
    """instant_of, end_of_day and is_skipped answer for every date there is."""
    assert WESTBOUND.end_of_day(day) - WESTBOUND.instant_of(day) == 12 * 3600 - 1
    assert not WESTBOUND.is_skipped(day)


START = at("2025-01-01")
INSTANTS = st.integers(START - 3 * 86_400, START + 400 * 86_400)
OFFSETS = st.integers(-48, 56).map(lambda quarters: quarters * 15) | st.sampled_from([-720, 720])
TIMES_OF_CHANGE = st.sampled_from([0, 43_200]) | st.integers(0, 86_399)


@st.composite
def change_lists(draw: st.DrawFn) -> list[ClockChange]:
    """Clock changes at least two days apart, of up to 24 hours each, in any order; the date line among them."""
    offset = draw(OFFSETS)
    changes = [ClockChange(START, offset)]
    midnight = START
    for days, seconds, wanted in draw(st.lists(st.tuples(st.integers(3, 20), TIMES_OF_CHANGE, OFFSETS))):
        midnight += days * 86_400
        offset = max(offset - 1440, min(offset + 1440, wanted))
        changes.append(ClockChange(midnight + seconds, offset))
    return draw(st.permutations(changes))


VOYAGES = change_lists().map(ShipClock)


@st.composite
def voyages_and_dates(draw: st.DrawFn) -> tuple[ShipClock, date]:
    """A ship's clock, and a date close to one of its changes."""
    changes = draw(change_lists())
    near = draw(st.sampled_from(changes)).at
    return ShipClock(changes), to_utc(near).date() + timedelta(days=draw(st.integers(-2, 2)))


@given(voyages_and_dates())
def test_a_date_means_an_instant_of_that_date(voyage: tuple[ShipClock, date]) -> None:
    """Unless the date is skipped, its noon falls on it; so does its last second."""
    clock, day = voyage
    if clock.is_skipped(day):
        assert clock.ship_date(clock.end_of_day(day)) < day < clock.ship_date(clock.end_of_day(day) + 1)
    else:
        assert clock.ship_date(clock.instant_of(day)) == day == clock.ship_date(clock.end_of_day(day))
        assert clock.ship_date(clock.end_of_day(day) + 1) > day


@given(VOYAGES, INSTANTS)
def test_every_ship_time_leads_back_to_the_first_instant_that_shows_it(clock: ShipClock, instant: int) -> None:
    """Date and time shown at an instant mean that instant, or an earlier one showing the same."""
    shown = clock.ship_time(instant)
    found = clock.instant_of(shown.date(), shown.time())
    assert found <= instant
    assert clock.ship_time(found).replace(tzinfo=None) == shown.replace(tzinfo=None)


@given(st.lists(st.tuples(INSTANTS, OFFSETS), unique_by=lambda change: change[0]), INSTANTS)
def test_offset_lookup_agrees_with_a_walk_through_the_changes(changes: list[tuple[int, int]], instant: int) -> None:
    """The last change not later than the instant; before all of them, the first."""
    clock = ShipClock(ClockChange(*change) for change in changes)
    in_order = sorted(changes)
    expected = in_order[0][1] if changes else 0
    for start, offset in in_order:
        if start <= instant:
            expected = offset
    assert clock.offset_at(instant) == expected


@given(VOYAGES, INSTANTS)
def test_ship_date_agrees_with_ship_time_and_the_standard_library(clock: ShipClock, instant: int) -> None:
    """The quick date is the date of the full time, and the instant survives the way there and back."""
    zone = timezone(timedelta(minutes=clock.offset_at(instant)))
    shown = clock.ship_time(instant)
    assert shown == datetime.fromtimestamp(instant, zone)
    assert clock.ship_date(instant) == shown.date()
    assert from_datetime(shown) == instant


@given(st.integers(-720, 840))
def test_an_offset_written_is_read_back(minutes: int) -> None:
    """format_offset and parse_offset are each other's opposite."""
    assert parse_offset(format_offset(minutes)) == minutes
