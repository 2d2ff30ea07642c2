"""What a load adds, changes and leaves, told row by row. Values only; nothing is written here."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from pmsched.domain.errors import NotAllowed
from pmsched.domain.limbs import write_amount
from pmsched.exchange.columns import FileKind
from pmsched.exchange.rows import Row

_MOST_NAMED = 20


class Change(NamedTuple):
    """A column whose value becomes another: as the register has it, and as the file says."""

    column: str
    old: str
    new: str

    def __str__(self) -> str:
        return f"{self.column} {self.old or '(blank)'} -> {self.new or '(blank)'}"


class Proposed(NamedTuple):
    """A row that says something else than it did when it was loaded last: what it is about, and every change."""

    kind: FileKind
    key: str
    changes: tuple[Change, ...]
    file: str
    row: int

    def __str__(self) -> str:
        return f"{self.key}: {'; '.join(map(str, self.changes))}"


class Held(NamedTuple):
    """A reading that cannot be true; kept, not used. ``number`` is empty where nothing was written."""

    number: str
    counter: str
    message: str
    file: str
    row: int


class ReasonMissing(NotAllowed):
    """The files change what was loaded before, and no reason is given; ``proposed`` holds every change."""

    def __init__(self, proposed: Sequence[Proposed]) -> None:
        self.proposed = tuple(proposed)
        named = [f"  {one}" for one in self.proposed[:_MOST_NAMED]]
        if (more := len(self.proposed) - len(named)) > 0:
            named.append(f"  and {more} more")
        listed = "\n".join(named)
        super().__init__(
            "reason-missing-for-changes",
            f"The files change what was loaded before; nothing was written:\n{listed}",
            "Say why, for example --reason 'new instruction from the maker'.",
        )


class Tally:
    """What became of every row. A row that is told of more than once counts once."""

    def __init__(self) -> None:
        self._rows: dict[tuple[FileKind, int], tuple[str, Row]] = {}
        self._new: set[tuple[FileKind, int]] = set()
        self._changes: dict[tuple[FileKind, int], list[Change]] = {}
        self.held: list[Held] = []

    def saw(self, kind: FileKind, key: str, row: Row, changes: Iterable[Change] = (), *, new: bool = False) -> None:
        """The row was looked at: it is new, or these columns of it change, or nothing does."""
        at = (kind, id(row))
        self._rows[at] = (key, row)
        if new:
            self._new.add(at)
        self._changes.setdefault(at, []).extend(changes)

    @property
    def added(self) -> dict[FileKind, int]:
        """Rows added, by kind of file."""
        return dict(Counter(kind for kind, _ in self._new))

    @property
    def unchanged(self) -> dict[FileKind, int]:
        """Rows that say nothing new, by kind of file."""
        same = (at for at in self._rows if at not in self._new and not self._changes[at])
        return dict(Counter(kind for kind, _ in same))

    @property
    def revised(self) -> tuple[Proposed, ...]:
        """Rows that change something, in the order of the files."""
        found = (at for at in self._rows if at not in self._new and self._changes[at])
        return tuple(self._proposed(at) for at in found)

    def _proposed(self, at: tuple[FileKind, int]) -> Proposed:
        key, row = self._rows[at]
        return Proposed(at[0], key, tuple(self._changes[at]), row.file, row.row)


def shown(value: Any) -> str:
    """A value as it stands in a list of changes, close to how it is written in a cell."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, date):
        return value.isoformat()
    return str(value).replace("\n", "; ")


def amounts_shown(amounts: Mapping[str, int]) -> str:
    """Amounts with their units, as in a cell: ``20000 h; 640 starts``."""
    return "; ".join(write_amount(amount, unit) for unit, amount in sorted(amounts.items()))


def share_shown(share: Fraction) -> str:
    """A share as in a cell, with the space before it; nothing for the whole."""
    return "" if share == 1 else f" {share}"
