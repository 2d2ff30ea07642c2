"""The list by itself: names that are cut are seen to be, and moving through a long list seldom paints all of it."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from pilot import press, run_app, text_of
from textual.app import App, ComposeResult
from textual.pilot import Pilot
from textual.widgets import Input

from pmsched.tui.widgets.lines import Column, Line, Lines

ROWS = 23
"""Lines that fit below the names of the columns on a small screen."""


class ListApp(App[None]):
    """One list and nothing else."""

    def __init__(self, lines: Sequence[Line], columns: Sequence[Column] = (Column("name", 10),)) -> None:
        super().__init__()
        self.given = lines, columns

    def compose(self) -> ComposeResult:
        """The list, and a field that can have the keyboard instead."""
        yield Lines(self.given[1])
        yield Input()

    def on_mount(self) -> None:
        """Its lines."""
        self.query_one(Input).display = False
        self.query_one(Lines).show(*self.given)


def long_list(count: int = 200) -> list[Line]:
    """Many lines, each with its number."""
    return [Line(str(n), (f"line {n}",)) for n in range(count)]


@pytest.mark.parametrize(
    ("name", "column", "shown"),
    [
        pytest.param("exactly 10", Column("", 10), "exactly 10", id="fits"),
        pytest.param("one too long", Column("", 10), "one too l…", id="cut"),
        pytest.param("12 345 678.9", Column("", 10, right=True), "12 345 67…", id="number-cut"),
        pytest.param("12", Column("", 4, right=True), "  12", id="number-to-the-right"),
        pytest.param("主機冷却水ポンプ", Column("", 9), "主機冷却…", id="wide-characters"),
        pytest.param("機", Column("", 4, right=True), "  機", id="wide-character-to-the-right"),
    ],
)
def test_what_is_cut_is_seen_to_be(name: str, column: Column, shown: str) -> None:
    """Half a name is never taken for a whole one; the column keeps its width in cells."""

    async def steps(pilot: Pilot[None]) -> None:
        assert text_of(pilot.app).splitlines()[1].rstrip() == f"{shown} |"

    run_app(ListApp([Line("1", (name, "|"))], (column, Column("", 1))), steps)


@pytest.mark.parametrize(("start", "key"), [(0, "down"), (199, "up")], ids=["down", "up"])
def test_most_moves_scroll_nothing(start: int, key: str) -> None:
    """Half a page at once, at the edge; the chosen line is always in sight."""

    async def steps(pilot: Pilot[None]) -> None:
        lines = pilot.app.query_one(Lines)
        lines.cursor = start
        await pilot.pause()
        seen = []
        for _ in range(100):
            lines.action_move(1 if key == "down" else -1)
            top = lines.scroll_offset.y
            seen.append(top)
            assert top <= lines.cursor < top + ROWS
        assert len(set(seen)) <= 100 // (ROWS // 2) + 1

    run_app(ListApp(long_list()), steps)


def test_pages_and_ends_leave_nothing_out() -> None:
    """A page down shows lines not shown before, without a gap; End and Home show the last and the first line."""

    async def steps(pilot: Pilot[None]) -> None:
        lines = pilot.app.query_one(Lines)
        shown: set[int] = set(range(ROWS))
        for _ in range(10):
            await press(pilot, "pagedown")
            shown |= set(range(lines.scroll_offset.y, lines.scroll_offset.y + ROWS))
        assert shown == set(range(max(shown) + 1))
        await press(pilot, "end")
        assert text_of(pilot.app).splitlines()[-1].startswith("line 199")
        await press(pilot, "home")
        assert text_of(pilot.app).splitlines()[1].startswith("line 0")

    run_app(ListApp(long_list()), steps)


def test_a_band_stays_in_sight_above_its_first_line() -> None:
    """Moving up, the heading comes with the line below it."""
    lines = [Line("band", ("BAND",), band=True), *long_list(60)]

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "end", "home")
        assert text_of(pilot.app).splitlines()[1].strip() == "BAND"

    run_app(ListApp(lines), steps)


def test_the_chosen_line_is_seen_without_the_keyboard_too() -> None:
    """Its ground is another than that of the other lines, and another than with the keyboard."""

    async def steps(pilot: Pilot[None]) -> None:
        def grounds() -> list[object]:
            return [next(part.style and part.style.bgcolor for part in lines.render_line(y)) for y in (1, 2, 3)]

        lines = pilot.app.query_one(Lines)
        await press(pilot, "down")
        with_keyboard = grounds()
        pilot.app.query_one(Input).display = True
        await press(pilot, "tab")
        without = grounds()
        assert with_keyboard[0] == with_keyboard[2] == without[0] == without[2]
        assert len({with_keyboard[0], with_keyboard[1], without[1]}) == 3

    run_app(ListApp(long_list()), steps)
