"""Workbooks as files: protected, broken, of another kind, much too large; and what of them loads the library."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from pathlib import Path
from tempfile import TemporaryDirectory

import loaded_modules
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from workbook_files import change_part, put_sheet, write_book

from pmsched.exchange import workbooks
from pmsched.exchange.files_in import read_files

PEOPLE = [["code", "name", "rank", "department"], ["2E", "Ida Holm", "2/E", "engine"]]
SHEET = "xl/worksheets/sheet1.xml"
OLD = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(600)


def codes(path: Path) -> list[tuple[str, str]]:
    """Code and file name of the problems of a file; each must say what to do."""
    bundle, problems = read_files([path])
    assert bundle.people == ()
    assert all(problem.hint for problem in problems)
    return [(problem.code, Path(problem.file).name) for problem in problems]


def people(folder: Path) -> Path:
    """A sound workbook."""
    return write_book(folder / "ship.xlsx", {"people": PEOPLE})


@cache
def sound_bytes() -> bytes:
    """The bytes of a sound workbook, the same in every try."""
    with TemporaryDirectory() as folder:
        return people(Path(folder)).read_bytes()


def bomb(path: Path, part: str, size: int) -> Path:
    """The workbook with one more part that is nothing but blanks."""
    with (
        zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive,
        archive.open(part, "w", force_zip64=True) as stream,
    ):
        for _ in range(size // 1_000_000):
            stream.write(b" " * 1_000_000)
    return path


def truncated(path: Path) -> Path:
    """Its first half."""
    content = path.read_bytes()
    path.write_bytes(content[: len(content) // 2])
    return path


def without(path: Path, part: str) -> Path:
    """The workbook without one of its parts."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist() if name != part}
    with zipfile.ZipFile(path, "w") as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def entities(content: bytes) -> bytes:
    """XML that grows a thousand million times when it is read."""
    lines = "".join(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in pairwise("abcdefghi"))
    head = f'<?xml version="1.0"?><!DOCTYPE worksheet [<!ENTITY a "ha ha ha">{lines}]>'.encode()
    return head + content[content.index(b"<worksheet") :].replace(b"2E", b"&i;")


@pytest.mark.parametrize(
    ("make", "code"),
    [
        pytest.param(lambda path: path.write_bytes(b""), "broken-workbook", id="empty"),
        pytest.param(lambda path: path.write_bytes(b"code,name\n2E,Ida\n"), "broken-workbook", id="text"),
        pytest.param(lambda path: path.write_bytes(OLD), "old-workbook", id="old-kind-renamed"),
        pytest.param(
            lambda path: path.write_bytes(OLD + "EncryptedPackage".encode("utf-16-le")),
            "protected-workbook", id="with-a-password",
        ),
        pytest.param(truncated, "broken-workbook", id="first-half-only"),
        pytest.param(lambda path: bomb(path, "mimetype", 0), "old-workbook", id="open-document-renamed"),
        pytest.param(
            lambda path: change_part(path, "xl/workbook.xml", lambda _: b'<workbook xmlns="http://purl.oclc.org/ooxml/x"/>'),
            "old-workbook", id="strict",
        ),
        pytest.param(lambda path: without(path, "xl/workbook.xml"), "broken-workbook", id="no-workbook-inside"),
        pytest.param(lambda path: without(path, "[Content_Types].xml"), "broken-workbook", id="no-list-of-parts"),
        pytest.param(lambda path: without(path, SHEET), "broken-workbook", id="no-sheet-inside"),
        pytest.param(lambda path: change_part(path, SHEET, lambda content: content[:400]), "broken-workbook", id="sheet-cut-off"),
        pytest.param(lambda path: change_part(path, SHEET, lambda _: b"not XML"), "broken-workbook", id="sheet-without-xml"),
        pytest.param(lambda path: change_part(path, SHEET, lambda content: content.decode().encode("utf-16")),
                     "broken-workbook", id="sheet-in-utf-16"),
        pytest.param(lambda path: change_part(path, SHEET, entities), "broken-workbook", id="entities-that-grow"),
        pytest.param(lambda path: put_sheet(path, '<row r="2"><c r="A2"/></row><row r="1"><c r="A1"/></row>'),
                     "broken-workbook", id="rows-in-disorder"),
        pytest.param(lambda path: put_sheet(path, '<row r="1"><c r="A1" t="s"><v>99</v></c></row>'),
                     "broken-workbook", id="text-that-is-not-there"),
        pytest.param(lambda path: put_sheet(path, '<row r="1"><c r="A1" s="99"><v>1</v></c></row>'),
                     "broken-workbook", id="format-that-is-not-there"),
        pytest.param(lambda path: bomb(path, "xl/media/image1.png", 200_000_000), "workbook-too-large", id="bomb"),
    ],
)  # fmt: skip
def test_a_workbook_that_cannot_be_read_is_told(tmp_path: Path, make: Callable[[Path], object], code: str) -> None:
    """With what to do; it never ends in a crash, and never takes the memory."""
    path = people(tmp_path)
    make(path)
    assert codes(path) == [(code, "ship.xlsx")]


