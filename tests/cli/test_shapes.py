"""Amounts, offsets and instants as ``--json`` prints them."""

from __future__ import annotations

from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.cli.shapes import amount, offset
from pmsched.exchange.stamps import at_offset, hours, utc


@pytest.mark.parametrize(
    ("seconds", "text"),
    [
        (0, "0"),
        (10_513_800, "2920.5"),
        (36_000, "10"),
        (360, "0.1"),
        (60, "0.0167"),
        (-360, "-0.1"),
        (3_600_000_000, "1000000"),
    ],
)
def test_hours_are_decimal_text(seconds: int, text: str) -> None:
    """As few decimals as are needed, four at most, never an exponent."""
    assert hours(seconds) == text


@given(st.integers(min_value=-(10**15), max_value=10**15))
def test_the_second_can_be_told_from_the_hours(seconds: int) -> None:
    """Four decimals lose nothing: the nearest whole second is the one it came from."""
    assert round(Decimal(hours(seconds)) * 3600) == seconds


@pytest.mark.parametrize(
    ("value", "unit", "shown"), [(7200, "h", "2"), (640, "starts", 640), (None, "h", None), (None, "m3", None)]
)
def test_amount_by_unit(value: int | None, unit: str, shown: object) -> None:
    """Hours are text, other amounts whole numbers, the unknown null."""
    assert amount(value, unit) == shown


@pytest.mark.parametrize(("minutes", "text"), [(0, "+00:00"), (480, "+08:00"), (-210, "-03:30"), (345, "+05:45")])
def test_offset_as_in_iso_8601(minutes: int, text: str) -> None:
    """Sign, two digits of hours, two of minutes."""
    assert offset(minutes) == text


def test_instants() -> None:
    """UTC with a Z, ship's time with its offset."""
    assert utc(1_700_000_000) == "2023-11-14T22:13:20Z"
    assert at_offset(1_700_000_000, 480) == "2023-11-15T06:13:20+08:00"
    assert at_offset(None, 480) is None
