"""Our own sheets with headings in other words of the trade, and plain numbers under a heading that names their unit."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from workbook_files import write_book

from pmsched.domain.counts import SECONDS_PER_HOUR as H
from pmsched.domain.rules import CalendarLimb, CountLimb
from pmsched.exchange.columns import INPUT_FILES, FileKind
from pmsched.exchange.files_in import read_files
from pmsched.exchange.trade_names import other_name


@pytest.mark.parametrize(
    ("kind", "heading", "column", "unit"),
    [
        ("people", "Full name", "name", ""),
        ("machines", "Equipment No.", "code", ""),
        ("machines", "Equipment name", "name", ""),
        ("counters", "Equipment", "machine", ""),
        ("jobs", "Equipment", "machine", ""),
        ("jobs", "Job description", "title", ""),
        ("jobs", "Freq. (hrs)", "interval", "h"),
        ("last_done", "Last done", "done_on", ""),
        ("last_done", "Running hrs", "count", "h"),
        ("last_done", "Hours at last done", "count", "h"),
        ("readings", "Date", "read_on", ""),
        ("readings", "Running hours", "value", "h"),
        ("parts", "Serial No", "serial", ""),
    ],
)
def test_other_names(kind: FileKind, heading: str, column: str, unit: str) -> None:
    """By sheet: the same word may mean something else in another one."""
    assert other_name(kind, heading) == (column, unit)


@pytest.mark.parametrize(("kind", "heading"), [("machines", "Equipment"), ("jobs", "Task"), ("jobs", "Last done")])
def test_what_is_not_clear_in_its_sheet_is_no_name(kind: FileKind, heading: str) -> None:
    """It is told as a wrong heading."""
    assert other_name(kind, heading) is None


def test_every_column_keeps_its_own_name() -> None:
    """No other name is the name of another column of the same sheet."""
    for kind, file in INPUT_FILES.items():
        for column in file.columns:
            found = other_name(kind, column.name)
            assert found is None or found.column == column.name


def read(folder: Path, sheets: dict[str, list[list[Any]]]) -> tuple[Any, list[str]]:
    """What is read of a workbook, and the codes of its problems."""
    bundle, problems = read_files([write_book(folder / "ship.xlsx", sheets)])
    return bundle, [problem.code for problem in problems]


def test_a_workbook_in_other_words_is_read(tmp_path: Path) -> None:
    """With plain numbers as hours where the heading says hours, and other units where a cell says so itself."""
    bundle, problems = read(
        tmp_path,
        {
            "jobs": [["Job No", "Equipment", "Job description", "Interval (h)"], ["P-1", "P", "Grease", 500], ["P-2", "P", "Look", "1 year"]],
            "last_done": [["Job No", "Last done", "Running hours"], ["P-1", "2029-12-01", "11 200"], ["P-2", "2029-12-01", "640 starts"]],
        },
    )  # fmt: skip
    assert problems == []
    assert bundle.jobs[0].rule.limbs == (CountLimb(500 * H, "h"),)
    assert isinstance(bundle.jobs[1].rule.limbs[0], CalendarLimb)
    assert [row.counts for row in bundle.last_done] == [(("h", 11_200 * H),), (("starts", 640),)]


@pytest.mark.parametrize(
    ("headings", "codes"),
    [
        (["title", "Job description"], ["unknown-column"]),
        (["Job description", "Description"], ["unknown-column", "unknown-column", "missing-column"]),
    ],
    ids=["ours-wins", "two-others"],
)
def test_two_headings_for_one_column(tmp_path: Path, headings: list[str], codes: list[str]) -> None:
    """Ours counts; of two other names none is guessed."""
    rows = [["code", "machine", "interval", *headings], ["P-1", "P", "1 year", "Grease", "Clean"]]
    assert read(tmp_path, {"jobs": rows})[1] == codes
