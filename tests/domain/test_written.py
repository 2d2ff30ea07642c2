"""Intervals, margins and rules in words: what is read, what is refused and why, and that writing reads back."""

from __future__ import annotations

from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.limbs import read_limb
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountMargin, CountsFrom, Limb, Margin, Rule, Share
from pmsched.domain.written import (
    build_rule,
    parse_interval,
    parse_margins,
    read_rule,
    write_interval,
    write_margins,
    write_rule,
)

YEAR = CalendarLimb(Span(months=12))
HOURS_4000 = CountLimb(4000 * 3600, "h")
NEW_YEAR = date(2025, 1, 1)


def months(count: int) -> CalendarLimb:
    """So many months."""
    return CalendarLimb(Span(months=count))


def days(count: int) -> CalendarLimb:
    """So many days."""
    return CalendarLimb(Span(days=count))


def hours(count: int) -> CountLimb:
    """So many running hours."""
    return CountLimb(count * 3600, "h")


def code_of(refused: pytest.ExceptionInfo[Refusal]) -> str:
    """The code of what was raised."""
    return refused.value.code


# What is read.


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("4000 h", [hours(4000)]),
        ("4000h", [hours(4000)]),
        ("4 000 hours", [hours(4000)]),
        ("4\u00a0000\u00a0h", [hours(4000)]),
        ("4\u202f000\u2009h", [hours(4000)]),
        ("\uff14\uff10\uff10\uff10 h", [hours(4000)]),
        ("4000 H", [hours(4000)]),
        ("4000 hrs.", [hours(4000)]),
        ("2000 running hours", [hours(2000)]),
        ("2000 operating hours", [hours(2000)]),
        ("1,000,000 h", [hours(1_000_000)]),
        ("0.5 h", [CountLimb(1800, "h")]),
        ("1,5 h", [CountLimb(5400, "h")]),
        ("0:20 h", [CountLimb(1200, "h")]),
        ("12345:30 h", [CountLimb(12345 * 3600 + 1800, "h")]),
        ("2 months", [months(2)]),
        ("every 3 months", [months(3)]),
        ("18 MONTHS", [months(18)]),
        ("3 mths", [months(3)]),
        ("1.0 months", [months(1)]),
        ("6 weeks", [days(42)]),
        ("90 days", [days(90)]),
        ("30 d", [days(30)]),
        ("2 weeks 3 days", [days(17)]),
        ("1 year", [months(12)]),
        ("2 y", [months(24)]),
        ("1 year 6 months", [months(18)]),
        ("1 start", [CountLimb(1, "starts")]),
        ("500 cycle", [CountLimb(500, "cycles")]),
        ("300 lift", [CountLimb(300, "lifts")]),
        ("1000 Starts", [CountLimb(1000, "starts")]),
        ("50 m3", [CountLimb(50, "m3")]),
        ("50 m\u00b3", [CountLimb(50, "m3")]),
        ("200 landings", [CountLimb(200, "landings")]),
        ("12 months or 4000 h", [months(12), hours(4000)]),
        ("4000 h OR 12 months", [hours(4000), months(12)]),
        ("12 months / 4000 h", [months(12), hours(4000)]),
        ("50 m3/6 weeks", [CountLimb(50, "m3"), days(42)]),
        ("1000 starts or 2000 h or 12 months", [CountLimb(1000, "starts"), hours(2000), months(12)]),
        ("every 500 h or every 2 weeks", [hours(500), days(14)]),
        ("P2M or 500 h", [months(2), hours(500)]),
        ("12 months or 4000 h, whichever first", [months(12), hours(4000)]),
        ("12 months or 4000 h whichever comes first", [months(12), hours(4000)]),
        ("12 months or 4000 h (whichever is earlier)", [months(12), hours(4000)]),
        ("12 months and 4000 h, whichever comes first", [months(12), hours(4000)]),
        # ISO 8601 durations, as in W3C XML Schema part 2.
        ("P2M", [months(2)]),
        ("P1Y", [months(12)]),
        ("P1Y6M", [months(18)]),
        ("P90D", [days(90)]),
        ("P2W", [days(14)]),
        ("p2m", [months(2)]),
    ],
)
def test_intervals_read(text: str, expected: list[Limb]) -> None:
    """Each way of writing means exactly these limits, in this order."""
    assert parse_interval(text) == tuple(expected)


