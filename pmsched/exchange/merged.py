"""Merged cells of a sheet: one value for several rows, or one cell across several columns."""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable

from pmsched.exchange.native_cells import BLANK, Native
from pmsched.exchange.sheet_scan import Merged


class MergedCells:
    """The merged cells of a sheet, asked row by row from the top.

    Args:
        merged: every merged cell.
    """

    def __init__(self, merged: Iterable[Merged]) -> None:
        self._beginning: dict[int, list[Merged]] = defaultdict(list)
        for one in merged:
            self._beginning[one.first_row].append(one)
        self._wide: dict[int, list[Merged]] = defaultdict(list)
        for one in sorted(one for ones in self._beginning.values() for one in ones if one.last > one.first):
            self._wide[one.first].append(one)
        self._rows = sorted(self._beginning, reverse=True)
        self._down: list[tuple[Merged, Native]] = []

    def across(self, row: int, at: int) -> range:
        """The places that the cell at that place takes up in its row: its own alone, if it is not merged."""
        wide = self._wide.get(at, [])
        before = bisect_right(wide, row, key=lambda one: one.first_row)
        last = wide[before - 1].last if before and wide[before - 1].last_row >= row else at
        return range(at, last + 1)

    def fill(self, row: int, cells: list[Native]) -> list[Native]:
        """The cells, with the value of a cell that is merged downwards in every row that it reaches.

        One that is merged both ways fills its first column; ``across`` tells of the others, in every row.
        """
        self._begin(row, cells)
        self._down = [(one, value) for one, value in self._down if one.last_row >= row]
        for one, value in self._down:
            if one.first < len(cells):
                if cells[one.first].blank:
                    cells[one.first] = value
            else:
                cells += [BLANK] * (one.first - len(cells)) + [value]
        return cells

    def _begin(self, row: int, cells: list[Native]) -> None:
        """Takes note of the cells merged downwards that begin in this row, or began in blank ones before it."""
        while self._rows and self._rows[-1] <= row:
            for one in self._beginning[self._rows.pop()]:
                if one.first_row == row and one.last_row > row and one.first < len(cells):
                    self._down.append((one, cells[one.first]))
