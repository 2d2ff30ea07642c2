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


@pytest.mark.parametrize(
    ("keys", "shown", "hidden"),
    [
        pytest.param("m", "Enter Open", "Esc Back", id="first-screen"),
        pytest.param("m down enter", "Esc Back", "nothing", id="opened-from-another"),
        pytest.param("m slash", "Esc Clear", "Enter Open", id="filter"),
        pytest.param("m slash a down", "Esc Back", "Esc Clear", id="list-under-a-filter"),
        pytest.param("m down enter r", "v Correct", "Enter", id="nothing-to-open"),
        pytest.param("question_mark", "Esc Back", "Enter", id="a-text"),
        pytest.param("h", "Enter Settle", "Enter Open", id="another-word-for-it"),
    ],
)
def test_line_shows_where_enter_and_esc_lead(register: Path, keys: str, shown: str, hidden: str) -> None:
    """Only where they lead somewhere."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, *keys.split())
        assert shown in last_line(pilot)
        assert hidden not in last_line(pilot)

    run_app(make_app(register), steps)


@pytest.mark.parametrize("keys", ["w", "r", "m", "c", "m down enter", "m down enter r", "w enter", "h", "slash"])
def test_every_key_of_the_line_has_room_on_a_small_screen(register: Path, keys: str) -> None:
    """Eighty columns hold all of them: none is cut in half."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, *keys.split())
        line = pilot.app.screen.query_one(KeysLine)
        assert sum(shown.width for shown in line.keys) <= 80, line.keys

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
    """In a narrow window keys without room are left out whole, and the screen stays whole too."""

    async def steps(pilot: Pilot[None]) -> None:
        assert len(text_of(pilot.app).splitlines()) == 24
        assert last_line(pilot) == " Enter Open  ? Help  q Leave"

    run_app(make_app(register), steps, size=(30, 24))
