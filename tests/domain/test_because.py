"""The sum behind a due date: exact sentences, what lists show, and that the data is enough to work it out again."""

from __future__ import annotations

import json
from datetime import date, timedelta

import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.aims import Doing, DoingKind, Extension, RuleTerms, compile_rule
from pmsched.domain.because import (
    Because,
    CalendarReason,
    CountReason,
    as_data,
    dates_text,
    explain,
    left_text,
    sentence,
)
from pmsched.domain.counters import Count, Rate
from pmsched.domain.due import Counts, Settings, Standing, stand
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountMargin, CountsFrom, Limb, Margin, Rule

H = 3600
DAY_SECONDS = 86_400
MONTHLY, THREE_MONTHLY, YEARLY = (CalendarLimb(Span(months=months)) for months in (1, 3, 12))
WEEKLY = CalendarLimb(Span(days=7))
TOLERANCE = CountMargin(200 * H, "h")


def day(text: str) -> date:
    """A date as written."""
    return date.fromisoformat(text)


def hours(amount: int) -> CountLimb:
    """A limb of running hours."""
    return CountLimb(amount * H, "h")


def terms(
    *limbs: Limb, counts_from: CountsFrom = "done", anchor: str | None = None, margin: Margin | None = None,
    opens: bool = True, marks: tuple[tuple[str, int], ...] = (),
) -> RuleTerms:  # fmt: skip
    """A compiled rule; the margin closes it, and opens it too unless told not to."""
    margins = (margin,) if margin else ()
    return compile_rule(
        Rule(limbs, counts_from, day(anchor) if anchor else None, marks, margins if opens else (), margins)
    )


def done(on: str, at_hours: int | None = None, **others: int) -> Doing:
    """A doing at those running hours and other totals."""
    return Doing(day(on), others if at_hours is None else {"h": at_hours * H, **others})


def start(on: str, at_hours: int | None = None) -> Doing:
    """A stated start."""
    return done(on, at_hours)._replace(kind=DoingKind.START)


def read(
    on: str, total: int, use: tuple[int, int] | None = None, *, estimated: int = 0, unit: int = H, layup: bool = False
) -> Count:
    """A count as last read, with use as (rise, days) up to that reading."""
    rate = use and Rate(use[0] * unit, use[1] * DAY_SECONDS, day(on) - timedelta(days=use[1]), day(on), layup)
    return Count(total * unit, day(on), rate or None, estimated * unit)


def told(
    rule: RuleTerms, doing: Doing | None, today: str, counts: Counts | Count | None = None,
    extension: Extension | None = None,
) -> tuple[Standing, Because]:  # fmt: skip
    """The standing and the sum; a single count is one of hours."""
    by_unit = {"h": counts} if isinstance(counts, Count) else counts or {}
    return explain(rule, doing, by_unit, day(today), Settings(), extension)


def case(name: str, words: str, left: str, asked: tuple[Standing, Because]) -> object:
    """One row: what is asked, the sentence and the short form expected."""
    return pytest.param(asked, words, left, id=name)


SURVEY = terms(YEARLY, counts_from="grid", anchor="2025-05-20", margin=Span(months=3))
ROUND = terms(WEEKLY, counts_from="grid", anchor="2025-06-02")
QUARTER = terms(THREE_MONTHLY, counts_from="grid", anchor="2025-01-01")
EVERY_2000 = terms(hours(2_000), margin=TOLERANCE)
UNREAD = read("2025-03-31", 8_000, (900, 90))
TO_24_500 = Extension(None, (("h", 24_500 * H),))
TO_AUGUST = Extension(day("2025-08-15"))
AT_ONCE = done("2025-06-01")._replace(kind=DoingKind.DUE_AT_ONCE)

