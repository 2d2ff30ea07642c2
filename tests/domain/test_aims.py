"""From the last doing to the next aim: worked cases 1, 2, 3, 6, 7, 18 and 31, and the grid against a slow reference."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from itertools import count, takewhile

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.aims import CalendarTerms, CountTerms, Doing, DoingKind, Extension, compile_rule
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountMargin, CountsFrom, Margin, Rule, Share

H = 3600
WEEK = Span(days=7)
MONTH = Span(months=1)
THREE_MONTHS = Span(months=3)
YEAR = Span(months=12)
TEN_PERCENT = Share(Fraction(1, 10))


def day(text: str) -> date:
    """A date as written."""
    return date.fromisoformat(text)


def calendar(
    every: Span,
    counts_from: CountsFrom = "done",
    anchor: str | None = None,
    opens: Margin | None = None,
    closes: Margin | None = None,
) -> CalendarTerms:
    """The terms of a rule of one calendar limb."""
    rule = Rule(
        (CalendarLimb(every),), counts_from, day(anchor) if anchor else None, (),
        (opens,) if opens else (), (closes,) if closes else (),
    )  # fmt: skip
    limb = compile_rule(rule).limbs[0]
    assert isinstance(limb, CalendarTerms)
    return limb


def counter(
    amount: int, counts_from: CountsFrom = "done", anchor: int | None = None, margin: Margin | None = None
) -> CountTerms:
    """The terms of a rule of one limb of running hours."""
    marks = () if anchor is None else (("h", anchor * H),)
    margins = (margin,) if margin else ()
    limb = compile_rule(
        Rule((CountLimb(amount * H, "h"),), counts_from, None, marks, opens=margins, closes=margins)
    ).limbs[0]
    assert isinstance(limb, CountTerms)
    return limb


def at_hours(hours: int, first: int | None = None) -> Doing:
    """A doing at that running total, the first one at another."""
    return Doing(day("2025-01-01"), {"h": hours * H}, first=None if first is None else at_hours(first))


# --- the calendar ---------------------------------------------------------------------------------------------------

DONE_ON_ITS_DATE = [
    pytest.param(
        MONTH, "grid", "2025-01-31",
        "2025-02-28 2025-03-31 2025-04-30 2025-05-31 2025-06-30 2025-07-31", id="1-grid",
    ),
    pytest.param(MONTH, "done", "2025-01-31", "2025-02-28 2025-03-28 2025-04-28", id="1-from-last-done"),
    pytest.param(THREE_MONTHS, "grid", "2025-11-30", "2026-02-28 2026-05-30", id="1-three-months"),
    pytest.param(Span(months=6), "grid", "2025-08-31", "2026-02-28 2026-08-31", id="1-six-months"),
    pytest.param(
        YEAR, "grid", "2024-02-29", "2025-02-28 2026-02-28 2027-02-28 2028-02-29 2029-02-28", id="2-leap-day-grid"
    ),
    pytest.param(
        YEAR, "done", "2024-02-29", "2025-02-28 2026-02-28 2027-02-28 2028-02-28", id="2-leap-day-from-last-done"
    ),
    pytest.param(YEAR, "aim", "2024-02-29", "2025-02-28 2026-02-28 2027-02-28 2028-02-29", id="2-leap-day-aim"),
    pytest.param(Span(months=60), "done", "2024-02-29", "2029-02-28", id="2-sixty-months"),
    pytest.param(THREE_MONTHS, "done", "2023-11-30", "2024-02-29", id="2-into-a-leap-year"),
    pytest.param(THREE_MONTHS, "done", "2024-11-30", "2025-02-28", id="2-into-a-common-year"),
    pytest.param(Span(days=90), "done", "2023-12-01", "2024-02-29", id="2-ninety-days"),
    pytest.param(THREE_MONTHS, "done", "2023-12-01", "2024-03-01", id="2-three-months-are-not-ninety-days"),
    pytest.param(WEEK, "grid", "2025-06-02", "2025-06-09 2025-06-16", id="4-mondays"),
]  # fmt: skip


@pytest.mark.parametrize(("every", "counts_from", "anchor", "expected"), DONE_ON_ITS_DATE)
def test_each_done_on_its_due_date(every: Span, counts_from: CountsFrom, anchor: str, expected: str) -> None:
    """Done on the first date and then on every due date, these are the due dates (R2, R11)."""
    terms = calendar(every, counts_from, anchor if counts_from == "grid" else None)
    first = doing = Doing(day(anchor))
    found = []
    for _ in expected.split():
        found.append(terms.aim_after(doing).isoformat())
        doing = Doing(terms.aim_after(doing), first=first)
    assert " ".join(found) == expected


@pytest.mark.parametrize(
    ("index", "expected"), [pytest.param(13, "2026-02-28", id="n13"), pytest.param(37, "2028-02-29", id="n37")]
)
def test_case_1_later_members_of_the_grid(index: int, expected: str) -> None:
    """Every member is anchor + n months, never the member before + 1 month."""
    assert calendar(MONTH, "grid", "2025-01-31").occurrence(Doing(day("2025-01-31")), index) == day(expected)


DONE_EARLY_OR_LATE = [
    pytest.param("grid", "2025-03-12", "2025-07-01", id="3a-grid-20-days-early"),
    pytest.param("done", "2025-03-12", "2025-06-12", id="3a-from-last-done"),
    pytest.param("grid", "2025-04-20", "2025-07-01", id="3b-grid-19-days-late"),
    pytest.param("done", "2025-04-20", "2025-07-20", id="3b-from-last-done"),
    pytest.param("grid", "2025-01-20", "2025-04-01", id="3c-grid-too-early-to-count"),
    pytest.param("done", "2025-01-20", "2025-04-20", id="3c-from-last-done-it-counts"),
    pytest.param("grid", "2025-03-02", "2025-07-01", id="grid-first-day-of-the-window"),
    pytest.param("grid", "2025-03-01", "2025-04-01", id="grid-day-before-the-window"),
]


@pytest.mark.parametrize(("counts_from", "done", "expected"), DONE_EARLY_OR_LATE)
def test_case_3_done_early_and_late(counts_from: CountsFrom, done: str, expected: str) -> None:
    """3-monthly from 2025-01-01, each occurrence may be done from 30 days before."""
    terms = calendar(THREE_MONTHS, counts_from, "2025-01-01" if counts_from == "grid" else None, opens=Span(days=30))
    assert terms.aim_after(Doing(day(done))) == day(expected)


@pytest.mark.parametrize(
    ("done", "expected"),
    [
        pytest.param("2025-06-18", "2025-06-23", id="two-days-late"),
        pytest.param("2025-06-19", "2025-06-23", id="last-day-of-that-week's-half"),
        pytest.param("2025-06-20", "2025-06-30", id="half-an-interval-before-the-next"),
        pytest.param("2025-06-23", "2025-06-30", id="on-the-day"),
        pytest.param("2025-05-01", "2025-06-02", id="before-the-grid-begins"),
        pytest.param("2025-05-30", "2025-06-09", id="first-one-done-early"),
    ],
)
def test_unstated_window_opens_half_an_interval_before(done: str, expected: str) -> None:
    """A round every Monday from 2025-06-02 may be done from the Friday before (R13)."""
    assert calendar(WEEK, "grid", "2025-06-02").aim_after(Doing(day(done))) == day(expected)


SURVEY_WINDOWS = [
    pytest.param("2026-05-20", "2026-02-20", "2026-08-20", id="7-plain"),
    pytest.param("2027-05-20", "2027-02-20", "2027-08-20", id="7-year-after"),
    pytest.param("2026-05-31", "2026-02-28", "2026-08-31", id="7-opens-at-a-short-month's-end"),
    pytest.param("2026-11-30", "2026-08-30", "2027-02-28", id="7-closes-at-a-short-month's-end"),
]


@pytest.mark.parametrize(("anniversary", "opens", "closes"), SURVEY_WINDOWS)
def test_case_7_survey_window(anniversary: str, opens: str, closes: str) -> None:
    """Three months before to three months after, both end days included."""
    terms = calendar(YEAR, "grid", anniversary, THREE_MONTHS, THREE_MONTHS)
    assert terms.opens_of(day(anniversary)) == day(opens)
    assert terms.limit_of(day(anniversary)) == day(closes)


@pytest.mark.parametrize(
    ("done", "expected"),
    [
        pytest.param("2026-07-30", "2027-05-20", id="late-in-the-window"),
        pytest.param("2026-02-10", "2026-05-20", id="before-the-window-does-not-close-it"),
        pytest.param("2026-02-20", "2027-05-20", id="first-day"),
    ],
)
def test_case_7_anniversary_stays(done: str, expected: str) -> None:
    """The anniversary date is never moved by the day of the survey."""
    terms = calendar(YEAR, "grid", "2025-05-20", THREE_MONTHS, THREE_MONTHS)
    assert terms.aim_after(Doing(day(done))) == day(expected)


@pytest.mark.parametrize(
    ("extended_to", "done", "expected"),
    [
        pytest.param("2025-08-15", "2025-08-20", "2025-10-01", id="18b-five-days-past-the-extension"),
        pytest.param(None, "2025-08-20", "2026-01-01", id="without-it-the-next-window-is-open"),
        pytest.param("2025-08-15", "2025-09-07", "2025-10-01", id="last-day-before-half-way"),
        pytest.param("2025-08-15", "2025-09-08", "2026-01-01", id="half-way-from-the-extension"),
        pytest.param("2025-12-01", "2025-09-30", "2025-10-01", id="extended-beyond-the-next"),
        pytest.param("2025-05-01", "2025-08-16", "2026-01-01", id="an-old-extension-changes-nothing"),
    ],
)
def test_case_18b_extension_never_moves_the_grid(extended_to: str | None, done: str, expected: str) -> None:
    """Work done a little past its extension closes what was extended, not the occurrence after."""
    extension = Extension(day(extended_to)) if extended_to else None
    terms = calendar(THREE_MONTHS, "grid", "2025-01-01")
    assert terms.aim_after(Doing(day(done), extension=extension)) == day(expected)


def test_case_18b_from_last_done() -> None:
    """Were the job from last done, three months from the doing."""
    assert calendar(THREE_MONTHS).aim_after(Doing(day("2025-08-20"))) == day("2025-11-20")


def test_stated_window_outweighs_an_extension() -> None:
    """Where the rule says when the window opens, it opens then."""
    terms = calendar(THREE_MONTHS, "grid", "2025-01-01", opens=Span(days=60))
    doing = Doing(day("2025-08-05"), extension=Extension(day("2025-08-15")))
    assert terms.aim_after(doing) == day("2026-01-01")


@pytest.mark.parametrize(
    ("start", "expected"),
    [
        pytest.param("2025-06-09", "2025-06-09", id="on-an-occurrence-it-is-the-first"),
        pytest.param("2025-06-10", "2025-06-16", id="just-after-one-the-next-is"),
        pytest.param("2025-05-01", "2025-06-02", id="before-the-grid"),
    ],
)
def test_stated_start_on_a_grid(start: str, expected: str) -> None:
    """From a stated start the first occurrence on or after it is due."""
    terms = calendar(WEEK, "grid", "2025-06-02")
    assert terms.aim_after(Doing(day(start), kind=DoingKind.START)) == day(expected)


@pytest.mark.parametrize("counts_from", ["done", "aim"])
def test_stated_start_off_the_grid(counts_from: CountsFrom) -> None:
    """From a stated start one interval runs."""
    terms = calendar(MONTH, counts_from)
    assert terms.aim_after(Doing(day("2025-03-01"), kind=DoingKind.START)) == day("2025-04-01")


def test_window_longer_than_the_interval_closes_what_has_opened() -> None:
    """With ten days before each Monday, a round done on Friday closes the Monday three and the one ten days on."""
    terms = calendar(WEEK, "grid", "2025-06-02", opens=Span(days=10))
    assert terms.aim_after(Doing(day("2025-06-06"))) == day("2025-06-23")
    assert terms.aim_after(Doing(day("2025-06-05"))) == day("2025-06-16")


def test_share_of_a_calendar_interval() -> None:
    """10 % of the interval that ends at the aim, in whole days, rounded down: 9 of the 92 before 2025-07-01."""
    terms = calendar(THREE_MONTHS, "grid", "2025-01-01", TEN_PERCENT, TEN_PERCENT)
    assert terms.opens_of(day("2025-07-01")) == day("2025-06-22")
    assert terms.limit_of(day("2025-07-01")) == day("2025-07-10")


# --- counters -------------------------------------------------------------------------------------------------------

COUNT_CASES = [
    pytest.param(counter(2_000, margin=TEN_PERCENT), at_hours(12_150, 10_000), 14_150, id="6-from-last-done"),
    pytest.param(counter(2_000, "aim", margin=TEN_PERCENT), at_hours(12_150, 10_000), 14_000, id="6-from-the-aim"),
    pytest.param(counter(2_000, "aim", margin=TEN_PERCENT), at_hours(11_800, 10_000), 14_000, id="6-window-just-open"),
    pytest.param(counter(2_000, "aim", margin=TEN_PERCENT), at_hours(11_799, 10_000), 12_000, id="6-an-hour-too-early"),
    pytest.param(counter(2_000), at_hours(18_450), 20_450, id="9"),
    pytest.param(counter(4_000), at_hours(24_900), 28_900, id="18a-late-past-its-extension"),
    pytest.param(counter(4_000, "grid", 2_000), at_hours(1_950), 6_000, id="31-fixed-mark-done-early"),
    pytest.param(counter(4_000, "grid", 2_000), at_hours(6_100), 10_000, id="31-fixed-mark-done-late"),
    pytest.param(counter(1_000, "grid", 0), at_hours(1_499), 2_000, id="mark-just-before-half-way"),
    pytest.param(counter(1_000, "grid", 0), at_hours(1_500), 3_000, id="mark-at-half-way"),
    pytest.param(counter(1_000, "grid", 5_000), at_hours(200), 5_000, id="mark-before-the-first"),
    pytest.param(counter(1_000, "aim"), at_hours(700), 1_700, id="aim-after-the-first-doing"),
    pytest.param(counter(1_000, "grid"), at_hours(1_100, 100), 2_100, id="marks-without-an-anchor-start-at-the-first"),
]


@pytest.mark.parametrize(("terms", "doing", "expected"), COUNT_CASES)
def test_counter_aims(terms: CountTerms, doing: Doing, expected: int) -> None:
    """The total at which the job is due next."""
    assert terms.aim_after(doing) == expected * H


def test_case_6_window_on_the_counter() -> None:
    """2 000 h +- 10 %: 200 h before and after, whichever way the aim came about."""
    terms = counter(2_000, margin=TEN_PERCENT)
    assert (terms.windowed, terms.before, terms.limit_of(14_150 * H)) == (True, 200 * H, 14_350 * H)


def test_stated_start_on_counter_marks() -> None:
    """From a stated start the first mark at or after it is due."""
    terms = counter(1_000, "grid", 200)
    for start, expected in ((2_200, 2_200), (2_201, 3_200)):
        assert terms.aim_after(at_hours(start)._replace(kind=DoingKind.START)) == expected * H


def test_extension_delays_the_unstated_window_of_the_next_mark() -> None:
    """Marks at 200, 1 200, 2 200; the one at 1 200 extended to 1 800: the next opens at 2 000, half-way from there."""
    terms = counter(1_000, "grid", 200)
    extension = Extension(None, (("h", 1_800 * H),))
    for done, expected in ((1_999, 2_200), (2_000, 3_200)):
        assert terms.aim_after(at_hours(done)._replace(extension=extension)) == expected * H


@pytest.mark.parametrize("counts_from", ["done", "aim", "grid"])
def test_unknown_total_at_the_doing_gives_no_aim(counts_from: CountsFrom) -> None:
    """Nothing is invented where the hours at the last doing are not known."""
    terms = counter(1_000, counts_from, 0 if counts_from == "grid" else None)
    unknown = Doing(day("2025-01-01"))
    assert terms.aim_after(unknown) is None
    assert terms.closed_index(unknown) is None
    assert terms.occurrence(unknown, 0) is None


# --- rules of several limbs -----------------------------------------------------------------------------------------


def test_margins_apply_to_limbs_of_their_kind() -> None:
    """A span opens the calendar limb, hours close the hours limb; starts are left without either."""
    rule = Rule(
        (CalendarLimb(YEAR), CountLimb(4_000 * H, "h"), CountLimb(1_000, "starts")),
        opens=(Span(days=30),), closes=(CountMargin(200 * H, "h"),),
    )  # fmt: skip
    by_date, by_hours, by_starts = compile_rule(rule).limbs
    assert isinstance(by_date, CalendarTerms)
    assert isinstance(by_hours, CountTerms)
    assert isinstance(by_starts, CountTerms)
    assert (by_date.before, by_date.after) == (Span(days=30), None)
    assert (by_hours.windowed, by_hours.after) == (False, 200 * H)
    assert (by_starts.windowed, by_starts.after) == (False, 0)


@pytest.mark.parametrize("terms", [calendar(YEAR), calendar(YEAR, closes=Span(days=30))])
def test_extension_replaces_the_limit(terms: CalendarTerms) -> None:
    """The limit is the extension where one is granted, with or without a tolerance (R14)."""
    aim = day("2025-07-01")
    assert terms.limit_under(aim, Extension(day("2025-08-15"))) == day("2025-08-15")
    assert terms.limit_under(aim, Extension(None, (("h", 1),))) == terms.limit_of(aim)
    assert terms.limit_under(aim, None) == terms.limit_of(aim)


def test_extension_of_another_unit_leaves_the_counter_limit() -> None:
    """An extension in starts says nothing of hours."""
    assert counter(4_000).limit_under(24_000 * H, Extension(None, (("starts", 9),))) == 24_000 * H


# --- properties -----------------------------------------------------------------------------------------------------

DAYS = st.dates(date(2000, 1, 1), date(2060, 12, 31))
SPANS = st.one_of(
    st.integers(1, 61).map(lambda months: Span(months=months)), st.integers(1, 400).map(lambda days: Span(days=days))
)
OPENINGS = st.one_of(st.none(), st.integers(1, 40).map(lambda days: Span(days=days)), st.just(TEN_PERCENT))


def slow_member(anchor: date, every: Span, index: int) -> date:
    """Member ``index`` of a grid by another library's month arithmetic."""
    return anchor + relativedelta(months=every.months * index, days=every.days * index)


