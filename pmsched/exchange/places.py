"""Where things stand in what was read: which file or sheet, and in which of its cells the columns are.

Rows and problems name a file or a sheet in one text; here that text becomes a path, a sheet and a cell again.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.problems import Problem

_LETTERS = 26


class Source(NamedTuple):
    """A file or a sheet with rows.

    Attributes:
        name: what its rows and problems call it.
        path: the file.
        sheet: title of the sheet; empty for a file that is no workbook.
        stem: the input file it stands for.
        places: where each column stands, counted from 0, by its name and as its heading is written.
        heading_row: the row of the headings; 0 where there are none.
    """

    name: str
    path: Path
    sheet: str
    stem: str
    places: Mapping[str, int] = {}
    heading_row: int = 0


def sheet_name(path: Path, sheet: str) -> str:
    """What rows and problems call a sheet."""
    return f"{path}, sheet {sheet}"


def letters(at: int) -> str:
    """The letters of the column that stands ``at`` that place, counted from 0: A, B ... Z, AA."""
    written = ""
    rest = at + 1
    while rest:
        rest, last = divmod(rest - 1, _LETTERS)
        written = chr(ord("A") + last) + written
    return written


def cell_name(at: int, row: int) -> str:
    """The cell at that place (from 0) of that row (from 1): ``C14``."""
    return f"{letters(at)}{row}"


def placed(problems: Iterable[Problem], sources: Iterable[Source]) -> list[Problem]:
    """The problems, those of workbooks with the path, the sheet and the cell; the others as they are."""
    by_name = {source.name: source for source in sources if source.sheet}
    return [_placed(problem, by_name.get(problem.file)) for problem in problems]


def ranges(numbers: Iterable[int]) -> str:
    """Row numbers for people: ``5, 9 to 12``."""
    runs: list[list[int]] = []
    for number in sorted(set(numbers)):
        if runs and runs[-1][-1] == number - 1:
            runs[-1][1:] = [number]
        else:
            runs.append([number])
    return ", ".join(" to ".join(map(str, run)) for run in runs)


def _placed(problem: Problem, source: Source | None) -> Problem:
    if source is None:
        return problem
    at = source.places.get(problem.column)
    cell = problem.cell or (cell_name(at, problem.row) if problem.row and at is not None else "")
    return problem._replace(file=str(source.path), sheet=source.sheet, cell=cell)
