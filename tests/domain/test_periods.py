"""Calendar arithmetic against published figures and three libraries; properties of grids."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise

import isodate
import pandas as pd
import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.errors import Refusal
from pmsched.domain.periods import Span, add_months, add_span, days_in_month, grid_index_on_or_before

MIDDLE_DATES = st.dates(date(1900, 1, 1), date(2100, 12, 31))
MONTH_STEPS = st.integers(-1000, 1000)
SPANS = st.one_of(
    st.builds(Span, months=st.integers(1, 120), days=st.just(0)),
    st.builds(Span, months=st.just(0), days=st.integers(1, 1000)),
)


def on(text: str) -> date:
    """The date of ``2025-01-31``."""
    return date.fromisoformat(text)


@pytest.mark.parametrize(
    ("start", "months", "expected"),
    [
        # python-dateutil documentation, relativedelta examples.
        ("2003-01-27", 1, "2003-02-27"),
        ("2003-01-31", 1, "2003-02-28"),
        ("2003-01-31", 2, "2003-03-31"),
        ("2003-01-30", 1, "2003-02-28"),
        ("2003-05-31", -1, "2003-04-30"),
        ("2000-02-28", 12, "2001-02-28"),
        ("2000-02-29", 12, "2001-02-28"),
        ("1999-02-28", 12, "2000-02-28"),
        ("1999-03-01", 12, "2000-03-01"),
        ("2001-02-28", -12, "2000-02-28"),
        ("2001-03-01", -12, "2000-03-01"),
        # Computed with python-dateutil and pandas DateOffset, which agree.
        ("2024-02-29", 48, "2028-02-29"),
        ("2024-08-31", 6, "2025-02-28"),
        ("2023-08-31", 6, "2024-02-29"),
        ("2024-11-30", 3, "2025-02-28"),
        ("2024-12-31", 2, "2025-02-28"),
        ("2024-01-31", 1, "2024-02-29"),
        ("2024-02-29", 12, "2025-02-28"),
        ("2024-02-29", 60, "2029-02-28"),
        ("2025-12-31", 2, "2026-02-28"),
        ("2025-05-31", -3, "2025-02-28"),
        ("2025-05-31", 3, "2025-08-31"),
        ("2028-02-29", -3, "2027-11-29"),
        # W3C XML Schema part 2, "Adding durations to dateTimes": 2000-01 and -P3M.
        ("2000-01-01", -3, "1999-10-01"),
    ],
)
def test_months_are_added_as_published(start: str, months: int, expected: str) -> None:
    """Month arithmetic equals figures published elsewhere."""
    assert add_months(on(start), months) == on(expected)


def test_grid_is_skip_backward_of_rfc_7529() -> None:
    """RFC 7529: RSCALE=GREGORIAN;FREQ=MONTHLY;SKIP=BACKWARD;COUNT=4 from 2014-01-31."""
    grid = [add_span(on("2014-01-31"), Span(months=1), n).isoformat() for n in range(4)]
    assert grid == ["2014-01-31", "2014-02-28", "2014-03-31", "2014-04-30"]


@pytest.mark.parametrize(
    ("start", "steps", "expected"),
    [
        ("2000-03-30", (Span(days=1), Span(months=1)), "2000-04-30"),
        ("2000-03-30", (Span(months=1), Span(days=1)), "2000-05-01"),
        ("2000-01-12", (Span(months=15), Span(days=5)), "2001-04-17"),
    ],
    ids=["day-then-month", "month-then-day", "P1Y3M5D"],
)
def test_spans_are_added_in_order_as_w3c_says(start: str, steps: tuple[Span, ...], expected: str) -> None:
    """W3C XML Schema part 2, "Adding durations to dateTimes"; the last one is the date part of its first example."""
    day = on(start)
    for span in steps:
        day = add_span(day, span)
    assert day == on(expected)


MONTH, QUARTER, HALF, YEAR = Span(months=1), Span(months=3), Span(months=6), Span(months=12)


@pytest.mark.parametrize(
    ("anchor", "span", "times", "expected"),
    [
        # Case 1.
        ("2025-01-31", MONTH, 1, "2025-02-28"),
        ("2025-01-31", MONTH, 2, "2025-03-31"),
        ("2025-01-31", MONTH, 3, "2025-04-30"),
        ("2025-01-31", MONTH, 4, "2025-05-31"),
        ("2025-01-31", MONTH, 5, "2025-06-30"),
        ("2025-01-31", MONTH, 6, "2025-07-31"),
        ("2025-01-31", MONTH, 13, "2026-02-28"),
        ("2025-01-31", MONTH, 37, "2028-02-29"),
        ("2025-11-30", QUARTER, 1, "2026-02-28"),
        ("2025-11-30", QUARTER, 2, "2026-05-30"),
        ("2025-08-31", HALF, 1, "2026-02-28"),
        ("2025-08-31", HALF, 2, "2026-08-31"),
        # Case 2.
        ("2024-02-29", YEAR, 1, "2025-02-28"),
        ("2024-02-29", YEAR, 2, "2026-02-28"),
        ("2024-02-29", YEAR, 3, "2027-02-28"),
        ("2024-02-29", YEAR, 4, "2028-02-29"),
        ("2024-02-29", YEAR, 5, "2029-02-28"),
        ("2024-02-29", Span(months=60), 1, "2029-02-28"),
        ("2023-11-30", QUARTER, 1, "2024-02-29"),
        ("2024-11-30", QUARTER, 1, "2025-02-28"),
        ("2023-12-01", Span(days=90), 1, "2024-02-29"),
        ("2023-12-01", QUARTER, 1, "2024-03-01"),
        # Case 7: a window of three months about month-end anniversaries.
        ("2026-05-31", QUARTER, -1, "2026-02-28"),
        ("2026-05-31", QUARTER, 1, "2026-08-31"),
        ("2026-11-30", QUARTER, -1, "2026-08-30"),
        ("2026-11-30", QUARTER, 1, "2027-02-28"),
    ],
)
def test_grid_dates_of_the_worked_cases(anchor: str, span: Span, times: int, expected: str) -> None:
    """Each grid date counts from the anchor, so a month-end does not slide."""
    assert add_span(on(anchor), span, times) == on(expected)


@pytest.mark.parametrize(
    ("start", "span", "expected"),
    [
        ("2025-01-31", MONTH, ["2025-02-28", "2025-03-28", "2025-04-28"]),
        ("2024-02-29", YEAR, ["2025-02-28", "2026-02-28", "2027-02-28", "2028-02-28"]),
    ],
    ids=["case-1", "case-2"],
)
def test_counting_from_each_doing_slides_to_the_shorter_month(start: str, span: Span, expected: list[str]) -> None:
    """Counted from each doing, a clamped day stays clamped."""
    chained = [on(start)]
    for _ in expected:
        chained.append(add_span(chained[-1], span))
    assert [day.isoformat() for day in chained[1:]] == expected


STARTS = [
    date(year, month, day)
    for year in range(2023, 2029)
    for month in range(1, 13)
    for day in (1, 15, 28, 29, 30, 31)
    if day <= days_in_month(year, month)
]
STEPS = range(-13, 61)


def test_agrees_with_pandas_on_every_combination() -> None:
    """Equal to pandas DateOffset."""
    index = pd.DatetimeIndex(STARTS)
    for months in STEPS:
        theirs = [stamp.date() for stamp in index + pd.DateOffset(months=months)]
        assert [add_months(start, months) for start in STARTS] == theirs, months


def test_agrees_with_dateutil_on_every_combination() -> None:
    """Equal to python-dateutil relativedelta."""
    for months in STEPS:
        delta = relativedelta(months=months)
        assert [add_months(start, months) for start in STARTS] == [start + delta for start in STARTS], months


def test_agrees_with_isodate_on_every_combination() -> None:
    """Equal to isodate Duration."""
    for months in STEPS:
        duration = isodate.Duration(months=months)
        assert [add_months(start, months) for start in STARTS] == [start + duration for start in STARTS], months


def test_the_combinations_compared_are_thousands() -> None:
    """Guards the three tests above against an empty table."""
    assert len(STARTS) * len(STEPS) > 25_000


@pytest.mark.parametrize(
    ("year", "days"),
    [(1900, 28), (2000, 29), (2023, 28), (2024, 29), (2100, 28), (2400, 29)],
)
def test_february_of_the_gregorian_calendar(year: int, days: int) -> None:
    """Leap years by the Gregorian rule."""
    assert days_in_month(year, 2) == days


@given(MIDDLE_DATES, MONTH_STEPS)
def test_more_months_are_later(start: date, months: int) -> None:
    """One month more is always a later date."""
    assert add_months(start, months) < add_months(start, months + 1)


@given(MIDDLE_DATES, MIDDLE_DATES, MONTH_STEPS)
def test_order_of_dates_is_kept(one: date, other: date, months: int) -> None:
    """Adding months never turns two dates round."""
    first, second = sorted((one, other))
    assert add_months(first, months) <= add_months(second, months)


@given(MIDDLE_DATES, MONTH_STEPS)
def test_clamping_never_leaves_the_month(start: date, months: int) -> None:
    """The month is exact, the day is the same or the last of a shorter month."""
    end = add_months(start, months)
    assert (end.year - start.year) * 12 + end.month - start.month == months
    assert end.day == min(start.day, days_in_month(end.year, end.month))


@given(MIDDLE_DATES.filter(lambda day: day.day <= 28), MONTH_STEPS)
def test_months_can_be_taken_back_up_to_the_28th(start: date, months: int) -> None:
    """Days that every month has come back unchanged."""
    assert add_months(add_months(start, months), -months) == start


@given(MIDDLE_DATES, SPANS, st.integers(-4000, 4000))
def test_grid_index_agrees_with_a_slow_walk(anchor: date, span: Span, days_away: int) -> None:
    """The closed form finds what stepping along the grid finds."""
    day = anchor + timedelta(days=days_away)
    n = 0
    while add_span(anchor, span, n) > day:
        n -= 1
    while add_span(anchor, span, n + 1) <= day:
        n += 1
    assert grid_index_on_or_before(anchor, span, day) == n


@given(MIDDLE_DATES, SPANS, st.integers(-50, 50))
def test_grid_index_of_a_grid_date_is_its_own(anchor: date, span: Span, n: int) -> None:
    """The date of occurrence n has index n."""
    assert grid_index_on_or_before(anchor, span, add_span(anchor, span, n)) == n


@given(MIDDLE_DATES, SPANS)
def test_grid_dates_rise(anchor: date, span: Span) -> None:
    """No two occurrences of a grid share a date."""
    grid = [add_span(anchor, span, n) for n in range(-5, 6)]
    assert all(one < following for one, following in pairwise(grid))


@pytest.mark.parametrize(
    ("start", "span", "times"),
    [
        ("9999-12-31", MONTH, 1),
        ("0001-01-31", MONTH, -1),
        ("9999-12-31", Span(days=1), 1),
        ("0001-01-01", Span(days=1), -1),
        ("2025-01-31", MONTH, 10**20),
        ("2025-01-01", MONTH, -(10**20)),
        ("2025-01-01", Span(days=1), 10**20),
    ],
)
def test_dates_beyond_the_calendar_are_refused(start: str, span: Span, times: int) -> None:
    """A refusal, not a crash, outside the years 1-9999."""
    with pytest.raises(Refusal, match="years 1-9999") as refused:
        add_span(on(start), span, times)
    assert refused.value.code == "beyond-calendar"


def test_grid_index_needs_no_date_beyond_the_calendar() -> None:
    """The step before the anchor would lie before year 1; its number can still be told."""
    assert grid_index_on_or_before(on("0100-01-31"), Span(months=2400), on("0099-12-01")) == -1