def test_a_sheet_that_is_too_large_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """By what it claims to be once unpacked: more is never unpacked of it."""
    monkeypatch.setattr(workbooks, "MOST_BYTES", 2_000)
    assert codes(people(tmp_path)) == [("workbook-too-large", "ship.xlsx")]


def test_one_broken_sheet_leaves_the_others(tmp_path: Path) -> None:
    """It is named, and the rows of its kind may be missing."""
    path = write_book(tmp_path / "ship.xlsx", {"people": PEOPLE, "jobs": [["code", "machine"], ["A", "ME"]]})
    change_part(path, "xl/worksheets/sheet2.xml", lambda content: content[:-60])
    bundle, problems = read_files([path])
    assert [person.code for person in bundle.people] == ["2E"]
    assert [(one.code, one.sheet) for one in problems if one.code == "broken-workbook"] == [("broken-workbook", "jobs")]
    assert bundle.cut_short == {"jobs"}


@pytest.mark.parametrize("suffix", [".xls", ".XLSM", ".xlsb", ".ods", ".xltx"])
def test_other_kinds_of_workbook_are_told(tmp_path: Path, suffix: str) -> None:
    """Named or in a folder: rows in them are not to be missed."""
    path = tmp_path / f"ship{suffix}"
    path.write_bytes(b"x")
    for named in (path, tmp_path):
        _, (problem,) = read_files([named])
        assert (problem.code, problem.file) == ("old-workbook", str(path))
        assert "save it as an Excel workbook (.xlsx)" in problem.hint


def test_a_folder_gives_its_workbooks(tmp_path: Path) -> None:
    """But not hidden ones, the marks of open ones, and marked copies."""
    for name in ("ship.xlsx", ".ship.xlsx", "~$ship.xlsx", "ship-problems.xlsx", "SHIP-problems-12.XLSX"):
        write_book(tmp_path / name, {"people": PEOPLE})
    bundle, problems = read_files([tmp_path])
    assert ([person.file for person in bundle.people], problems) == ([f"{tmp_path / 'ship.xlsx'}, sheet people"], [])
    assert [note.split(": ")[0] for note in bundle.notes] == [
        str(tmp_path / name) for name in ("SHIP-problems-12.XLSX", "ship-problems.xlsx")
    ]


def test_a_workbook_that_cannot_be_opened_is_told(tmp_path: Path) -> None:
    """As a CSV file is."""
    (tmp_path / "ship.xlsx").mkdir()
    _, (problem,) = read_files([tmp_path])
    assert (problem.code, problem.file) == ("cannot-read", str(tmp_path / "ship.xlsx"))


def test_files_that_are_no_workbooks_load_no_library(tmp_path: Path) -> None:
    """Nor does a workbook load the one that writes, or the other way round."""
    (tmp_path / "people.csv").write_text("code,name\n2E,Ida\n", encoding="utf-8")
    path = people(tmp_path)
    read = "from pmsched.exchange.files_in import read_files\nread_files([{!r}])"
    text = loaded_modules.after(read.format(str(tmp_path / "people.csv")))
    assert text.of(["openpyxl", "xlsxwriter"]) == []
    assert loaded_modules.after(read.format(str(path))).of(["openpyxl", "xlsxwriter"]) == ["openpyxl"]


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_any_change_of_its_bytes(tmp_path_factory: pytest.TempPathFactory, data: st.DataObject) -> None:
    """A workbook damaged anywhere gives rows or problems, never a crash."""
    path = tmp_path_factory.mktemp("any") / "ship.xlsx"
    content = bytearray(sound_bytes())
    for at in data.draw(st.lists(st.integers(0, len(content) - 1), min_size=1, max_size=30)):
        content[at] = data.draw(st.integers(0, 255))
    path.write_bytes(bytes(content))
    bundle, problems = read_files([path])
    assert bundle.people or problems