@pytest.mark.parametrize(
    ("text", "word", "choices"),
    [
        ("3 m", "m", ["3 months", "3 metres", "0:03 h"]),
        ("3 M", "M", ["3 months", "3 metres", "0:03 h"]),
        ("30 min", "min", ["0:30 h"]),
        ("7200 s", "s", ["2:00 h"]),
        ("4000", "4000", ["4000 h", "4000 days"]),
        ("12", "12", ["12 h", "12 days", "12 months"]),
        ("4,000 h", "4,000", ["4000 h", "4 h"]),
        ("4.000 h", "4.000", ["4000 h", "4 h"]),
        ("4.125 h", "4.125", ["4125 h"]),
        ("1,000 starts", "1,000", ["1000 starts", "1 starts"]),
        ("1,000 days", "1,000", ["1000 days", "1 days"]),
        ("hourly", "hourly", ["1 h"]),
        ("daily", "daily", ["1 day"]),
        ("weekly", "weekly", ["1 week"]),
        ("fortnightly", "fortnightly", ["2 weeks"]),
        ("monthly", "monthly", ["1 month"]),
        ("Monthly", "Monthly", ["1 month"]),
        ("bimonthly", "bimonthly", ["2 months", "2 weeks"]),
        ("quarterly", "quarterly", ["3 months"]),
        ("half-yearly", "half-yearly", ["6 months"]),
        ("half a year", "half a year", ["6 months"]),
        ("biannual", "biannual", ["6 months", "24 months"]),
        ("yearly", "yearly", ["12 months"]),
        ("annual", "annual", ["12 months"]),
        ("every month", "every month", ["1 month"]),
        ("once a year", "once a year", ["12 months"]),
        ("3-monthly", "3-monthly", ["3 months"]),
        ("5 yearly", "5 yearly", ["5 years"]),
        ("12-month", "12-month", ["12 months"]),
        ("250-hourly", "250-hourly", ["250 h"]),
        ("six months", "six", ["6 months"]),
        ("2 fortnights", "fortnights", ["4 weeks"]),
        ("3 quarters", "quarters", ["9 months"]),
        ("12 months and 4000 h", "12 months and 4000 h", ["12 months or 4000 h"]),
        ("12 months, 4000 h", "12 months, 4000 h", ["12 months or 4000 h"]),
        ("12 months; 4000 h", "12 months; 4000 h", ["12 months or 4000 h"]),
        ("12 months & 4000 h", "12 months & 4000 h", ["12 months or 4000 h"]),
        ("1 year and 6 months", "1 year and 6 months", ["18 months"]),
        ("PT8000H", "PT8000H", ["8000 h"]),
        ("PT48H", "PT48H", ["48 h", "2 days"]),
        ("P1DT12H", "P1DT12H", ["36 h"]),
        ("PT90M", "PT90M", ["1:30 h"]),
        ("P1M15D", "P1M15D", ["45 days", "1 month", "2 months"]),
        ("1 month 15 days", "1 month 15 days", ["45 days", "1 month", "2 months"]),
        ("24000-30000 h", "24000-30000 h", ["24000 h", "30000 h"]),
        ("24 000 \u2013 30 000 h", "24 000 - 30 000 h", ["24 000 h", "30 000 h"]),
        ("24000 h to 30000 h", "24000 h to 30000 h", ["24000 h", "30000 h"]),
        ("6 months - 1 year", "6 months - 1 year", ["6 months", "1 year"]),
        ("1.5 months", "1.5 months", ["46 days", "1 month", "2 months"]),
        ("0.5 months", "0.5 months", ["15 days", "1 month"]),
        ("1.5 years", "1.5 years", ["18 months"]),
        ("P0.5Y", "P0.5Y", ["6 months"]),
        ("1.5 weeks", "1.5 weeks", ["10 days", "11 days"]),
        ("1Y", "1Y", ["1 year", "P1Y"]),
        ("2 Y", "2Y", ["2 years", "P2Y"]),
        ("90D", "90D", ["90 days", "P90D"]),
        ("1 Y 6 months", "1Y", ["1 year 6 months"]),
        ("1 year 6 m", "m", ["1 year 6 months"]),
        ("12 mnths", "mnths", ["12 months"]),
        ("10 yeras", "yeras", ["10 years"]),
        ("100 engine starts", "engine starts", ["100 starts"]),
        ("5 x", "x", ["5 h", "5 months"]),
        ("12 months or 4,000 h", "4,000", ["12 months or 4000 h", "12 months or 4 h"]),
    ],
)
def test_unclear_intervals_are_refused_with_choices(text: str, word: str, choices: list[str]) -> None:
    """The message names the word; every choice can be typed instead of the whole text and is then clear."""
    with pytest.raises(Ambiguous) as refused:
        parse_interval(text)
    assert f"'{word}'" in refused.value.message
    assert list(refused.value.choices) == choices
    for choice in choices:
        assert parse_interval(choice)


