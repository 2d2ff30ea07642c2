"""Where things stand: letters of columns, runs of rows, and problems with the cell they are about."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.utils import get_column_letter

from pmsched.domain.problems import Problem
from pmsched.exchange.places import Source, cell_name, letters, placed, ranges, sheet_name


@given(st.integers(0, 16_383))
def test_letters_are_those_of_spreadsheets(at: int) -> None:
    """Over all columns that a sheet can have."""
    assert letters(at) == get_column_letter(at + 1)


@pytest.mark.parametrize(
    ("numbers", "expected"),
    [([], ""), ([5], "5"), ([9, 5, 10, 11, 12, 5], "5, 9 to 12"), ([1, 2, 4, 5], "1 to 2, 4 to 5"), ([3, 1], "1, 3")],
)
def test_ranges(numbers: list[int], expected: str) -> None:
    """In order, each row once, runs by their ends."""
    assert ranges(numbers) == expected


SHIP = Path("my files") / "ship.xlsx"
JOBS = Source(sheet_name(SHIP, "Jobs 2025"), SHIP, "Jobs 2025", "jobs", {"code": 0, "interval": 28})
TEXT = Source("jobs.csv", Path("jobs.csv"), "", "jobs", {"code": 0})


@pytest.mark.parametrize(
    ("problem", "place", "said"),
    [
        pytest.param(
            Problem("x", JOBS.name, 14, "interval", "Wrong.", "Mend it."),
            "'Jobs 2025'!AC14",
            f"{SHIP}, 'Jobs 2025'!AC14, column interval: Wrong. Mend it.",
            id="cell",
        ),
        pytest.param(
            Problem("x", JOBS.name, 14, "", "Wrong.", ""), "", f"{SHIP}, sheet Jobs 2025, row 14: Wrong.", id="row"
        ),
        pytest.param(
            Problem("x", JOBS.name, 3, "title", "Wrong.", ""),
            "",
            f"{SHIP}, sheet Jobs 2025, row 3, column title: Wrong.",
            id="column-that-is-missing",
        ),
        pytest.param(
            Problem("x", JOBS.name, 14, "", "Wrong.", "", cell=cell_name(1, 14)),
            "'Jobs 2025'!B14",
            f"{SHIP}, 'Jobs 2025'!B14: Wrong.",
            id="cell-without-a-column",
        ),
        pytest.param(Problem("x", JOBS.name, 0, "", "Wrong.", ""), "", f"{SHIP}, sheet Jobs 2025: Wrong.", id="sheet"),
        pytest.param(
            Problem("x", "jobs.csv", 2, "code", "Wrong.", ""), "", "jobs.csv, row 2, column code: Wrong.", id="file"
        ),
    ],
)
def test_problems_are_placed_and_said(problem: Problem, place: str, said: str) -> None:
    """Those of a sheet with its cell as a spreadsheet names it; placing them twice changes nothing."""
    (found,) = placed([problem], [JOBS, TEXT])
    assert (found.place, str(found)) == (place, said)
    assert placed([found], [JOBS, TEXT]) == [found]


@pytest.mark.parametrize(
    ("title", "place"), [("jobs", "jobs!A1"), ("a b", "'a b'!A1"), ("o'hara", "'o''hara'!A1"), ("2025", "'2025'!A1")]
)
def test_titles_are_quoted_as_spreadsheets_do(title: str, place: str) -> None:
    """Where a title is more than a word."""
    assert Problem("x", "f", 1, "", "m", "", title, "A1").place == place
