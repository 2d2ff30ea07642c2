"""Lists as CSV files that open in a spreadsheet."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from command_line import Run

from pmsched.usecases.export_tables import DUE, ENTRIES, HISTORY, READINGS


def rows(text: str) -> list[dict[str, str]]:
    """The rows of a CSV text by column."""
    return list(csv.DictReader(io.StringIO(text, newline="")))


@pytest.mark.parametrize(
    ("what", "columns", "count"),
    [("due", DUE, 5), ("history", HISTORY, 4), ("readings", READINGS, 5), ("entries", ENTRIES, 2)],
)
def test_file(run: Run, tmp_path: Path, what: str, columns: tuple[str, ...], count: int) -> None:
    """A heading and all the rows; site, date, number of rows and seal are told beside it."""
    path = tmp_path / f"{what}.csv"
    said = run("export", what, "-o", str(path))
    assert (said.code, said.out) == (0, "")
    found = rows(path.read_text(encoding="utf-8-sig"))
    assert tuple(found[0]) == columns
    assert len([row for row in found if row.get("version") != "start"]) == count
    assert said.err.startswith("MV Example | 2030-01-15 UTC+2 | ")
    assert "| seal " in said.err


def test_history_names_both_dates(run: Run) -> None:
    """The day done, and the time of entry as ship's time and as UTC."""
    run("report", "PU-CHK", "--done-on", "2030-01-12", "--remarks", "=2+3")
    row = rows(run("export", "history", "-o", "-").out)[-1]
    assert (row["done_on"], row["recorded_at_ship"], row["recorded_at_utc"]) == (
        "2030-01-12", "2030-01-15T10:00:00+02:00", "2030-01-15T08:00:00Z",
    )  # fmt: skip
    assert (row["judged"], row["days_late"], row["days_to_report"]) == ("late 2 d", "2", "3")
    assert row["remarks"] == "'=2+3"


def test_period_is_told(run: Run) -> None:
    """From the first to the last day exported."""
    said = run("export", "history", "--from", "2029-12-01", "--to", "2029-12-31", "-o", "-")
    assert "2029-12-01 to 2029-12-20" in said.err


def test_readings_of_one_counter(run: Run) -> None:
    """Hours stand as numbers."""
    found = rows(run("export", "readings", "--counter", "GE1-H", "-o", "-").out)
    assert [row["dial"] for row in found] == ["5000", "5120.5"]


def test_nothing_is_overwritten_unawares(run: Run, tmp_path: Path) -> None:
    """A file that is there is replaced only with --overwrite."""
    path = tmp_path / "due.csv"
    path.write_text("mine", encoding="utf-8")
    said = run("export", "due", "-o", str(path))
    assert said.code == 1
    assert "--overwrite" in said.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert run("export", "due", "-o", str(path), "--overwrite").code == 0
    assert path.read_text(encoding="utf-8") != "mine"


def test_folder_that_is_not_there(run: Run, tmp_path: Path) -> None:
    """A place that cannot be written to is refused, not a fault."""
    said = run("export", "due", "-o", str(tmp_path / "none" / "due.csv"))
    assert said.code == 1
    assert "cannot be written" in said.err


def test_known_on(run: Run) -> None:
    """An export of what was known on a day."""
    run("report", "PU-CHK")
    found = rows(run("export", "history", "--known-on", "2030-01-12", "-o", "-").out)
    assert all(row["recorded_at_utc"] < "2030-01-13" for row in found)
