"""A ship's date that never occurs has no occurrence of a grid: worked case 13c, the engine and the closings."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.aims import CalendarTerms, Doing, RuleTerms, compile_rule
from pmsched.domain.clocks import ClockChange, ShipClock
from pmsched.domain.closes import Tally, outcomes, tally
from pmsched.domain.due import CalendarDetail, Detail, Settings, State, stand
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountsFrom, Rule

SKIPPED = frozenset({date(2025, 10, 4)})
CROSSED = Settings(skipped=SKIPPED)


def october(day: int) -> date:
    """That day of October 2025."""
    return date(2025, 10, day)


def at(text: str) -> int:
    """The instant of '2025-10-04 12:00' in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def every(days: int, counts_from: CountsFrom = "grid", anchor: date = date(2025, 9, 6)) -> RuleTerms:
    """A rule of so many days, on a grid from Saturday 6 September unless it is said otherwise."""
    grid = anchor if counts_from == "grid" else None
    return compile_rule(Rule((CalendarLimb(Span(days=days)),), counts_from, grid, (), (), ()))


DAILY, WEEKLY = every(1), every(7)

# --- the clock ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        pytest.param((), [], id="no-change"),
        pytest.param((("2025-09-20 00:00", -720), ("2025-10-04 12:00", 720)), [october(4)], id="13c-at-midnight"),
        pytest.param((("2025-09-20 00:00", -720), ("2025-10-03 18:00", 720)), [], id="in-the-morning-both-dates-occur"),
        pytest.param((("2025-09-01 00:00", 720), ("2025-09-10 12:00", -720)), [], id="13b-eastbound-none"),
        pytest.param(
            (("2025-09-20 00:00", -720), ("2025-10-04 12:00", 720), ("2025-10-04 13:00", 660), ("2025-10-04 13:00", 300)),
            [],
            id="put-back-an-hour-later-it-occurs",
        ),
        pytest.param(
            (
                ("2025-09-20 00:00", -720), ("2025-10-04 12:00", 720),
                ("2025-10-08 12:00", -720), ("2025-10-12 12:00", 720),
            ),
            [october(4), october(12)],
            id="crossed-twice",
        ),
    ],
)  # fmt: skip
def test_dates_that_never_occur(changes: tuple[tuple[str, int], ...], expected: list[date]) -> None:
    """Only a jump forward over a whole date takes it away."""
    clock = ShipClock(ClockChange(at(when), offset) for when, offset in changes)
    assert sorted(clock.skipped_days()) == expected


@given(st.lists(st.tuples(st.integers(0, 20 * 48), st.integers(-12, 14)), max_size=6))
def test_skipped_days_are_those_asked_for_one_by_one(changes: list[tuple[int, int]]) -> None:
    """Against ``is_skipped`` for every date near the changes."""
    clock = ShipClock(
        ClockChange(at("2025-10-05 00:00") + half_hours * 1800, offset * 60) for half_hours, offset in changes
    )
    assert clock.skipped_days() == {october(day) for day in range(1, 32) if clock.is_skipped(october(day))}


# --- what is due ----------------------------------------------------------------------------------------------------


def worked(terms: RuleTerms, done: date, today: date) -> tuple[State, date | None, int, int, tuple[date, ...]]:
    """State, due date, days overdue, how many fell due, and which."""
    found: list[Detail] = []
    standing = stand(terms, Doing(done), {}, today, CROSSED, record=found.append)
    (detail,) = found
    assert isinstance(detail, CalendarDetail)
    return standing.state, standing.due_on, standing.overdue_days, standing.missed, detail.missed


@pytest.mark.parametrize(
    ("terms", "done", "today", "expected"),
    [
        pytest.param(DAILY, 3, 3, (State.UPCOMING, october(5), 0, 0, ()), id="13c-next-is-the-5th"),
        pytest.param(DAILY, 3, 5, (State.DUE, october(5), 0, 1, (october(5),)), id="13c-nothing-is-missed"),
        pytest.param(
            DAILY, 2, 6, (State.OVERDUE, october(3), 3, 3, (october(3), october(5), october(6))), id="missed-around-it"
        ),
        pytest.param(WEEKLY, 2, 5, (State.UPCOMING, october(11), 0, 0, ()), id="weekly-on-that-date"),
        pytest.param(
            every(7, anchor=date(2025, 9, 7)),
            1,
            5,
            (State.DUE, october(5), 0, 1, (october(5),)),
            id="weekly-on-another",
        ),
        pytest.param(every(1, "done"), 3, 5, (State.OVERDUE, october(4), 1, 0, ()), id="off-the-grid-as-counted"),
    ],
)
def test_case_13c_what_is_due(
    terms: RuleTerms, done: int, today: int, expected: tuple[State, date, int, int, tuple[date, ...]]
) -> None:
    """No occurrence on 4 October is due, overdue, counted or listed."""
    assert worked(terms, october(done), october(today)) == expected


@given(st.integers(1, 9), st.integers(0, 30), st.integers(0, 40), st.frozensets(st.integers(1, 31), max_size=5))
def test_fell_due_counts_what_is_open(days: int, first: int, more: int, skipped: frozenset[int]) -> None:
    """The number and the dates agree, and no date is a skipped one."""
    (limb,) = every(days, anchor=october(1)).limbs
    assert isinstance(limb, CalendarTerms)
    never = frozenset(map(october, skipped))
    aim = limb.passing_over(never, limb.occurrence(Doing(october(1)), first))
    today = date.fromordinal(aim.toordinal() + more)
    dates = limb.open_dates(aim, today, never)
    assert limb.fell_due(aim, today, never) == len(dates)
    assert aim == dates[0]
    assert never.isdisjoint(dates)


# --- what was done --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("terms", "days", "closed_on", "not_done", "late"),
    [
        pytest.param(DAILY, (3, 5), october(5), (), 0, id="13c-nothing-is-missed"),
        pytest.param(DAILY, (2, 6), october(6), (october(3), october(5)), 0, id="missed-around-it"),
        pytest.param(WEEKLY, (3,), date(2025, 9, 27), (), 6, id="weekly-first-doing-closes-the-one-before"),
        pytest.param(WEEKLY, (-10, 5), date(2025, 9, 27), (), 8, id="weekly-closes-the-one-before-late"),
        pytest.param(WEEKLY, (-3, 5), None, (), -6, id="weekly-nothing-was-open-so-extra"),
    ],
)
def test_case_13c_what_a_doing_closed(
    terms: RuleTerms, days: tuple[int, ...], closed_on: date | None, not_done: tuple[date, ...], late: int
) -> None:
    """A doing closes no occurrence on 4 October, and leaves none undone; days are counted from 30 September."""
    doings = [Doing(date.fromordinal(date(2025, 9, 30).toordinal() + day)) for day in days]
    last = outcomes(doings, lambda _: terms, SKIPPED)[-1]
    assert (last.closed_on, last.not_done, last.days_late) == (closed_on, not_done, late)


@pytest.mark.parametrize(
    ("days", "expected"),
    [
        pytest.param((2, 3, 5, 6), Tally(4, 0, 0), id="done-every-day"),
        pytest.param((2, 6), Tally(2, 0, 2), id="two-not-done"),
        pytest.param((2, 3), Tally(2, 0, 2), id="the-open-ones-at-the-end"),
    ],
)
def test_case_13c_tally(days: tuple[int, ...], expected: Tally) -> None:
    """From 2 to 6 October a daily job fell due four times."""
    found = tally([Doing(october(day)) for day in days], lambda _: DAILY, october(2), october(6), skipped=SKIPPED)
    assert found == expected
