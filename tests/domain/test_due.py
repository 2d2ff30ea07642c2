"""What is due: worked cases 1-7, 9, 10, 15-18, 22 and 24 through the engine, its boundaries, and what always holds."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.aims import Doing, DoingKind, Extension, RuleTerms, compile_rule
from pmsched.domain.counters import Count, Rate
from pmsched.domain.due import (
    CalendarDetail,
    CountDetail,
    Counts,
    Detail,
    Settings,
    Standing,
    State,
    stand,
)
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountsFrom, Limb, Margin, Rule, Share

H = 3600
DAY_SECONDS = 86_400
SETTINGS = Settings()
MONTHLY, THREE_MONTHLY, YEARLY = (CalendarLimb(Span(months=months)) for months in (1, 3, 12))
WEEKLY = CalendarLimb(Span(days=7))
TEN_PERCENT = Share(Fraction(1, 10))


def day(text: str) -> date:
    """A date as written."""
    return date.fromisoformat(text)


def hours(amount: int) -> CountLimb:
    """A limb of running hours."""
    return CountLimb(amount * H, "h")


def terms(
    *limbs: Limb,
    counts_from: CountsFrom = "done",
    anchor: str | None = None,
    opens: Margin | None = None,
    closes: Margin | None = None,
) -> RuleTerms:
    """A compiled rule."""
    return compile_rule(
        Rule(
            limbs, counts_from, day(anchor) if anchor else None, (),
            (opens,) if opens else (), (closes,) if closes else (),
        )
    )  # fmt: skip


def done(on: str, at_hours: int | None = None, **others: int) -> Doing:
    """A doing at those running hours and other totals."""
    return Doing(day(on), others if at_hours is None else {"h": at_hours * H, **others})


def read(on: str, total: int, use: tuple[int, int] | None = None, *, estimated: int = 0, unit: int = H) -> Count:
    """A count as last read, with use as (rise, days) up to that reading."""
    rate = use and Rate(use[0] * unit, use[1] * DAY_SECONDS, day(on) - timedelta(days=use[1]), day(on))
    return Count(total * unit, day(on), rate or None, estimated * unit)


def said(
    rule: RuleTerms, doing: Doing | None, today: str, count: Count | None = None, extension: Extension | None = None
) -> Standing:
    """The standing on that day, of a machine that counts hours only."""
    counts: Counts = {"h": count} if count else {}
    return stand(rule, doing, counts, day(today), SETTINGS, extension)


def details(
    rule: RuleTerms, doing: Doing, today: str, counts: Counts, extension: Extension | None = None
) -> list[Detail]:
    """The working of every limb."""
    found: list[Detail] = []
    stand(rule, doing, counts, day(today), SETTINGS, extension, found.append)
    return found


def counter_detail(rule: RuleTerms, doing: Doing, today: str, count: Count) -> CountDetail:
    """The working of the one limb of running hours."""
    detail = details(rule, doing, today, {"h": count})[0]
    assert isinstance(detail, CountDetail)
    return detail


# --- the calendar ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("today", "state", "overdue_days"),
    [
        pytest.param("2025-01-28", State.LATER, 0, id="31-days-before"),
        pytest.param("2025-01-29", State.UPCOMING, 0, id="30-days-before"),
        pytest.param("2025-02-27", State.UPCOMING, 0, id="the-day-before"),
        pytest.param("2025-02-28", State.DUE, 0, id="due-today-is-not-overdue"),
        pytest.param("2025-03-01", State.OVERDUE, 1, id="the-day-after"),
        pytest.param("2025-03-31", State.OVERDUE, 31, id="31-days-after"),
    ],
)
def test_days_around_a_calendar_limit(today: str, state: State, overdue_days: int) -> None:
    """On time through the end of the due date; overdue days count from it (R3)."""
    standing = said(terms(THREE_MONTHLY), done("2024-11-28"), today)
    assert (standing.state, standing.overdue_days) == (state, overdue_days)
    assert (standing.due_on, standing.governing, standing.expected) == (day("2025-02-28"), 0, False)


def test_air_filter_every_two_months() -> None:
    """An air filter is cleaned at least every two months (common practice, no source): a month-end and a short month."""
    rule, last = terms(CalendarLimb(Span(months=2))), done("2025-12-31")
    assert said(rule, last, "2026-02-28")[:2] == (State.DUE, day("2026-02-28"))
    overdue = said(rule, last, "2026-03-01")
    assert (overdue.state, overdue.overdue_days) == (State.OVERDUE, 1)


@pytest.mark.parametrize(
    ("last", "today", "state", "due_on", "overdue_days", "missed"),
    [
        pytest.param("2025-06-02", "2025-06-18", State.OVERDUE, "2025-06-09", 9, 2, id="today-one-line"),
        pytest.param("2025-06-02", "2025-06-09", State.DUE, "2025-06-09", 0, 1, id="on-the-first-of-them"),
        pytest.param("2025-06-02", "2025-06-08", State.UPCOMING, "2025-06-09", 0, 0, id="the-day-before"),
        pytest.param("2025-06-18", "2025-06-18", State.UPCOMING, "2025-06-23", 0, 0, id="after-the-late-round"),
    ],
)
def test_case_4_missed_rounds(last: str, today: str, state: State, due_on: str, overdue_days: int, missed: int) -> None:
    """Every Monday: one line, due since the first that was missed, saying how many fell due."""
    standing = said(terms(WEEKLY, counts_from="grid", anchor="2025-06-02"), done(last), today)
    assert standing == Standing(state, day(due_on), 0, overdue_days=overdue_days, missed=missed)


def test_case_4_missed_rounds_are_named() -> None:
    """The recorder hears which dates fell due."""
    (detail,) = details(terms(WEEKLY, counts_from="grid", anchor="2025-06-02"), done("2025-06-02"), "2025-06-18", {})
    assert isinstance(detail, CalendarDetail)
    assert detail.missed == (day("2025-06-09"), day("2025-06-16"))


@pytest.mark.parametrize("counts_from", ["done", "aim"])
def test_nothing_is_missed_off_the_grid(counts_from: CountsFrom) -> None:
    """Three months late, a monthly job that counts from its doings is one job, not four."""
    standing = said(terms(MONTHLY, counts_from=counts_from), done("2025-01-01"), "2025-05-01")
    assert standing == Standing(State.OVERDUE, day("2025-02-01"), 0, overdue_days=89)


@pytest.mark.parametrize(
    ("today", "state", "days_left"),
    [
        pytest.param("2026-02-19", State.NOT_OPEN, 182, id="opens-tomorrow"),
        pytest.param("2026-02-20", State.MAY_BE_DONE, 181, id="open-181-days-left"),
        pytest.param("2026-05-20", State.DUE, 92, id="on-the-anniversary"),
        pytest.param("2026-08-20", State.DUE, 0, id="last-day"),
        pytest.param("2026-08-21", State.OVERDUE, -1, id="overdue-1-day"),
    ],
)
def test_case_7_survey_window(today: str, state: State, days_left: int) -> None:
    """Anniversary 20 May, three months before to three months after, both end days included."""
    window = Span(months=3)
    rule = terms(YEARLY, counts_from="grid", anchor="2025-05-20", opens=window, closes=window)
    (detail,) = details(rule, done("2025-05-20"), today, {})
    assert isinstance(detail, CalendarDetail)
    assert (detail.state, detail.days_left) == (state, days_left)
    assert (detail.opens, detail.aim, detail.limit) == (day("2026-02-20"), day("2026-05-20"), day("2026-08-20"))


def test_case_3c_too_early_leaves_the_occurrence_open() -> None:
    """Done on 2025-01-20, before the window of 04-01 opened: that one is overdue on 2025-04-02."""
    rule = terms(THREE_MONTHLY, counts_from="grid", anchor="2025-01-01", opens=Span(days=30))
    assert said(rule, done("2025-01-20"), "2025-04-01").state is State.DUE
    assert said(rule, done("2025-01-20"), "2025-04-02").overdue_days == 1


# --- counters -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "total", "use", "expected"),
    [
        pytest.param("2025-04-15", 21_080, (1_080, 90), ("2025-12-14", 0, True), id="5a-hours-govern"),
        pytest.param("2025-07-14", 21_620, (540, 90), ("2026-01-15", 1, False), id="5b-calendar-governs"),
    ],
)
def test_case_5_whichever_first(on: str, total: int, use: tuple[int, int], expected: tuple[str, int, bool]) -> None:
    """4 000 h or 12 months, done 2025-01-15 at 20 000: the earlier of the two dates (R7)."""
    standing = said(terms(hours(4_000), YEARLY), done("2025-01-15", 20_000), on, read(on, total, use))
    due_on, governing, from_use = expected
    assert (standing.due_on, standing.governing, standing.expected) == (day(due_on), governing, from_use)


@pytest.mark.parametrize(
    ("on", "total", "use", "other_on"),
    [
        pytest.param("2025-04-15", 21_080, (1_080, 90), ("2025-12-14", "2026-01-15"), id="5a"),
        pytest.param("2025-07-14", 21_620, (540, 90), ("2026-08-14", "2026-01-15"), id="5b"),
    ],
)
def test_case_5_both_dates_are_told(on: str, total: int, use: tuple[int, int], other_on: tuple[str, str]) -> None:
    """The recorder hears the date of the limb that does not govern too."""
    rule = terms(hours(4_000), YEARLY)
    by_hours, by_date = details(rule, done("2025-01-15", 20_000), on, {"h": read(on, total, use)})
    assert isinstance(by_hours, CountDetail)
    assert isinstance(by_date, CalendarDetail)
    assert (by_hours.due_on, by_date.aim) == tuple(map(day, other_on))


WITH_TOLERANCE = [
    pytest.param(11_799, State.NOT_OPEN, 0, id="opens-in-1-h"),
    pytest.param(11_800, State.MAY_BE_DONE, 0, id="may-be-done"),
    pytest.param(11_980, State.MAY_BE_DONE, 0, id="a-day-of-use-before-the-aim"),
    pytest.param(11_981, State.DUE, 0, id="aim-expected-today"),
    pytest.param(12_000, State.DUE, 0, id="due"),
    pytest.param(12_150, State.DUE, 0, id="inside-tolerance"),
    pytest.param(12_200, State.DUE, 0, id="last-hour-of-tolerance"),
    pytest.param(12_201, State.OVERDUE, 1, id="overdue-by-1-h"),
]


@pytest.mark.parametrize(("total", "state", "over"), WITH_TOLERANCE)
@pytest.mark.parametrize(
    ("counts_from", "last"),
    [
        pytest.param("done", done("2025-01-01", 10_000), id="from-last-done"),
        pytest.param("aim", done("2025-01-01", 10_100)._replace(first=done("2024-01-01", 8_000)), id="from-the-aim"),
    ],
)
def test_case_6_tolerance(counts_from: CountsFrom, last: Doing, total: int, state: State, over: int) -> None:
    """2 000 h +- 10 %, aimed at 12 000: open from 11 800, overdue from 12 201 (R14)."""
    rule = terms(hours(2_000), counts_from=counts_from, opens=TEN_PERCENT, closes=TEN_PERCENT)
    standing = said(rule, last, "2025-06-01", read("2025-06-01", total, (200, 10)))
    assert standing.state is state
    assert standing.overdue_counts == ((("h", over * H),) if over else ())
    assert standing.estimated is (total == 11_981), "only what is expected, not read, is an estimate"


@pytest.mark.parametrize(
    ("counts_from", "window"),
    [
        pytest.param("done", (13_950, 14_150, 14_350), id="from-last-done"),
        pytest.param("aim", (13_800, 14_000, 14_200), id="from-the-aim"),
    ],
)
def test_case_6_next_window(counts_from: CountsFrom, window: tuple[int, int, int]) -> None:
    """Done at 12 150: the next aim drifts from the last doing, and does not from the aim."""
    rule = terms(hours(2_000), counts_from=counts_from, opens=TEN_PERCENT, closes=TEN_PERCENT)
    last = done("2025-06-01", 12_150)._replace(first=done("2024-06-01", 10_000))
    detail = counter_detail(rule, last, "2025-06-01", read("2025-06-01", 12_150, (200, 10)))
    assert (detail.opens, detail.aim, detail.limit) == tuple(hours * H for hours in window)


def test_case_9_across_a_meter_change() -> None:
    """Total 19 945 of 20 450: 1 495 h since done, 505 h left, due 2025-06-06."""
    detail = counter_detail(
        terms(hours(2_000)), done("2025-01-20", 18_450), "2025-05-04", read("2025-05-04", 19_945, (825, 55))
    )
    assert detail.shown is not None
    assert detail.base is not None
    assert detail.shown.total - detail.base == 1_495 * H
    assert (detail.left, detail.due_on) == (505 * H, day("2025-06-06"))


def test_case_10_hours_resting_on_an_estimate_are_marked() -> None:
    """Due 7 900, read 7 766 of which 252 h estimated: 134 h left, 2025-05-18, marked (R8)."""
    standing = said(
        terms(hours(1_000)),
        done("2025-01-01", 6_900),
        "2025-05-10",
        read("2025-05-10", 7_766, (300, 20), estimated=252),
    )
    assert standing == Standing(State.UPCOMING, day("2025-05-18"), 0, expected=True, estimated=True)


@pytest.mark.parametrize(
    ("total", "state", "over"),
    [
        pytest.param(8_152, State.PAST_DUE_BY_ESTIMATE, 0, id="past-only-with-the-estimate"),
        pytest.param(8_153, State.OVERDUE, 253, id="past-without-it-too"),
    ],
)
def test_case_10_overdue_never_rests_on_an_estimate(total: int, state: State, over: int) -> None:
    """Due 7 900 with 252 h estimated: overdue from the hour after 8 152, when 7 901 were read."""
    standing = said(
        terms(hours(1_000)), done("2025-01-01", 6_900), "2025-05-10", read("2025-05-10", total, estimated=252)
    )
    assert (standing.state, standing.estimated) == (state, True)
    assert standing.overdue_counts == ((("h", over * H),) if over else ())


def test_estimate_from_before_the_doing_does_not_weigh() -> None:
    """Booked by estimate before the last doing: the hours since it were all read, so overdue is overdue."""
    last = done("2025-04-25", 7_500)._replace(estimated={"h": 252 * H})
    standing = said(terms(hours(200)), last, "2025-05-10", read("2025-05-10", 7_766, (300, 20), estimated=252))
    assert (standing.state, standing.estimated, standing.overdue_counts) == (State.OVERDUE, False, (("h", 66 * H),))


@pytest.mark.parametrize(
    ("today", "state"),
    [
        pytest.param("2025-04-09", State.LATER, id="61-days-before"),
        pytest.param("2025-05-10", State.UPCOMING, id="30-days-before"),
        pytest.param("2025-06-08", State.UPCOMING, id="the-day-before"),
        pytest.param("2025-06-09", State.DUE, id="expected-today"),
        pytest.param("2025-06-10", State.PAST_DUE_BY_ESTIMATE, id="expected-yesterday"),
        pytest.param("2025-06-14", State.PAST_DUE_BY_ESTIMATE, id="five-days-ago"),
    ],
)
def test_case_15_without_a_reading(today: str, state: State) -> None:
    """Due at 8 700, read 8 000 on 2025-03-31 at 10.0 h/day: past due by estimate from 2025-06-10, never overdue."""
    settings = Settings(upcoming_seconds=500 * H)
    rule, last, count = terms(hours(2_000)), done("2024-12-01", 6_700), read("2025-03-31", 8_000, (900, 90))
    standing = stand(rule, last, {"h": count}, day(today), settings)
    by_estimate = state >= State.DUE
    assert standing == Standing(state, day("2025-06-09"), 0, expected=True, estimated=by_estimate)


def test_case_15_after_the_real_reading() -> None:
    """8 300 read on 2025-06-14, 4.0 h/day over 75 days: 400 h left, 2025-09-22, no estimate remains."""
    rule, count = terms(hours(2_000)), read("2025-06-14", 8_300, (300, 75))
    standing = said(rule, done("2024-12-01", 6_700), "2025-06-14", count)
    assert (standing.due_on, standing.estimated, standing.overdue_counts) == (day("2025-09-22"), False, ())
    assert standing.state is State.UPCOMING, "within 500 h"


@pytest.mark.parametrize(
    ("last", "on", "total", "use", "left", "due_on"),
    [
        pytest.param(48_250, "2025-05-15", 50_320, (320, 14), -70, None, id="before-on-05-15-overdue-70"),
        pytest.param(48_250, "2025-05-15", 50_230, (230, 14), 20, None, id="after-on-05-15-20-left"),
        pytest.param(50_320, "2025-05-22", 50_340, (340, 21), 1_980, "2025-09-21", id="before-on-05-22"),
        pytest.param(50_230, "2025-05-22", 50_340, (340, 21), 1_890, "2025-09-15", id="after-on-05-22"),
    ],
)
def test_case_16_corrected_reading(
    last: int, on: str, total: int, use: tuple[int, int], left: int, due_on: str | None
) -> None:
    """Injectors every 2 000 h: what is left follows the corrected reading."""
    detail = counter_detail(terms(hours(2_000)), done("2025-01-01", last), on, read(on, total, use))
    assert detail.left == left * H
    assert (detail.state is State.OVERDUE) == (left < 0)
    assert due_on is None or detail.due_on == day(due_on)


def test_case_17_as_shown_before_the_report() -> None:
    """On 2025-06-05: overdue 4 days, and 20 h by the reading of 06-01."""
    standing = said(
        terms(hours(2_000), YEARLY), done("2024-06-01", 10_400), "2025-06-05", read("2025-06-01", 12_420, (140, 7))
    )
    assert (standing.state, standing.overdue_days) == (State.OVERDUE, 4)
    assert standing.overdue_counts == (("h", 20 * H),)


def test_case_17_after_the_report() -> None:
    """Done 2025-05-28 at 12 340: 1 780 h left at 20.0 h/day, 2025-09-05, hours govern over 2026-05-28."""
    rule, last = terms(hours(2_000), YEARLY), done("2025-05-28", 12_340)
    count = read("2025-06-08", 12_560, (280, 14))
    by_hours, by_date = details(rule, last, "2025-06-09", {"h": count})
    assert isinstance(by_hours, CountDetail)
    assert isinstance(by_date, CalendarDetail)
    assert (by_hours.limit, by_hours.left) == (14_340 * H, 1_780 * H)
    assert by_date.limit == day("2026-05-28")
    standing = said(rule, last, "2025-06-09", count)
    assert (standing.due_on, standing.governing) == (day("2025-09-05"), 0)


# --- extensions -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("on", "total", "state", "over"),
    [
        pytest.param("2025-07-15", 23_960, State.UPCOMING, 0, id="approved"),
        pytest.param("2025-07-27", 24_200, State.DUE, 0, id="postponed-300-h-left"),
        pytest.param("2025-08-10", 24_500, State.DUE, 0, id="exactly-at-the-extension"),
        pytest.param("2025-08-16", 24_600, State.OVERDUE, 100, id="100-h-past-the-extension"),
    ],
)
def test_case_18a_extension_in_hours(on: str, total: int, state: State, over: int) -> None:
    """Due 24 000, extended to 24 500: overdue counts from the extension (R14)."""
    standing = said(
        terms(hours(4_000)),
        done("2025-01-01", 20_000),
        on,
        read(on, total, (200, 10)),
        Extension(None, (("h", 24_500 * H),)),
    )
    assert (standing.state, standing.extended) == (state, True)
    assert standing.overdue_counts == ((("h", over * H),) if over else ())


@pytest.mark.parametrize(
    ("today", "state", "days_left"),
    [
        pytest.param("2025-07-20", State.DUE, 26, id="postponed-26-days-left"),
        pytest.param("2025-08-15", State.DUE, 0, id="last-day"),
        pytest.param("2025-08-16", State.OVERDUE, -1, id="1-day-past-the-extension"),
    ],
)
def test_case_18b_extension_on_the_calendar(today: str, state: State, days_left: int) -> None:
    """The occurrence of 2025-07-01, extended to 2025-08-15; its date stays the one it falls due on."""
    rule, extension = terms(THREE_MONTHLY, counts_from="grid", anchor="2025-01-01"), Extension(day("2025-08-15"))
    standing = said(rule, done("2025-04-01"), today, extension=extension)
    (detail,) = details(rule, done("2025-04-01"), today, {}, extension)
    assert isinstance(detail, CalendarDetail)
    assert (standing.state, detail.days_left, standing.overdue_days) == (state, days_left, max(0, -days_left))
    assert (standing.due_on, standing.extended) == (day("2025-07-01"), True)


@pytest.mark.parametrize(
    ("counts_from", "due_on"),
    [pytest.param("grid", "2025-10-01", id="grid-is-not-moved"), pytest.param("done", "2025-11-20", id="from-done")],
)
def test_case_18b_after_the_late_doing(counts_from: CountsFrom, due_on: str) -> None:
    """Done 2025-08-20, five days past the extension."""
    anchor = "2025-01-01" if counts_from == "grid" else None
    last = done("2025-08-20")._replace(extension=Extension(day("2025-08-15")))
    assert said(terms(THREE_MONTHLY, counts_from=counts_from, anchor=anchor), last, "2025-08-20").due_on == day(due_on)


# --- use that changes, stops, or is not known -----------------------------------------------------------------------


def test_case_22a_rate_from_before_lay_up() -> None:
    """840 h left at 14.0 h/day from before lay-up: 60 days on from the reading of 2025-09-01."""
    rate = Rate(1_260 * H, 90 * DAY_SECONDS, day("2024-11-02"), day("2025-01-31"), before_layup=True)
    count = Count(12_160 * H, day("2025-09-01"), rate)
    detail = counter_detail(terms(hours(1_000)), done("2024-06-01", 12_000), "2025-09-01", count)
    assert (detail.left, detail.due_on) == (840 * H, day("2025-10-31"))
    assert detail.shown is not None
    assert detail.shown.rate is not None
    assert detail.shown.rate.before_layup


def test_case_24a_starts_hours_and_months() -> None:
    """1 000 starts or 2 000 h or 12 months: starts govern, and all three dates are told."""
    rule = terms(CountLimb(1_000, "starts"), hours(2_000), YEARLY)
    last = done("2025-02-01", 0, starts=0)
    counts = {
        "h": read("2025-06-09", 768, (768, 128)),
        "starts": read("2025-06-09", 640, (640, 128), unit=1),
    }
    by_starts, by_hours, by_date = details(rule, last, "2025-06-09", counts)
    assert isinstance(by_starts, CountDetail)
    assert isinstance(by_hours, CountDetail)
    assert isinstance(by_date, CalendarDetail)
    assert (by_starts.left, by_starts.due_on) == (360, day("2025-08-20"))
    assert (by_hours.left, by_hours.due_on) == (1_232 * H, day("2025-12-31"))
    assert by_date.aim == day("2026-02-01")
    standing = stand(rule, last, counts, day("2025-06-09"), SETTINGS)
    assert (standing.due_on, standing.governing, standing.expected) == (day("2025-08-20"), 0, True)


def test_case_24b_machine_that_never_runs() -> None:
    """250 h or 12 months and 0 h since: the calendar governs."""
    standing = said(terms(hours(250), YEARLY), done("2024-09-10", 100), "2025-06-09", read("2025-06-09", 100, (0, 90)))
    assert (standing.due_on, standing.governing, standing.expected) == (day("2025-09-10"), 1, False)


@pytest.mark.parametrize(
    "count",
    [
        pytest.param(read("2025-06-09", 100, (0, 90)), id="no-use"),
        pytest.param(read("2025-06-09", 100), id="use-not-known"),
        pytest.param(None, id="no-reading"),
    ],
)
def test_case_24c_no_date_is_an_answer(count: Count | None) -> None:
    """Hours only and nothing to reckon with: no date, never an error, never dropped (R6)."""
    standing = said(terms(hours(250)), done("2024-09-10", 100), "2025-06-09", count)
    assert standing == Standing(State.NO_DATE, None, -1)


def test_unknown_hours_at_the_last_doing_leave_the_other_limbs() -> None:
    """Where the hours then are not known the calendar still counts."""
    standing = said(terms(hours(250), YEARLY), done("2024-09-10"), "2025-09-11", read("2025-09-01", 100, (0, 90)))
    assert (standing.state, standing.governing, standing.overdue_days) == (State.OVERDUE, 1, 1)


@pytest.mark.parametrize(
    ("use", "state"),
    [
        pytest.param((0, 90), State.DUE, id="standing-still"),
        pytest.param(None, State.DUE, id="use-not-known"),
        pytest.param((90, 90), State.PAST_DUE_BY_ESTIMATE, id="running"),
    ],
)
def test_exactly_at_the_limit_since_some_days(use: tuple[int, int] | None, state: State) -> None:
    """At exactly the interval it is due (R4); only use since the reading can have carried it past."""
    standing = said(terms(hours(250)), done("2024-09-10", 100), "2025-06-09", read("2025-06-01", 350, use))
    assert standing.state is state


@pytest.mark.parametrize(
    ("total", "state"),
    [
        pytest.param(1_499, State.LATER, id="501-h-left"),
        pytest.param(1_500, State.UPCOMING, id="500-h-left"),
    ],
)
def test_upcoming_by_hours(total: int, state: State) -> None:
    """Upcoming from 500 h before, however far the date."""
    assert (
        said(terms(hours(2_000)), done("2024-09-10", 0), "2025-06-09", read("2025-06-09", total, (90, 90))).state
        is state
    )


# --- never done, starts, due at once --------------------------------------------------------------------------------


def test_never_done_is_due() -> None:
    """A job is never 'not due because never done'."""
    assert said(terms(YEARLY), None, "2025-06-09") == Standing(State.DUE, None, -1)


def test_stated_start_is_counted_from() -> None:
    """Monthly from a start on 2025-03-01: due 2025-04-01."""
    start = done("2025-03-01")._replace(kind=DoingKind.START)
    assert said(terms(MONTHLY), start, "2025-03-20")[:2] == (State.UPCOMING, day("2025-04-01"))


@pytest.mark.parametrize(
    ("today", "extension", "expected"),
    [
        pytest.param("2025-06-01", None, Standing(State.DUE, day("2025-06-01"), -1), id="on-the-day"),
        pytest.param(
            "2025-06-04", None, Standing(State.OVERDUE, day("2025-06-01"), -1, overdue_days=3), id="three-days-on"
        ),
        pytest.param(
            "2025-06-04",
            Extension(day("2025-06-04")),
            Standing(State.DUE, day("2025-06-01"), -1, extended=True),
            id="extended",
        ),
        pytest.param(
            "2025-06-06",
            Extension(day("2025-06-04")),
            Standing(State.OVERDUE, day("2025-06-01"), -1, overdue_days=2, extended=True),
            id="past-its-extension",
        ),
        pytest.param(
            "2025-06-06",
            Extension(None, (("h", 340 * H),)),
            Standing(State.OVERDUE, day("2025-06-01"), -1, overdue_counts=(("h", 10 * H),), extended=True),
            id="past-its-extension-in-hours",
        ),
        pytest.param(
            "2025-06-06",
            Extension(None, (("h", 350 * H), ("starts", 9))),
            Standing(State.DUE, day("2025-06-01"), -1, extended=True),
            id="within-its-extension-in-hours",
        ),
    ],
)
def test_due_at_once(today: str, extension: Extension | None, expected: Standing) -> None:
    """Due on the day stated, overdue from the day after, or past its extension (R14)."""
    at_once = done("2025-06-01")._replace(kind=DoingKind.DUE_AT_ONCE)
    assert said(terms(YEARLY), at_once, today, read("2025-06-01", 350), extension) == expected


def test_due_at_once_is_not_overdue_on_an_estimate() -> None:
    """Extended to 340 h, read 350 of which 10 are estimated: 340 were really read."""
    at_once, extension = done("2025-06-01")._replace(kind=DoingKind.DUE_AT_ONCE), Extension(None, (("h", 340 * H),))
    count = read("2025-06-01", 350, estimated=10)
    assert said(terms(YEARLY), at_once, "2025-06-06", count, extension).state is State.DUE


def test_never_done_is_overdue_only_past_an_extension() -> None:
    """Without any date there is none to be late by, until one is granted."""
    rule, extension = terms(YEARLY), Extension(day("2025-06-04"))
    assert said(rule, None, "2025-06-04", extension=extension) == Standing(State.DUE, None, -1, extended=True)
    assert said(rule, None, "2025-06-05", extension=extension).overdue_days == 1


# --- several limbs --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("hours_first", [True, False])
def test_one_certain_limb_is_enough(hours_first: bool) -> None:
    """Due today by the calendar and by estimate: the state is certain, whatever the order of the limbs."""
    limbs: tuple[Limb, ...] = (hours(2_000), YEARLY) if hours_first else (YEARLY, hours(2_000))
    standing = said(
        terms(*limbs), done("2024-06-01", 0), "2025-06-01", read("2025-05-31", 1_990, (10, 1))._replace(estimated=0)
    )
    assert standing.state is State.DUE
    assert standing.governing == 0, "both fall on one day: the first written governs"
    assert standing.estimated is hours_first, "the governing date is an estimate"


def test_overdue_by_the_calendar_outweighs_an_estimate() -> None:
    """Past due by estimate in hours and overdue by date: overdue."""
    standing = said(
        terms(hours(2_000), YEARLY), done("2024-06-01", 0), "2025-06-03", read("2025-05-01", 1_900, (10, 1))
    )
    assert (standing.state, standing.overdue_days, standing.overdue_counts) == (State.OVERDUE, 2, ())


# --- properties -----------------------------------------------------------------------------------------------------

TODAY = date(2025, 6, 9)
DAYS = st.dates(date(2015, 1, 1), TODAY)
SPANS = st.one_of(
    st.integers(1, 30).map(lambda months: Span(months=months)), st.integers(1, 500).map(lambda days: Span(days=days))
)
LIMBS = st.one_of(SPANS.map(CalendarLimb), st.integers(1, 9_000).map(hours))
MARGINS = st.one_of(st.none(), st.just(TEN_PERCENT), st.integers(1, 30).map(lambda days: Span(days=days)))
HOURS = st.integers(0, 20_000)
USES = st.one_of(st.none(), st.tuples(st.integers(0, 2_000), st.integers(1, 120)))


@st.composite
def rules(draw: st.DrawFn, limbs: st.SearchStrategy[Limb] = LIMBS) -> RuleTerms:
    """Any rule of one to three limbs."""
    counts_from: CountsFrom = draw(st.sampled_from(["done", "grid", "aim"]))
    return terms(
        *draw(st.lists(limbs, min_size=1, max_size=3)),
        counts_from=counts_from,
        anchor=draw(DAYS).isoformat() if counts_from == "grid" else None,
        opens=draw(MARGINS),
        closes=draw(MARGINS),
    )


@st.composite
def doings(draw: st.DrawFn) -> Doing | None:
    """Any last doing or start, or none."""
    totals: Mapping[str, int] = draw(st.one_of(st.just({}), HOURS.map(lambda total: {"h": total * H})))
    first = draw(st.one_of(st.none(), st.just(Doing(date(2014, 1, 1), {"h": 0}))))
    return draw(
        st.one_of(st.none(), st.builds(Doing, DAYS, st.just(totals), st.sampled_from(DoingKind), st.just(first)))
    )


@st.composite
def readings(draw: st.DrawFn) -> dict[str, Count]:
    """A count of hours, or none."""
    if draw(st.booleans()):
        return {}
    total, on = draw(HOURS), draw(DAYS)
    return {"h": read(on.isoformat(), total, draw(USES), estimated=draw(st.integers(0, total)))}


EXTENSIONS = st.one_of(
    st.none(), st.builds(Extension, DAYS, st.just(())), st.just(Extension(None, (("h", 9_000 * H),)))
)


@given(rules(), doings(), readings(), EXTENSIONS)
def test_recorder_only_listens(
    rule: RuleTerms, doing: Doing | None, counts: Counts, extension: Extension | None
) -> None:
    """The answer is the same with a recorder and without."""
    heard: list[Detail] = []
    alone = stand(rule, doing, counts, TODAY, SETTINGS, extension)
    assert stand(rule, doing, counts, TODAY, SETTINGS, extension, heard.append) == alone
    if doing is not None and doing.kind is not DoingKind.DUE_AT_ONCE:
        assert [detail.place for detail in heard] == list(range(len(rule.limbs)))


@given(rules(), doings(), readings(), EXTENSIONS)
def test_due_date_is_the_earliest_of_the_limbs(
    rule: RuleTerms, doing: Doing | None, counts: Counts, extension: Extension | None
) -> None:
    """Whichever first (R7), the state the most urgent, and the governing limb is one that has that date."""
    heard: list[Detail] = []
    standing = stand(rule, doing, counts, TODAY, SETTINGS, extension, heard.append)
    if not heard:
        return
    dates = [detail.aim if isinstance(detail, CalendarDetail) else detail.due_on for detail in heard]
    assert standing.due_on == min((on for on in dates if on is not None), default=None)
    assert standing.due_on is None or dates[standing.governing] == standing.due_on
    assert standing.state == max(detail.state for detail in heard)


@given(rules(), doings(), readings(), EXTENSIONS)
def test_never_overdue_up_to_the_limit(
    rule: RuleTerms, doing: Doing | None, counts: Counts, extension: Extension | None
) -> None:
    """No limb is overdue on or before its limit date, or at or below its limit by what was really read (R3, R4)."""
    heard: list[Detail] = []
    standing = stand(rule, doing, counts, TODAY, SETTINGS, extension, heard.append)
    for detail in heard:
        if isinstance(detail, CalendarDetail):
            assert (detail.state is State.OVERDUE) == (detail.limit < TODAY)
        elif detail.shown is None or detail.limit is None:
            assert detail.state is State.NO_DATE
        else:
            assert (detail.state is State.OVERDUE) == (detail.shown.total - detail.guessed > detail.limit)
    past = standing.overdue_days > 0 or bool(standing.overdue_counts)
    assert past == (standing.state is State.OVERDUE)


@given(rules(SPANS.map(CalendarLimb)), doings(), EXTENSIONS, st.integers(0, 900))
def test_waiting_never_makes_a_calendar_job_less_urgent(
    rule: RuleTerms, doing: Doing | None, extension: Extension | None, days: int
) -> None:
    """States only climb as days pass, and days overdue with them."""
    now = stand(rule, doing, {}, TODAY, SETTINGS, extension)
    later = stand(rule, doing, {}, TODAY + timedelta(days=days), SETTINGS, extension)
    assert later.state >= now.state
    assert later.overdue_days >= now.overdue_days
    assert later.due_on == now.due_on


@given(HOURS, HOURS, USES, st.integers(0, 900))
def test_waiting_without_reading_never_makes_a_counter_job_overdue(
    base: int, total: int, use: tuple[int, int] | None, days: int
) -> None:
    """Only a reading makes a job overdue; waiting can at most make it past due by estimate."""
    rule, last, count = terms(hours(2_000)), done("2024-01-01", base), read(TODAY.isoformat(), total, use)
    now = stand(rule, last, {"h": count}, TODAY, SETTINGS)
    later = stand(rule, last, {"h": count}, TODAY + timedelta(days=days), SETTINGS)
    assert (later.state is State.OVERDUE) == (now.state is State.OVERDUE)
    assert later.state >= now.state
