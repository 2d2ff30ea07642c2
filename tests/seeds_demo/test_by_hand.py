"""The second opinion itself: it comes to the figures of worked cases, typed here with their numbers."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from by_hand import DAY_SECONDS, Past, Seen, Use, read_written, worked_out

HOUR = 3600


def seen(on: str, hours: int) -> Seen:
    """A reading of so many hours at noon."""
    day = date.fromisoformat(on)
    return Seen(day.toordinal() * DAY_SECONDS + 12 * HOUR, day, hours * HOUR)


def stands(rule: str, done: str, hours: int | None, today: str, *readings: Seen) -> dict[str, Any]:
    """How a job done on that day (at that total) stands today."""
    past = Past(date.fromisoformat(done), {} if hours is None else {"h": hours * HOUR})
    uses = {"h": Use(readings)} if readings else {}
    return worked_out(read_written(rule), past, past, uses, date.fromisoformat(today))


def test_whichever_first_flips_with_the_use() -> None:
    """Worked case 5: at 12 h a day the hours govern, at 6 h a day the calendar."""
    rule = "4000 h or 12 months"
    busy = stands(rule, "2025-01-15", 20_000, "2025-04-15", seen("2025-01-15", 20_000), seen("2025-04-15", 21_080))
    assert (busy["due_on"], busy["governing"], busy["limbs"][0]["left"]) == ("2025-12-14", 0, 2_920 * HOUR)
    slow = stands(rule, "2025-01-15", 20_000, "2025-07-14", seen("2025-04-15", 21_080), seen("2025-07-14", 21_620))
    assert (slow["due_on"], slow["governing"], slow["limbs"][0]["expected_on"]) == ("2026-01-15", 1, "2026-08-14")


@pytest.mark.parametrize(
    ("total", "state"),
    [(11_799, "not open"), (11_800, "may be done"), (12_000, "due"), (12_200, "due"), (12_201, "overdue")],
)
def test_hours_with_a_tolerance(total: int, state: str) -> None:
    """Worked case 6: 2 000 h and 10 % either side, last done at 10 000."""
    readings = [seen("2025-06-01", total - 1), seen("2025-06-11", total)]
    assert stands("2000 h; tolerance 10 %", "2025-01-01", 10_000, "2025-06-11", *readings)["state"] == state


@pytest.mark.parametrize(
    ("today", "state", "left"),
    [
        ("2026-02-19", "not open", 182),
        ("2026-02-20", "may be done", 181),
        ("2026-05-20", "due", 92),
        ("2026-08-20", "due", 0),
        ("2026-08-21", "overdue", -1),
    ],
)
def test_survey_window(today: str, state: str, left: int) -> None:
    """Worked case 7: yearly on 20 May, three months either side."""
    found = stands("12 months; on the grid from 2025-05-20; tolerance 3 months", "2025-05-20", None, today)
    assert (found["state"], found["limbs"][0]["left_days"]) == (state, left)


def test_missed_weeks_stand_on_one_line() -> None:
    """Worked case 4: two Mondays fell due, and one doing on a Wednesday closes the second."""
    rule = "1 week; on the grid from 2025-06-02"
    open_weeks = stands(rule, "2025-06-02", None, "2025-06-18")["limbs"][0]
    assert open_weeks["missed"] == ["2025-06-09", "2025-06-16"]
    assert open_weeks["left_days"] == -9
    assert stands(rule, "2025-06-18", None, "2025-06-18")["due_on"] == "2025-06-23"


def test_month_end_does_not_slide() -> None:
    """Worked case 1: monthly from 31 January on a grid, and from the last doing."""
    grid = "1 month; on the grid from 2025-01-31"
    assert stands(grid, "2025-02-28", None, "2025-03-01")["due_on"] == "2025-03-31"
    assert stands("1 month", "2025-02-28", None, "2025-03-01")["due_on"] == "2025-03-28"


def test_hours_expected_since_the_last_reading() -> None:
    """Worked case 15: 10 h a day for 75 days is past the aim by estimate, which makes nothing overdue."""
    readings = [seen("2024-12-31", 7_100), seen("2025-03-31", 8_000)]
    found = stands("1000 h", "2024-10-01", 7_700, "2025-06-14", *readings)
    assert found["state"] == "past due by estimate"
    assert found["due_on"] == "2025-06-09"
    limb = found["limbs"][0]
    assert (limb["total_today"], limb["most_today"]) == (8_750 * HOUR, 9_800 * HOUR)
