"""Text tables keep straight, fit the width, and cut only what may be cut."""

from __future__ import annotations

import pytest

from pmsched.cli.tables import Column, cut_to, table, text_width, wrapped

COLUMNS = (Column("job"), Column("title", cut=True), Column("left", right=True), Column("marks", spare=True))
ROWS = [
    ("ME-LO", "Change lube oil", "272 h", "crit"),
    ("GE1-EXV 1", "Overhaul exhaust valves of the engine next door", "in 3 d", ""),
]


@pytest.mark.parametrize("width", [40, 60, 80, 200])
def test_table_fits_the_width(width: int) -> None:
    """No line is wider than the terminal while there is a column to shorten."""
    assert max(text_width(line) for line in table(COLUMNS, ROWS, width)) <= width


def test_only_the_cut_column_is_shortened() -> None:
    """An ellipsis marks the shortened text; codes and amounts stay whole."""
    lines = list(table(COLUMNS, ROWS, 50))
    assert "Overhaul exhaust" in lines[2]
    assert "\u2026" in lines[2]
    assert lines[2].startswith("GE1-EXV 1")
    assert "in 3 d" in lines[2]


def test_wide_terminal_cuts_nothing() -> None:
    """With room for everything, everything stands there."""
    assert "\u2026" not in "".join(table(COLUMNS, ROWS, 200))


def test_spare_column_goes_first() -> None:
    """On a narrow terminal the spare column is left out before the title becomes unreadable."""
    heading, *_ = table(COLUMNS, ROWS, 45)
    assert "marks" not in heading


def test_empty_spare_column_is_left_out() -> None:
    """A spare column that no row fills takes no room."""
    heading, *_ = table(COLUMNS, [("A", "b", "c", "")], 200)
    assert "marks" not in heading


@pytest.mark.parametrize(
    ("text", "width"),
    [
        pytest.param("pump", 4, id="latin"),
        pytest.param("主機", 4, id="wide"),
        pytest.param("e\u0301", 1, id="combining"),
        pytest.param("Κύρια", 5, id="greek"),
    ],
)
def test_text_width_counts_places(text: str, width: int) -> None:
    """What counts is places on the terminal, not characters."""
    assert text_width(text) == width


@pytest.mark.parametrize(
    ("text", "width", "cut"),
    [
        pytest.param("exactly", 7, "exactly", id="fits"),
        pytest.param("too long", 5, "too\u2026", id="blank-before-ellipsis"),
        pytest.param("主機主機", 5, "主機\u2026", id="wide"),
        pytest.param("主機主機", 4, "主\u2026", id="wide-half"),
    ],
)
def test_cut_to_width(text: str, width: int, cut: str) -> None:
    """A cut text with its ellipsis is never wider than asked for."""
    assert cut_to(text, width) == cut
    assert text_width(cut) <= width


def test_hidden_characters_become_visible() -> None:
    """A line break or an escape in a cell can neither break the table nor colour the terminal."""
    lines = list(table((Column("a"),), [("x\ny\x1b[31m",)], 80))
    assert lines == ["a", "x\u240ay\u241b[31m"]


def test_wrapped_breaks_at_blanks_and_keeps_line_breaks() -> None:
    """Every line fits with its indent; what stood on lines of its own stays so."""
    assert list(wrapped("one two three\nfour", 9, "  ")) == ["  one two", "  three", "  four"]