@pytest.mark.parametrize(
    ("text", "word", "code"),
    [
        ("", "No interval", "nothing-written"),
        (" \u00a0 ", "No interval", "nothing-written"),
        ("whichever first", "No interval", "nothing-written"),
        ("0 h", "0 h", "zero-amount"),
        ("0 months", "0 months", "zero-amount"),
        ("P0D", "P0D", "zero-amount"),
        ("-5 h", "-5 h", "negative-number"),
        ("\u22125 h", "-5 h", "negative-number"),
        ("0.001 h", "0.001", "too-fine"),
        ("1.5 starts", "1.5", "too-fine"),
        # Not durations by W3C XML Schema part 2.
        ("P1S", "P1S", "not-iso-8601"),
        ("P-1Y", "P-1Y", "not-iso-8601"),
        ("P1M2Y", "P1M2Y", "not-iso-8601"),
        ("-P1Y", "-P1Y", "not-iso-8601"),
        ("P", "P", "not-iso-8601"),
        ("P1YT", "P1YT", "not-iso-8601"),
        ("P1Y2W", "P1Y2W", "not-iso-8601"),
        ("12 months or 18 months", "18 months", "two-of-a-kind"),
        ("6 weeks or 3 months", "3 months", "two-of-a-kind"),
        ("2000 h or 4000 h", "4000 h", "two-of-a-kind"),
        ("10 starts or 20 start", "20 starts", "two-of-a-kind"),
        ("12 months 4000 h", "12 months 4000 h", "no-or"),
        ("1 year 2 years", "1 year 2 years", "unit-twice"),
        ("12 months or 4000 h, whichever comes last", "whichever comes last", "whichever-last"),
        ("2000 months", "2000 months", "too-long"),
        ("40000 days", "40000 days", "too-long"),
        ("P1MT1H", "P1MT1H", "time-by-the-clock"),
        ("PT30S", "PT30S", "time-by-the-clock"),
        ("999999999999 h", "999999999999 h", "amount-out-of-range"),
        ("9999999999999999 h", "9999999999999999", "not-a-number"),
        ("12345 678 h", "12345 678", "not-a-number"),
        ("1:30 months", "1:30", "not-a-number"),
        ("months", "months", "not-an-interval"),
        ("when needed", "when needed", "not-an-interval"),
        ("1/2 year", "1/2 year", "not-an-interval"),
        ("2025-01-31", "2025-01-31", "not-an-interval"),
        ("10 %", "10 %", "not-an-interval"),
        ("5 percent", "percent", "not-a-unit"),
        ("12 months or", "months or", "unclear-unit"),
        ("a" * 300, "a" * 200, "not-an-interval"),
    ],
)
def test_what_is_no_interval_is_refused(text: str, word: str, code: str) -> None:
    """The message names the word, and the refusal offers no choices, because there are none."""
    with pytest.raises(Refusal) as refused:
        parse_interval(text)
    assert not isinstance(refused.value, Ambiguous)
    assert code_of(refused) == code
    assert word in refused.value.message
    assert refused.value.hint


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", []),
        ("  ", []),
        ("10 %", [Share(Fraction(1, 10))]),
        ("10%", [Share(Fraction(1, 10))]),
        ("12,5 %", [Share(Fraction(1, 8))]),
        ("10 percent", [Share(Fraction(1, 10))]),
        ("\u00b1 10 %", [Share(Fraction(1, 10))]),
        ("+/- 200 h", [CountMargin(200 * 3600, "h")]),
        ("+-30 days", [Span(days=30)]),
        ("200 h", [CountMargin(200 * 3600, "h")]),
        ("30 days", [Span(days=30)]),
        ("3 months", [Span(months=3)]),
        ("P3M", [Span(months=3)]),
        ("50 starts", [CountMargin(50, "starts")]),
        ("30 days or 200 h", [Span(days=30), CountMargin(200 * 3600, "h")]),
        ("30 days; 200 h", [Span(days=30), CountMargin(200 * 3600, "h")]),
        ("30 days ;200 h", [Span(days=30), CountMargin(200 * 3600, "h")]),
    ],
)
def test_margins_read(text: str, expected: list[Margin]) -> None:
    """Each way of writing means exactly these margins."""
    assert parse_margins(text) == tuple(expected)


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("30 days and 200 h", ["30 days or 200 h"]),
        ("30 days, 200 h", ["30 days or 200 h"]),
        ("30 days or 1,000 h", ["30 days or 1000 h", "30 days or 1 h"]),
        ("3 m", ["3 months", "3 metres", "0:03 h"]),
        ("monthly", ["1 month"]),
    ],
)
def test_unclear_margins_are_refused_with_choices(text: str, choices: list[str]) -> None:
    """Every choice can be typed instead."""
    with pytest.raises(Ambiguous) as refused:
        parse_margins(text)
    assert list(refused.value.choices) == choices
    for choice in choices:
        assert parse_margins(choice)


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("0 days", "zero-amount"),
        ("0 %", "margin-too-wide"),
        ("100 %", "margin-too-wide"),
        ("-10 %", "negative-number"),
        ("0.001 %", "too-fine"),
        ("33.333 %", "too-fine"),
        ("33.3333 %", "too-fine"),
        ("a bit", "not-an-interval"),
        ("30 days or", "unclear-unit"),
    ],
)
def test_what_is_no_margin_is_refused(text: str, code: str) -> None:
    """Zero is not a margin: leaving it out says so."""
    with pytest.raises(Refusal) as refused:
        parse_margins(text)
    assert code_of(refused) == code


