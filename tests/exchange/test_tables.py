"""Text files as tables: delimiters, quotes, line ends, encodings, headings and file names."""

from __future__ import annotations

from pathlib import Path

import pytest

from pmsched.domain.problems import Problem
from pmsched.exchange.files_in import read_files
from pmsched.exchange.input_files import recognise

HEADING, ROW = "code,name,rank,department", "2E,Ida Holm,2/E,engine"
UNREADABLE = ("The folder cannot be read (Permission denied).", "Check that you may read it.")
PLAIN = f"{HEADING}\n{ROW}\n"


def read_people(folder: Path, content: bytes) -> tuple[list[tuple[int, str, str]], list[Problem]]:
    """Row, code and name of everybody in the file, and the problems."""
    (folder / "people.csv").write_bytes(content)
    bundle, problems = read_files([folder / "people.csv"])
    return [(person.row, person.code, person.name) for person in bundle.people], problems


@pytest.mark.parametrize(
    "text",
    [
        pytest.param(PLAIN, id="comma"),
        pytest.param(PLAIN.replace(",", ";"), id="semicolon"),
        pytest.param(PLAIN.replace(",", "\t"), id="tab"),
        pytest.param(PLAIN.replace("\n", "\r\n"), id="crlf"),
        pytest.param(PLAIN.replace("\n", "\r"), id="cr"),
        pytest.param(PLAIN.rstrip(), id="no-last-line-end"),
        pytest.param(f"\ufeff{PLAIN}", id="byte-order-mark"),
        pytest.param("Code, NAME ,Rank,DEPARTMENT\n" + ROW, id="capitals-and-blanks-in-the-heading"),
        pytest.param(f'"code","name","rank","department"\n{ROW}', id="quoted-heading"),
        pytest.param(f"{HEADING},,\n{ROW},,\n,,,,,\n", id="empty-columns-and-rows-of-a-spreadsheet"),
        pytest.param("name;code;department;rank\nIda Holm;2E;engine;2/E", id="other-order"),
        pytest.param(f"Code (short),Name [in full],Rank *,Department:\n{ROW}", id="brackets-and-marks-in-the-heading"),
        pytest.param(f"#,{HEADING}\n1,{ROW}", id="column-of-row-numbers"),
        pytest.param(f"{HEADING},# remarks\n{ROW},x", id="column-left-out-by-a-hash"),
    ],
)
def test_ways_of_writing_one_table(tmp_path: Path, text: str) -> None:
    """All give the same person."""
    assert read_people(tmp_path, text.encode()) == ([(2, "2E", "Ida Holm")], [])


def test_rows_count_as_in_a_spreadsheet(tmp_path: Path) -> None:
    """Comments, blank rows and cells of several lines each take one row."""
    text = (
        '# people; "not read\n'
        "\n"
        f"{HEADING}\n"
        '# 1E,"a row put out\nby its mark",2/E,engine\n'
        '"# quoted comment, as a spreadsheet saves it",,,\n'
        "2E,Ida Holm,2/E,engine\n"
        ",,,\n"
        '3E,"Jo\nBerg",3/E,engine\n'
        '4E,"Ann ""Quick"" Lund",4/E,engine\n'
    )  # fmt: skip
    people, problems = read_people(tmp_path, text.encode())
    assert people == [(6, "2E", "Ida Holm"), (9, "4E", 'Ann "Quick" Lund')]
    assert [(problem.code, problem.row, problem.column) for problem in problems] == [("control-character", 8, "name")]