CALENDAR_SENTENCES = [
    case(
        "from-done", "12 months from 2025-01-15 -> 2026-01-15", "in 245 d",
        told(terms(YEARLY), done("2025-01-15"), "2025-05-15"),
    ),
    case(
        "from-a-start", "1 month from the start on 2025-03-01 -> 2025-04-01", "in 1 d",
        told(terms(MONTHLY), start("2025-03-01"), "2025-03-31"),
    ),
    case(
        "due-today", "1 month from 2025-03-01 -> 2025-04-01; due today", "today",
        told(terms(MONTHLY), done("2025-03-01"), "2025-04-01"),
    ),
    case(
        "overdue", "1 month from 2025-03-01 -> 2025-04-01; overdue 1 day", "1 d overdue",
        told(terms(MONTHLY), done("2025-03-01"), "2025-04-02"),
    ),
    case(
        "4-missed-rounds",
        "every week from 2025-06-02: 2025-06-09; fell due 2 times (2025-06-09, 2025-06-16); overdue 9 days",
        "9 d overdue", told(ROUND, done("2025-06-02"), "2025-06-18"),
    ),
    case(
        "from-the-aim", "every 12 months from the first doing on 2024-02-29: 2026-02-28", "in 30 d",
        told(terms(YEARLY, counts_from="aim"), Doing(day("2025-03-15"), first=done("2024-02-29")), "2026-01-29"),
    ),
    case(
        "from-the-aim-of-a-start", "every 12 months from the start on 2024-02-29: 2025-02-28", "in 30 d",
        told(terms(YEARLY, counts_from="aim"), start("2024-02-29"), "2025-01-29"),
    ),
    case(
        "7-not-open", "every 12 months from 2025-05-20: 2026-05-20; may be done from 2026-02-20 to 2026-08-20; "
        "opens in 1 day", "opens in 1 d", told(SURVEY, done("2025-05-20"), "2026-02-19"),
    ),
    case(
        "7-open", "every 12 months from 2025-05-20: 2026-05-20; may be done from 2026-02-20 to 2026-08-20; "
        "181 days left", "181 d left", told(SURVEY, done("2025-05-20"), "2026-02-20"),
    ),
    case(
        "7-anniversary", "every 12 months from 2025-05-20: 2026-05-20; may be done from 2026-02-20 to 2026-08-20; "
        "due today, 92 days of tolerance left", "92 d left", told(SURVEY, done("2025-05-20"), "2026-05-20"),
    ),
    case(
        "7-last-day", "every 12 months from 2025-05-20: 2026-05-20; may be done from 2026-02-20 to 2026-08-20; "
        "92 days past the aim, 0 days of tolerance left", "today", told(SURVEY, done("2025-05-20"), "2026-08-20"),
    ),
    case(
        "tolerance-only", "1 month from 2025-03-01 -> 2025-04-01; on time to 2025-04-06", "in 2 d",
        told(terms(MONTHLY, margin=Span(days=5), opens=False), done("2025-03-01"), "2025-03-30"),
    ),
    case(
        "18b-not-yet-due", "every 3 months from 2025-01-01: 2025-07-01; "
        "extended from 2025-07-01 to 2025-08-15, 56 days left", "in 11 d",
        told(QUARTER, done("2025-04-01"), "2025-06-20", None, TO_AUGUST),
    ),
    case(
        "18b-on-the-original-day", "every 3 months from 2025-01-01: 2025-07-01; "
        "extended from 2025-07-01 to 2025-08-15, 45 days left", "45 d left",
        told(QUARTER, done("2025-04-01"), "2025-07-01", None, TO_AUGUST),
    ),
    case(
        "18b-postponed", "every 3 months from 2025-01-01: 2025-07-01; "
        "extended from 2025-07-01 to 2025-08-15, 26 days left; 19 days past the original", "26 d left",
        told(QUARTER, done("2025-04-01"), "2025-07-20", None, TO_AUGUST),
    ),
    case(
        "18b-past-the-extension", "every 3 months from 2025-01-01: 2025-07-01; "
        "overdue 1 day past the extension to 2025-08-15; 46 days past the original 2025-07-01", "1 d overdue",
        told(QUARTER, done("2025-04-01"), "2025-08-16", None, TO_AUGUST),
    ),
]  # fmt: skip