# What is written.


@pytest.mark.parametrize(
    ("limb", "expected"),
    [
        (months(1), "1 month"),
        (months(12), "12 months"),
        (months(60), "60 months"),
        (days(1), "1 day"),
        (days(7), "1 week"),
        (days(14), "2 weeks"),
        (days(90), "90 days"),
        (hours(4000), "4000 h"),
        (CountLimb(1800, "h"), "0.5 h"),
        (CountLimb(900, "h"), "0.25 h"),
        (CountLimb(1200, "h"), "0:20 h"),
        (CountLimb(12345 * 3600 + 60, "h"), "12345:01 h"),
        (CountLimb(1, "starts"), "1 starts"),
        (CountLimb(12000, "m3"), "12000 m3"),
    ],
)
def test_limits_are_written_in_one_form(limb: Limb, expected: str) -> None:
    """No thousands apart, days as weeks where they come out whole, months as months."""
    assert write_interval([limb]) == expected
    assert parse_interval(expected) == (limb,)


CANONICAL_RULES = [
    "12 months",
    "12 months or 4000 h",
    "4000 h or 12 months; from the aim",
    "2000 h; from the aim; tolerance 10 %",
    "1000 starts or 2000 h; tolerance 100 h or 50 starts",
    "12 months; on the grid from 2025-05-20; tolerance 3 months",
    "3 months; on the grid from 2025-01-01; opens 30 days before",
    "12 months or 4000 h; on the grid from 2025-01-01 and 10000 h",
    "4000 h; on the grid from 0 h; opens 10 % before; closes 200 h after",
    "60 months; on the grid from 2026-06-30; opens 3 months before",
    "12 months or 0:20 h; from the aim starting 2025-01-01 and 0.5 h; closes 4 weeks after",
    "12 months or 4000 h or 500 starts; from the aim starting 10 starts; opens 30 days or 200 h or 5 starts before",
]


