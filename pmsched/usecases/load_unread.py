"""Rows that are there but did not read: other rows may name them, and that is no second problem.

Reads the files once more, only where something was wrong with them, and only the cells that name things.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from pathlib import Path

from pmsched.domain.problems import Problem
from pmsched.exchange.columns import INPUT_FILES, FileKind
from pmsched.exchange.faults import Faults
from pmsched.exchange.headings import count_known, read_heading
from pmsched.exchange.input_files import recognise
from pmsched.exchange.rows import Bundle
from pmsched.exchange.tables import read_table
from pmsched.usecases.load_scene import key_of

# These end the reading of a file, or keep it from being read at all.
_CUT_SHORT = frozenset({"not-utf-8", "cannot-read", "quotes", "no-heading", "no-such-file"})

Texts = Mapping[str, str]
"""The cells of one row as written, by column."""


class Unread:
    """The rows with a problem, by kind of file.

    Args:
        problems: what was found wrong on reading.
        bundle: what did read.

    Attributes:
        rows: their cells.
        cut_short: kinds of which rows may be missing that nothing is known of.
    """

    def __init__(self, problems: Iterable[Problem], bundle: Bundle) -> None:
        self.rows: dict[FileKind, list[Texts]] = defaultdict(list)
        self.cut_short: set[FileKind] = set()
        self._named: dict[tuple[FileKind, str], set[str]] = {}
        wrong: dict[str, set[int]] = defaultdict(set)
        for problem in problems:
            file = recognise(Path(problem.file).name)
            if file is None:
                # A file of another name may be the one that is missing.
                self.cut_short |= {kind for kind in INPUT_FILES if not getattr(bundle, kind)}
            elif problem.code in _CUT_SHORT:
                self.cut_short.add(file.stem)
            else:
                wrong[problem.file].add(0 if problem.code == "missing-column" else problem.row)
        for name, rows in wrong.items():
            self._gather(Path(name), rows)

    def names(self, kind: FileKind, code: str, column: str = "code") -> bool:
        """Whether an unread row names that code in that column, or one that was never seen might."""
        if (kind, column) not in self._named:
            self._named[kind, column] = {key_of(row.get(column, "")) for row in self.rows[kind]}
        return kind in self.cut_short or key_of(code) in self._named[kind, column]

    def _gather(self, path: Path, rows: set[int]) -> None:
        file = recognise(path.name)
        if file is None:
            return
        faults = Faults(str(path), [])
        records = read_table(path, lambda cells: count_known(cells, file), faults)
        if (first := next(records, None)) is None:
            return
        heading = read_heading(first, file, faults)
        for record in records:
            if 0 in rows or record.row in rows:
                cells = {
                    at.column.name: record.cells[at.at].strip() for at in heading.places if at.at < len(record.cells)
                }
                self.rows[file.stem].append(cells)
