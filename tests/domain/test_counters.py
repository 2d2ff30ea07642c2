"""Running totals, use per day, expected dates and totals between readings, with worked cases 9, 10, 15, 17 and 22."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.counters import (
    Between,
    Count,
    MeterPeriod,
    Point,
    Rate,
    count_of,
    period_at,
    rate_between,
    total_at,
    use_rate,
)

H = 3600
DAY = 86_400
READ_ON = date(2025, 4, 15)


def at(day: str, hour: int = 12) -> int:
    """The instant of that hour of the day, UTC; readings are taken at 12:00 (R9)."""
    return int(datetime.fromisoformat(day).replace(hour=hour, tzinfo=UTC).timestamp())


def point(day: str, hours: int, *, estimated: bool = False, reading: int = 0, hour: int = 12) -> Point:
    """A reading as a running total in hours."""
    return Point(at(day, hour), date.fromisoformat(day), hours * H, estimated, reading)


def whole_days(first: str, last: str) -> tuple[int, int]:
    """A stretch of ship's days, both included."""
    return at(first, 0), at(last, 0) + DAY


# --- the dial and the running total -------------------------------------------------------------------------------

OLD_DIAL = MeterPeriod(start=at("2025-01-01"), dial_start=0, base=0)
NEW_DIAL = MeterPeriod(start=at("2025-03-10"), dial_start=12 * H, base=19_120 * H)


@pytest.mark.parametrize(
    ("period", "dial", "total"),
    [
        pytest.param(OLD_DIAL, 18_450, 18_450, id="9-done-on-the-old-meter"),
        pytest.param(OLD_DIAL, 19_120, 19_120, id="9-last-of-the-old-meter"),
        pytest.param(NEW_DIAL, 12, 19_120, id="9-new-meter-starts-with-12-that-do-not-count"),
        pytest.param(NEW_DIAL, 837, 19_945, id="9-today"),
        pytest.param(NEW_DIAL, 1_342, 20_450, id="9-when-due"),
        pytest.param(MeterPeriod(0, 0, 100_000 * H), 143, 100_143, id="11-after-the-rollover"),
        pytest.param(MeterPeriod(0, 0, 100_000 * H), 400, 100_400, id="11-when-due-after-the-rollover"),
        pytest.param(MeterPeriod(0, 100 * H, 500 * H, 10, 1), 103, 530, id="dial-of-ten-hours-a-step"),
    ],
)
def test_dial_and_running_total(period: MeterPeriod, dial: int, total: int) -> None:
    """The total goes on whatever dial shows it (R5), and the dial shows it back."""
    assert period.total(dial * H) == total * H
    assert period.dial(total * H) == dial * H


def test_period_in_force_is_the_last_that_started() -> None:
    """A reading at the instant of the change is on the new dial; one before all of them is on the first."""
    periods = [OLD_DIAL, NEW_DIAL]
    assert period_at(periods, NEW_DIAL.start) == NEW_DIAL
    assert period_at(periods, NEW_DIAL.start - 1) == OLD_DIAL
    assert period_at(periods, OLD_DIAL.start - 1) == OLD_DIAL
    assert period_at([], 0) is None


# --- use per day ----------------------------------------------------------------------------------------------------


def test_case_9_use_since_the_meter_change() -> None:
    """825 h in 55 days is 15.0 h/day; the total is 19 945 and 505 h more are expected 33 days on."""
    points = [
        Point(at(day), date.fromisoformat(day), NEW_DIAL.total(dial * H))
        for day, dial in (("2025-03-10", 12), ("2025-05-04", 837))
    ]
    count = count_of(points, 90)
    assert count == Count(
        19_945 * H, date(2025, 5, 4), Rate(825 * H, 55 * DAY, date(2025, 3, 10), date(2025, 5, 4)), 0, held=False
    )
    assert count.rate is not None
    assert Fraction(count.rate.rise * DAY, count.rate.seconds * H) == 15
    assert count.expected_on(20_450 * H) == date(2025, 6, 6)


def test_case_10_lost_hours_are_in_the_total_and_not_in_the_use() -> None:
    """252 h booked by estimate count, yet use is measured on the 20 days that were really read: 300 h, 15.0 a day."""
    points = [point("2025-04-02", 7_214), point("2025-04-20", 7_466), point("2025-05-10", 7_766)]
    count = count_of(points, 90, layups=[(at("2025-04-02"), at("2025-04-20"))])
    assert count is not None
    assert count.total == 7_766 * H
    assert count.rate == Rate(300 * H, 20 * DAY, date(2025, 4, 20), date(2025, 5, 10))
    assert count.expected_on(7_900 * H) == date(2025, 5, 18)
    assert MeterPeriod(0, 7_214 * H, 7_466 * H).dial(7_900 * H) == 7_648 * H