@pytest.mark.parametrize("text", CANONICAL_RULES)
def test_canonical_rules_are_written_as_read(text: str) -> None:
    """The one written form stays as it is."""
    assert write_rule(read_rule(text)) == text


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("P1Y; from the last doing", "12 months"),
        ("12 months;", "12 months"),
        ("12 months / 4 000 h ;  FROM THE AIM", "12 months or 4000 h; from the aim"),
        ("12 months; tolerance 10%; from the aim", "12 months; from the aim; tolerance 10 %"),
        ("12 months; closes P3M after; opens P3M before", "12 months; tolerance 3 months"),
        ("2000 h; tolerance \u00b1 10 %", "2000 h; tolerance 10 %"),
        ("2000 h; on the grid", "2000 h; on the grid from 0 h"),
        ("2000 h or 1 year; on the grid from 2025\u201101\u201131", "2000 h or 12 months; on the grid from 2025-01-31 and 0 h"),
        ("50 starts or 2000 h; on the grid from 500 h and 7 starts", "50 starts or 2000 h; on the grid from 7 starts and 500 h"),
    ],
)  # fmt: skip
def test_rules_written_loosely_are_read(text: str, expected: str) -> None:
    """Order of clauses, capitals, dashes and spaces do not matter."""
    assert write_rule(read_rule(text)) == expected


def test_a_rule_is_read_into_its_values() -> None:
    """One rule with everything, value by value."""
    text = "12 months or 4000 h; on the grid from 2025-01-01 and 10000 h; opens 30 days before; closes 10 % after"
    assert read_rule(text) == Rule(
        limbs=(YEAR, HOURS_4000),
        counts_from="grid",
        anchor_on=NEW_YEAR,
        anchor_counts=(("h", 10_000 * 3600),),
        opens=(Span(days=30),),
        closes=(Share(Fraction(1, 10)),),
    )


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("3 m; from the aim", ["3 months; from the aim", "3 metres; from the aim", "0:03 h; from the aim"]),
        ("12 months; opens 30 days", ["12 months; opens 30 days before"]),
        ("12 months; opens 30 days after; from the aim", ["12 months; opens 30 days before; from the aim"]),
        ("12 months; closes 30 days before", ["12 months; closes 30 days after"]),
        ("12 months; tolerance 10 % after", ["12 months; tolerance 10 %"]),
        ("12 months; opens 1.5 months before", [
            "12 months; opens 46 days before", "12 months; opens 1 month before", "12 months; opens 2 months before",
        ]),
        ("2000 h; on the grid from 4,000 h", ["2000 h; on the grid from 4000 h", "2000 h; on the grid from 4 h"]),
        ("1 year or 2000 h; from the aim starting 2025-01-01 and 4,000 h; tolerance 10 %", [
            "1 year or 2000 h; from the aim starting 2025-01-01 and 4000 h; tolerance 10 %",
            "1 year or 2000 h; from the aim starting 2025-01-01 and 4 h; tolerance 10 %",
        ]),
    ],
)  # fmt: skip
def test_unclear_rules_are_refused_with_whole_lines(text: str, choices: list[str]) -> None:
    """Each choice is a line that can be typed instead; one of another unit may still not suit the rest of the rule."""
    with pytest.raises(Ambiguous) as refused:
        read_rule(text)
    assert list(refused.value.choices) == choices
    for choice in choices:
        assert read_rule(choice)