COUNTER_SENTENCES = [
    case(
        "5a", "2 920 h left at 12.0 h/day (90 days to 2025-04-15) -> 2025-12-14; "
        "12 months from 2025-01-15 -> 2026-01-15; hours first", "2 920 h",
        told(terms(hours(4_000), YEARLY), done("2025-01-15", 20_000), "2025-04-15",
             read("2025-04-15", 21_080, (1_080, 90))),
    ),
    case(
        "5b", "2 380 h left at 6.0 h/day (90 days to 2025-07-14) -> 2026-08-14; "
        "12 months from 2025-01-15 -> 2026-01-15; calendar first", "in 185 d",
        told(terms(hours(4_000), YEARLY), done("2025-01-15", 20_000), "2025-07-14",
             read("2025-07-14", 21_620, (540, 90))),
    ),
    case(
        "6-not-open", "201 h left at 20.0 h/day (10 days to 2025-06-01) -> 2025-06-11; "
        "may be done from 11 800 h to 12 200 h; opens in 1 h", "opens in 1 h",
        told(EVERY_2000, done("2025-01-01", 10_000), "2025-06-01", read("2025-06-01", 11_799, (200, 10))),
    ),
    case(
        "6-may-be-done", "200 h left at 20.0 h/day (10 days to 2025-06-01) -> 2025-06-11; "
        "may be done from 11 800 h to 12 200 h", "400 h left",
        told(EVERY_2000, done("2025-01-01", 10_000), "2025-06-01", read("2025-06-01", 11_800, (200, 10))),
    ),
    case(
        "6-aim-expected-on-the-day-of-the-reading", "19 h left at 20.0 h/day (10 days to 2025-06-01) -> 2025-06-01; "
        "may be done from 11 800 h to 12 200 h", "219 h left",
        told(EVERY_2000, done("2025-01-01", 10_000), "2025-06-01", read("2025-06-01", 11_981, (200, 10))),
    ),
    case(
        "6-due", "2 000 h from 10 000 h: 12 000 h; may be done from 11 800 h to 12 200 h; "
        "at the aim, 200 h of tolerance left", "200 h left",
        told(EVERY_2000, done("2025-01-01", 10_000), "2025-06-01", read("2025-06-01", 12_000, (200, 10))),
    ),
    case(
        "6-inside-tolerance", "2 000 h from 10 000 h: 12 000 h; may be done from 11 800 h to 12 200 h; "
        "150 h past the aim, 50 h of tolerance left", "50 h left",
        told(EVERY_2000, done("2025-01-01", 10_000), "2025-06-01", read("2025-06-01", 12_150, (200, 10))),
    ),
    case(
        "6-last-hour", "2 000 h from 10 000 h: 12 000 h; may be done from 11 800 h to 12 200 h; "
        "200 h past the aim, 0 h of tolerance left", "due now",
        told(EVERY_2000, done("2025-01-01", 10_000), "2025-06-01", read("2025-06-01", 12_200, (200, 10))),
    ),
    case(
        "6-past-tolerance", "2 000 h from 10 000 h: 12 000 h; may be done from 11 800 h to 12 200 h; "
        "overdue 1 h past the tolerance by the reading of 2025-06-01, 201 h past the aim", "1 h overdue",
        told(EVERY_2000, done("2025-01-01", 10_000), "2025-06-01", read("2025-06-01", 12_201, (200, 10))),
    ),
    case(
        "6-from-the-aim", "every 2 000 h from the first doing at 10 000 h: 14 000 h; "
        "1 850 h left at 20.0 h/day (10 days to 2025-06-01) -> 2025-09-01; may be done from 13 800 h to 14 200 h; "
        "opens in 1 650 h", "opens in 1 650 h",
        told(terms(hours(2_000), counts_from="aim", margin=TOLERANCE),
             done("2025-06-01", 12_150)._replace(first=done("2024-06-01", 10_000)), "2025-06-01",
             read("2025-06-01", 12_150, (200, 10))),
    ),
    case(
        "marks", "every 500 h from 250 h: 1 250 h; 50.5 h left at 0.5 h/day (20 days to 2025-06-01) -> 2025-09-10",
        "50.5 h",
        told(terms(hours(500), counts_from="grid", marks=(("h", 250 * H),)), done("2025-01-01", 800), "2025-06-01",
             Count(1_250 * H - 50 * H - H // 2, day("2025-06-01"),
                   Rate(10 * H, 20 * DAY_SECONDS, day("2025-05-12"), day("2025-06-01")))),
    ),
    case(
        "10-partly-estimated", "134 h left at 15.0 h/day (20 days to 2025-05-10) -> 2025-05-18; "
        "252 h of the 7 766 h are estimated", "134 h",
        told(terms(hours(1_000)), done("2025-01-01", 6_900), "2025-05-10",
             read("2025-05-10", 7_766, (300, 20), estimated=252)),
    ),
    case(
        "past-only-with-hours-booked-by-estimate", "700 h from 6 900 h: 7 600 h; 166 h past due by estimate; "
        "252 h of the 7 766 h are estimated", "est. 166 h past",
        told(terms(hours(700)), done("2025-01-01", 6_900), "2025-05-10",
             read("2025-05-10", 7_766, (300, 20), estimated=252)),
    ),
    case(
        "15-expected-today", "700 h left at 10.0 h/day (90 days to 2025-03-31) -> 2025-06-09; "
        "due today by estimate: read the meter; 8 700 h expected today, 8 000 h to 9 680 h possible; "
        "last read 70 days ago on 2025-03-31", "due by estimate",
        told(terms(hours(2_000)), done("2024-12-01", 6_700), "2025-06-09", UNREAD),
    ),
    case(
        "15-past", "700 h left at 10.0 h/day (90 days to 2025-03-31) -> 2025-06-09; "
        "50 h past due by estimate: read the meter; 8 750 h expected today, 8 000 h to 9 800 h possible; "
        "last read 75 days ago on 2025-03-31", "est. 50 h past",
        told(terms(hours(2_000)), done("2024-12-01", 6_700), "2025-06-14", UNREAD),
    ),
    case(
        "15-within-tolerance", "700 h left at 10.0 h/day (90 days to 2025-03-31) -> 2025-06-09; "
        "may be done from 8 500 h to 8 900 h; 50 h past the aim by estimate: read the meter; "
        "8 750 h expected today, 8 000 h to 9 800 h possible; last read 75 days ago on 2025-03-31", "due by estimate",
        told(EVERY_2000, done("2024-12-01", 6_700), "2025-06-14", UNREAD),
    ),
    case(
        "17-overdue-by-both", "2 000 h from 10 400 h: 12 400 h; overdue 20 h by the reading of 2025-06-01; "
        "12 months from 2024-06-01 -> 2025-06-01; overdue 4 days; hours first", "4 d overdue",
        told(terms(hours(2_000), YEARLY), done("2024-06-01", 10_400), "2025-06-05",
             read("2025-06-01", 12_420, (140, 7))),
    ),
    case(
        "18a-approved", "40 h left at 20.0 h/day (10 days to 2025-07-15) -> 2025-07-17; "
        "extended from 24 000 h to 24 500 h", "40 h",
        told(terms(hours(4_000)), done("2025-01-01", 20_000), "2025-07-15", read("2025-07-15", 23_960, (200, 10)),
             TO_24_500),
    ),
    case(
        "18a-at-the-original", "4 000 h from 20 000 h: 24 000 h; extended from 24 000 h to 24 500 h; 500 h left",
        "500 h left",
        told(terms(hours(4_000)), done("2025-01-01", 20_000), "2025-07-17", read("2025-07-17", 24_000, (200, 10)),
             TO_24_500),
    ),
    case(
        "18a-at-the-extension", "4 000 h from 20 000 h: 24 000 h; extended from 24 000 h to 24 500 h; 0 h left; "
        "500 h past the original", "due now",
        told(terms(hours(4_000)), done("2025-01-01", 20_000), "2025-08-11", read("2025-08-11", 24_500, (200, 10)),
             TO_24_500),
    ),
    case(
        "18a-postponed", "4 000 h from 20 000 h: 24 000 h; extended from 24 000 h to 24 500 h; 300 h left; "
        "200 h past the original", "300 h left",
        told(terms(hours(4_000)), done("2025-01-01", 20_000), "2025-07-27", read("2025-07-27", 24_200, (200, 10)),
             TO_24_500),
    ),
    case(
        "18a-past-the-extension", "4 000 h from 20 000 h: 24 000 h; "
        "overdue 100 h past the extension to 24 500 h by the reading of 2025-08-16; "
        "600 h past the original 24 000 h", "100 h overdue",
        told(terms(hours(4_000)), done("2025-01-01", 20_000), "2025-08-16", read("2025-08-16", 24_600, (200, 10)),
             TO_24_500),
    ),
    case(
        "22a-rate-from-before-lay-up",
        "840 h left at 14.0 h/day (90 days to 2025-09-01, rate from before lay-up) -> 2025-10-31", "840 h",
        told(terms(hours(1_000)), done("2024-06-01", 12_000), "2025-09-01",
             read("2025-09-01", 12_160, (1_260, 90), layup=True)),
    ),
    case(
        "24a", "360 starts left at 5.0 starts/day (128 days to 2025-06-09) -> 2025-08-20; "
        "1 232 h left at 6.0 h/day (128 days to 2025-06-09) -> 2025-12-31; "
        "12 months from 2025-02-01 -> 2026-02-01; starts first", "360 starts",
        told(terms(CountLimb(1_000, "starts"), hours(2_000), YEARLY), done("2025-02-01", 0, starts=0), "2025-06-09",
             {"h": read("2025-06-09", 768, (768, 128)), "starts": read("2025-06-09", 640, (640, 128), unit=1)}),
    ),
    case(
        "24b", "no date from hours: no use measured in the 90 days to 2025-06-09; 250 h left; "
        "12 months from 2024-09-10 -> 2025-09-10; calendar first", "in 93 d",
        told(terms(hours(250), YEARLY), done("2024-09-10", 100), "2025-06-09", read("2025-06-09", 100, (0, 90))),
    ),
    case(
        "24c", "no date from hours: no use measured; 250 h left", "no date; 250 h left",
        told(terms(hours(250)), done("2024-09-10", 100), "2025-06-09", read("2025-06-09", 100)),
    ),
    case(
        "no-reading", "250 h from 100 h: 350 h; no date from hours: no reading", "no reading",
        told(terms(hours(250)), done("2024-09-10", 100), "2025-06-09"),
    ),
    case(
        "base-not-known", "hours at the last doing not known", "hours not known",
        told(terms(hours(250)), done("2024-09-10"), "2025-06-09", read("2025-06-09", 100, (90, 90))),
    ),
    case(
        "at-the-limit-standing-still", "250 h from 100 h: 350 h; at the aim", "due now",
        told(terms(hours(250)), done("2024-09-10", 100), "2025-06-09", read("2025-06-01", 350, (0, 90))),
    ),
    case(
        "at-the-limit-and-running", "250 h from 100 h: 350 h; at the aim; 32 h past due by estimate: read the meter; "
        "382 h expected today, 350 h to 542 h possible; last read 8 days ago on 2025-06-01", "est. 32 h past",
        told(terms(hours(250)), done("2024-09-10", 100), "2025-06-09", read("2025-06-01", 350, (360, 90))),
    ),
    case(
        "hardly-any-use", "1 000 h left at under 0.1 h/day (90 days to 2025-06-09) -> 2271-11-07", "1 000 h",
        told(terms(hours(1_000)), done("2024-09-10", 0), "2025-06-09",
             Count(0, day("2025-06-09"), Rate(H, 90 * DAY_SECONDS, day("2025-03-11"), day("2025-06-09")))),
    ),
    case(
        "stretches-left-out", "100 h left at 10.0 h/day (40 of 60 days to 2025-04-15) -> 2025-04-25", "100 h",
        told(terms(hours(500)), done("2025-01-01", 0), "2025-04-15",
             Count(400 * H, day("2025-04-15"),
                   Rate(400 * H, 40 * DAY_SECONDS, day("2025-02-14"), day("2025-04-15")))),
    ),
    case(
        "two-hours-limbs", "100 h left at 10.0 h/day (10 days to 2025-04-15) -> 2025-04-25; "
        "600 h left at 10.0 h/day (10 days to 2025-04-15) -> 2025-06-14; 500 h first", "100 h",
        told(terms(hours(500), hours(1_000)), done("2025-01-01", 0), "2025-04-15", read("2025-04-15", 400, (100, 10))),
    ),
]  # fmt: skip

