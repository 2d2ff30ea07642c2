"""Places on the walk: a blank place means the place of the row, and must not change because rows were put between.

Knows rows and numbers only.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Protocol

STEP = 10
"""What the reader of files counts on from row to row where the place is blank."""


class Placed(Protocol):
    """A row with a place on the walk."""

    @property
    def order(self) -> int:
        """The place."""


def settled_orders(rows: Sequence[Placed], said: Sequence[int | None]) -> list[int]:
    """The place of every row: as it was, where the rows already loaded follow each other as before.

    New rows among them are put half-way between. Where the rows follow each other otherwise, or no number is left
    between two, every row takes the place it has in the file.

    Args:
        rows: in the order of the file.
        said: the place that each had when it was loaded last; None for a new one.
    """
    in_file = [row.order for row in rows]
    # Only where places are blank in the whole file can the rows alone tell the order.
    known = [place for place in said if place is not None]
    if not known or in_file != [STEP * nth for nth in range(1, len(rows) + 1)]:
        return in_file
    if any(later <= earlier for earlier, later in pairwise(known)):
        return in_file
    settled = list(_filled(said))
    return settled if all(later > earlier for earlier, later in pairwise(settled)) else in_file


def _filled(said: Sequence[int | None]) -> Iterator[int]:
    before = 0
    for nth, place in enumerate(said):
        if place is not None:
            before = place
        else:
            after = next((later for later in said[nth + 1 :] if later is not None), None)
            before = before + STEP if after is None else (before + after) // 2
        yield before
