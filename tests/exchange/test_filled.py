"""Filled copies: what is proposed stands in its cell, all else is as it was read, and nothing is overwritten."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, datetime, time
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import load_workbook
from workbook_files import change_part, write_book

from pmsched.domain.counts import SECONDS_PER_HOUR as H
from pmsched.domain.errors import Refusal
from pmsched.exchange import marked_source
from pmsched.exchange.files_in import read_files
from pmsched.exchange.filled import Fill, TypedReading, write_filled_copy
from pmsched.exchange.phrases import read_starts, write_starts
from pmsched.exchange.rows import Bundle, JobRow, Start

HEADING = ["code", "machine", "title", "interval"]
JOBS = [["Jobs of the plant"], HEADING, ["P-01", "P", "Grease", "500 h"], ["P-02", "P", "Align", "1 year"]]
CSV = "# note\ncode;machine;title;interval;starts\nP-01;P;=Grease;500 h;\n# between\nP-02;P;Align;1 year;\n"
FILL = "FFFFD966"
DAY = date(2029, 7, 3)
STARTS = {"P-01": Start(DAY, (("h", 18_000 * H), ("starts", 640))), "P-02": Start()}


def read(path: Path) -> Bundle:
    """What the file says; nothing is wrong with it."""
    bundle, problems = read_files([path])
    assert problems == []
    return bundle


def fills(bundle: Bundle) -> list[Fill]:
    """The starts above, for the jobs that were read."""
    return [
        Fill(row.file, row.row, "starts", write_starts(STARTS[row.code]), "proposed.")
        for row in bundle.jobs
        if row.code in STARTS
    ]


def without_places(jobs: Sequence[JobRow]) -> list[JobRow]:
    """The rows, wherever they stand."""
    return [replace(row, file="", row=0) for row in jobs]


@pytest.mark.parametrize("starts_column", [True, False], ids=["column-there", "column-added"])
@pytest.mark.parametrize("whole", [True, False], ids=["whole", "values"])
def test_a_workbook_reads_back_with_the_starts(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, *, starts_column: bool, whole: bool
) -> None:
    """Exactly those starts and nothing else has changed, also where only values could be taken over."""
    rows: list[list[Any]] = [[*row] for row in JOBS]
    if starts_column:
        rows[1].insert(0, "starts")
        rows[2:] = [[None, *row] for row in rows[2:]]
    path = write_book(tmp_path / "ship.xlsx", {"Jobs 2030": rows, "Cover": [["x"]]})
    before = read(path)
    if not whole:
        monkeypatch.setattr(marked_source, "MOST_CELLS", 0)
    bytes_before = path.read_bytes()
    copy = write_filled_copy(before.sources, fills(before))
    assert copy == tmp_path / "ship-with-starts.xlsx"
    assert path.read_bytes() == bytes_before
    assert without_places(read(copy).jobs) == [
        replace(row, starts=STARTS[row.code]) for row in without_places(before.jobs)
    ]
    assert load_workbook(copy).sheetnames == ["Jobs 2030", "Cover"]


def test_filled_cells_are_coloured_and_explained(tmp_path: Path) -> None:
    """And only those; the heading that was added says so."""
    bundle = read(write_book(tmp_path / "ship.xlsx", {"jobs": JOBS}))
    sheet = load_workbook(write_filled_copy(bundle.sources, fills(bundle)))["jobs"]
    found = {
        cell.coordinate: (cell.value, cell.comment.text)
        for cells in sheet.iter_rows()
        for cell in cells
        if cell.fill.start_color.rgb == FILL
    }
    assert found == {
        "E2": ("starts", "pmsched: a column that the sheet lacked."),
        "E3": ("from 2029-07-03 at 18000 h; 640 starts", "pmsched: proposed."),
        "E4": ("due at once", "pmsched: proposed."),
    }


def test_csv_files_become_one_workbook_beside_their_folder(tmp_path: Path) -> None:
    """With every row at its place; what looks like a formula stays a text."""
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "jobs.csv").write_text(CSV, encoding="utf-8")
    (tmp_path / "mine" / "people.csv").write_text("code,name,rank,department\n2E,Bo,2/E,deck\n", encoding="utf-8")
    before = read(tmp_path / "mine")
    copy = write_filled_copy(before.sources, fills(before))
    assert copy == tmp_path / "mine-with-starts.xlsx"
    after = read(copy)
    assert [row.starts for row in after.jobs] == list(STARTS.values())
    assert (after.jobs[0].title, after.jobs[0].row, after.people[0].name) == ("=Grease", 3, "Bo")


def test_csv_files_join_the_workbook(tmp_path: Path) -> None:
    """One copy holds all that was read."""
    (tmp_path / "jobs.csv").write_text(CSV.replace("P-0", "Q-0"), encoding="utf-8")
    path = write_book(tmp_path / "ship.xlsx", {"jobs": JOBS})
    before, problems = read_files([path, tmp_path / "jobs.csv"])
    assert problems == []
    after = read(write_filled_copy(before.sources, fills(before)))
    assert [row.code for row in after.jobs] == ["P-01", "P-02", "Q-01", "Q-02"]


def test_typed_readings_have_a_sheet_of_their_own(tmp_path: Path) -> None:
    """Read as readings; a second copy of the copy adds another."""
    bundle = read(write_book(tmp_path / "ship.xlsx", {"jobs": JOBS}))
    first = write_filled_copy(bundle.sources, [], [TypedReading("P-H", DAY, time(8, 5), "12 345,5")])
    assert first.name == "ship-with-readings.xlsx"
    second = write_filled_copy(read(first).sources, [], [TypedReading("Q-H", DAY, time(8, 5), "7")])
    assert second.name == "ship-with-readings-2.xlsx"
    found = [(row.counter, row.read_on, row.time_of_day, row.value) for row in read(second).readings]
    assert found == [("P-H", DAY, time(8, 5), "12 345,5"), ("Q-H", DAY, time(8, 5), "7")]


def test_dates_formulas_and_merged_cells_stay_readable(tmp_path: Path) -> None:
    """A formula becomes its result, as a copy of it would have none; a machine merged over its jobs stays so."""
    rows: dict[str, list[list[Any]]] = {
        "jobs": [HEADING, ["P-01", "P", "Grease", "x"], ["P-02", None, "Align", "1 year"]],
        "last_done": [["job", "done_on"], ["P-09", datetime(2029, 3, 4)]],  # noqa: DTZ001 - a cell knows no zone
    }
    path = write_book(tmp_path / "ship.xlsx", rows, lambda book: book["jobs"].merge_cells("B2:B3"))
    formula = b'<c r="D2" t="str"><f>A1&amp;"h"</f><v>500 h</v></c>'
    change_part(path, "xl/worksheets/sheet1.xml", lambda xml: re.sub(rb'<c r="D2".*?</c>', lambda _: formula, xml))
    before = read(path)
    assert len(before.jobs) == 2
    after = read(write_filled_copy(before.sources, fills(before)))
    assert [row.starts for row in after.jobs] == list(STARTS.values())
    assert without_places([replace(row, starts=None) for row in after.jobs]) == without_places(before.jobs)
    assert after.last_done[0].done_on == date(2029, 3, 4)


def test_starts_merged_over_rows_are_parted(tmp_path: Path) -> None:
    """Each job has a start of its own."""
    rows: list[list[Any]] = [[*HEADING, "starts"], ["P-01", "P", "Grease", "500 h"], ["P-02", "P", "Align", "1 year"]]
    path = write_book(tmp_path / "ship.xlsx", {"jobs": rows}, lambda book: book["jobs"].merge_cells("E2:E3"))
    before = read(path)
    after = read(write_filled_copy(before.sources, fills(before)))
    assert [row.starts for row in after.jobs] == list(STARTS.values())


@pytest.mark.parametrize(
    ("there", "name"),
    [
        pytest.param("ship.xlsx", "ship-with-starts.xlsx", id="first"),
        pytest.param("ship-with-starts.xlsx", "ship-with-starts-2.xlsx", id="of-a-copy"),
        pytest.param("ship-problems-3.xlsx", "ship-with-starts.xlsx", id="of-a-marked-copy"),
    ],
)
def test_the_name_is_free_and_does_not_grow(tmp_path: Path, there: str, name: str) -> None:
    """Beside the workbook."""
    bundle = read(write_book(tmp_path / there, {"jobs": JOBS}))
    assert write_filled_copy(bundle.sources, fills(bundle)).name == name


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    """Nor is anything written when two workbooks would have to become one."""
    bundle = read(write_book(tmp_path / "ship.xlsx", {"jobs": JOBS}))
    (tmp_path / "mine.xlsx").write_bytes(b"mine")
    with pytest.raises(Refusal) as refused:
        write_filled_copy(bundle.sources, fills(bundle), target=tmp_path / "mine.xlsx")
    assert refused.value.code == "file-exists"
    assert (tmp_path / "mine.xlsx").read_bytes() == b"mine"
    write_book(tmp_path / "other.xlsx", {"people": [["code", "name", "rank", "department"]]})
    both, _ = read_files([tmp_path / "ship.xlsx", tmp_path / "other.xlsx"])
    with pytest.raises(Refusal) as refused:
        write_filled_copy(both.sources, [])
    assert refused.value.code == "several-workbooks"


AMOUNTS = st.dictionaries(st.sampled_from(["h", "starts", "cycles"]), st.integers(0, 10**6), max_size=3)
ANY_START = st.one_of(
    st.just(Start()),
    st.builds(
        lambda day, counts: Start(day, tuple((unit, n * (H if unit == "h" else 1)) for unit, n in counts.items())),
        st.dates(date(1950, 1, 1), date(2100, 1, 1)),
        AMOUNTS,
    ),
)


@given(ANY_START)
def test_every_start_reads_back(start: Start) -> None:
    """Whatever it counts from, with any number of counters."""
    assert read_starts(write_starts(start)) == start


@settings(max_examples=15, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    st.lists(st.one_of(st.none(), ANY_START), min_size=1, max_size=5), st.text(st.characters(codec="utf-8"), max_size=9)
)
def test_any_rows_read_back(tmp_path_factory: pytest.TempPathFactory, starts: list[Start | None], title: str) -> None:
    """Those filled have their start, the others none; texts of any kind are as before."""
    rows = [HEADING, *([f"P-{n}", "P", title or "x", "1 year"] for n in range(len(starts)))]
    folder = tmp_path_factory.mktemp("any")
    (folder / "in").mkdir()
    text = "\n".join(",".join('"' + cell.replace('"', '""') + '"' for cell in row) for row in rows)
    (folder / "in" / "jobs.csv").write_text(text, encoding="utf-8", newline="")
    before, problems = read_files([folder / "in"])
    if problems:
        return
    wanted = dict(zip((row.code for row in before.jobs), starts, strict=True))
    asked = [
        Fill(row.file, row.row, "starts", write_starts(found), "proposed.")
        for row in before.jobs
        if (found := wanted[row.code]) is not None
    ]
    after = read(write_filled_copy(before.sources, asked))
    assert without_places(after.jobs) == [replace(row, starts=wanted[row.code]) for row in without_places(before.jobs)]
