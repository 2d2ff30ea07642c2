"""Which files to read: file paths and folders in; input files and workbooks out, anything else told as a problem."""

from __future__ import annotations

import re
from collections.abc import Iterable
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.problems import Problem
from pmsched.exchange.columns import INPUT_FILES, InputFile
from pmsched.exchange.headings import near_match, normal
from pmsched.exchange.workbooks import OTHER_SUFFIXES, SAVE_AS
from pmsched.exchange.workbooks import SUFFIX as WORKBOOK_SUFFIX

SUFFIX = ".csv"
_NAMES = [f"{stem}{SUFFIX}" for stem in INPUT_FILES]
_HINT = f"The names are: {', '.join(_NAMES)}. A workbook (.xlsx) may have any name."
# Marked copies of workbooks lie next to them, and repeat all that is in them.
_MARKED = re.compile(r"(.+)-problems(?:-[0-9]+)?\.xlsx", re.IGNORECASE)


class Found(NamedTuple):
    """An input file that was recognised by its name; ``file`` is None for a workbook."""

    path: Path
    file: InputFile | None


def find_files(paths: Iterable[Path], problems: list[Problem]) -> list[Found]:
    """The input files and workbooks among the paths and in the folders, in the order given; each file once.

    In a folder only ``.csv`` files and workbooks count; hidden ones, and the marked copies that a check made, are passed
    over. Problems are added for a path that does not exist, a name that is not known, a kind of workbook that is not
    read, and a folder without any input file.
    """
    found: dict[Path, Found] = {}
    for path in paths:
        for candidate in _tables(path, problems) if path.is_dir() else [path]:
            file = recognise(candidate.name)
            suffix = candidate.suffix.casefold()
            if not candidate.exists():
                problems.append(_problem("no-such-file", candidate, "There is no such file.", "Check the path."))
            elif suffix in OTHER_SUFFIXES:
                message = f"Workbooks of the kind {suffix} are not read."
                problems.append(
                    _problem("old-workbook", candidate, message, f"{SAVE_AS} If it is not meant, leave it out.")
                )
            elif file is None and suffix != WORKBOOK_SUFFIX:
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


def recognise_sheet(title: str) -> InputFile | None:
    """The input file that a sheet of that name stands for: ``Last done``, ``READINGS-2025``; None if none."""
    name = normal(title)
    return next((file for file in INPUT_FILES.values() if name == file.stem or name.startswith(f"{file.stem}_")), None)


def marked_copies_in(paths: Iterable[Path]) -> list[Path]:
    """The marked copies in those of the paths that are folders."""
    with suppress(OSError):
        return sorted(one for path in paths if path.is_dir() for one in path.iterdir() if _MARKED.fullmatch(one.name))
    return []


def without_marked(name: str) -> str:
    """The name of a workbook that a marked copy was made of; any other name without its suffix."""
    found = _MARKED.fullmatch(name)
    return found[1] if found else Path(name).stem


def _tables(folder: Path, problems: list[Problem]) -> list[Path]:
    try:
        entries = sorted(folder.iterdir())
    except OSError as error:
        message = f"The folder cannot be read ({error.strerror})."
        problems.append(_problem("cannot-read", folder, message, "Check that you may read it."))
        return []
    suffixes = {SUFFIX, WORKBOOK_SUFFIX, *OTHER_SUFFIXES}
    paths = [path for path in entries if path.suffix.casefold() in suffixes and _is_seen(path.name)]
    if not paths:
        problems.append(_problem("no-files", folder, "The folder holds no .csv file and no workbook (.xlsx).", _HINT))
    return paths


def _is_seen(name: str) -> bool:
    """Not hidden, not the mark that a spreadsheet program sets while it has a workbook open, not a marked copy."""
    return not name.startswith((".", "~$")) and not _MARKED.fullmatch(name)


def _problem(code: str, path: Path, message: str, hint: str) -> Problem:
    return Problem(code, str(path), 0, "", message, hint)