START_SENTENCES = [
    case("never-done", "never reported done and no start stated: due now", "due now",
         told(terms(YEARLY), None, "2025-06-04")),
    case("never-done-extended", "never reported done and no start stated: due now; extended to 2025-06-01; "
         "overdue 3 days", "3 d overdue", told(terms(YEARLY), None, "2025-06-04", None, Extension(day("2025-06-01")))),
    case("due-at-once", "stated due at once on 2025-06-01", "due now", told(terms(YEARLY), AT_ONCE, "2025-06-01")),
    case("due-at-once-overdue", "stated due at once on 2025-06-01; overdue 3 days", "3 d overdue",
         told(terms(YEARLY), AT_ONCE, "2025-06-04")),
    case("due-at-once-extended", "stated due at once on 2025-06-01; extended to 400 h", "due now",
         told(terms(YEARLY), AT_ONCE, "2025-06-04", read("2025-06-01", 350), Extension(None, (("h", 400 * H),)))),
]  # fmt: skip


@pytest.mark.parametrize(("asked", "words", "left"), [*CALENDAR_SENTENCES, *COUNTER_SENTENCES, *START_SENTENCES])
def test_sentence_and_what_is_left(asked: tuple[Standing, Because], words: str, left: str) -> None:
    """One plain sentence says the whole sum, and a few words what is left."""
    standing, because = asked
    assert sentence(because) == words
    assert left_text(standing, because) == left


