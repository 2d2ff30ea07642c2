"""Help: F1 and ? explain any screen in ten lines, list its keys, and lead to the manual."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
from pathlib import Path

import platformdirs
import pytest
from pilot import SMALL, make_app, press, run_app, text_of, type_ahead
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input
from watch_ship import watch_ship

import pmsched.tui.screens
from pmsched.tui.app import PmschedApp
from pmsched.tui.screens.help import HelpScreen, ManualScreen, manual_titles
from pmsched.tui.screens.report_form import ReportForm
from pmsched.tui.screens.watch import WatchScreen
from pmsched.tui.widgets.lines import Lines

MOST_LINES = 10
WIDEST = SMALL[0] - 1


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel, made once; nothing here writes to it."""
    return watch_ship(tmp_path_factory.mktemp("help"))


@pytest.fixture
def app(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PmschedApp:
    """The app on it; drafts and pages lie in a folder of the test."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path)
    app = make_app(template, signer="3E")
    app.papers = tmp_path / "pages"
    return app


def explained() -> list[type]:
    """Every screen and form that can be in front, each with its own or an inherited explanation."""
    found: set[type] = set()
    for module in pkgutil.walk_packages(pmsched.tui.screens.__path__, "pmsched.tui.screens."):
        members = vars(importlib.import_module(module.name)).values()
        found |= {m for m in members if inspect.isclass(m) and issubclass(m, Screen) and m.__module__ == module.name}
    return sorted((m for m in found if getattr(m, "about", "")), key=lambda m: m.__name__)


def lines_of(app: PmschedApp) -> list[str]:
    """The text in front, whole."""
    return [line.cells[0] for line in app.screen.query_one("#text", Lines).lines]


@pytest.mark.parametrize("of", explained(), ids=lambda of: of.__name__)
def test_a_screen_is_explained_in_ten_lines(of: type) -> None:
    """Ten lines at most, none wider than a small screen, no line for a command line."""
    about = of.about  # type: ignore[attr-defined]
    lines = about.splitlines()
    assert 0 < len(lines) <= MOST_LINES
    assert [line for line in lines if len(line) > WIDEST] == []
    assert "--" not in about


@pytest.mark.parametrize("of", explained(), ids=lambda of: of.__name__)
def test_pages_named_are_pages_of_the_manual(of: type) -> None:
    """What a screen points to is there."""
    assert set(of.pages) <= set(manual_titles())  # type: ignore[attr-defined]


@pytest.mark.parametrize("key", ["f1", "question_mark"])
def test_help_explains_and_goes_back(app: PmschedApp, key: str) -> None:
    """What the screen is for, its keys, the manual; Esc returns to the same line."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "down", key)
        assert isinstance(app.screen, HelpScreen)
        assert lines_of(app)[: len(WatchScreen.about.splitlines())] == WatchScreen.about.splitlines()
        text = "\n".join(lines_of(app))
        assert text.index("KEYS") < text.index("?, F1") < text.index("MANUAL") < text.index("more: due")
        # Help on the help would lead nowhere.
        await press(pilot, key)
        await press(pilot, "escape")
        assert isinstance(app.screen, WatchScreen)
        chosen = app.screen.query_one("#due", Lines).chosen
        assert chosen is not None
        assert chosen.key == "AE1-INJ/3"

    run_app(app, steps)


def test_a_word_finds_its_key(app: PmschedApp) -> None:
    """The filter leaves the lines with the word."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "question_mark", "slash")
        await type_ahead(pilot, "week")
        assert any(line.startswith("x ") for line in lines_of(app))
        assert all("week" in line.lower() for line in lines_of(app))

    run_app(app, steps)


def test_manual_opens_from_the_help_and_prints(app: PmschedApp) -> None:
    """The pages of the screen come first; Enter opens one, p writes it out, Esc goes back step by step."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "question_mark")
        more = [line for line in app.screen.query_one("#text", Lines).lines if line.cells[0].startswith("more: ")]
        assert [line.cells[0].split()[1] for line in more][: len(WatchScreen.pages)] == list(WatchScreen.pages)
        assert len(more) == len(manual_titles())
        app.screen.query_one("#text", Lines).choose(more[0].key)
        await press(pilot, "enter")
        assert isinstance(app.screen, ManualScreen)
        assert "Watch: what must I do" in text_of(app)
        await press(pilot, "p", "escape")
        assert isinstance(app.screen, HelpScreen)

    run_app(app, steps)
    assert app.papers is not None
    (page,) = app.papers.iterdir()
    assert "By command: pmsched help due" in page.read_text(encoding="utf-8")


def test_help_on_a_form_loses_nothing(app: PmschedApp) -> None:
    """F1 in a field explains the form, with the keys that its fields keep for themselves; everything typed is there."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await type_ahead(pilot, "-1")
        await press(pilot, "f1")
        text = "\n".join(lines_of(app))
        assert text.startswith("Report work done.")
        assert "Ctrl+S" in text
        assert "Next field" in text
        await press(pilot, "escape")
        assert isinstance(app.screen, ReportForm)
        assert app.screen.query_one("#done_on", Input).value == "-1"

    run_app(app, steps)
