"""Reading and writing amounts on counters: exact, both ways, and nothing guessed."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.counts import (
    HOURS,
    READS,
    Meter,
    format_amount,
    format_count,
    format_hours,
    parse_count,
    parse_number,
)
from pmsched.domain.errors import Ambiguous, Refusal

WHOLE, TENTHS, MINUTES = (Meter(HOURS, reads) for reads in READS)
STARTS = Meter("starts")
METERS = (WHOLE, TENTHS, MINUTES, STARTS, Meter("m3"))


@pytest.mark.parametrize(
    ("text", "meter", "expected"),
    [
        ("12345", WHOLE, 12345 * 3600),
        ("0", WHOLE, 0),
        ("  12345 ", WHOLE, 12345 * 3600),
        ("12 345", WHOLE, 12345 * 3600),
        ("12\u00a0345", WHOLE, 12345 * 3600),
        ("12\u202f345", WHOLE, 12345 * 3600),
        ("1 234 567", WHOLE, 1234567 * 3600),
        ("1,234,567", WHOLE, 1234567 * 3600),
        ("12345.0", WHOLE, 12345 * 3600),
        ("0.1", TENTHS, 360),
        ("12345.6", TENTHS, 12345 * 3600 + 6 * 360),
        ("12345,6", TENTHS, 12345 * 3600 + 6 * 360),
        ("12 345,5", TENTHS, 12345 * 3600 + 1800),
        ("12345.60", TENTHS, 12345 * 3600 + 6 * 360),
        ("0.500", TENTHS, 1800),
        ("12345:30", TENTHS, 12345 * 3600 + 1800),
        ("12345:30", MINUTES, 12345 * 3600 + 1800),
        ("12 345:07", MINUTES, 12345 * 3600 + 420),
        ("0.25", MINUTES, 900),
        ("640", STARTS, 640),
        ("12 345", STARTS, 12345),
        ("12,345.5", TENTHS, 12345 * 3600 + 1800),
        ("12.345,5", TENTHS, 12345 * 3600 + 1800),
        ("1,234,567.5", TENTHS, 1234567 * 3600 + 1800),
        ("12'345.5", TENTHS, 12345 * 3600 + 1800),
        ("12\u2019345,5", TENTHS, 12345 * 3600 + 1800),
        ("12\u2009345:30", MINUTES, 12345 * 3600 + 1800),
        ("1'234'567", STARTS, 1234567),
        ("12,345.0", STARTS, 12345),
        ("640.0", STARTS, 640),
    ],
)
def test_reads(text: str, meter: Meter, expected: int) -> None:
    """Every accepted way of writing gives the exact amount."""
    assert parse_count(text, meter) == expected


@pytest.mark.parametrize(
    ("text", "meter", "choices"),
    [
        ("12,345", WHOLE, ("12345",)),
        ("12.345", WHOLE, ("12345",)),
        ("12.000", WHOLE, ("12000", "12")),
        ("12,500", TENTHS, ("12500", "12.5")),
        ("12,345", TENTHS, ("12345",)),
        ("12.250", MINUTES, ("12250", "12.25")),
        ("1,000", STARTS, ("1000", "1")),
        ("1,500", STARTS, ("1500",)),
    ],
)
def test_a_mark_that_may_part_thousands_or_decimals_is_refused(
    text: str, meter: Meter, choices: tuple[str, ...]
) -> None:
    """Only what the dial can show is offered, and each choice is clear when typed."""
    with pytest.raises(Ambiguous) as refused:
        parse_count(text, meter)
    assert (refused.value.code, refused.value.choices) == ("ambiguous-number", choices)
    assert all(parse_count(choice, meter) >= 0 for choice in choices)


@pytest.mark.parametrize(
    ("text", "meter", "code", "hint"),
    [
        ("12345.5", WHOLE, "too-fine", "Write 12345."),
        ("12345:30", WHOLE, "too-fine", "Write 12345."),
        ("12345.67", TENTHS, "too-fine", "Write 12345.6."),
        ("12345:31", TENTHS, "too-fine", "Write 12345.5."),
        ("12345.01", MINUTES, "too-fine", "Write 12345:00."),
        ("0.33333", MINUTES, "too-fine", "Write 0:19."),
        ("640.5", STARTS, "too-fine", "Write 640."),
        ("-5", WHOLE, "negative-number", "Write it without the minus sign."),
        ("\u22125", WHOLE, "negative-number", "Write it without the minus sign."),
        ("640:30", STARTS, "not-a-number", "Write digits, such as 12345 or 12345.5."),
    ],
)
def test_refuses_what_the_dial_cannot_show(text: str, meter: Meter, code: str, hint: str) -> None:
    """Each refusal has its code and says what to write."""
    with pytest.raises(Refusal) as refused:
        parse_count(text, meter)
    assert (refused.value.code, refused.value.hint) == (code, hint)


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "h", "12345 h", "12a45", "1e5", "+5", ".5", "5.", "5:", ":30", "12345:60", "12345:5", "1:30:15", "12,34,567",
        "1234 567", "12 34", "1.234,56.7", "12,34.5", "1.234.5", "12  345", "12''345", "'12", "0x10", "nan", "inf", "\u0661\u0662", "\u00bd", "9" * 16, "9" * 5000,
    ],
)  # fmt: skip
@pytest.mark.parametrize("meter", [MINUTES, STARTS], ids=["hours", "starts"])
def test_refuses_junk(text: str, meter: Meter) -> None:
    """What is not a number is called so."""
    with pytest.raises(Refusal) as refused:
        parse_count(text, meter)
    assert refused.value.code == "not-a-number"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("12.5", Fraction(25, 2)),
        ("0.1", Fraction(1, 10)),
        ("33,33", Fraction(3333, 100)),
        ("1 000.25", Fraction(4001, 4)),
    ],
)
def test_a_number_is_exact(text: str, expected: Fraction) -> None:
    """Decimals are kept as fractions."""
    assert parse_number(text) == expected


@pytest.mark.parametrize(("text", "choices"), [("12,345", ("12345", "12.3450")), ("4.000", ("4000", "4"))])
def test_choices_of_a_number_are_clear_when_typed(text: str, choices: tuple[str, str]) -> None:
    """Both readings are offered, a thousandfold apart."""
    with pytest.raises(Ambiguous) as refused:
        parse_number(text)
    assert refused.value.choices == choices
    assert parse_number(choices[0]) == 1000 * parse_number(choices[1])


@given(st.sampled_from(METERS), st.integers(-(10**8), 10**8))
def test_what_is_written_reads_back(meter: Meter, steps: int) -> None:
    """Reading what was written gives the same amount."""
    value = steps * meter.step
    written = format_count(value, meter)
    if value >= 0:
        assert parse_count(written, meter) == value
    else:
        assert written == f"-{format_count(-value, meter)}"


@given(st.sampled_from(METERS), st.integers(0, 10**8), st.sampled_from(["\u00a0", "\u202f", "\u2009", ""]))
def test_any_space_between_thousands_reads_alike(meter: Meter, steps: int, space: str) -> None:
    """Plain, no-break and thin spaces, or none."""
    value = steps * meter.step
    assert parse_count(format_count(value, meter).replace(" ", space), meter) == value


@given(st.text(alphabet="0123456789.,: -\u00a0h", max_size=14), st.sampled_from(METERS))
def test_any_text_is_read_on_the_step_or_refused(text: str, meter: Meter) -> None:
    """Nothing but a Refusal is raised, and no amount between two steps of the dial is let in."""
    try:
        value = parse_count(text, meter)
    except Refusal:
        return
    assert value >= 0
    assert value % meter.step == 0


@pytest.mark.parametrize(
    ("seconds", "expected"),
    [
        (0, "0"),
        (1800, "0.5"),
        (36, "0.01"),
        (35, "0"),
        (2920 * 3600, "2 920"),
        (10 * 3600 + 2700, "10.75"),
        (1234567 * 3600 + 360, "1 234 567.1"),
        (-1800, "-0.5"),
        (-35, "0"),
        (-1234 * 3600, "-1 234"),
    ],
)
def test_hours_are_written_without_needless_decimals(seconds: int, expected: str) -> None:
    """At most two decimals, cut towards zero."""
    assert format_hours(seconds) == expected


@pytest.mark.parametrize(
    ("value", "meter", "expected"),
    [
        (12345 * 3600 + 1800, MINUTES, "12 345:30"),
        (12345 * 3600 + 1800, TENTHS, "12 345.5"),
        (12345 * 3600, WHOLE, "12 345"),
        (640, STARTS, "640"),
        (-5460, MINUTES, "-1:31"),
        (-59, MINUTES, "0:00"),
        (-1234, STARTS, "-1 234"),
    ],
)
def test_counts_are_written_as_the_dial_shows_them(value: int, meter: Meter, expected: str) -> None:
    """In hours and minutes, decimals or whole units."""
    assert format_count(value, meter) == expected


@pytest.mark.parametrize(
    ("value", "unit", "expected"),
    [(2920 * 3600, "h", "2 920 h"), (360, "starts", "360 starts"), (-2000, "m3", "-2 000 m3"), (900, "h", "0.25 h")],
)
def test_amounts_are_written_with_their_unit(value: int, unit: str, expected: str) -> None:
    """As they stand in sentences."""
    assert format_amount(value, unit) == expected


@pytest.mark.parametrize(
    ("meter", "step"), [(WHOLE, 3600), (TENTHS, 360), (MINUTES, 60), (STARTS, 1), (Meter("m3", "tenths"), 1)]
)
def test_step_of_the_dial(meter: Meter, step: int) -> None:
    """Seconds for hours, one for everything else."""
    assert meter.step == step
