"""Which files to read: file paths and folders in, recognised input files out, anything else told as a problem."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.problems import Problem
from pmsched.exchange.columns import INPUT_FILES, InputFile
from pmsched.exchange.headings import near_match

SUFFIX = ".csv"
_NAMES = [f"{stem}{SUFFIX}" for stem in INPUT_FILES]
_HINT = f"The names are: {', '.join(_NAMES)}."


class Found(NamedTuple):
    """An input file that was recognised by its name."""

    path: Path
    file: InputFile


def find_files(paths: Iterable[Path], problems: list[Problem]) -> list[Found]:
    """The input files among the paths and in the folders, in the order given; each file once.

    In a folder only ``.csv`` files count; hidden ones are passed over. Problems are added for a path that does not
    exist, a name that is not known, and a folder without any input file.
    """
    found: dict[Path, Found] = {}
    for path in paths:
        for candidate in _csv_files(path, problems) if path.is_dir() else [path]:
            file = recognise(candidate.name)
            if not candidate.exists():
                problems.append(_problem("no-such-file", candidate, "There is no such file.", "Check the path."))
            elif file is None:
                hint = f"{near_match(candidate.stem, INPUT_FILES)}{_HINT}"
                problems.append(_problem("unknown-file", candidate, "The name is not that of an input file.", hint))
            else:
                found.setdefault(candidate.resolve(), Found(candidate, file))
    return list(found.values())


def recognise(name: str) -> InputFile | None:
    """The input file of that name: ``readings.csv``, ``Readings.CSV``, ``readings-2025-06.csv``; None if none."""
    lowered = name.casefold()
    if not lowered.endswith(SUFFIX):
        return None
    stem = lowered.removesuffix(SUFFIX)
    return next((file for file in INPUT_FILES.values() if stem == file.stem or stem.startswith(f"{file.stem}-")), None)


def _csv_files(folder: Path, problems: list[Problem]) -> list[Path]:
    try:
        entries = sorted(folder.iterdir())
    except OSError as error:
        message = f"The folder cannot be read ({error.strerror})."
        problems.append(_problem("cannot-read", folder, message, "Check that you may read it."))
        return []
    paths = [path for path in entries if path.suffix.casefold() == SUFFIX and not path.name.startswith(".")]
    if not paths:
        problems.append(_problem("no-files", folder, "The folder holds no .csv file.", _HINT))
    return paths


def _problem(code: str, path: Path, message: str, hint: str) -> Problem:
    return Problem(code, str(path), 0, "", message, hint)
