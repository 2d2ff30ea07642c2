"""What holds for every screen: nothing is asked or laid out twice, and the filter leads to the list by any key that moves."""

from __future__ import annotations

import ast
import shutil
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import platformdirs
import pytest
from audited import audited_register
from pilot import SMALL, make_app, press, run_app, settled, text_of, type_ahead
from textual.pilot import Pilot

import pmsched.tui
from pmsched.tui.app import PmschedApp
from pmsched.tui.gateway import Gateway
from pmsched.tui.widgets.filter_line import FilterLine
from pmsched.tui.widgets.lines import Lines

SOURCES = sorted(Path(pmsched.tui.__file__).parent.rglob("*.py"))


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel with a past, made once; nothing here writes to it."""
    return audited_register(tmp_path_factory.mktemp("audited"))


@pytest.fixture
def register(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own for the test; what the screens keep for the user lies beside it."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    return Path(shutil.copy(template, tmp_path / "register.db"))


@pytest.fixture
def asked(monkeypatch: pytest.MonkeyPatch) -> Counter[str]:
    """How often each question was asked of the gateway."""
    counted: Counter[str] = Counter()
    for name in ("watch", "people"):
        method = getattr(Gateway, name)

        def count(*given: object, _name: str = name, _method: object = method) -> object:
            counted[_name] += 1
            return _method(*given)  # type: ignore[operator]

        monkeypatch.setattr(Gateway, name, count)
    return counted


# --- nothing twice ----------------------------------------------------------------------------------------------------


def overriding_handlers() -> Iterator[str]:
    """The handlers of messages that call the one they override."""
    for path in SOURCES:
        for function in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(function, ast.FunctionDef) or not function.name.startswith("on_"):
                continue
            calls = (node.func for node in ast.walk(function) if isinstance(node, ast.Call))
            if any(isinstance(call, ast.Attribute) and call.attr == function.name for call in calls):
                yield f"{path.name}: {function.name}"


def test_no_handler_calls_the_one_it_overrides() -> None:
    """Textual calls the handlers of every base class by itself: each of them would run twice."""
    assert list(overriding_handlers()) == []


@pytest.mark.parametrize("keys", ["w", "m", "c", "r", "h", "enter"])
def test_another_size_lays_out_once(register: Path, keys: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A list of ten thousand lines is made anew once, not once for each class of the screen."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, keys)
        shown: Counter[Lines] = Counter()
        monkeypatch.setattr(Lines, "show", lambda lines, *_a, **_k: shown.update([lines]))
        await pilot.resize_terminal(120, 36)
        await settled(pilot.app, pilot)
        assert shown[pilot.app.screen.query(Lines).first()] == 1

    run_app(make_app(register), steps)


@pytest.mark.parametrize(
    ("signer", "people", "department"),
    [
        pytest.param("CE", 1, "engine", id="somebody-known"),
        pytest.param("ce", 1, "engine", id="in-small-letters"),
        pytest.param("NO", 1, "", id="nobody-of-that-name"),
        pytest.param("", 0, "", id="nobody"),
    ],
)
def test_started_with_a_signer_the_watch_is_asked_for_once(
    register: Path, asked: Counter[str], signer: str, people: int, department: str
) -> None:
    """For the department of whoever was named, which is learnt first; whoever was not known is told so at the deed."""
    app = make_app(register, signer=signer)

    async def steps(pilot: Pilot[None]) -> None:
        assert app.department == department
        assert app.screen.query_one("#due", Lines).lines
        await press(pilot, "r", "w")

    run_app(app, steps)
    # Once more on coming back to it.
    assert asked == Counter({"watch": 2, "people": people})


def test_without_a_register_the_watch_says_so_and_no_notice_does(tmp_path: Path) -> None:
    """Said once, where the list would be, and how to go on."""
    app = make_app(tmp_path / "none.db")

    async def steps(pilot: Pilot[None]) -> None:
        assert "Cannot show this: There is no register" in text_of(app)
        assert list(app._notifications) == []
        await settled(app, pilot)

    run_app(app, steps)


# --- the filter -------------------------------------------------------------------------------------------------------


def machines(app: PmschedApp) -> Lines:
    """The list of machines."""
    return app.screen.query_one("#machines", Lines)


@pytest.mark.parametrize("key", ["down", "up", "enter", "pagedown", "pageup"])
def test_any_key_that_moves_leads_from_the_filter_to_the_list(register: Path, key: str) -> None:
    """To the first line that fits, with one key; the filter stays, and the next key moves."""
    app = make_app(register)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash")
        await type_ahead(pilot, "engine")
        await press(pilot, key)
        assert machines(app).has_focus
        assert app.screen.query_one(FilterLine).display
        assert machines(app).chosen == machines(app).lines[0]
        await press(pilot, "down")
        assert machines(app).cursor == 1
        assert len(machines(app).lines) == 3

    run_app(app, steps)


def test_keys_typed_ahead_go_to_the_list(register: Path) -> None:
    """Filter, arrow and Enter in one go open what was meant, however fast."""
    app = make_app(register)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash")
        await type_ahead(pilot, "steering\n\n")
        assert text_of(app).splitlines()[0].startswith(" MV Invented > Machinery > STG")

    run_app(app, steps)


def test_an_empty_filter_leaves_no_line_behind(register: Path) -> None:
    """Nothing typed, nothing kept."""
    app = make_app(register)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash", "down")
        assert machines(app).has_focus
        assert not app.screen.query_one(FilterLine).display

    run_app(app, steps)


@pytest.mark.parametrize("focused", ["filter", "list"])
def test_esc_clears_the_filter(register: Path, focused: str) -> None:
    """While it is typed and afterwards; every line is there again, and the next Esc goes back."""
    app = make_app(register)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash")
        await type_ahead(pilot, "steering")
        if focused == "list":
            await press(pilot, "down")
        await press(pilot, "escape")
        assert len(machines(app).lines) == 5
        assert machines(app).has_focus
        assert not app.screen.query_one(FilterLine).display

    run_app(app, steps)


@pytest.mark.parametrize("keys", [("w",), ("m",), ("m", "down", "enter"), ("c", "l"), ("enter",), ("question_mark",)])
def test_a_filter_that_finds_nothing_says_what_to_do(register: Path, keys: tuple[str, ...]) -> None:
    """First what to press, then what is so."""
    app = make_app(register)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, *keys, "slash")
        await type_ahead(pilot, "zzzz")
        assert "Esc shows all lines | no line has all of these words" in text_of(app)

    run_app(app, steps, SMALL)