def test_case_22a_use_from_before_lay_up_is_marked() -> None:
    """Laid up, nothing was run: the 14.0 h/day from before are taken, and 840 h more are expected 60 days on."""
    points = [point("2024-11-02", 10_900), point("2025-01-31", 12_160), point("2025-09-01", 12_160)]
    count = count_of(points, 90, layups=[whole_days("2025-02-01", "2025-08-31")])
    assert count is not None
    assert count.rate == Rate(1_260 * H, 90 * DAY, date(2024, 11, 2), date(2025, 1, 31), before_layup=True)
    assert count.expected_on(13_000 * H) == date(2025, 10, 31)


WINDOW_CASES = [
    pytest.param([("2025-01-15", 0), ("2025-04-15", 90)], ("2025-01-15", 90, 90), id="exactly-90-days-is-inside"),
    pytest.param(
        [("2025-01-14", 0), ("2025-01-15", 30), ("2025-04-15", 120)],
        ("2025-01-15", 90, 90),
        id="91-days-is-outside",
    ),
    pytest.param(
        [("2025-01-14", 0), ("2025-04-15", 91)], ("2025-01-14", 91, 91), id="none-inside-takes-the-reading-before"
    ),
    pytest.param([("2025-03-01", 5), ("2025-04-15", 5)], ("2025-03-01", 0, 45), id="stood-still"),
]


@pytest.mark.parametrize(("readings", "expected"), WINDOW_CASES)
def test_window_of_use(readings: list[tuple[str, int]], expected: tuple[str, int, int]) -> None:
    """The earliest reading not more than 90 days before the last one, inclusive, or the one before the last (R6)."""
    rate = use_rate([point(day, hours) for day, hours in readings], 90)
    since, rise, days = expected
    assert rate == Rate(rise * H, days * DAY, date.fromisoformat(since), READ_ON)


def test_window_is_measured_in_ship_dates_and_use_in_elapsed_time() -> None:
    """A reading at 08:00 ninety dates before one at 20:00 is inside, and 90.5 days passed."""
    rate = use_rate([point("2025-01-15", 0, hour=8), point("2025-04-15", 905, hour=20)], 90)
    assert rate is not None
    assert rate.seconds == 90 * DAY + DAY // 2


@pytest.mark.parametrize(
    "points",
    [pytest.param([], id="no-reading"), pytest.param([point("2025-04-15", 100)], id="one-reading")],
)
def test_no_use_can_be_measured(points: list[Point]) -> None:
    """Use needs two readings."""
    assert use_rate(points, 90) is None


def test_no_reading_gives_no_count() -> None:
    """Nothing was read: nothing is said."""
    assert count_of([], 90) is None


def test_only_stretches_inside_a_lay_up_are_left_out() -> None:
    """Of 60 days, 20 were laid up: use is 400 h in the other 40."""
    points = [point("2025-02-14", 0), point("2025-03-06", 200), point("2025-03-26", 200), point("2025-04-15", 400)]
    rate = use_rate(points, 90, layups=[(at("2025-03-06"), at("2025-03-26"))])
    assert rate == Rate(400 * H, 40 * DAY, date(2025, 2, 14), READ_ON)


def test_stretches_resting_on_stand_ins_are_left_out() -> None:
    """A stand-in in the middle takes the stretches on both its sides out of the use."""
    points = [
        point("2025-02-14", 0),
        point("2025-03-06", 200),
        point("2025-03-26", 900, estimated=True),
        point("2025-04-15", 1_000),
    ]
    assert use_rate(points, 90) == Rate(200 * H, 20 * DAY, date(2025, 2, 14), date(2025, 3, 6))


def test_stretch_without_time_is_left_out() -> None:
    """Two totals of one instant, as at a change of books: the step between them is no use."""
    points = [point("2025-02-14", 0), point("2025-03-06", 200), point("2025-03-06", 900), point("2025-03-26", 1_100)]
    assert use_rate(points, 90) == Rate(400 * H, 40 * DAY, date(2025, 2, 14), date(2025, 3, 26))


def test_stand_in_at_the_end_is_an_estimated_part_of_the_total() -> None:
    """Real 200, stand-in 300: 100 of the 300 are estimated, so nothing can be overdue on them."""
    real, stand_in = point("2025-03-06", 200), point("2025-04-15", 300, estimated=True)
    count = count_of([real, stand_in], 90)
    assert count is not None
    assert (count.total, count.estimated) == (300 * H, 100 * H)
    only = count_of([stand_in], 90)
    assert only is not None
    assert only.estimated == only.total


