"""Whatever stands in a file, reading it ends with rows and problems, never with a crash."""

from __future__ import annotations

import io
from pathlib import Path
from tempfile import TemporaryDirectory

from hypothesis import given, settings
from hypothesis import strategies as st

from pmsched.domain.problems import Problem
from pmsched.exchange.columns import INPUT_FILES, InputFile
from pmsched.exchange.csv_out import write_csv
from pmsched.exchange.files_in import read_files

FILES = st.sampled_from(list(INPUT_FILES.values()))
WORDS = [
    *("0", "1", "12", "99999999999999999999", "2025-02-29", "03/04/2025", "4 Mar 2025", "24:00", "1200", "12,345", "1/2"),
    *("h", "starts", "months", "%", "m", "P1Y", "or", "and", "from", "at", "due at once", "grid", "aim", "h:min", "tenths"),
    *(";", ",", "/", "-", "'", '"', "#", " ", "\n", "\t", "\u00a0", "\u202e", "\x00", "²", "٣"),
]  # fmt: skip
CELLS = st.text(max_size=12) | st.lists(st.sampled_from(WORDS), max_size=5).map(" ".join)


def read_bytes(file: InputFile, content: bytes) -> tuple[int, list[Problem]]:
    """How many rows there are, and the problems."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / f"{file.stem}.csv"
        path.write_bytes(content)
        bundle, problems = read_files([path])
    return len(getattr(bundle, file.stem)), problems


@settings(max_examples=100)
@given(FILES, st.binary(max_size=200), st.booleans())
def test_any_bytes(file: InputFile, content: bytes, with_heading: bool) -> None:
    """A file that gives no row says why, or holds none."""
    heading = ",".join(column.name for column in file.columns) + "\n"
    rows, problems = read_bytes(file, heading.encode() + content if with_heading else content)
    assert rows or problems or with_heading


@settings(max_examples=200)
@given(st.data(), FILES)
def test_any_cells(data: st.DataObject, file: InputFile) -> None:
    """A row is read or told of, and each problem names a row, a column of the file and what to do."""
    row = [data.draw(CELLS | st.just(column.example), column.name) for column in file.columns]
    stream = io.StringIO(newline="")
    write_csv(stream, [column.name for column in file.columns], [row])
    rows, problems = read_bytes(file, stream.getvalue().encode())
    is_empty = not any(cell.strip() for cell in row) or row[0].lstrip().startswith("#")
    assert is_empty or bool(rows) != bool(problems)
    names = {column.name for column in file.columns}
    assert all(problem.row == 2 and problem.column in names and problem.hint for problem in problems)
