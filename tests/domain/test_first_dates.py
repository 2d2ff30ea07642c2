"""First dates are spread: never all on one day, never later than the interval or a year, critical jobs never."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.counts import SECONDS_PER_HOUR as H
from pmsched.domain.first_dates import FirstDate, Unstarted, spread
from pmsched.domain.periods import Span, add_span
from pmsched.domain.written import read_rule

TODAY = date(2030, 1, 1)


def job(key: str, interval: str, *, held_back: bool = False, totals: Mapping[str, int] = {}) -> Unstarted:
    """A job of which nothing is known."""
    return Unstarted(key, read_rule(interval), held_back, totals)


def test_twelve_yearly_jobs_fall_due_one_a_month() -> None:
    """In the order given, in the middle of each month or so, from a start a year before."""
    found = spread([job(f"J{n}", "12 months") for n in range(12)], TODAY)
    assert [one.first_on.month for one in found if one.first_on] == list(range(1, 13))
    assert all(one.from_on and add_span(one.from_on, Span(months=12)) == one.first_on for one in found)


@pytest.mark.parametrize(
    ("interval", "first"),
    [
        pytest.param("12 months", date(2030, 7, 2), id="half-a-year"),
        pytest.param("60 months", date(2030, 7, 2), id="five-years-within-the-first"),
        pytest.param("4 weeks", date(2030, 1, 15), id="two-weeks"),
        pytest.param("1 day", date(2030, 1, 2), id="tomorrow"),
    ],
)
def test_one_job_alone_waits_half(interval: str, first: date) -> None:
    """Half of the interval, and of a year at most."""
    (found,) = spread([job("J", interval)], TODAY)
    assert found.first_on == first


@pytest.mark.parametrize(
    ("interval", "total", "start"),
    [
        pytest.param("4000 h", 20_000, 18_000, id="half-the-interval-used"),
        pytest.param("24000 h", 30_000, 30_000 - 24_000 + 4380, id="a-year-of-hours-at-most"),
        pytest.param("4000 h", 500, 0, id="new-machine-from-nothing"),
    ],
)
def test_hours(interval: str, total: int, start: int) -> None:
    """Counted from today at a total in whole hours."""
    (found,) = spread([job("J", interval, totals={"h": total * H + 17})], TODAY)
    assert found == FirstDate("J", TODAY, (("h", start * H),), None)


@pytest.mark.parametrize(
    "one",
    [
        pytest.param(job("J", "12 months", held_back=True), id="critical-or-class"),
        pytest.param(job("J", "4000 h"), id="never-read"),
        pytest.param(job("J", "12 months or 4000 h", totals={"starts": 5}), id="other-counter-read"),
    ],
)
def test_due_at_once(one: Unstarted) -> None:
    """What is critical, and what no total is known for, is not put off."""
    assert spread([one], TODAY) == [FirstDate("J")]


def test_a_month_back_from_the_last_day_is_not_overdue() -> None:
    """Counted from 28 February a month ends on 28 March, before the day meant; a day later it does not."""
    found = spread([job(str(n), "1 month") for n in range(60)], date(2030, 3, 30))
    assert found[0] == FirstDate("0", date(2030, 3, 1), (), date(2030, 4, 1))


def test_grid_keeps_its_dates() -> None:
    """The next date of the grid is the first: it counts from today."""
    rule = read_rule("3 months; on the grid from 2029-01-31")
    assert spread([Unstarted("J", rule, held_back=False, totals={})], TODAY) == [FirstDate("J", TODAY)]


@given(
    st.lists(st.sampled_from(["1 week", "1 month", "3 months", "12 months", "30 months", "60 months"]), max_size=60),
    st.dates(date(2000, 1, 1), date(2100, 1, 1)),
)
def test_never_later_than_the_interval_or_a_year(intervals: list[str], today: date) -> None:
    """And after today; as many as there are days in a stretch never share a day."""
    found = spread([job(str(n), interval) for n, interval in enumerate(intervals)], today)
    for one, interval in zip(found, intervals, strict=True):
        (limb,) = read_rule(interval).limbs
        assert one.first_on is not None
        assert one.from_on is not None
        assert one.from_on <= today
        assert add_span(one.from_on, limb.every) == one.first_on  # type: ignore[union-attr]
        assert today < one.first_on <= min(add_span(today, limb.every), add_span(today, Span(months=12)))  # type: ignore[union-attr]
    yearly = [one.first_on for one, interval in zip(found, intervals, strict=True) if interval == "12 months"]
    assert len(set(yearly)) == len(yearly)
