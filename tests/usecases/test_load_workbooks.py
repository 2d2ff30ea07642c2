"""A workbook loads as the files do: the same rows, the same checks, problems by cell; and what was passed over is said."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path

import pytest
from registers import AT, FILES, empty_register, load_texts, make_register, write_files
from sqlalchemy import select
from workbook_files import rows_of, write_book

from pmsched.domain.errors import ProblemsFound
from pmsched.store.register import Register
from pmsched.store.tables import APPEND_ONLY, ENTRY
from pmsched.usecases.load_register import load
from pmsched.usecases.signing import Signer

SIGNER = Signer("CE", AT)


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Register]:
    """A register into which nothing is loaded."""
    with empty_register(tmp_path / "register") as register:
        yield register


def ship(path: Path, **changed: str) -> Path:
    """The small vessel as one workbook, some of its sheets changed."""
    return write_book(path, {stem: rows_of(text) for stem, text in (FILES | changed).items()})


def facts(register: Register) -> dict[str, list[tuple[object, ...]]]:
    """Every fact of the register but its book, which no two registers share, and the entries."""
    with register.reading() as connection:
        return {
            name: [tuple(row) for row in connection.execute(select(table))]
            for name, table in APPEND_ONLY.items()
            if name not in {"book", ENTRY.name}
        }


def test_a_workbook_brings_what_the_files_bring(empty: Register, tmp_path: Path) -> None:
    """Fact by fact; and the record names the workbook with its hash."""
    result = load(empty, [ship(tmp_path / "ship.xlsx")], SIGNER)
    assert result.added == {
        "people": 1,
        "machines": 4,
        "counters": 2,
        "jobs": 4,
        "last_done": 2,
        "readings": 4,
        "parts": 2,
    }
    with make_register(tmp_path / "other") as other:
        assert facts(empty) == facts(other)
    with empty.reading() as connection:
        body = json.loads(connection.execute(select(ENTRY.c.body).order_by(ENTRY.c.no.desc())).scalars().first())
    (named,) = body["about"]["files"]
    assert (named["name"], len(named["sha256"])) == ("ship.xlsx", 64)


def test_the_same_as_a_workbook_adds_nothing(empty: Register, tmp_path: Path) -> None:
    """Rows are the same, whatever they came in."""
    load_texts(empty, tmp_path / "files", FILES)
    result = load(empty, [ship(tmp_path / "ship.xlsx")], SIGNER)
    assert (result.receipt, result.added, result.revised) == (None, {}, ())


def test_a_workbook_and_files_together(empty: Register, tmp_path: Path) -> None:
    """Machines from one, jobs from the other."""
    parts = {stem: rows_of(FILES[stem]) for stem in ("people", "machines", "counters")}
    book = write_book(tmp_path / "ship.xlsx", parts)
    files = write_files(tmp_path / "files", {stem: text for stem, text in FILES.items() if stem not in parts})
    assert load(empty, [book, files], SIGNER).added["jobs"] == 4


def test_problems_between_sheets_are_told_by_cell(empty: Register, tmp_path: Path) -> None:
    """Those found on reading and those found by comparing, in the order of file, sheet and row."""
    jobs = FILES["jobs"].replace("AE1-LOP,Renew", "AE9,Renew").replace("8000 h", "often")
    path = ship(tmp_path / "ship.xlsx", jobs=jobs, readings=FILES["readings"].replace("12310", '"12,310"'))
    with pytest.raises(ProblemsFound) as raised:
        load(empty, [path], SIGNER)
    assert [(one.code, one.place) for one in raised.value.problems] == [
        ("not-an-interval", "jobs!D3"),
        ("unknown-machine", "jobs!B4"),
        ("ambiguous-number", "readings!E3"),
    ]
    assert {one.file for one in raised.value.problems} == {str(path)}


def test_what_was_passed_over_is_said_with_the_problems(empty: Register, tmp_path: Path) -> None:
    """A sheet with another name may be the very one that is missing."""
    sheets = {stem: rows_of(FILES[stem]) for stem in ("people", "jobs")} | {"Gear": [["machines and their names"]]}
    path = write_book(tmp_path / "ship.xlsx", sheets)
    with pytest.raises(ProblemsFound) as raised:
        load(empty, [path], SIGNER)
    (note,) = raised.value.notes
    assert note.startswith(f"{path}, sheet Gear: not read")
    checked = load(empty, [path], SIGNER, check=True)
    assert (checked.notes, checked.problems) == (raised.value.notes, raised.value.problems)


def test_a_held_reading_of_a_workbook_names_its_sheet(empty: Register, tmp_path: Path) -> None:
    """So that it is found again."""
    result = load(
        empty, [ship(tmp_path / "ship.xlsx", readings=FILES["readings"] + "AE1-H,2025-07-01,18:00,,99999,\n")], SIGNER
    )
    (held,) = result.held
    assert (held.file, held.row) == (f"{tmp_path / 'ship.xlsx'}, sheet readings", 6)


def test_a_sheet_that_cannot_be_recognised_is_told_once(empty: Register, tmp_path: Path) -> None:
    """Everything that stands in it would be unknown otherwise."""
    sheets = {("Sheet1" if stem == "machines" else stem): rows_of(text) for stem, text in FILES.items()}
    with pytest.raises(ProblemsFound) as raised:
        load(empty, [write_book(tmp_path / "ship.xlsx", sheets)], SIGNER)
    assert [(one.code, one.sheet) for one in raised.value.problems] == [("sheet-name", "Sheet1")]