@pytest.mark.parametrize(
    ("text", "word", "code"),
    [
        ("", "No interval", "nothing-written"),
        ("from the aim", "from the aim", "not-an-interval"),
        ("12 months; whenever possible", "whenever possible", "unknown-clause"),
        ("12 months; from 2025", "from 2025", "unknown-clause"),
        ("12 months; on the grid from", "on the grid from", "unknown-clause"),
        ("12 months; from the aim; from the aim", "from the aim", "said-twice"),
        ("12 months; from the aim; on the grid from 2025-01-01", "on the grid", "said-twice"),
        ("12 months; opens 3 days before; opens 9 days before", "opens 9 days before", "said-twice"),
        ("12 months; tolerance 10 %; closes 9 days after", "closes 9 days after", "said-twice"),
        ("12 months; on the grid from 2025-01-01 and 2025-02-01", "2025-02-01", "said-twice"),
        ("12 months; on the grid from 2025-02-30", "2025-02-30", "not-a-date"),
        ("12 months; on the grid from 31.01.2025", "31.01.2025", "not-a-date"),
        ("12 months; on the grid from 2025-1-1", "2025-1-1", "not-a-date"),
        ("12 months; on the grid from Monday", "Monday", "not-an-interval"),
        ("12 months; on the grid", "first date", "grid-without-date"),
        ("12 months; tolerance 200 h", "200 h", "margin-of-nothing"),
    ],
)
def test_what_is_no_rule_is_refused(text: str, word: str, code: str) -> None:
    """The message names the word."""
    with pytest.raises(Refusal) as refused:
        read_rule(text)
    assert code_of(refused) == code
    assert word in refused.value.message


def test_an_unknown_clause_is_told_the_known_ones() -> None:
    """The hint lists them as they can be typed."""
    with pytest.raises(Refusal) as refused:
        read_rule("12 months; sometimes")
    for clause in ("from the last doing", "from the aim", "on the grid from 2025-01-31", "tolerance 10 %"):
        assert clause in refused.value.hint


# Which rules can be kept.


def rule_parts(*limbs: Limb, **others: Any) -> dict[str, Any]:
    """The arguments of ``build_rule``."""
    return {"limbs": limbs, **others}


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        (rule_parts(), "no-interval"),
        (rule_parts(YEAR, months(6)), "two-of-a-kind"),
        (rule_parts(HOURS_4000, hours(2000)), "two-of-a-kind"),
        (rule_parts(CalendarLimb(Span())), "not-an-interval"),
        (rule_parts(CalendarLimb(Span(1, 15))), "not-an-interval"),
        (rule_parts(months(-1)), "not-an-interval"),
        (rule_parts(months(1201)), "too-long"),
        (rule_parts(hours(0)), "amount-out-of-range"),
        (rule_parts(CountLimb(-1, "starts")), "amount-out-of-range"),
        (rule_parts(CountLimb(100, "h")), "too-fine"),
        (rule_parts(CountLimb(1, "start")), "not-a-unit"),
        (rule_parts(CountLimb(1, "Starts")), "not-a-unit"),
        (rule_parts(CountLimb(1, "hours")), "not-a-unit"),
        (rule_parts(CountLimb(1, "days")), "not-a-unit"),
        (rule_parts(CountLimb(1, "hourly")), "not-a-unit"),
        (rule_parts(CountLimb(1, "or")), "not-a-unit"),
        (rule_parts(CountLimb(1, "m")), "not-a-unit"),
        (rule_parts(CountLimb(1, "")), "not-a-unit"),
        (rule_parts(CountLimb(1, "engine starts")), "not-a-unit"),
        (rule_parts(YEAR, counts_from="grid"), "grid-without-date"),
        (rule_parts(YEAR, anchor_on=NEW_YEAR), "start-without-grid"),
        (rule_parts(HOURS_4000, anchor_counts=[("h", 0)]), "start-without-grid"),
        (rule_parts(HOURS_4000, counts_from="grid", anchor_on=NEW_YEAR), "start-of-nothing"),
        (rule_parts(HOURS_4000, counts_from="aim", anchor_on=NEW_YEAR), "start-of-nothing"),
        (rule_parts(HOURS_4000, counts_from="grid", anchor_counts=[("starts", 5)]), "start-of-nothing"),
        (rule_parts(HOURS_4000, counts_from="grid", anchor_counts=[("h", 0), ("h", 3600)]), "mark-twice"),
        (rule_parts(HOURS_4000, counts_from="grid", anchor_counts=[("h", -3600)]), "amount-out-of-range"),
        (rule_parts(YEAR, opens=[CountMargin(3600, "h")]), "margin-of-nothing"),
        (rule_parts(HOURS_4000, closes=[Span(days=30)]), "margin-of-nothing"),
        (rule_parts(HOURS_4000, closes=[CountMargin(5, "starts")]), "margin-of-nothing"),
        (rule_parts(YEAR, closes=[Span(months=12)]), "margin-too-wide"),
        (rule_parts(HOURS_4000, closes=[CountMargin(4000 * 3600, "h")]), "margin-too-wide"),
        (rule_parts(YEAR, closes=[Share(Fraction(1))]), "margin-too-wide"),
        (rule_parts(YEAR, closes=[Share(Fraction(0))]), "margin-too-wide"),
        (rule_parts(YEAR, closes=[Share(Fraction(1, 3))]), "too-fine"),
        (rule_parts(months(1), opens=[Span(days=28)]), "margin-too-wide"),
        (rule_parts(days(31), opens=[Span(months=1)]), "margin-too-wide"),
        (rule_parts(days(30), opens=[Span(days=30)]), "margin-too-wide"),
        (rule_parts(YEAR, opens=[Span(days=3), Span(days=5)]), "two-margins"),
        (rule_parts(YEAR, opens=[Share(Fraction(1, 10)), Span(days=5)]), "two-margins"),
        (rule_parts(YEAR, opens=[Span()]), "not-an-interval"),
        (rule_parts(HOURS_4000, opens=[CountMargin(0, "h")]), "amount-out-of-range"),
    ],
)
def test_rules_that_cannot_be_kept_are_refused(parts: dict[str, Any], code: str) -> None:
    """What the due list would drop or misread never becomes a rule."""
    with pytest.raises(Refusal) as refused:
        build_rule(**parts)
    assert code_of(refused) == code


