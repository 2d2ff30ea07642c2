"""Empty input files to fill in: a comment for each column, then the heading. They read back as files without rows."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from pathlib import Path

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import INPUT_FILES, Column, InputFile

_HOW = (
    "Rows that begin with # are comments and are not read.",
    "Dates: 2025-03-04. Times: 14:30. Save as CSV UTF-8.",
)


def write_templates(folder: Path) -> list[Path]:
    """Writes an empty commented file of every kind into the folder, which is made if need be; gives their paths.

    Raises:
        Refusal: one of the files is there already (then none is written), or the folder cannot be written to.
    """
    paths = [folder / f"{stem}.csv" for stem in INPUT_FILES]
    there = [path.name for path in paths if path.exists()]
    if there:
        raise _exists(folder, there)
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for path, file in zip(paths, INPUT_FILES.values(), strict=True):
            _write(path, file)
    except OSError as error:
        raise Refusal(
            "cannot-write", f"Writing to {folder} failed ({error.strerror}).", "Name another folder."
        ) from error
    return paths


def comment_lines(file: InputFile) -> Iterator[str]:
    """What the template says before its heading, line by line, each beginning with ``#``."""
    yield f"# {file.lists}"
    for sentence in _HOW:
        yield f"# {sentence}"
    for column in file.columns:
        yield f"# {explain(column)}"


def _write(path: Path, file: InputFile) -> None:
    # The mark at the beginning makes spreadsheets read UTF-8; mode x never overwrites.
    with path.open("x", encoding="utf-8-sig", newline="") as stream:
        writer = csv.writer(stream)
        # One cell a comment, so that a spreadsheet shows it in one piece.
        writer.writerows([line] for line in comment_lines(file))
        writer.writerow([column.name for column in file.columns])


def explain(column: Column) -> str:
    """What a column is for, in a line: whether it is needed, its meaning, what a blank cell means, and an example."""
    needed = " (needed)" if column.required else ""
    default = f" Blank means {column.default}." if column.default else ""
    return f"{column.name}{needed}: {column.meaning}{default} Example: {column.example}"


def _exists(folder: Path, names: list[str]) -> Refusal:
    return Refusal(
        "file-exists",
        f"{folder} already holds {', '.join(names)}; nothing is overwritten.",
        "Name another folder, or move the files away.",
    )