@pytest.mark.parametrize(
    ("over", "unit", "left"),
    [
        pytest.param(99 * H + H * 3 // 4, "h", "99.75 h overdue", id="under-100-h-to-the-hundredth"),
        pytest.param(12_345 * H + 360, "h", "12 345 h overdue", id="from-100-h-whole-hours"),
        pytest.param(1_234_567 * H, "h", "1 234 567 h over", id="shorter-word"),
        pytest.param(640, "starts", "640 starts over", id="longer-unit"),
        pytest.param(64, "starts", "64 starts overdue", id="just-fits"),
    ],
)
def test_what_is_left_keeps_to_its_column(over: int, unit: str, left: str) -> None:
    """At most 17 characters where the figures allow it."""
    limb = CountLimb(10, unit)
    count = Count(10 + over, day("2025-06-09"), None)
    assert left_text(*told(terms(limb), Doing(day("2025-01-01"), {unit: 0}), "2025-06-09", {unit: count})) == left
    assert len(left) <= 17


def test_data_is_plain_json() -> None:
    """Case 5a as names and plain values: dates as text, amounts in seconds, nothing lost on the way."""
    rule, count = terms(hours(4_000), YEARLY), read("2025-04-15", 21_080, (1_080, 90))
    data = as_data(told(rule, done("2025-01-15", 20_000), "2025-04-15", count)[1])
    assert json.loads(json.dumps(data)) == data
    by_hours, by_date = data["limbs"]
    assert (data["today"], data["state"], data["governing"]) == ("2025-04-15", "later", 0)
    assert (data["since"], data["since_kind"], data["extension"]) == ("2025-01-15", "done", None)
    assert by_hours["kind"] == "count"
    assert (by_hours["base"], by_hours["interval"], by_hours["times"]) == (20_000 * H, 4_000 * H, 1)
    assert (by_hours["total"], by_hours["left"], by_hours["expected_on"]) == (21_080 * H, 2_920 * H, "2025-12-14")
    assert by_hours["rate"] == {
        "rise": 1_080 * H,
        "seconds": 90 * DAY_SECONDS,
        "since": "2025-01-15",
        "until": "2025-04-15",
        "before_layup": False,
    }
    assert (by_hours["total_today"], by_hours["most_today"]) == (None, None)
    assert by_date["interval"] == {"months": 12, "days": 0}
    assert (by_date["base"], by_date["times"], by_date["aim"]) == ("2025-01-15", 1, "2026-01-15")


def test_totals_of_today_are_told_only_where_they_decide() -> None:
    """Read 20 days ago and far from due: no estimate is made; due by estimate: the expected and the possible total."""
    rule, last = terms(hours(2_000)), done("2024-12-01", 6_700)
    (later,) = told(rule, last, "2025-04-20", UNREAD)[1].limbs
    (past,) = told(rule, last, "2025-06-14", UNREAD)[1].limbs
    assert isinstance(later, CountReason)
    assert isinstance(past, CountReason)
    assert (later.total_today, later.most_today) == (None, None)
    assert (past.total_today, past.most_today) == (8_750 * H, 9_800 * H)


# --- properties -----------------------------------------------------------------------------------------------------

TODAY = date(2025, 6, 9)
DAYS = st.dates(date(2015, 1, 1), TODAY)
SPANS = st.one_of(
    st.integers(1, 30).map(lambda months: Span(months=months)), st.integers(1, 500).map(lambda days: Span(days=days))
)
LIMBS = st.one_of(SPANS.map(CalendarLimb), st.integers(1, 9_000).map(hours))
MARGINS = st.one_of(st.none(), st.just(TOLERANCE), st.just(Span(days=20)))
HOURS = st.integers(0, 20_000)
USES = st.one_of(st.none(), st.tuples(st.integers(0, 2_000), st.integers(1, 120)))
EXTENSIONS = st.one_of(st.none(), DAYS.map(Extension), st.just(TO_24_500), st.just(Extension(TODAY, TO_24_500[1])))


@st.composite
def questions(draw: st.DrawFn) -> tuple[RuleTerms, Doing | None, Counts, Extension | None]:
    """Any rule of one to three limbs, any doing or none, any count or none."""
    counts_from: CountsFrom = draw(st.sampled_from(["done", "grid", "aim"]))
    rule = terms(
        *draw(st.lists(LIMBS, min_size=1, max_size=3)), counts_from=counts_from,
        anchor=draw(DAYS).isoformat() if counts_from == "grid" else None, margin=draw(MARGINS), opens=draw(st.booleans()),
        marks=(("h", draw(HOURS) * H),) if counts_from == "grid" else (),
    )  # fmt: skip
    totals = draw(st.one_of(st.just({}), HOURS.map(lambda total: {"h": total * H})))
    first = draw(st.one_of(st.none(), st.just(done("2014-01-01", 0))))
    doing = draw(
        st.one_of(st.none(), st.builds(Doing, DAYS, st.just(totals), st.sampled_from(DoingKind), st.just(first)))
    )
    counts: Counts = {}
    if draw(st.booleans()):
        total = draw(HOURS)
        counts = {"h": read(draw(DAYS).isoformat(), total, draw(USES), estimated=draw(st.integers(0, total)))}
    return rule, doing, counts, draw(EXTENSIONS)


def by_hand(reason: CalendarReason | CountReason) -> date | None:
    """The date of a limb worked out from the data alone, with another library's months and plain division."""
    if isinstance(reason, CalendarReason):
        months, days = (part * reason.times for part in reason.interval)
        return reason.base + relativedelta(months=months, days=days)
    if reason.base is None or reason.times is None or reason.total is None or reason.read_on is None:
        return None
    left = reason.base + reason.times * reason.interval - reason.total
    if reason.rate is None or reason.rate.rise == 0:
        return reason.read_on if left <= 0 else None
    days = left * reason.rate.seconds // (reason.rate.rise * DAY_SECONDS)
    return reason.read_on + timedelta(days=days) if days < 1_000_000 else None


@given(questions())
def test_due_date_can_be_worked_out_from_the_data(
    question: tuple[RuleTerms, Doing | None, Counts, Extension | None],
) -> None:
    """Base, interval, reading and use are enough to find every date again, and the earliest one is the due date."""
    rule, doing, counts, extension = question
    standing, because = explain(rule, doing, counts, TODAY, Settings(), extension)
    assert standing == stand(rule, doing, counts, TODAY, Settings(), extension)
    if not because.limbs:
        return
    dates = [by_hand(reason) for reason in because.limbs]
    assert standing.due_on == min((on for on in dates if on is not None), default=None)


@given(questions())
def test_every_standing_has_words(question: tuple[RuleTerms, Doing | None, Counts, Extension | None]) -> None:
    """One line, nothing left blank, no 'None', no Python, whatever is asked."""
    rule, doing, counts, extension = question
    standing, because = explain(rule, doing, counts, TODAY, Settings(), extension)
    for words in (sentence(because), left_text(standing, because)):
        assert words
        assert words == " ".join(words.split())
        assert not [word for word in ("None", "()", "datetime", "--") if word in words]
    assert len(left_text(standing, because)) <= 17 or "no date" in left_text(standing, because)
    assert as_data(because)["state"] == standing.state.word


DAILY = terms(CalendarLimb(Span(days=1)), counts_from="grid", anchor="1969-01-01")


def test_an_old_daily_grid_names_few_dates_in_words() -> None:
    """Every day from 1969-01-02 to 2025-11-25 is open: the number, the first two and the last two."""
    standing, because = told(DAILY, done("1969-01-01"), "2025-11-25")
    assert standing.missed == 20_782
    assert "fell due 20 782 times (1969-01-02, 1969-01-03, ... 2025-11-24, 2025-11-25)" in sentence(because)


def test_an_old_daily_grid_names_twenty_dates_in_data() -> None:
    """The data names the first twenty; the sum itself keeps all."""
    _, because = told(DAILY, done("1969-01-01"), "2025-11-25")
    (limb,) = as_data(because)["limbs"]
    assert (len(limb["missed"]), limb["missed"][0], limb["missed"][-1]) == (20, "1969-01-02", "1969-01-21")
    assert isinstance(because.limbs[0], CalendarReason)
    assert len(because.limbs[0].missed) == 20_782


@pytest.mark.parametrize(
    ("days", "text"),
    [
        (1, "2025-01-01"),
        (4, "2025-01-01, 2025-01-02, 2025-01-03, 2025-01-04"),
        (5, "2025-01-01, 2025-01-02, ... 2025-01-04, 2025-01-05"),
    ],
)
def test_dates_in_words(days: int, text: str) -> None:
    """Up to four are all named."""
    assert dates_text([day("2025-01-01") + timedelta(days=n) for n in range(days)]) == text