def test_real_reading_after_a_stand_in_leaves_no_estimate() -> None:
    """A stand-in yields to the next real reading (case 15)."""
    count = count_of([point("2025-03-06", 200), point("2025-03-20", 300, estimated=True), point("2025-04-15", 280)], 90)
    assert count is not None
    assert (count.total, count.estimated) == (280 * H, 0)


def test_rate_between_two_readings_needs_time() -> None:
    """Two readings of one instant give no use."""
    first, last = point("2025-01-15", 10), point("2025-04-15", 100)
    assert rate_between(first, last) == Rate(90 * H, 90 * DAY, first.on, last.on)
    assert rate_between(first, first) is None


@pytest.mark.parametrize(
    ("rise", "seconds", "tenths"),
    [
        pytest.param(640, 128 * DAY, 50, id="5.0-a-day"),
        pytest.param(1, 20 * DAY, 1, id="0.05-rounds-up"),
        pytest.param(1, 21 * DAY, 0, id="under-0.05-rounds-down"),
    ],
)
def test_use_per_day_in_tenths(rise: int, seconds: int, tenths: int) -> None:
    """Rounded to the nearest tenth."""
    assert Rate(rise, seconds, READ_ON, READ_ON).per_day_tenths == tenths


# --- expected dates and totals --------------------------------------------------------------------------------------


def counted(total: int, on: str, rise: int, days: int, *, unit: int = H) -> Count:
    """A count with use measured up to its reading."""
    day = date.fromisoformat(on)
    return Count(total * unit, day, Rate(rise * unit, days * DAY, day - timedelta(days=days), day))


@pytest.mark.parametrize(
    ("count", "target", "expected"),
    [
        pytest.param(counted(21_080, "2025-04-15", 1_080, 90), 24_000 * H, "2025-12-14", id="5a-243-days"),
        pytest.param(counted(21_620, "2025-07-14", 540, 90), 24_000 * H, "2026-08-14", id="5b-396-days"),
        pytest.param(counted(100_143, "2025-06-15", 272, 14), 100_400 * H, "2025-06-28", id="11a-13-days"),
        pytest.param(counted(8_000, "2025-03-31", 900, 90), 8_700 * H, "2025-06-09", id="15-exactly-70-days"),
        pytest.param(counted(8_300, "2025-06-14", 300, 75), 8_700 * H, "2025-09-22", id="15-after-the-reading"),
        pytest.param(counted(50_340, "2025-05-22", 340, 21), 52_320 * H, "2025-09-21", id="16-before-correction"),
        pytest.param(counted(50_340, "2025-05-22", 340, 21), 52_230 * H, "2025-09-15", id="16-after-correction"),
        pytest.param(counted(12_560, "2025-06-08", 280, 14), 14_340 * H, "2025-09-05", id="17-89-days"),
        pytest.param(counted(640, "2025-06-09", 640, 128, unit=1), 1_000, "2025-08-20", id="24a-72-days-of-starts"),
        pytest.param(counted(100, "2025-06-09", 10, 1), 100 * H, "2025-06-09", id="reached-by-the-reading"),
        pytest.param(counted(100, "2025-06-09", 10, 1), 99 * H, "2025-06-08", id="passed-a-little-before-it"),
        pytest.param(counted(100, "2025-06-09", 0, 9), 99 * H, "2025-06-09", id="passed-without-use"),
        pytest.param(counted(100, "2025-06-09", 0, 9), 101 * H, None, id="nil-use-gives-no-date"),
        pytest.param(Count(100, READ_ON, None), 101, None, id="unknown-use-gives-no-date"),
        pytest.param(Count(100, READ_ON, None), 100, READ_ON.isoformat(), id="just-reached-with-unknown-use"),
        pytest.param(counted(1, "2025-06-09", 1, 3_000), 10_000 * H, None, id="beyond-the-calendar"),
    ],
)
def test_expected_date(count: Count, target: int, expected: str | None) -> None:
    """Date of the last reading + whole days of amount left / use per day, rounded down (R6)."""
    assert count.expected_on(target) == (expected and date.fromisoformat(expected))


def test_case_15_total_expected_today() -> None:
    """8 000 h read 75 days ago at 10.0 h/day are 8 750 h today."""
    assert counted(8_000, "2025-03-31", 900, 90).expected_total(date(2025, 6, 14)) == 8_750 * H
    assert counted(8_000, "2025-03-31", 0, 90).expected_total(date(2025, 6, 14)) is None


def test_share_of_a_counter() -> None:
    """A pump that takes half of the hours and had 100 h before: total, use and estimated part follow."""
    engine = counted(1_000, "2025-04-15", 300, 30)._replace(estimated=50 * H)
    pump = engine.shared(1, 2, 100 * H)
    assert (pump.total, pump.estimated) == (600 * H, 25 * H)
    assert pump.rate is not None
    assert Fraction(pump.rate.rise * DAY, pump.rate.seconds * H) == 5
    assert engine.shared(1, 1) is engine
    assert engine.shared(1, 1, 100 * H).total == 1_100 * H


