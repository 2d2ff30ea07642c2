"""Keys of one's own, and lists in another order."""

from __future__ import annotations

from pathlib import Path

import pytest

from pmsched.domain.errors import Refusal
from pmsched.tui.own_keys import NAME, own_keys
from pmsched.tui.widgets.lines import Column, Line, Lines

COLUMNS = (Column("machine", 10), Column("left", 10))
LINES = (
    Line("band", ("OVERDUE",), band=True),
    Line("b", ("AE10", "1 200 h")),
    Line("a", ("AE2", "95 h")),
    Line("c", ("AE1", "")),
)


def test_no_file_changes_nothing(tmp_path: Path) -> None:
    """Most people have none."""
    assert own_keys(tmp_path) == {}


def test_keys_are_read(tmp_path: Path) -> None:
    """By the names of the actions."""
    (tmp_path / NAME).write_text('report = "f12,d"\n', encoding="utf-8")
    assert own_keys(tmp_path) == {"report": "f12,d"}


@pytest.mark.parametrize("text", ['fly = "f"', "report = 3", "report ="])
def test_what_cannot_be_meant_is_refused(tmp_path: Path, text: str) -> None:
    """Naming the file, so that it can be mended."""
    (tmp_path / NAME).write_text(text, encoding="utf-8")
    with pytest.raises(Refusal, match=NAME):
        own_keys(tmp_path)


def test_lists_are_ordered_by_one_column_after_the_other() -> None:
    """Numbers by size, empty cells last, bands left out; after the last column as given."""
    lines = Lines(COLUMNS)
    lines._given = lines._lines = LINES
    lines._order = 0
    assert [line.key for line in lines._ordered(0)] == ["c", "a", "b"]
    assert [line.key for line in lines._ordered(1)] == ["a", "b", "c"]
