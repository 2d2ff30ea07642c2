"""What is said below a list: the whole name on the rule, and never a line cut off unseen."""

from __future__ import annotations

import pytest
from pilot import run_app, text_of
from textual.app import App, ComposeResult
from textual.pilot import Pilot

from pmsched.tui.widgets.detail import MORE, Detail

NASTY = "[ME-01] Oil [/] \\"
LONG = "A name so long " * 8


class DetailApp(App[None]):
    """Nothing but the detail, six lines high."""

    CSS = "#detail { height: 6; }"

    def compose(self) -> ComposeResult:
        """The detail."""
        yield Detail()


def told(text: str) -> list[str]:
    """What is visible of a text on a small screen."""
    seen: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.query_one(Detail).tell(text)
        await pilot.pause()
        seen.extend(line.strip("─ ") for line in text_of(pilot.app).splitlines()[:6])

    run_app(DetailApp(), steps)
    return seen


@pytest.mark.parametrize(
    ("text", "seen"),
    [
        pytest.param("", ["", "", "", "", "", ""], id="nothing"),
        pytest.param("Name\none\ntwo", ["Name", "one", "two", "", "", ""], id="name-on-the-rule"),
        pytest.param("Name\n1\n2\n3\n4\n5", ["Name", "1", "2", "3", "4", "5"], id="just-fits"),
        pytest.param("Name\n1\n2\n3\n4\n5\n6", ["Name", "1", "2", "3", "4", MORE], id="too-much"),
        pytest.param(f"{NASTY}\n{NASTY}", [NASTY, NASTY, "", "", "", ""], id="no-markup"),
    ],
)
def test_told(text: str, seen: list[str]) -> None:
    """The first line is the name; what has no room is named by the last line."""
    assert told(text) == seen


@pytest.mark.parametrize(
    "text", ["DO NOT START P1 Pump\nseal", f"Name\nCAUTION: {LONG}\nwhy", f"{LONG}\nCAUTION: hot\nwhy"]
)
def test_what_may_hurt_stands_out(text: str) -> None:
    """All lines of it, also on the rule, and nothing else but the name there."""
    bold: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.query_one(Detail).tell(text)
        await pilot.pause()
        for strip in pilot.app.screen._compositor.render_strips()[:6]:
            bold.extend(part.text.strip() for part in strip if part.style and part.style.bold and part.text.strip())

    run_app(DetailApp(), steps)
    danger = " ".join(line for line in text.splitlines() if line.startswith(("CAUTION", "DO NOT")))
    assert " ".join(bold).removeprefix("Name ") == danger.strip()


def test_name_too_long_for_the_rule_is_told_below_it() -> None:
    """All of it, before the rest."""
    seen = told(f"{LONG}\nthe rest")
    assert seen[0] == ""
    assert " ".join(seen[1:3]) == LONG.strip()
    assert seen[3] == "the rest"