def slow_aim(terms: CalendarTerms, anchor: date, done: date) -> date:
    """The first occurrence whose window had not opened when the work was done, found by walking the grid."""
    members = (slow_member(anchor, terms.every, index) for index in count())
    opened = list(takewhile(lambda member: terms.opens_of(member) <= done, members))
    return slow_member(anchor, terms.every, len(opened))


@given(DAYS, SPANS, OPENINGS, st.integers(-100, 1_000))
def test_grid_agrees_with_a_slow_walk(anchor: date, every: Span, opens: Margin | None, after: int) -> None:
    """The next aim on a grid is the first occurrence whose window was not open; none lies before the anchor."""
    terms = calendar(every, "grid", anchor.isoformat(), opens)
    done = anchor + timedelta(days=after)
    aim = terms.aim_after(Doing(done))
    assert aim == slow_aim(terms, anchor, done)
    assert aim > anchor - timedelta(days=1)


@given(DAYS, SPANS, OPENINGS, st.lists(st.integers(0, 300), max_size=4))
def test_aims_from_the_aim_stay_on_the_lattice(first: date, every: Span, opens: Margin | None, gaps: list[int]) -> None:
    """However early or late each doing was, the aim is the first doing + n x interval: nothing drifts."""
    terms = calendar(every, "aim", None, opens)
    start = doing = Doing(first)
    for gap in gaps:
        doing = Doing(doing.on + timedelta(days=gap), first=start)
    aim = terms.aim_after(doing)
    steps = takewhile(lambda member: member <= aim, (slow_member(first, every, index) for index in count()))
    assert aim in list(steps)
    assert aim > first


