"""What each doing meant, and what became of a period: worked cases 3, 4, 6, 7, 16, 17 and 18, and what always holds."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from fractions import Fraction
from itertools import count, takewhile

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.aims import Doing, DoingKind, Extension, RuleTerms, compile_rule
from pmsched.domain.closes import AT_ONCE, CalendarClose, CountClose, Outcome, Tally, outcomes, tally
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountsFrom, Limb, Margin, Rule, Share

H = 3600
MONTHLY, THREE_MONTHLY, YEARLY = (CalendarLimb(Span(months=months)) for months in (1, 3, 12))
WEEKLY = CalendarLimb(Span(days=7))
TEN_PERCENT = Share(Fraction(1, 10))
TermsOn = Callable[[date], RuleTerms]


def day(text: str) -> date:
    """A date as written."""
    return date.fromisoformat(text)


def days(texts: str) -> tuple[date, ...]:
    """Dates as written, one after the other."""
    return tuple(map(day, texts.split()))


def hours(amount: int) -> CountLimb:
    """A limb of running hours."""
    return CountLimb(amount * H, "h")


def always(
    *limbs: Limb, counts_from: CountsFrom = "done", anchor: str | None = None, opens: Margin | None = None,
    closes: Margin | None = None, marks: tuple[tuple[str, int], ...] = (),
) -> TermsOn:  # fmt: skip
    """One rule in force for all time."""
    terms = compile_rule(
        Rule(
            limbs, counts_from, day(anchor) if anchor else None, marks,
            (opens,) if opens else (), (closes,) if closes else (),
        )
    )  # fmt: skip
    return lambda _: terms


def done(on: str, at_hours: int | None = None, extension: Extension | None = None, **others: int) -> Doing:
    """A doing at those running hours and other totals, under an extension or none."""
    totals = others if at_hours is None else {"h": at_hours * H, **others}
    return Doing(day(on), totals, extension=extension)


def start(on: str, kind: DoingKind = DoingKind.START) -> Doing:
    """A stated start, or one stated due at once."""
    return Doing(day(on), kind=kind)


def last_of(terms_on: TermsOn, *doings: Doing) -> Outcome:
    """What the last of these doings meant."""
    return outcomes(doings, terms_on)[-1]


EVERY_MONDAY = always(WEEKLY, counts_from="grid", anchor="2025-06-02")
QUARTER_WITH_WINDOW = always(THREE_MONTHLY, counts_from="grid", anchor="2025-01-01", opens=Span(days=30))
QUARTER = always(THREE_MONTHLY, counts_from="grid", anchor="2025-01-01")
SURVEY = always(YEARLY, counts_from="grid", anchor="2024-05-20", opens=Span(months=3), closes=Span(months=3))

# --- the calendar ---------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("terms_on", "on", "late"),
    [
        pytest.param(QUARTER_WITH_WINDOW, "2025-03-12", -20, id="3a-grid-20-days-early"),
        pytest.param(always(THREE_MONTHLY), "2025-03-12", -20, id="3a-from-last-done"),
        pytest.param(QUARTER_WITH_WINDOW, "2025-04-20", 19, id="3b-grid-19-days-late"),
        pytest.param(always(THREE_MONTHLY), "2025-04-20", 19, id="3b-from-last-done"),
        pytest.param(always(THREE_MONTHLY), "2025-01-20", -71, id="3c-from-last-done-it-counts"),
        pytest.param(QUARTER_WITH_WINDOW, "2025-04-01", 0, id="on-the-day"),
    ],
)
def test_case_3_days_late(terms_on: TermsOn, on: str, late: int) -> None:
    """Done first on 2025-01-01: in both styles the history says the same of the occurrence of 04-01."""
    outcome = last_of(terms_on, done("2025-01-01"), done(on))
    assert (outcome.days_late, outcome.on_time, outcome.extra) == (late, late <= 0, False)
    assert outcome.calendar is not None
    assert outcome.calendar.aim == day("2025-04-01")


def test_case_3c_before_the_window_is_an_extra() -> None:
    """Done 71 days early on a grid: kept in the history, the occurrence of 04-01 stays open and is closed later."""
    extra, late = outcomes([done("2025-01-01"), done("2025-01-20"), done("2025-04-03")], QUARTER_WITH_WINDOW)[1:]
    assert (extra.extra, extra.on_time, extra.closed_on, extra.not_done) == (True, None, None, ())
    assert extra.closes == (
        CalendarClose(
            0, True, day("2025-04-01"), day("2025-03-02"), day("2025-04-01"), day("2025-04-01"), day("2025-01-20"), True
        ),
    )
    assert extra.days_late == -71
    assert (late.closed_on, late.days_late, late.on_time) == (day("2025-04-01"), 2, False)


def test_case_4_history() -> None:
    """06-02 on time; 06-09 not done; 06-16 done on 06-18, 2 days late."""
    first, second = outcomes([done("2025-06-02"), done("2025-06-18")], EVERY_MONDAY)
    assert (first.closed_on, first.days_late, first.on_time, first.not_done) == (day("2025-06-02"), 0, True, ())
    assert (second.closed_on, second.days_late, second.on_time) == (day("2025-06-16"), 2, False)
    assert second.not_done == (day("2025-06-09"),)


@pytest.mark.parametrize(
    ("on", "closed", "past_aim", "late"),
    [
        pytest.param("2026-07-30", "2026-05-20", 71, -21, id="inside-the-window"),
        pytest.param("2026-08-21", "2026-05-20", 93, 1, id="a-day-past-it"),
        pytest.param("2026-02-20", "2026-05-20", -89, -181, id="first-day"),
        pytest.param("2026-02-10", None, -99, -191, id="before-the-window-closes-nothing"),
    ],
)
def test_case_7_survey(on: str, closed: str | None, past_aim: int, late: int) -> None:
    """Judged by the end of the window, with the distance from the anniversary beside it."""
    outcome = last_of(SURVEY, done("2025-05-20"), done(on))
    assert outcome.closed_on == (day(closed) if closed else None)
    assert outcome.extra == (closed is None)
    assert outcome.calendar is not None
    assert (outcome.calendar.past_aim, outcome.calendar.late) == (past_aim, late)
    assert outcome.calendar.opens == day("2026-02-20")


@pytest.mark.parametrize(
    ("terms_on", "before"),
    [
        pytest.param(QUARTER, "2025-04-01", id="grid"),
        pytest.param(always(THREE_MONTHLY), "2025-04-01", id="from-last-done"),
    ],
)
def test_case_18b_done_past_its_extension(terms_on: TermsOn, before: str) -> None:
    """07-01 extended to 08-15, done 08-20: 5 days late on the extension, 50 after the original."""
    outcome = last_of(terms_on, done(before), done("2025-08-20", extension=Extension(day("2025-08-15"))))
    assert outcome.calendar is not None
    assert (outcome.calendar.aim, outcome.calendar.limit) == days("2025-07-01 2025-08-15")
    assert (outcome.calendar.late, outcome.calendar.past_original, outcome.on_time) == (5, 50, False)


def test_done_inside_its_extension_is_on_time() -> None:
    """The extension is the limit; the original stays beside it (R14)."""
    outcome = last_of(QUARTER, done("2025-04-01"), done("2025-08-15", extension=Extension(day("2025-08-15"))))
    assert outcome.calendar is not None
    assert (outcome.on_time, outcome.days_late, outcome.calendar.past_original) == (True, 0, 45)


def test_extension_is_not_carried_to_the_occurrence_after() -> None:
    """The extended occurrence was never done; the one that was done is judged by its own date."""
    outcome = last_of(QUARTER, done("2025-04-01"), done("2025-10-03", extension=Extension(day("2025-10-30"))))
    assert outcome.not_done == (day("2025-07-01"),)
    assert (outcome.closed_on, outcome.days_late) == (day("2025-10-01"), 2)


# --- counters -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("counts_from", ["done", "aim"])
def test_case_6_inside_tolerance(counts_from: CountsFrom) -> None:
    """Done at 12 150: 150 h past the aim, 50 h inside the limit."""
    terms_on = always(hours(2_000), counts_from=counts_from, opens=TEN_PERCENT, closes=TEN_PERCENT)
    outcome = last_of(terms_on, done("2025-01-01", 10_000), done("2025-06-01", 12_150))
    assert outcome.closes == (CountClose(0, "h", False, 12_000 * H, 11_800 * H, 12_200 * H, 12_200 * H, 12_150 * H),)
    assert (outcome.counts[0].past_aim, outcome.counts_late) == (150 * H, (("h", -50 * H),))
    assert outcome.on_time is True


@pytest.mark.parametrize(
    ("at_hours", "late"), [pytest.param(50_320, 70, id="before"), pytest.param(50_230, -20, id="after-correction")]
)
def test_case_16_corrected_reading(at_hours: int, late: int) -> None:
    """Lateness follows the corrected hours at completion."""
    outcome = last_of(always(hours(2_000)), done("2024-12-01", 48_250), done("2025-05-15", at_hours))
    assert (outcome.counts_late, outcome.on_time) == ((("h", late * H),), late <= 0)


def test_case_17_back_dated_completion() -> None:
    """As now known: done on time, 60 h and 4 days before its limits."""
    outcome = last_of(always(hours(2_000), YEARLY), done("2024-06-01", 10_400), done("2025-05-28", 12_340))
    assert (outcome.days_late, outcome.counts_late, outcome.on_time) == (-4, (("h", -60 * H),), True)


def test_case_18a_done_past_its_extension() -> None:
    """24 900 h: 400 h past the extension, 900 h past the original."""
    extension = Extension(None, (("h", 24_500 * H),))
    outcome = last_of(always(hours(4_000)), done("2025-01-01", 20_000), done("2025-08-31", 24_900, extension))
    (close,) = outcome.counts
    assert (close.late, close.past_original, outcome.on_time) == (400 * H, 900 * H, False)


@pytest.mark.parametrize(
    ("at_hours", "closed", "not_done", "extra"),
    [
        pytest.param(1_010, 1_000, (), False, id="next-mark"),
        pytest.param(2_100, 2_000, (1_000,), False, id="one-mark-not-done"),
        pytest.param(600, 1_000, (), False, id="early-but-nearer-to-the-next"),
        pytest.param(400, 1_000, (), True, id="too-early"),
    ],
)
def test_marks_of_a_counter(at_hours: int, closed: int, not_done: tuple[int, ...], extra: bool) -> None:
    """Marks every 1 000 h, the one at 0 done: which mark it closed and which were left out."""
    terms_on = always(hours(1_000), counts_from="grid", marks=(("h", 0),))
    (close,) = last_of(terms_on, done("2025-01-01", 0), done("2025-06-01", at_hours)).counts
    assert (close.aim, close.extra) == (closed * H, extra)
    assert close.not_done == tuple(mark * H for mark in not_done)


def test_one_limb_past_its_limit_is_late() -> None:
    """Early by the calendar, late by hours: not on time."""
    outcome = last_of(always(hours(2_000), YEARLY), done("2024-06-01", 0), done("2025-01-01", 2_001))
    assert (outcome.on_time, outcome.days_late, outcome.counts_late) == (False, -151, (("h", H),))


@pytest.mark.parametrize(
    ("on", "on_time"),
    [
        pytest.param("2025-06-02", False, id="late-by-the-calendar-is-late"),
        pytest.param("2025-06-01", None, id="the-hours-may-have-been-past"),
    ],
)
@pytest.mark.parametrize(
    ("before_hours", "at_hours"), [pytest.param(None, 900, id="then"), pytest.param(0, None, id="now")]
)
def test_unknown_hours_are_not_called_on_time(
    on: str, on_time: bool | None, before_hours: int | None, at_hours: int | None
) -> None:
    """A limb that cannot be judged leaves it open whether the job was on time."""
    outcome = last_of(always(hours(2_000), YEARLY), done("2024-06-01", before_hours), done(on, at_hours))
    assert (outcome.on_time, outcome.unknown) == (on_time, ("h",))


# --- firsts, starts, rules that change ------------------------------------------------------------------------------


@pytest.mark.parametrize("counts_from", ["done", "aim", "grid"])
def test_first_doing_has_nothing_to_be_late_by(counts_from: CountsFrom) -> None:
    """Off the grid, or where no first date or mark is stated, nothing stood before the first doing ever."""
    outcome = last_of(always(YEARLY, hours(2_000), counts_from=counts_from), done("2025-06-01", 500))
    assert (outcome.closes, outcome.on_time, outcome.days_late, outcome.extra) == ((), None, None, False)


@pytest.mark.parametrize(
    ("on", "closed", "late"),
    [
        pytest.param("2025-06-11", "2025-06-09", 2, id="late-for-the-latest"),
        pytest.param("2025-05-31", "2025-06-02", -2, id="first-of-the-grid-done-early"),
        pytest.param("2025-05-20", None, -13, id="before-the-grid-is-an-extra"),
    ],
)
def test_first_doing_on_a_grid(on: str, closed: str | None, late: int) -> None:
    """A grid stands by itself; occurrences before the first doing are not held against anyone."""
    outcome = last_of(EVERY_MONDAY, done(on))
    assert outcome.closed_on == (day(closed) if closed else None)
    assert (outcome.days_late, outcome.not_done, outcome.extra) == (late, (), closed is None)


def test_first_doing_at_counter_marks() -> None:
    """Marks stand by themselves too."""
    terms_on = always(hours(1_000), counts_from="grid", marks=(("h", 1_000 * H),))
    (close,) = last_of(terms_on, done("2025-06-01", 3_040)).counts
    assert (close.aim, close.late, close.not_done, close.extra) == (3_000 * H, 40 * H, (), False)
    (close,) = last_of(terms_on, done("2025-06-01", 400)).counts
    assert (close.aim, close.late, close.not_done, close.extra) == (1_000 * H, -600 * H, (), True)


def test_stated_start_has_no_outcome_but_is_counted_from() -> None:
    """Monthly from a start on 2025-03-01, done 2025-04-03: one outcome, 2 days late."""
    (outcome,) = outcomes([start("2025-03-01"), done("2025-04-03")], always(MONTHLY))
    assert outcome.days_late == 2


def test_stated_start_on_a_grid_opens_the_first_occurrence_after_it() -> None:
    """From a start on 06-05 the rounds of 06-09 and 06-16 fell due."""
    (outcome,) = outcomes([start("2025-06-05"), done("2025-06-17")], EVERY_MONDAY)
    assert (outcome.not_done, outcome.closed_on) == (days("2025-06-09"), day("2025-06-16"))


@pytest.mark.parametrize(
    ("extension", "at_hours", "close"),
    [
        pytest.param(
            None, None,
            CalendarClose(AT_ONCE, False, day("2025-06-01"), None, day("2025-06-01"), day("2025-06-01"),
                          day("2025-06-04")), id="three-days-late",
        ),
        pytest.param(
            Extension(day("2025-06-10")), None,
            CalendarClose(AT_ONCE, False, day("2025-06-01"), None, day("2025-06-01"), day("2025-06-10"),
                          day("2025-06-04")), id="extended",
        ),
        pytest.param(
            Extension(None, (("h", 400 * H),)), 410,
            CountClose(AT_ONCE, "h", False, 400 * H, None, 400 * H, 400 * H, 410 * H), id="extended-in-hours",
        ),
    ],
)  # fmt: skip
def test_stated_due_at_once(
    extension: Extension | None, at_hours: int | None, close: CalendarClose | CountClose
) -> None:
    """Judged by the day it was stated due, or by its extension."""
    at_once = start("2025-06-01", DoingKind.DUE_AT_ONCE)
    outcome = last_of(always(YEARLY), at_once, done("2025-06-04", at_hours, extension))
    assert outcome.closes == (close,)
    assert outcome.on_time is (close.late <= 0)


def test_extension_in_hours_that_are_not_known() -> None:
    """Due at once, extended in hours, hours at the doing not known: nothing can be said."""
    extension = Extension(None, (("h", 400 * H),))
    outcome = last_of(always(YEARLY), start("2025-06-01", DoingKind.DUE_AT_ONCE), done("2025-06-04", None, extension))
    assert (outcome.closes, outcome.on_time) == ((), None)


def test_rule_in_force_when_the_work_was_done_decides() -> None:
    """Yearly until 2025-07-01, then 3-monthly: what was on time stays on time (R12)."""
    yearly, quarterly = always(YEARLY)(date.min), always(THREE_MONTHLY)(date.min)

    def terms_on(on: date) -> RuleTerms:
        return yearly if on < day("2025-07-01") else quarterly

    _, in_time, late = outcomes([done("2024-06-01"), done("2025-06-01"), done("2025-09-03")], terms_on)
    assert (in_time.days_late, in_time.on_time) == (0, True)
    assert (late.days_late, late.on_time) == (2, False)


def test_from_the_aim_nothing_drifts_and_nothing_is_missed() -> None:
    """3-monthly from the first doing: 5 months late is late, not 'not done', and the next aim is on the lattice."""
    terms_on = always(THREE_MONTHLY, counts_from="aim")
    late, in_time = outcomes([done("2025-01-31"), done("2025-10-01"), done("2025-10-31")], terms_on)[1:]
    assert late.calendar is not None
    assert (late.calendar.aim, late.days_late, late.not_done, late.extra) == (day("2025-04-30"), 154, (), False)
    assert in_time.calendar is not None
    assert (in_time.calendar.aim, in_time.extra) == (day("2026-01-31"), True)


def test_first_of_the_aim_may_be_given() -> None:
    """A later part of the history counts from the first doing that each doing names."""
    first = done("2025-01-31")
    part = [done(on)._replace(first=first) for on in ("2025-05-10", "2025-07-31")]
    outcome = last_of(always(THREE_MONTHLY, counts_from="aim"), *part)
    assert outcome.days_late == 0


# --- a period -------------------------------------------------------------------------------------------------------


def test_case_4_tally() -> None:
    """06-02 to 06-18: 3 fell due, 1 on time, 1 late, 1 not done; on-time share 33.3 %."""
    found = tally([done("2025-06-02"), done("2025-06-18")], EVERY_MONDAY, *days("2025-06-02 2025-06-18"))
    assert found == Tally(on_time=1, late=1, not_done=1)
    assert (found.fell_due, found.on_time_share) == (3, Fraction(1, 3))


TALLIES = [
    pytest.param([], "2025-06-02 2025-06-18", (0, 0, 0), id="never-done"),
    pytest.param([done("2025-06-02")], "2025-06-02 2025-06-18", (1, 0, 2), id="open-ones-are-not-done"),
    pytest.param(
        [done("2025-06-02"), done("2025-06-18")], "2025-06-02 2025-06-17", (1, 0, 2), id="done-later-is-not-done"
    ),
    pytest.param([done("2025-06-02"), done("2025-06-18")], "2025-06-09 2025-06-15", (0, 0, 1), id="one-week"),
    pytest.param([done("2025-06-02"), done("2025-06-18")], "2025-06-16 2025-06-22", (0, 1, 0), id="the-week-after"),
    pytest.param([done("2025-06-02"), done("2025-06-07")], "2025-06-09 2025-06-15", (1, 0, 0), id="done-before-it"),
    pytest.param([done("2025-06-02"), done("2025-06-04")], "2025-06-02 2025-06-08", (1, 0, 0), id="extra-not-counted"),
    pytest.param([start("2025-06-05")], "2025-06-01 2025-06-18", (0, 0, 2), id="from-a-stated-start"),
    pytest.param(
        [start("2025-06-05", DoingKind.DUE_AT_ONCE)], "2025-06-01 2025-06-18", (0, 0, 0), id="due-at-once-is-no-date"
    ),
]


@pytest.mark.parametrize(("doings", "period", "expected"), TALLIES)
def test_tally_of_a_weekly_round(doings: list[Doing], period: str, expected: tuple[int, int, int]) -> None:
    """On time, late, not done among the Mondays of the period."""
    assert tally(doings, EVERY_MONDAY, *days(period)) == Tally(*expected)


@pytest.mark.parametrize(
    ("period", "expected"),
    [
        pytest.param("2025-07-01 2025-07-31", (0, 0, 0), id="not-in-the-month-it-was-extended-from"),
        pytest.param("2025-08-01 2025-08-31", (0, 1, 0), id="in-the-month-it-was-extended-to"),
    ],
)
def test_extended_occurrence_counts_where_it_was_extended_to(period: str, expected: tuple[int, int, int]) -> None:
    """Case 18b: extended to 08-15, done 08-20."""
    doings = [done("2025-04-01"), done("2025-08-20", extension=Extension(day("2025-08-15")))]
    assert tally(doings, QUARTER, *days(period)) == Tally(*expected)


@pytest.mark.parametrize(
    ("last", "expected"),
    [pytest.param("2025-08-14", 0, id="not-yet"), pytest.param("2025-08-15", 1, id="on-its-last-day")],
)
def test_open_extended_occurrence(last: str, expected: int) -> None:
    """Still open: it falls due on the last day of its extension."""
    found = tally([done("2025-04-01")], QUARTER, day("2025-07-01"), day(last), Extension(day("2025-08-15")))
    assert found == Tally(0, 0, expected)


def test_extended_and_then_left_out() -> None:
    """Extended to 08-15 and not done when the next was: not done in August, asked then or later."""
    doings = [done("2025-04-01"), done("2025-10-01", extension=Extension(day("2025-08-15")))]
    for last in ("2025-08-31", "2025-10-31"):
        found = tally(doings, QUARTER, day("2025-08-01"), day(last))
        assert found == Tally(on_time=int(last > "2025-09"), late=0, not_done=1)


def test_tolerance_moves_the_day_it_falls_due() -> None:
    """With three months after, the survey of 2025-05-20 belongs to August."""
    assert tally([done("2024-05-20")], SURVEY, *days("2025-05-01 2025-08-19")) == Tally(0, 0, 0)
    assert tally([done("2024-05-20")], SURVEY, *days("2025-05-01 2025-08-20")) == Tally(0, 0, 1)


def test_nothing_falls_due_off_the_grid() -> None:
    """A job from the last doing has no occurrences to tally, and no share."""
    found = tally([done("2025-01-01"), done("2025-03-01")], always(MONTHLY), *days("2025-01-01 2025-12-31"))
    assert found == Tally(0, 0, 0)
    assert found.on_time_share is None


# --- properties -----------------------------------------------------------------------------------------------------

FIRST = date(2025, 1, 6)
SPANS = st.one_of(
    st.integers(1, 6).map(lambda months: Span(months=months)), st.integers(2, 60).map(lambda days: Span(days=days))
)
GAPS = st.lists(st.integers(0, 120), min_size=1, max_size=6)


def on_grid(every: Span, gaps: list[int], tolerance: Margin | None = None) -> tuple[TermsOn, list[Doing]]:
    """A grid from FIRST and doings with those days between them, the first of them so long after FIRST."""
    doings, on = [], FIRST
    for gap in gaps:
        on += timedelta(days=gap)
        doings.append(Doing(on))
    return always(CalendarLimb(every), counts_from="grid", anchor=FIRST.isoformat(), closes=tolerance), doings


@given(SPANS, GAPS)
def test_every_occurrence_is_closed_or_not_done_once(every: Span, gaps: list[int]) -> None:
    """From the first closed to the last closed, the history names every occurrence of the grid exactly once."""
    terms_on, doings = on_grid(every, gaps)
    named: list[date] = []
    for outcome in outcomes(doings, terms_on):
        named += outcome.not_done
        named += [outcome.closed_on] if outcome.closed_on else []
    limb = terms_on(FIRST).limbs[0]
    grid = (limb.occurrence(Doing(FIRST), index) for index in count())
    assert named == [on for on in takewhile(lambda on: on <= named[-1], grid) if on >= named[0]]


@given(SPANS, GAPS, st.sampled_from([None, Span(days=5)]), st.integers(0, 400), st.integers(0, 400))
def test_what_fell_due_adds_up(every: Span, gaps: list[int], tolerance: Margin | None, middle: int, rest: int) -> None:
    """An occurrence falls due in exactly one of two adjoining periods, however it was done."""
    terms_on, doings = on_grid(every, gaps, tolerance)
    split, last = FIRST + timedelta(days=middle), FIRST + timedelta(days=middle + rest)
    whole = tally(doings, terms_on, FIRST, last)
    after = tally(doings, terms_on, split + timedelta(days=1), last)
    before = tally(doings, terms_on, FIRST, split)
    if doings[0].on <= split:
        assert before.fell_due + after.fell_due == whole.fell_due
    assert whole.on_time >= after.on_time


@given(SPANS, GAPS, st.sampled_from(["done", "grid", "aim"]))
def test_late_is_past_the_limit_and_nothing_else(every: Span, gaps: list[int], counts_from: CountsFrom) -> None:
    """On time exactly when done on or before the limit that stood before it."""
    grid_terms, doings = on_grid(every, gaps)
    terms_on = grid_terms if counts_from == "grid" else always(CalendarLimb(every), counts_from=counts_from)
    for outcome in outcomes(doings, terms_on):
        if outcome.calendar is None or outcome.extra:
            assert outcome.on_time is None
        else:
            assert outcome.on_time == (outcome.doing.on <= outcome.calendar.limit)
