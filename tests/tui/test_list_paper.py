"""A list as paper: it fits the page, and nothing of it is cut away."""

from __future__ import annotations

from rich.cells import cell_len

from pmsched.tui.list_paper import list_paper
from pmsched.tui.page import WIDTH
from pmsched.tui.widgets.lines import Column, Line

COLUMNS = (Column("done on", 10), Column("job", 60), Column("signed", 8), Column("version", 9))
LONG = "Overhaul the exhaust valves of all six cylinders, with new springs and spindles and 主機 冷却水"
LINES = (
    Line("band", ("JOBS (1)",), band=True),
    Line("1", ("2025-06-01", LONG, "CE", "in force")),
    Line("2", ("2025-06-02", "short", "2E", "corrected")),
)


def test_it_fits_the_page() -> None:
    """The widest column gives way; no row is wider than the page, wide characters counted as two."""
    paper = list_paper("x", "Title", COLUMNS, LINES)
    assert paper is not None
    rows = [paper.heads, *(row for block in paper.blocks for row in block)]
    assert max(cell_len(row) for row in rows) <= WIDTH
    assert len(rows) > len(LINES)


def test_nothing_is_cut_away() -> None:
    """Every word of the list is on the paper, and what is said of a line stands below it."""
    paper = list_paper("x", "Title", COLUMNS, LINES, below=lambda line: f"said of line {line.key}")
    assert paper is not None
    words = " ".join(row for block in paper.blocks for row in block).split()
    assert [word for word in LONG.split() if word not in words] == []
    assert [block[-1].strip() for block in paper.blocks] == ["said of line 1", "said of line 2"]


def test_a_heading_stays_with_its_first_line() -> None:
    """It is one block with the line after it, so that no page ends with a heading."""
    paper = list_paper("x", "Title", COLUMNS, LINES)
    assert paper is not None
    assert len(paper.blocks) == 2
    assert paper.blocks[0][:2] == ("", "JOBS (1)")


def test_an_empty_list_is_no_paper() -> None:
    """There is nothing to print."""
    assert list_paper("x", "Title", COLUMNS, ()) is None
