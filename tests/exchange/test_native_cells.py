"""What a spreadsheet keeps in a cell, written as a person would have: or refused, where it can mean more than one thing."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.counts import Meter, parse_count
from pmsched.domain.errors import Refusal
from pmsched.exchange.decimals import decimal_text, minutes_text
from pmsched.exchange.kinds import KINDS
from pmsched.exchange.native_cells import Native, shown, text_of

NOON = datetime(2025, 3, 4, 12, 30)  # noqa: DTZ001 - workbooks know no zones
DAY = datetime(2025, 3, 4)  # noqa: DTZ001


@pytest.mark.parametrize(
    ("value", "shown_as", "kind", "expected"),
    [
        pytest.param("4000 h", "General", "interval", "4000 h", id="text-stays"),
        pytest.param(" a\nb ", "General", "lines", " a\nb ", id="text-with-line-break-stays"),
        pytest.param("a_x000D_\nb", "General", "lines", "a\nb", id="carriage-return-of-other-programs"),
        pytest.param(None, "General", "text", "", id="blank"),
        pytest.param(101.0, "General", "code", "101", id="code-made-a-number"),
        pytest.param(101, "General", "code", "101", id="code-whole-number"),
        pytest.param(7, "000", "code", "007", id="code-with-leading-noughts"),
        pytest.param(1.1, "0.00", "code", "1.10", id="code-with-decimals-shown"),
        pytest.param(1.1, "General", "code", "1.1", id="code-with-a-point"),
        pytest.param(3, "General", "text", "3", id="unit-made-a-number"),
        pytest.param(6.0, "General", "units", "6", id="number-of-units"),
        pytest.param(True, "General", "yes/no", "TRUE", id="true"),
        pytest.param(False, "General", "yes/no", "FALSE", id="false"),
        pytest.param(1, "General", "yes/no", "1", id="one-for-yes"),
        pytest.param(40.0, "General", "whole number", "40", id="whole-number"),
        pytest.param(-5, "General", "whole number", "-5", id="whole-number-below-nought"),
        pytest.param(DAY, "yyyy-mm-dd", "date", "2025-03-04", id="date"),
        pytest.param(date(2025, 3, 4), "General", "date", "2025-03-04", id="date-without-time"),
        pytest.param(45720, "General", "date", "2025-03-04", id="day-number"),
        pytest.param(45720.0, "0.00", "date", "2025-03-04", id="day-number-with-decimals"),
        pytest.param(DAY, "dd.mm.yyyy", "grid from", "2025-03-04", id="first-date-of-a-grid"),
        pytest.param(DAY, "dd.mm.yyyy", "long text", "2025-03-04", id="date-in-a-remark"),
        pytest.param(time(14, 30), "hh:mm", "time", "14:30", id="time"),
        pytest.param(time(), "hh:mm", "time", "00:00", id="midnight"),
        pytest.param(timedelta(hours=14, minutes=30), "[h]:mm", "time", "14:30", id="time-as-a-duration"),
        pytest.param(0.604166666666667, "hh:mm", "time", "14:30", id="time-as-part-of-a-day"),
        pytest.param(1234, "#,##0", "code", "1234", id="code-with-thousands-parted"),
        pytest.param(7, "@", "code", "7", id="code-number-in-a-text-cell"),
        pytest.param(7, "GENERAL", "code", "7", id="general-in-capitals"),
        pytest.param(7, "000", "counts on", "007", id="counter-with-leading-noughts"),
        pytest.param(timedelta(hours=12345, minutes=20), "[h]:mm", "amounts", "12345:20", id="running-total-as-a-duration"),
        pytest.param(12345 + 1 / 3, "General", "amounts", "12345:20", id="running-total-reckoned-from-minutes"),
        pytest.param(12345 + 1 / 3, '0.0" h"', "amounts", "12345:20 h", id="running-total-with-its-unit"),
        pytest.param(1430, "General", "time", "1430", id="time-without-colon"),
        pytest.param(12345.5, "General", "count", "12345.5", id="count"),
        pytest.param(12345, "#,##0", "count", "12345", id="count-whole"),
        pytest.param(0.1 + 0.2, "General", "count", "0.3", id="noise-of-a-sum"),
        pytest.param(1e16, "General", "count", "10000000000000000", id="no-exponent"),
        pytest.param(12345.0 + 20 / 60, "General", "count", "12345:20", id="minutes-reckoned-as-hours"),
        pytest.param(timedelta(hours=12345, minutes=30), "[h]:mm", "count", "12345:30", id="hours-as-a-duration"),
        pytest.param(timedelta(days=514, seconds=34199.9999), "[h]:mm", "count", "12345:30", id="noise-of-a-duration"),
        pytest.param(time(8, 15), "h:mm", "hours", "8:15", id="hours-under-a-day"),
        pytest.param(timedelta(hours=1, seconds=30), "[h]:mm:ss", "hours", "1:00:30", id="seconds-are-kept-to-be-refused"),
        pytest.param(0.1, "0%", "margins", "10 %", id="percent"),
        pytest.param(0.125, "0.0%", "margins", "12.5 %", id="percent-with-decimals"),
        pytest.param(20000, '#,##0" h"', "amounts", "20000 h", id="unit-that-the-format-shows"),
        pytest.param(500, 'General "h"', "interval", "500 h", id="unit-behind-general"),
        pytest.param(500, "General", "interval", "500", id="no-unit-is-invented"),
        pytest.param(3, "General", "offset", "+3", id="offset-east"),
        pytest.param(-3, "General", "offset", "-3", id="offset-west"),
        pytest.param(time(5, 30), "h:mm", "offset", "+5:30", id="offset-as-a-time"),
        pytest.param("#REF!", "General", "text", "#REF!", id="error-is-left-to-the-reader"),
    ],
)  # fmt: skip
def test_what_a_cell_says(value: Any, shown_as: str, kind: Any, expected: str) -> None:
    """The text that the reader of the column takes."""
    assert text_of(Native(value, shown_as), kind) == expected


@pytest.mark.parametrize(
    ("value", "shown_as", "kind", "code", "words"),
    [
        pytest.param(NOON, "General", "date", "date-with-time", "12:30", id="date-with-a-time"),
        pytest.param(45720.5, "General", "date", "date-with-time", "12:00", id="day-number-with-a-time"),
        pytest.param(2025, "General", "date", "not-a-date", "2025", id="year"),
        pytest.param(20250304, "General", "date", "not-a-date", "20250304", id="digits-of-a-date"),
        pytest.param(-1, "General", "date", "not-a-date", "-1", id="day-number-below-nought"),
        pytest.param(DAY, "d-mmm", "code", "became-a-date", "Text", id="code-made-a-date"),
        pytest.param(DAY, "d-mmm", "interval", "became-a-date", "2025-03-04", id="interval-made-a-date"),
        pytest.param(DAY, "d-mmm", "text", "became-a-date", "2025-03-04", id="unit-made-a-date"),
        pytest.param(time(1, 2), "h:mm", "code", "became-a-date", "a time", id="code-made-a-time"),
        pytest.param(100000.0, "0.00E+00", "code", "became-a-number", "100000", id="code-made-a-power"),
        pytest.param(7, '"J-"000', "code", "shown-otherwise", "holds 7", id="code-half-of-which-is-format"),
        pytest.param(7, "\\J000", "text", "shown-otherwise", "holds 7", id="unit-half-of-which-is-format"),
        *(
            pytest.param(value, shown_as, "code", "shown-otherwise", f"holds {value}", id=f"code-shown-as-{shown_as}")
            for value, shown_as in (
                (1234, "00-00"),
                (7, "000;-000"),
                (7, "[$-409]000"),
                (3.7, "0"),
                (3.7, "000"),
                (-7, "000"),
                (1200, "0,"),
                (0.5, "# ?/?"),
                (0.5, "#,##0"),
                (1.25, "0.0"),
                (0.1, "0%"),
                (5, ";;;"),
                (7, "000_)"),
            )
        ),
        *(
            pytest.param(value, "General", "time", "not-a-time", f"The number {value}", id=f"time-typed-{value}")
            for value in (0.3, 0.5, 0.83)
        ),
        pytest.param(0.3, '0.00" h"', "time", "not-a-time", "7:12", id="time-typed-with-a-unit"),
        pytest.param(datetime(1900, 1, 12), "d-mmm", "date", "not-a-date", "1900", id="number-shown-as-a-date"),  # noqa: DTZ001
        pytest.param(date(1949, 12, 31), "d-mmm", "date", "not-a-date", "1949", id="date-too-early"),
        pytest.param(date(2200, 1, 1), "d-mmm", "grid from", "not-a-date", "2200", id="first-date-too-late"),
        pytest.param(datetime(1900, 1, 12), "d-mmm", "long text", "not-a-date", "1900", id="remark-shown-as-a-date"),  # noqa: DTZ001
        pytest.param(time(8, 15), "h:mm", "amounts", "became-a-date", "a time", id="time-of-day-for-a-running-total"),
        pytest.param(1.2e17, "0", "code", "digits-lost", "15 digits", id="serial-number-cut-short"),
        pytest.param(NOON, "h:mm", "count", "date-for-a-count", "2025-03-04", id="date-for-a-count"),
        pytest.param(DAY, "General", "time", "time-with-date", "2025-03-04", id="date-for-a-time"),
        pytest.param(timedelta(hours=30), "[h]:mm", "time", "no-such-time", "30:00", id="thirty-o-clock"),
        pytest.param(timedelta(hours=-1), "[h]:mm", "time", "no-such-time", "-1:00", id="time-below-nought"),
        pytest.param(float("nan"), "General", "count", "not-a-number", "Write it again", id="no-number"),
        pytest.param(float("inf"), "General", "code", "not-a-number", "Write it again", id="endless"),
    ],
)
def test_what_a_cell_may_not_say(value: Any, shown_as: str, kind: Any, code: str, words: str) -> None:
    """Told with what was found and what to do; nothing is guessed."""
    with pytest.raises(Refusal) as refused:
        text_of(Native(value, shown_as), kind)
    assert refused.value.code == code
    assert words in str(refused.value)
    assert refused.value.hint


def test_a_formula_without_result_is_refused() -> None:
    """It may be anything."""
    with pytest.raises(Refusal) as refused:
        text_of(Native(None, no_result=True), "text")
    assert refused.value.code == "formula-without-value"
    assert not Native(None, no_result=True).blank


@pytest.mark.parametrize(
    ("since_1904", "days"), [pytest.param(False, 45720, id="since-1900"), pytest.param(True, 44258, id="since-1904")]
)
def test_day_numbers_of_both_calendars(since_1904: bool, days: int) -> None:
    """The two calendars are 1462 days apart (ECMA-376 part 1, 18.17.4.1; from memory)."""
    assert text_of(Native(days), "date", since_1904=since_1904) == "2025-03-04"


@pytest.mark.parametrize(
    ("first", "last", "since_1904"), [(18_264, 109_574, False), (18_264 - 1_462, 109_574 - 1_462, True)]
)
def test_day_numbers_end_where_they_could_be_something_else(first: int, last: int, since_1904: bool) -> None:
    """From 1950 to 2199: the numbers of the years themselves lie before."""
    assert text_of(Native(first), "date", since_1904=since_1904) == "1950-01-01"
    assert text_of(Native(last), "date", since_1904=since_1904) == "2199-12-31"
    for days in (first - 1, last + 1):
        with pytest.raises(Refusal):
            text_of(Native(days), "date", since_1904=since_1904)


@given(st.integers(0, 10**9), st.sampled_from([1, 10, 100]))
def test_short_decimals_come_back_exactly(digits: int, parts: int) -> None:
    """What was typed with up to two decimals is what is read."""
    assert Fraction(decimal_text(digits / parts)) == Fraction(digits, parts)


@given(st.integers(0, 10**7))
def test_minutes_come_back_exactly(minutes: int) -> None:
    """Hours reckoned from minutes are these minutes again, whichever way they are written."""
    value = minutes / 60
    text = minutes_text(value) or decimal_text(value)
    assert parse_count(text, Meter("h", "h:min")) == minutes * 60


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        pytest.param(12345.5 + 9e-10, "12345.5", id="nearer-than-a-thousand-millionth"),
        pytest.param(0.30000001, "0.30000001", id="not-so-near"),
        pytest.param(1 / 3, "0.3333333333333333", id="a-third"),
        pytest.param(-0.0, "0", id="nought-below-nought"),
        pytest.param(1e300, "1" + "0" * 300, id="huge"),
    ],
)
def test_noise_is_forgiven_and_nothing_else(value: float, expected: str) -> None:
    """What is no short decimal stays as it is, for its reader to refuse."""
    assert decimal_text(value) == expected


VALUES = (
    st.none()
    | st.text(max_size=8)
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.dates()
    | st.datetimes()
    | st.times()
    | st.timedeltas()
)
FORMATS = st.sampled_from(["General", "@", "0", "000", "0.00", "0%", "0.00E+00", '#,##0" h"', "yyyy-mm-dd", "[h]:mm"])


@given(VALUES, FORMATS, st.sampled_from(sorted(KINDS)), st.booleans())
def test_any_value(value: Any, shown_as: str, kind: Any, since_1904: bool) -> None:
    """It is a text or a refusal, and can be shown; the reader of the column then reads or refuses it."""
    cell = Native(value, shown_as)
    assert isinstance(shown(cell), str)
    try:
        text = text_of(cell, kind, since_1904=since_1904)
        if text.strip():
            KINDS[kind].read(text)
    except Refusal as refusal:
        assert refusal.code  # noqa: PT017 - either way is right; a crash is not
