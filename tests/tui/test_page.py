"""Plain functions behind screens and paper: folding text, laying out pages, reading what is typed, keeping drafts."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from rich.cells import cell_len

from pmsched.domain.errors import Refusal
from pmsched.store.drafts import Draft
from pmsched.tui import typed_values
from pmsched.tui.folding import folded, row
from pmsched.tui.keeping import Keeper
from pmsched.tui.page import HEIGHT, WIDTH, Paper, Printed, page_text, spread, write_page

SHIP = Printed("MV Invented", "Tue 2025-07-01 20:00 UTC", "C. Coen, Third engineer")
CONDITIONS = ("as new", "fair wear, will last", "worn, watch", "worn, renewed", "damaged, not repaired")


# --- folding ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "width", "lines"),
    [
        pytest.param("", 10, [""], id="empty"),
        pytest.param("a  b", 10, ["a  b"], id="fits-as-it-is"),
        pytest.param("one two three", 7, ["one two", "three"], id="by-words"),
        pytest.param("  one two three", 9, ["  one two", "  three"], id="margin-stays"),
        pytest.param("abcdefghij", 4, ["abcd", "efgh", "ij"], id="long-word"),
        pytest.param("it is at 12 500 h now", 14, ["it is at", "12 500 h now"], id="figure-stays-whole"),
        pytest.param("one\ntwo", 10, ["one", "two"], id="line-breaks"),
        pytest.param("\u6cf5\u623f \u6cf5\u623f", 5, ["\u6cf5\u623f", "\u6cf5\u623f"], id="wide-characters"),
        pytest.param("a\x1bb", 10, ["a\u241bb"], id="control-character"),
    ],
)
def test_text_is_folded(text: str, width: int, lines: list[str]) -> None:
    """At blanks, but never inside a figure; longer words are broken."""
    assert folded(text, width) == lines


@example(" aa\u6cf5", 4, "  ")
@given(st.text(alphabet="ab \u6cf5", max_size=60), st.integers(4, 20), st.sampled_from(["", "  "]))
def test_nothing_is_lost_by_folding(text: str, width: int, indent: str) -> None:
    """Every character but blanks comes out, in order, and no line is too wide."""
    lines = folded(text, width, indent)
    assert "".join("".join(lines).split()) == "".join(text.split())
    assert max(map(cell_len, lines)) <= width


def test_row_takes_the_lines_of_its_fullest_cell() -> None:
    """Cells stand side by side, none is cut."""
    assert list(row(("a b", "one two three", ""), (1, 9, 3))) == ["a one two", "b three"]


# --- pages ------------------------------------------------------------------------------------------------------------


def test_page_says_whose_it_is() -> None:
    """Site, ship's time, title, signer, column names, the standing notice, page number and seal."""
    text = page_text(Paper("watch", "Watch: what is due", "state job", (("one",), ("two",)), "89d2-69a0-31af"), SHIP)
    lines = text.splitlines()
    assert lines[0].startswith("MV Invented ")
    assert lines[0].endswith(" Tue 2025-07-01 20:00 UTC")
    assert lines[1] == "Watch: what is due"
    assert lines[2].startswith("Signed: C. Coen, Third engineer ___")
    assert lines[4] == "state job"
    assert lines[6:8] == ["one", "two"]
    assert "pmsched advises." in text
    assert lines[-1].startswith("Page 1 of 1 ")
    assert lines[-1].endswith(" seal 89d2-69a0-31af")


@given(st.lists(st.integers(1, 90), max_size=12))
def test_pages_hold_everything_once_and_no_more_than_fits(heights: list[int]) -> None:
    """Blocks of any height: all lines are there in order; a block that fits on a page is not broken."""
    blocks = tuple(tuple(f"{n}/{k}" for k in range(height)) for n, height in enumerate(heights))
    pages = page_text(Paper("x", "t", "", blocks), SHIP).split("\f")
    printed = [[line for line in page.splitlines() if "/" in line] for page in pages]
    assert [line for page in printed for line in page] == [line for block in blocks for line in block]
    assert all(len(page.splitlines()) <= HEIGHT for page in pages)
    assert all(page.splitlines()[-1] == f"Page {n} of {len(pages)}" for n, page in enumerate(pages, 1))
    room = HEIGHT - 8
    for block in blocks:
        touched = [page for page in printed if set(page) & set(block)]
        assert len(touched) == 1 or len(block) > room


