"""The line of keys at the foot of a screen: what can be pressed now, as text, and by a click."""

from __future__ import annotations

from pathlib import Path

import platformdirs
import pytest
from pilot import make_app, press, run_app, settled, text_of
from registers import make_register
from textual.pilot import Pilot

from pmsched.tui.screens.help import HelpScreen
from pmsched.tui.widgets.keys_line import KeysLine


@pytest.fixture
def register(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A small register; what the screens keep for the user lies beside it."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    make_register(tmp_path).close()
    return tmp_path / "register.db"


def last_line(pilot: Pilot[None]) -> str:
    """What stands in the last line of the terminal."""
    return text_of(pilot.app).splitlines()[-1]


@pytest.mark.parametrize(("screen", "wanted"), [("w", "d Done"), ("m", "/ Filter"), ("c", "k Known on")])
def test_line_follows_the_screen(register: Path, screen: str, wanted: str) -> None:
    """Each screen shows its own keys, and those of every screen, in the last line."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, screen)
        assert wanted in last_line(pilot)
        assert "? Help" in last_line(pilot)

    run_app(make_app(register), steps)


def test_click_on_a_key_presses_it(register: Path) -> None:
    """The mouse is not needed, but works: a click on 'Help' opens the help."""

    async def steps(pilot: Pilot[None]) -> None:
        line = pilot.app.screen.query_one(KeysLine)
        await pilot.click(KeysLine, offset=(last_line(pilot).index("Help"), 0))
        await settled(pilot.app, pilot)
        assert any(shown.title == "Help" for shown in line.keys)
        assert isinstance(pilot.app.screen, HelpScreen)

    run_app(make_app(register), steps)


def test_line_never_runs_over(register: Path) -> None:
    """In a narrow window the line is cut, not wrapped, and the screen stays whole."""

    async def steps(pilot: Pilot[None]) -> None:
        assert len(text_of(pilot.app).splitlines()) == 24
        assert len(last_line(pilot)) <= 30

    run_app(make_app(register), steps, size=(30, 24))