@pytest.mark.parametrize(
    ("content", "code", "row", "words"),
    [
        pytest.param(b"", "no-heading", 0, "The columns are: code, name", id="empty"),
        pytest.param(b"# only a comment\n\n", "no-heading", 0, "The columns are: code, name", id="comment-only"),
        pytest.param(ROW.encode(), "no-heading", 0, "The columns are: code, name", id="rows-without-heading"),
        pytest.param(f"{PLAIN}3E,Åse,3/E,deck\n".encode("cp1252"), "not-utf-8", 3, "Save it again as", id="latin"),
        pytest.param(PLAIN.encode("utf-16"), "not-utf-8", 0, "Save it again as", id="utf-16"),
        pytest.param(b"PK\x03\x04\xff\xfe\x80", "not-utf-8", 0, "Save it again as", id="a-workbook"),
        pytest.param(f'{PLAIN}3E,"Jo" B,3/E,deck\n'.encode(), "quotes", 3, "twice", id="text-after-quotes"),
        pytest.param(f'{PLAIN}3E,"Jo,3/E,deck\n{ROW}\n'.encode(), "quotes", 3, "were not read", id="open-quotes"),
        pytest.param(
            f'{PLAIN}3E,"{"Jo,3/E,deck, " * 20_000}'.encode(), "quotes", 3, "were not read", id="endless-quotes"
        ),
        pytest.param(
            f"{HEADING},\x07note\n{ROW},\n".encode(), "unknown-column", 1, "column ␇note", id="bell-in-the-heading"
        ),
        pytest.param(f"{HEADING},,note\n".encode(), "nameless-column", 1, "Column 5", id="nameless-column"),
        pytest.param(f"{HEADING},Name\n{ROW},Jo\n".encode(), "column-twice", 1, "Keep one", id="column-twice"),
        pytest.param(f"{PLAIN}3E,\n".encode(), "missing-value", 3, "Write it, such as Ida Holm", id="short-row"),
    ],
)
def test_faults_of_a_table(tmp_path: Path, content: bytes, code: str, row: int, words: str) -> None:
    """Told with the row, and with what to do."""
    _, problems = read_people(tmp_path, content)
    assert (problems[0].code, problems[0].row) == (code, row)
    assert words in str(problems[0])


def test_the_error_of_a_formula_is_no_comment(tmp_path: Path) -> None:
    """It begins with the mark of a comment; the row must not be lost."""
    people, problems = read_people(tmp_path, f"{HEADING}\n#REF!,Jo,3/E,deck\n{ROW}\n".encode())
    assert people == [(3, "2E", "Ida Holm")]
    assert [(problem.code, problem.row, problem.column) for problem in problems] == [("error-cell", 2, "code")]


def test_reading_goes_on_after_ill_placed_quotes(tmp_path: Path) -> None:
    """Only an open quote makes the rest unreadable."""
    people, problems = read_people(tmp_path, f'{HEADING}\n3E,"Jo" B,3/E,deck\n{ROW}\n'.encode())
    assert people == [(3, "2E", "Ida Holm")]
    assert len(problems) == 1


@pytest.mark.parametrize(
    ("name", "stem"),
    [
        ("people.csv", "people"),
        ("PEOPLE.CSV", "people"),
        ("readings-2025-06.csv", "readings"),
        ("last_done-engine.csv", "last_done"),
        ("people_extra.csv", None),
        ("people2.csv", None),
        ("peoples.csv", None),
        ("people.xlsx", None),
        ("people", None),
    ],
)
def test_files_are_recognised_by_name(name: str, stem: str | None) -> None:
    """The stem exactly, or the stem, a hyphen and anything."""
    file = recognise(name)
    assert (file.stem if file else None) == stem


def test_paths_that_are_no_input_files_are_told(tmp_path: Path) -> None:
    """Nothing named is passed over in silence; hidden files and other suffixes in a folder are."""
    empty, mixed = tmp_path / "empty", tmp_path / "mixed"
    empty.mkdir()
    mixed.mkdir()
    for name in ("machine.csv", ".people.csv", "readme.txt"):
        (mixed / name).write_text("", encoding="utf-8")
    paths = [empty, mixed, tmp_path / "jobs.csv", mixed / "readme.txt"]
    _, problems = read_files([str(path) for path in paths])
    assert [(problem.code, problem.file) for problem in problems] == [
        ("no-files", str(empty)),
        ("unknown-file", str(mixed / "machine.csv")),
        ("no-such-file", str(tmp_path / "jobs.csv")),
        ("unknown-file", str(mixed / "readme.txt")),
    ]
    assert "Did you mean 'machines'?" in problems[1].hint


def test_a_folder_named_like_a_file_is_told(tmp_path: Path) -> None:
    """It cannot be opened; that is a problem, not a crash."""
    (tmp_path / "people.csv").mkdir()
    _, problems = read_files([tmp_path])
    assert [problem.code for problem in problems] == ["cannot-read"]


def test_a_folder_that_cannot_be_read_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As when the rights are missing."""

    def refuse(_: Path) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "iterdir", refuse)
    _, problems = read_files([tmp_path])
    assert problems == [Problem("cannot-read", str(tmp_path), 0, "", *UNREADABLE)]