# --- totals between readings ----------------------------------------------------------------------------------------

READINGS = [point("2025-05-25", 12_280, reading=1), point("2025-06-01", 12_420, reading=2)]


@pytest.mark.parametrize(
    ("instant", "expected"),
    [
        pytest.param(at("2025-05-28"), Between(12_340 * H, 1, 2), id="17-three-days-at-20-a-day"),
        pytest.param(at("2025-06-01"), Between(12_420 * H, 2, 0), id="at-a-reading"),
        pytest.param(at("2025-06-05"), Between(12_420 * H, 2, 0), id="after-the-last"),
    ],
)
def test_total_at(instant: int, expected: Between) -> None:
    """The reading of that instant, or the line between its neighbours, with the readings it rests on."""
    found = total_at(READINGS, instant)
    assert found is not None
    assert found[:3] == expected[:3]
    assert found.low <= found.total
    assert found.high is None or found.total <= found.high


def test_total_before_the_first_reading_is_not_known() -> None:
    """Nothing is offered of a time of which nothing is known."""
    assert total_at(READINGS, at("2025-05-01")) is None


def test_total_after_the_last_reading_is_marked_as_stale() -> None:
    """With the day of the reading it repeats, until the next one comes; at the reading itself it is not."""
    last = READINGS[-1]
    after, exactly = total_at(READINGS, last.at + DAY), total_at(READINGS, last.at)
    assert after is not None
    assert exactly is not None
    assert (after.total, after.stale_since, after.high) == (last.total, last.on, None)
    assert exactly.stale_since is None


def test_total_without_readings_is_not_known() -> None:
    """No reading, no total."""
    assert total_at([], 0) is None


# --- properties -----------------------------------------------------------------------------------------------------

TOTALS = st.integers(0, 200_000 * H)
RATES = st.builds(Rate, st.integers(0, 9_000 * H), st.integers(1, 400 * DAY), st.just(READ_ON), st.just(READ_ON))


@given(TOTALS, TOTALS, RATES)
def test_expected_date_is_never_later_than_the_exact_one(total: int, target: int, rate: Rate) -> None:
    """Rounded down to whole days: at most one day before the exact moment, never after it."""
    found = Count(total, READ_ON, rate).expected_on(target)
    if found is not None and rate.rise:
        exact = Fraction((target - total) * rate.seconds, rate.rise * DAY)
        assert exact - 1 < (found - READ_ON).days <= exact


@given(TOTALS, TOTALS, TOTALS, RATES)
def test_a_higher_target_is_never_expected_earlier(total: int, target: int, more: int, rate: Rate) -> None:
    """Expected dates rise with the target."""
    count = Count(total, READ_ON, rate)
    near, far = count.expected_on(target), count.expected_on(target + more)
    if near is not None and far is not None:
        assert near <= far


@given(st.lists(st.tuples(st.integers(1, 100), st.integers(0, 2_000)), min_size=1, max_size=6), st.integers(-50, 700))
def test_total_between_readings_stays_between_them(steps: list[tuple[int, int]], day: int) -> None:
    """Interpolation neither exceeds the next reading nor falls below the one before."""
    points, at_day, total = [], 0, 0
    for number, (days, rise) in enumerate(steps, 1):
        at_day, total = at_day + days, total + rise
        points.append(Point(at_day * DAY, READ_ON, total, reading=number))
    offered = total_at(points, day * DAY)
    if day * DAY < points[0].at:
        assert offered is None
        return
    assert offered is not None
    low = max((p.total for p in points if p.at <= day * DAY), default=points[0].total)
    high = min((p.total for p in points if p.at >= day * DAY), default=points[-1].total)
    assert low <= offered.total <= high


@given(st.lists(st.tuples(st.integers(1, 60), st.integers(0, 1_400)), min_size=1, max_size=8))
def test_use_over_the_window_is_last_minus_first(steps: list[tuple[int, int]]) -> None:
    """With nothing left out, use is the plain difference from the first reading of the window (slow reference)."""
    points, day, total = [Point(0, date(2025, 1, 1), 0)], 0, 0
    for days, rise in steps:
        day, total = day + days, total + rise
        points.append(Point(day * DAY, date(2025, 1, 1) + timedelta(days=day), total))
    last = points[-1]
    inside = [p for p in points[:-1] if (last.on - p.on).days <= 90]
    first = inside[0] if inside else points[-2]
    assert use_rate(points, 90) == Rate(last.total - first.total, last.at - first.at, first.on, last.on)
