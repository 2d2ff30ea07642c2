"""Merged cells asked row by row: where they reach, and what they fill."""

from __future__ import annotations

import pytest

from pmsched.exchange.merged import MergedCells
from pmsched.exchange.native_cells import BLANK, Native, Value
from pmsched.exchange.sheet_scan import Merged

CELLS = (Merged(2, 1, 4, 3), Merged(6, 1, 6, 2), Merged(2, 5, 3, 5))
"""B2:D4, B6:C6 and F2:F3."""


@pytest.mark.parametrize(
    ("row", "at", "reach"),
    [(1, 1, [1]), (2, 1, [1, 2, 3]), (3, 1, [1, 2, 3]), (4, 1, [1, 2, 3]), (5, 1, [1]), (6, 1, [1, 2]), (7, 1, [1]),
     (3, 2, [2]), (2, 5, [5])],
)  # fmt: skip
def test_how_far_a_cell_reaches_in_its_row(row: int, at: int, reach: list[int]) -> None:
    """In every row that it covers, asked in any order."""
    assert list(MergedCells(CELLS).across(row, at)) == reach


def test_a_value_stands_in_all_its_rows() -> None:
    """In its first column; a row behind the last is left as it is."""
    merged = MergedCells(CELLS)

    def filled(row: int, *values: Value) -> list[Value]:
        return [cell.value for cell in merged.fill(row, [Native(value) if value else BLANK for value in values])]

    assert filled(2, "a", "yes", None, None, None, "x") == ["a", "yes", None, None, None, "x"]
    assert filled(3, "b") == ["b", "yes", None, None, None, "x"]
    assert filled(4, "c", None, None) == ["c", "yes", None]
    assert filled(5, "d", None) == ["d", None]
