"""Dates and times of day in cells: what can mean one thing only is read, everything else is refused with the choices."""

from __future__ import annotations

from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.exchange.dates import read_date, read_date_time, read_time

MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip


@pytest.mark.parametrize(
    "text",
    [
        "2025-03-04",
        "2025-3-4",
        " 2025-03-04 ",
        "4 Mar 2025",
        "04 Mar. 2025",
        "4 March 2025",
        "4-MAR-2025",
        "4  mar 2025",
    ],
)
def test_one_day_in_its_written_forms(text: str) -> None:
    """Year-month-day, or the month as an English word."""
    assert read_date(text) == date(2025, 3, 4)


@pytest.mark.parametrize(
    ("text", "choices"),
    [
        ("03/04/2025", ("2025-03-04", "2025-04-03")),
        ("3.4.2025", ("2025-03-04", "2025-04-03")),
        ("03-04-2025", ("2025-03-04", "2025-04-03")),
        ("25/12/2025", ("2025-12-25",)),
        ("12/25/2025", ("2025-12-25",)),
        ("04/04/2025", ("2025-04-04",)),
        ("29/02/2024", ("2024-02-29",)),
    ],
)
def test_two_numbers_are_never_guessed(text: str, choices: tuple[str, ...]) -> None:
    """The order of day and month is a habit; only the readings that exist are offered, month first."""
    with pytest.raises(Ambiguous) as refused:
        read_date(text)
    assert refused.value.code == "ambiguous-date"
    assert refused.value.choices == choices


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("2025-02-30", "no-such-date", "February 2025 has no day 30. Its last day is 2025-02-28."),
        ("30 Feb 2024", "no-such-date", "Its last day is 2024-02-29."),
        ("2025-04-31", "no-such-date", "Its last day is 2025-04-30."),
        ("2025-00-10", "no-such-date", "There is no month 0."),
        ("2025-13-10", "no-such-date", "There is no month 13."),
        ("2025-01-00", "no-such-date", "has no day 0"),
        ("0000-01-01", "no-such-date", "no year 0"),
        ("31/31/2025", "no-such-date", "There is no date 31/31/2025."),
        ("04/03/25", "two-digit-year", "a year of two digits"),
        ("4.3.25", "two-digit-year", "a year of two digits"),
        ("4 Mar 25", "two-digit-year", "a year of two digits"),
        ("4 Mar '25", "two-digit-year", "a year of two digits"),
        ("4 Maart 2025", "unknown-month", "'Maart' is not a month."),
        ("45720", "not-a-date", "Write it like 2025-03-04"),
        ("2025", "not-a-date", "Write it like 2025-03-04"),
        ("20250304", "not-a-date", "Write it like 2025-03-04"),
        ("2025-W10-2", "not-a-date", "Write it like 2025-03-04"),
        ("4 Mar", "not-a-date", "Write it like 2025-03-04"),
        ("yesterday", "not-a-date", "Write it like 2025-03-04"),
        ("٢٠٢٥-٠٣-٠٤", "not-a-date", "Write it like 2025-03-04"),
    ],
)
def test_what_is_no_date_is_refused_with_what_would_be_right(text: str, code: str, words: str) -> None:
    """Nothing is bent into a date."""
    with pytest.raises(Refusal) as refused:
        read_date(text)
    assert refused.value.code == code
    assert words in str(refused.value)


@given(st.dates())
def test_every_date_reads_back(day: date) -> None:
    """In all three forms, from year 1 to 9999."""
    month = MONTHS[day.month - 1]
    for text in (day.isoformat(), f"{day.day} {month} {day.year:04d}", f"{day.day} {month[:3]} {day.year:04d}"):
        assert read_date(text) == day


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("14:30", time(14, 30)),
        ("1430", time(14, 30)),
        ("9:05", time(9, 5)),
        ("930", time(9, 30)),
        ("0000", time(0, 0)),
        ("23:59", time(23, 59)),
        ("14:30:00", time(14, 30)),
    ],
)
def test_times_of_day(text: str, expected: time) -> None:
    """With a colon or without; spreadsheets drop a leading zero and add seconds."""
    assert read_time(text) == expected


@pytest.mark.parametrize(
    ("text", "code"),
    [
        ("24:00", "no-such-time"),
        ("2460", "no-such-time"),
        ("12:60", "no-such-time"),
        ("14.30", "not-a-time"),
        ("2:30 pm", "not-a-time"),
        ("14:30:15", "not-a-time"),
        ("30", "not-a-time"),
        ("noon", "not-a-time"),
    ],
)
def test_what_is_no_time_is_refused(text: str, code: str) -> None:
    """24:00 too: it belongs to the next day."""
    with pytest.raises(Refusal) as refused:
        read_time(text)
    assert refused.value.code == code


@pytest.mark.parametrize("text", ["2030-01-15 10:00", " 2030-01-15T10:00 ", "15 Jan 2030 10:00"])
def test_date_with_a_time(text: str) -> None:
    """The last blank, or a T, parts the date from the time."""
    assert read_date_time(text) == (date(2030, 1, 15), time(10))


@pytest.mark.parametrize("text", ["2030-01-15", "10:00", "15 Jan 2030", ""])
def test_date_without_a_time_is_refused(text: str) -> None:
    """Where an instant is meant, nothing is guessed."""
    with pytest.raises(Refusal) as refused:
        read_date_time(text)
    assert refused.value.code == "no-time"