@given(DAYS, SPANS, st.integers(0, 900), st.integers(0, 900))
def test_later_doing_never_gives_an_earlier_aim(anchor: date, every: Span, after: int, later: int) -> None:
    """Aims rise with the day of the doing, on the grid and off it."""
    early, late = (Doing(anchor + timedelta(days=days)) for days in (after, after + later))
    for terms in (calendar(every, "grid", anchor.isoformat()), calendar(every)):
        assert terms.aim_after(early) <= terms.aim_after(late)


@given(DAYS, SPANS, st.integers(0, 60), st.integers(0, 500))
def test_occurrences_fallen_due_agree_with_a_slow_count(anchor: date, every: Span, index: int, days: int) -> None:
    """From an occurrence up to a day, both included, and each of them by its own number."""
    terms = calendar(every, "grid", anchor.isoformat())
    aim = slow_member(anchor, every, index)
    today = aim + timedelta(days=days)
    slow = list(takewhile(lambda on: on <= today, (slow_member(anchor, every, n) for n in count(index))))
    assert terms.fell_due(aim, today) == len(slow)
    assert [terms.occurrence_after(aim, n) for n in range(len(slow))] == slow


@given(st.integers(1, 500), st.integers(0, 5_000), st.integers(0, 5_000), st.booleans())
def test_counter_marks_agree_with_a_slow_walk(amount: int, anchor: int, done: int, windowed: bool) -> None:
    """The next mark is the first whose window was not open."""
    terms = counter(amount, "grid", anchor, TEN_PERCENT if windowed else None)
    opening = amount * H // 10 if windowed else amount * H // 2
    mark = anchor * H
    while mark - opening <= done * H:
        mark += amount * H
    assert terms.aim_after(at_hours(done)) == mark