@pytest.mark.parametrize(
    "parts",
    [
        rule_parts(months(1), opens=[Span(days=27)]),
        rule_parts(days(32), opens=[Span(months=1)]),
        rule_parts(YEAR, opens=[Span(months=11)], closes=[Share(Fraction(9999, 10000))]),
        rule_parts(YEAR, HOURS_4000, opens=[Span(days=30), CountMargin(3999 * 3600, "h")]),
        rule_parts(YEAR, counts_from="aim"),
        rule_parts(YEAR, counts_from="aim", anchor_on=NEW_YEAR),
        rule_parts(months(1200)),
    ],
)
def test_rules_at_the_bounds_are_kept(parts: dict[str, Any]) -> None:
    """The last margin that is smaller than its interval, the longest interval, the aim with and without a start."""
    assert build_rule(**parts).limbs == parts["limbs"]


def test_a_counter_grid_starts_at_zero_unless_told() -> None:
    """First marks stand in the order of the limits; a missing one is 0."""
    rule = build_rule([CountLimb(50, "starts"), HOURS_4000], "grid", anchor_counts=[("h", 7200)])
    assert rule.anchor_counts == (("starts", 0), ("h", 7200))


# Properties.

COUNTS_FROM: tuple[CountsFrom, ...] = ("done", "grid", "aim")
UNITS = st.sampled_from(["starts", "cycles", "lifts", "m3", "landings", "strokes", "revs"])
MINUTES = st.integers(1, 10**6).map(lambda minutes: minutes * 60)


@st.composite
def any_limbs(draw: st.DrawFn) -> list[Limb]:
    """One or more limits of different kinds, in any order."""
    limbs: list[Limb] = [
        CountLimb(draw(st.integers(1, 10**9)), unit) for unit in draw(st.lists(UNITS, max_size=2, unique=True))
    ]
    calendar = st.builds(Span, st.integers(1, 1200), st.just(0)) | st.builds(Span, st.just(0), st.integers(1, 36_525))
    if draw(st.booleans()):
        limbs.append(CalendarLimb(draw(calendar)))
    if not limbs or draw(st.booleans()):
        limbs.append(CountLimb(draw(MINUTES), "h"))
    return draw(st.permutations(limbs))