def test_line_that_does_not_fit_becomes_two() -> None:
    """A long name of a site is not cut."""
    site = "MV " + "Long" * 16
    assert spread(site, SHIP.when).splitlines() == [site, SHIP.when]
    assert cell_len(spread("a", "b")) == WIDTH


def test_pages_lie_beside_each_other(tmp_path: Path) -> None:
    """The folder is made; a name that is taken gets a number."""
    folder = tmp_path / "new" / "folder"
    assert [write_page(folder, "watch", text).name for text in ("1", "2", "3")] == [
        "watch.txt", "watch-2.txt", "watch-3.txt",
    ]  # fmt: skip
    assert (folder / "watch-2.txt").read_text(encoding="utf-8") == "2"


# --- what is typed ----------------------------------------------------------------------------------------------------

TODAY = date(2025, 3, 1)


@pytest.mark.parametrize(
    ("text", "day"),
    [("2025-02-27", date(2025, 2, 27)), ("-1", date(2025, 2, 28)), ("-0", TODAY), (" -60 ", date(2024, 12, 31))],
)
def test_days_are_read(text: str, day: date) -> None:
    """A date, or how many days ago."""
    assert typed_values.day(text, TODAY) == day


@pytest.mark.parametrize(
    ("text", "said"),
    [("1", "as new"), ("5", "damaged, not repaired"), ("fair", "fair wear, will last"), ("WORN, R", "worn, renewed")],
)
def test_a_choice_is_made_by_number_or_first_letters(text: str, said: str) -> None:
    """Either way."""
    assert typed_values.one_of(text, CONDITIONS) == said


@pytest.mark.parametrize("text", ["0", "6", "worn", "new", "\u0661\u0661"])
def test_an_unclear_choice_names_the_choices(text: str) -> None:
    """No number, two meanings, or the middle of a word."""
    with pytest.raises(Refusal, match="1 as new; 2 fair wear, will last; 3 worn, watch"):
        typed_values.one_of(text, CONDITIONS)


@pytest.mark.parametrize(
    ("text", "known", "units"),
    [
        pytest.param("1 3", ("1", "2", "3"), ("1", "3"), id="blanks"),
        pytest.param("1,2; 3", ("1", "2", "3"), ("1", "2", "3"), id="commas"),
        pytest.param("crane 2", ("Crane 1", "Crane 2"), ("Crane 2",), id="name-with-blank"),
        pytest.param("a", ("A", "B"), ("A",), id="any-case"),
    ],
)
def test_units_are_read(text: str, known: tuple[str, ...], units: tuple[str, ...]) -> None:
    """As the register writes them."""
    assert typed_values.units(text, known) == units


def test_time_is_shown_by_the_clock_of_then() -> None:
    """2 h ahead of UTC, over midnight."""
    assert typed_values.shown_time(1_751_407_200, 120) == "2025-07-02 00:00"


# --- drafts -----------------------------------------------------------------------------------------------------------


def test_keeper_brings_back_what_was_noted_last(tmp_path: Path) -> None:
    """Saved in any thread, it is the newest that counts."""
    keeper = Keeper(Draft(tmp_path, "form"))
    keeper.note({"a": "1"})
    keeper.note({"a": "2"})
    keeper.save()
    assert Keeper(Draft(tmp_path, "form")).load().typed == {"a": "2"}


@pytest.mark.parametrize("late", [False, True], ids=["signed", "saved-late"])
def test_signed_form_leaves_no_draft(tmp_path: Path, *, late: bool) -> None:
    """Not even if a thread comes to save it only then."""
    keeper = Keeper(Draft(tmp_path, "form"))
    keeper.note({"a": "1"})
    keeper.save()
    keeper.signed()
    if late:
        keeper.save()
    assert list(tmp_path.iterdir()) == []


def test_form_put_back_as_it_was_leaves_no_draft(tmp_path: Path) -> None:
    """Nothing differs any more, so nothing is kept."""
    keeper = Keeper(Draft(tmp_path, "form"))
    for values in ({"a": "1"}, {}):
        keeper.note(values)
        keeper.save()
    assert list(tmp_path.iterdir()) == []


def test_draft_of_something_else_is_not_taken_over(tmp_path: Path) -> None:
    """Only texts go into fields."""
    kept: dict[str, Any] = {"a": "1", "b": 2, "c": None}
    Draft(tmp_path, "form").save(kept)
    assert Keeper(Draft(tmp_path, "form")).load().typed == {"a": "1"}
