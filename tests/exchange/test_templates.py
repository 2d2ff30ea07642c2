"""Empty files to fill in: they explain every column, read back as nothing, and overwrite nothing."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import INPUT_FILES, InputFile
from pmsched.exchange.files_in import read_files
from pmsched.exchange.rows import Bundle
from pmsched.exchange.templates import write_templates


def test_templates_read_back_as_files_without_rows(tmp_path: Path) -> None:
    """Comments are no rows, and the headings are right."""
    paths = write_templates(tmp_path / "new" / "folder")
    assert [path.name for path in paths] == [f"{stem}.csv" for stem in INPUT_FILES]
    assert read_files([tmp_path / "new" / "folder"]) == (Bundle(), [])


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
def test_templates_saved_by_a_spreadsheet_still_read(tmp_path: Path, delimiter: str) -> None:
    """Programs save all rows equally wide, with the delimiter of the country."""
    for path in write_templates(tmp_path):
        with path.open(encoding="utf-8-sig", newline="") as stream:
            rows = list(csv.reader(stream))
        width = max(map(len, rows))
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream, delimiter=delimiter).writerows(row + [""] * (width - len(row)) for row in rows)
    assert read_files([tmp_path]) == (Bundle(), [])


@pytest.mark.parametrize("file", INPUT_FILES.values(), ids=lambda file: file.stem)
def test_template_explains_every_column(tmp_path: Path, file: InputFile) -> None:
    """Meaning, example and default stand above the heading, which comes last."""
    write_templates(tmp_path)
    with (tmp_path / f"{file.stem}.csv").open(encoding="utf-8-sig", newline="") as stream:
        *comments, heading = csv.reader(stream)
    assert heading == [column.name for column in file.columns]
    assert all(len(comment) == 1 and comment[0].startswith("# ") for comment in comments)
    for column, (comment,) in zip(file.columns, comments[-len(file.columns) :], strict=True):
        assert comment.startswith(f"# {column.name}")
        assert column.meaning in comment
        assert comment.endswith(f"Example: {column.example}")
        assert ("(needed)" in comment) == column.required
        assert (f"Blank means {column.default}." in comment) == bool(column.default)


def test_nothing_is_overwritten(tmp_path: Path) -> None:
    """One file in the way, and none is written."""
    (tmp_path / "jobs.csv").write_text("mine", encoding="utf-8")
    with pytest.raises(Refusal, match="already holds jobs") as refused:
        write_templates(tmp_path)
    assert refused.value.code == "file-exists"
    assert [path.name for path in tmp_path.iterdir()] == ["jobs.csv"]
    assert (tmp_path / "jobs.csv").read_text(encoding="utf-8") == "mine"


def test_a_file_where_the_folder_should_be_is_told(tmp_path: Path) -> None:
    """A refusal, not a crash."""
    (tmp_path / "folder").write_text("", encoding="utf-8")
    with pytest.raises(Refusal) as refused:
        write_templates(tmp_path / "folder")
    assert refused.value.code == "cannot-write"