@st.composite
def any_margins(draw: st.DrawFn, limbs: list[Limb]) -> list[Margin]:
    """None, a share, or one margin for some of the limits, each smaller than its interval."""
    if draw(st.booleans()):
        return [Share(Fraction(draw(st.integers(1, 9999)), 10_000))]
    margins: list[Margin] = []
    for limb in limbs:
        if isinstance(limb, CountLimb):
            step = 60 if limb.unit == "h" else 1
            most = (limb.amount - 1) // step
            margins += [CountMargin(draw(st.integers(1, most)) * step, limb.unit)] if most else []
        elif limb.every.months > 1:
            margins.append(Span(months=draw(st.integers(1, limb.every.months - 1))))
        elif limb.every.days > 1:
            margins.append(Span(days=draw(st.integers(1, limb.every.days - 1))))
    return draw(st.lists(st.sampled_from(margins), unique=True)) if margins else []


@st.composite
def any_rule(draw: st.DrawFn) -> Rule:
    """A rule of any kind."""
    limbs = draw(any_limbs())
    counts_from = draw(st.sampled_from(COUNTS_FROM))
    units = [limb.unit for limb in limbs if isinstance(limb, CountLimb)]
    marks = (
        [(unit, draw(st.integers(0, 10**5)) * 60) for unit in draw(st.lists(st.sampled_from(units), unique=True))]
        if units
        else []
    )
    needs_date = counts_from == "grid" and len(units) < len(limbs)
    gets_date = needs_date or (counts_from == "aim" and len(units) < len(limbs) and draw(st.booleans()))
    opens = draw(any_margins(limbs))
    return build_rule(
        limbs,
        counts_from,
        draw(st.dates()) if gets_date else None,
        marks if counts_from != "done" else [],
        opens,
        opens if draw(st.booleans()) else draw(any_margins(limbs)),
    )


@given(any_rule())
def test_every_rule_reads_back_as_written(rule: Rule) -> None:
    """Reading the one written form gives the same rule, and writing it again the same form."""
    text = write_rule(rule)
    assert read_rule(text) == rule
    assert write_rule(read_rule(text)) == text
    assert "\n" not in text


@given(any_rule())
def test_intervals_and_margins_read_back_as_written(rule: Rule) -> None:
    """Each part by itself."""
    assert parse_interval(write_interval(rule.limbs)) == rule.limbs
    assert parse_margins(write_margins(rule.opens)) == rule.opens


CLAUSE_WORDS = (
    "0 1 12 4000 1.5 4,000 1:30 000 h hours m months month days D Y y P1Y6M PT8H P1M2D or and / , ; - % every a to six "
    "monthly yearly starts m3 whichever first last opens before tolerance from the aim on grid 2025-01-31"
)
ANY_TEXT = st.one_of(st.lists(st.sampled_from(CLAUSE_WORDS.split()), max_size=10).map(" ".join), st.text(max_size=30))


@given(ANY_TEXT)
def test_any_text_is_read_or_refused(text: str) -> None:
    """Nothing but a Refusal is raised, and what is read reads back."""
    try:
        limbs = parse_interval(text)
    except Refusal:
        return
    assert parse_interval(write_interval(limbs)) == limbs


@given(ANY_TEXT)
def test_any_choice_of_one_limit_is_clear(text: str) -> None:
    """What is offered instead of an unclear limit is never refused itself."""
    choices: tuple[str, ...] = ()
    try:
        read_limb(text)
    except Ambiguous as refused:
        choices = refused.choices
    except Refusal:
        return
    assert all(read_limb(choice) for choice in choices)


@given(ANY_TEXT)
def test_any_line_is_read_as_a_rule_or_refused(text: str) -> None:
    """Nothing but a Refusal is raised, and what is read reads back."""
    try:
        rule = read_rule(text)
    except Refusal:
        return
    assert read_rule(write_rule(rule)) == rule


@given(st.text(max_size=12))
def test_any_word_that_may_name_a_unit_reads_back(word: str) -> None:
    """Whatever word a rule lets a counter count, the written rule keeps it."""
    try:
        rule = build_rule([CountLimb(3600, word), YEAR], opens=[CountMargin(1800, word)])
    except Refusal:
        return
    assert read_rule(write_rule(rule)) == rule
