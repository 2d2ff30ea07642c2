"""The empty workbook: it explains every column, offers choices, reads back as nothing, and overwrites nothing."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
from openpyxl import load_workbook

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import INPUT_FILES, InputFile
from pmsched.exchange.files_in import read_files
from pmsched.exchange.kinds import KINDS
from pmsched.exchange.rows import Bundle
from pmsched.exchange.template_workbook import choices, write_template_workbook
from pmsched.exchange.templates import explain

FILES = pytest.mark.parametrize("file", INPUT_FILES.values(), ids=lambda file: file.stem)


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Any:
    """The workbook, opened."""
    return load_workbook(write_template_workbook(tmp_path_factory.mktemp("new") / "folder" / "ship.xlsx"))


def test_it_reads_back_as_a_workbook_without_rows(tmp_path: Path) -> None:
    """Nothing in it is a row, a problem, or worth a note."""
    path = write_template_workbook(tmp_path / "ship.xlsx")
    bundle, problems = read_files([path])
    assert (bundle, problems, bundle.notes) == (Bundle(), [], ())
    assert [source.stem for source in bundle.sources] == list(INPUT_FILES)


@FILES
def test_every_heading_is_explained(book: Any, file: InputFile) -> None:
    """By a note with the line that the empty CSV file has; needed columns look different."""
    headings = book[file.stem][1]
    assert [cell.value for cell in headings] == [column.name for column in file.columns]
    assert [cell.comment.text for cell in headings] == [explain(column) for column in file.columns]
    looks = {(column.required, cell.fill.start_color.rgb) for column, cell in zip(file.columns, headings, strict=True)}
    assert len(looks) == len({required for required, _ in looks})


def lists(sheet: Any) -> dict[str, tuple[str, bool]]:
    """What each column offers, by its heading, and whether nothing else may be written."""
    found = {}
    for rule in sheet.data_validations.dataValidation:
        (area,) = rule.sqref.ranges
        found[sheet.cell(1, area.min_col).value] = (rule.formula1, bool(rule.showErrorMessage))
    return found


@FILES
def test_choices_are_offered_as_the_program_reads_them(book: Any, file: InputFile) -> None:
    """Every closed choice, and nothing that would be refused."""
    offered = lists(book[file.stem])
    for column in file.columns:
        words, closed = choices(column)
        if words:
            assert offered[column.name] == (f'"{",".join(words)}"', closed)
            assert all(KINDS[column.kind].read(word) is not None for word in words)
    closed_kinds = {column.name for column in file.columns if column.kind in {"yes/no", "reads", "counts from"}}
    assert closed_kinds <= {name for name, (_, closed) in offered.items() if closed}


def test_codes_of_other_sheets_are_offered(book: Any) -> None:
    """But not enforced: the register may have them already."""
    assert lists(book["last_done"])["job"] == ("jobs!$A$2:$A$2000", False)
    assert lists(book["counters"])["machine"] == ("machines!$A$2:$A$2000", False)
    assert lists(book["machines"])["parent"] == ("machines!$A$2:$A$2000", False)


def test_what_is_typed_into_it_reads_as_it_was_typed(tmp_path: Path) -> None:
    """Columns have formats that keep codes text and dates dates; every example of the registry reads back."""
    path = write_template_workbook(tmp_path / "ship.xlsx")
    book = load_workbook(path)
    for file in INPUT_FILES.values():
        for at, column in enumerate(file.columns, 1):
            letter = book[file.stem].cell(1, at).column_letter
            shown_as = book[file.stem].column_dimensions[letter].number_format
            assert (shown_as == "yyyy-mm-dd") == (column.kind == "date")
            # Together they make no job: a tolerance is said beside opens and closes.
            if column.name not in {"tolerance", "opens", "closes"}:
                date = column.kind == "date"
                cell = book[file.stem].cell(2, at)
                cell.value = datetime.fromisoformat(column.example) if date else column.example
                cell.number_format = shown_as
    book.save(path)
    bundle, problems = read_files([path])
    assert problems == []
    assert all(len(getattr(bundle, stem)) == 1 for stem in INPUT_FILES)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    """A file of that name stays as it is."""
    (tmp_path / "ship.xlsx").write_bytes(b"mine")
    with pytest.raises(Refusal) as refused:
        write_template_workbook(tmp_path / "ship.xlsx")
    assert refused.value.code == "file-exists"
    assert (tmp_path / "ship.xlsx").read_bytes() == b"mine"


def test_a_folder_that_cannot_be_is_told(tmp_path: Path) -> None:
    """A refusal, not a crash."""
    (tmp_path / "folder").write_text("", encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        write_template_workbook(tmp_path / "folder" / "ship.xlsx")
    assert refused.value.code == "cannot-write"
