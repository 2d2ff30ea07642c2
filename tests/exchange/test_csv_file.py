"""A list as a file: whole or not at all, and never over another file unawares."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from pmsched.domain.errors import Refusal
from pmsched.exchange.csv_out import write_csv_file


def test_file_is_utf8_with_its_mark(tmp_path: Path) -> None:
    """Spreadsheets read it as UTF-8 only with the mark at the beginning."""
    path = tmp_path / "list.csv"
    write_csv_file(path, ["name"], [["Bø"]])
    assert path.read_bytes() == "\ufeffname\r\nBø\r\n".encode()


def test_file_that_is_there_stays(tmp_path: Path) -> None:
    """It is refused, by name."""
    path = tmp_path / "list.csv"
    path.write_text("mine", encoding="utf-8")
    with pytest.raises(Refusal, match=r"list\.csv is there already") as refused:
        write_csv_file(path, ["a"], [["1"]])
    assert refused.value.code == "file-exists"
    assert path.read_text(encoding="utf-8") == "mine"


def test_file_is_replaced_when_told(tmp_path: Path) -> None:
    """Nothing of the old file is left."""
    path = tmp_path / "list.csv"
    path.write_text("mine, and longer than the new one", encoding="utf-8")
    write_csv_file(path, ["a"], [["1"]], overwrite=True)
    assert path.read_text(encoding="utf-8-sig").split() == ["a", "1"]


def test_part_of_a_list_is_not_left_behind(tmp_path: Path) -> None:
    """A disk that fills up in the middle leaves no file that looks whole."""

    def rows() -> Iterator[list[str]]:
        yield ["1"]
        raise OSError(28, "No space left on device")

    path = tmp_path / "list.csv"
    with pytest.raises(Refusal, match="No space left on device") as refused:
        write_csv_file(path, ["a"], rows())
    assert refused.value.code == "cannot-write"
    assert not path.exists()


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    """The place is named, and no folder is made."""
    with pytest.raises(Refusal, match="cannot be written"):
        write_csv_file(tmp_path / "none" / "list.csv", ["a"], [])
    assert not (tmp_path / "none").exists()
