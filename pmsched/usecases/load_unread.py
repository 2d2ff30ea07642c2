"""Rows that are there but did not read: other rows may name them, and that is no second problem."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping

from pmsched.exchange.columns import FileKind
from pmsched.exchange.rows import Bundle
from pmsched.usecases.load_scene import key_of

Texts = Mapping[str, str]
"""The cells of one row as written, by column."""


class Unread:
    """The rows with a problem, by kind of file.

    Args:
        bundle: what was read.

    Attributes:
        rows: their cells.
        cut_short: kinds of which rows may be missing that nothing is known of.
    """

    def __init__(self, bundle: Bundle) -> None:
        self.rows: dict[FileKind, list[Texts]] = defaultdict(list)
        for row in bundle.unread:
            self.rows[row.kind].append(row.texts)
        self.cut_short = bundle.cut_short
        self._named: dict[tuple[FileKind, str], set[str]] = {}

    def names(self, kind: FileKind, code: str, column: str = "code") -> bool:
        """Whether an unread row names that code in that column, or one that was never seen might."""
        if (kind, column) not in self._named:
            self._named[kind, column] = {key_of(row.get(column, "")) for row in self.rows[kind]}
        return kind in self.cut_short or key_of(code) in self._named[kind, column]
