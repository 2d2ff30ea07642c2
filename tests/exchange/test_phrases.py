"""Cells that say several things at once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.exchange import phrases
from pmsched.exchange.rows import Follow, GridStart, Start

Read = Callable[[str], Any]
NEW_YEAR = date(2024, 1, 1)
HALF = Fraction(1, 2)


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("ME-H", (Follow("ME-H"),)),
        ("ME-H 1/2", (Follow("ME-H", HALF),)),
        ("ME-H 50 %", (Follow("ME-H", HALF),)),
        ("ME-H 33,3%", (Follow("ME-H", Fraction(333, 1000)),)),
        ("ME-H from 2024-01-01", (Follow("ME-H", Fraction(1), NEW_YEAR),)),
        ("ME-H 1/2 From 1 Jan 2024", (Follow("ME-H", HALF, NEW_YEAR),)),
        ("AE 1 H  1 / 2; AE1-S;", (Follow("AE 1 H", HALF), Follow("AE1-S"))),
        ("A; A from 2024-01-01", (Follow("A"), Follow("A", Fraction(1), NEW_YEAR))),
    ],
)
def test_counters_a_machine_counts_on(text: str, value: tuple[Follow, ...]) -> None:
    """Code, then share, then first date; codes may hold blanks."""
    assert phrases.read_counts_on(text) == value


@pytest.mark.parametrize(
    ("read", "text", "value"),
    [
        pytest.param(
            phrases.read_amounts, "20000 h; 640 starts", (("h", 72_000_000), ("starts", 640)), id="hours-and-starts"
        ),
        pytest.param(phrases.read_amounts, "12 345.5h", (("h", 12_345 * 3600 + 1800),), id="half-hour"),
        pytest.param(phrases.read_amounts, "12345:30 hours", (("h", 12_345 * 3600 + 1800),), id="hours-minutes"),
        pytest.param(
            phrases.read_amounts,
            "12345:20; 9 starts",
            (("h", 12_345 * 3600 + 1200), ("starts", 9)),
            id="hours-minutes-bare",
        ),
        pytest.param(phrases.read_amounts, "0 h", (("h", 0),), id="new"),
        pytest.param(phrases.read_grid_from, "2025-01-31", GridStart(date(2025, 1, 31)), id="grid-date"),
        pytest.param(phrases.read_grid_from, "10000 h", GridStart(None, (("h", 36_000_000),)), id="grid-mark"),
        pytest.param(
            phrases.read_grid_from,
            "31 Jan 2025 and 10000 h; 5 starts",
            GridStart(date(2025, 1, 31), (("h", 36_000_000), ("starts", 5))),
            id="grid-both",
        ),
        pytest.param(
            phrases.read_grid_from,
            "100 h, 2025-01-31",
            GridStart(date(2025, 1, 31), (("h", 360_000),)),
            id="grid-comma",
        ),
        pytest.param(phrases.read_starts, "Due  at once", Start(), id="due-at-once"),
        pytest.param(phrases.read_starts, "from 2024-01-01", Start(NEW_YEAR), id="from-a-date"),
        pytest.param(
            phrases.read_starts, "from 2024-01-01 at 1200 h", Start(NEW_YEAR, (("h", 4_320_000),)), id="from-hours"
        ),
        pytest.param(
            phrases.read_starts,
            "from 1 Jan 2024 at 1200 h; 3 starts",
            Start(NEW_YEAR, (("h", 4_320_000), ("starts", 3))),
            id="from-hours-and-starts",
        ),
        pytest.param(phrases.read_hours, "3300", 11_880_000, id="hours"),
        pytest.param(phrases.read_hours, "3300,5 h", 11_881_800, id="hours-with-unit"),
    ],
)
def test_phrase_reads(read: Read, text: str, value: object) -> None:
    """Each phrase gives exactly this value; hours are whole seconds."""
    assert read(text) == value


@pytest.mark.parametrize(
    ("read", "text", "code"),
    [
        pytest.param(phrases.read_share, "0/2", "not-a-share", id="nothing"),
        pytest.param(phrases.read_share, "3/2", "not-a-share", id="more-than-all"),
        pytest.param(phrases.read_share, "1/0", "not-a-share", id="over-zero"),
        pytest.param(phrases.read_share, "101 %", "not-a-share", id="over-hundred"),
        pytest.param(phrases.read_share, "half", "not-a-share", id="half"),
        pytest.param(phrases.read_counts_on, "ME-H 3/2", "not-a-share", id="share-in-phrase"),
        pytest.param(phrases.read_counts_on, "ME-H from 01/02/2024", "ambiguous-date", id="date-in-phrase"),
        pytest.param(phrases.read_counts_on, "ME-H; ME-H 1/2", "counter-twice", id="counter-twice"),
        pytest.param(phrases.read_amounts, "20000", "not-an-amount", id="no-unit"),
        pytest.param(phrases.read_amounts, "14:30", "not-an-amount", id="time-of-day"),
        pytest.param(phrases.read_amounts, "h 20000", "not-an-amount", id="unit-first"),
        pytest.param(phrases.read_amounts, "-5 h", "not-an-amount", id="below-zero"),
        pytest.param(phrases.read_amounts, "5 h; 6 hours", "unit-twice", id="unit-twice"),
        pytest.param(phrases.read_amounts, "3 months", "not-a-unit", id="months-are-not-counted"),
        pytest.param(phrases.read_amounts, "20,000 h", "ambiguous-number", id="thousands-or-decimals"),
        pytest.param(phrases.read_amounts, "6.5 starts", "too-fine", id="half-a-start"),
        pytest.param(phrases.read_grid_from, "2025-01-31; 2025-02-28", "date-twice", id="two-dates"),
        pytest.param(phrases.read_grid_from, "soon", "not-a-date", id="soon"),
        pytest.param(phrases.read_starts, "2025-01-01", "not-a-start", id="no-from"),
        pytest.param(phrases.read_starts, "from 2025-01-01 at noon", "not-an-amount", id="at-noon"),
        pytest.param(phrases.read_hours, "3300 starts", "not-a-number", id="hours-of-starts"),
    ],
)
def test_phrase_is_refused(read: Read, text: str, code: str) -> None:
    """Each phrase is refused for this reason."""
    with pytest.raises(Refusal) as refused:
        read(text)
    assert refused.value.code == code


def test_choices_of_an_amount_can_be_typed() -> None:
    """What is offered instead reads well."""
    with pytest.raises(Ambiguous) as refused:
        phrases.read_amounts("20,000 h")
    assert [phrases.read_amounts(choice) for choice in refused.value.choices] == [
        (("h", 72_000_000),),
        (("h", 72_000),),
    ]


def test_due_at_once_and_a_date_differ() -> None:
    """A start without a date means due now."""
    assert Start().due_at_once
    assert not Start(NEW_YEAR).due_at_once


@given(st.fractions(min_value=0, max_value=1, max_denominator=10_000).filter(bool))
def test_every_share_reads_exactly(share: Fraction) -> None:
    """No rounding on the way in."""
    assert phrases.read_share(f"{share.numerator}/{share.denominator}") == share


@given(st.integers(1, 10_000))
def test_every_percentage_reads_exactly(hundredths: int) -> None:
    """Two decimals of a per cent, exactly."""
    assert phrases.read_share(f"{hundredths // 100}.{hundredths % 100:02d} %") == Fraction(hundredths, 10_000)
