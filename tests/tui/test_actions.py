"""One registry of actions: bindings, footer, palette, help and manual all say the same, and every key can be changed."""

from __future__ import annotations

import importlib
import inspect
import pkgutil
import re
from collections import Counter
from pathlib import Path

import platformdirs
import pytest
from pilot import make_app, press, run_app, settled, text_of, type_ahead
from textual.binding import Binding, BindingsMap
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widget import Widget
from watch_ship import watch_ship

import pmsched.tui
from pmsched.tui.actions import ACTIONS, BY_ID, Action, actions_of, bindings_of
from pmsched.tui.app import PmschedApp
from pmsched.tui.key_names import key_name
from pmsched.tui.palette import ActionsProvider, runnable, target_of, title_of
from pmsched.tui.screens.base import HouseScreen
from pmsched.tui.screens.help import MANUAL, HelpScreen
from pmsched.tui.screens.job_card import JobCardScreen
from pmsched.tui.screens.watch import WatchScreen
from pmsched.tui.widgets.lines import Lines

FUNCTION_OR_CHORD = re.compile(r"f\d+|.*\+.*")
FOOTER_KEYS = 8


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel, made once; nothing here writes to it."""
    return watch_ship(tmp_path_factory.mktemp("actions"))


@pytest.fixture
def app(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> PmschedApp:
    """The app on it; drafts lie in a folder of the test."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path)
    return make_app(template, signer="3E")


def classes() -> list[type]:
    """The screens, widgets and the app of this program."""
    found = set()
    for module in pkgutil.walk_packages(pmsched.tui.__path__, "pmsched.tui."):
        members = vars(importlib.import_module(module.name)).values()
        found |= {m for m in members if inspect.isclass(m) and m.__module__ == module.name}
    return sorted((m for m in found if issubclass(m, (Widget, PmschedApp))), key=lambda m: m.__qualname__)


def own_bindings(of: type) -> list[Binding]:
    """The bindings a class itself declares, a key each."""
    return [found for key in BindingsMap(vars(of).get("BINDINGS", ())).key_to_bindings.values() for found in key]


WITH_BINDINGS = [of for of in classes() if own_bindings(of)]
SCREENS = [of for of in classes() if issubclass(of, Screen) and getattr(of, "about", "")]


# --- the registry -----------------------------------------------------------------------------------------------------


def test_every_action_has_a_name_of_its_own() -> None:
    """By which its key can be changed."""
    assert [name for name, count in Counter(action.id for action in ACTIONS).items() if count > 1] == []
    assert len(BY_ID) == len(ACTIONS)


@pytest.mark.parametrize("action", ACTIONS, ids=lambda action: action.id)
def test_every_function_key_and_chord_has_a_plain_twin(action: Action) -> None:
    """Gloves, and terminals that keep function keys for themselves."""
    plain = [key for key in action.keys if not FUNCTION_OR_CHORD.fullmatch(key)]
    assert plain, action.keys


@pytest.mark.parametrize("action", ACTIONS, ids=lambda action: action.id)
def test_every_action_is_explained_in_one_sentence(action: Action) -> None:
    """Short enough for a line of the help."""
    assert action.help.endswith(".")
    assert 2 <= len(action.title) <= 14
    assert len(action.help) <= 72


@pytest.mark.parametrize("where", sorted({action.where for action in ACTIONS}))
def test_bindings_are_those_of_the_registry(where: str) -> None:
    """Keys, title, help and name, taken over as they stand."""
    bound = {(b.id, tuple(b.key.split(",")), b.action, b.description, b.tooltip, b.show) for b in bindings_of(where)}
    assert bound == {(a.id, a.keys, a.does, a.title, a.help, a.in_footer) for a in actions_of(where)}


# --- bindings ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("of", WITH_BINDINGS, ids=lambda of: of.__name__)
def test_every_binding_is_an_action(of: type) -> None:
    """A key bound beside the registry would be in no help and could not be changed."""
    for binding in own_bindings(of):
        assert binding.id in BY_ID, binding.key
        assert binding.key in BY_ID[binding.id].keys
        assert binding.action == BY_ID[binding.id].does


def test_the_whole_program_is_looked_at() -> None:
    """The rules above and below find the screens they are for."""
    names = {of.__name__ for of in WITH_BINDINGS}
    assert {"PmschedApp", "HouseScreen", "WatchScreen", "DeedForm", "Lines"} <= names
    assert {"WatchScreen", "JobCardScreen", "ReportForm", "HelpScreen"} <= {of.__name__ for of in SCREENS}


@pytest.mark.parametrize("of", SCREENS, ids=lambda of: of.__name__)
def test_no_key_means_two_things_on_a_screen(of: type) -> None:
    """A screen's own actions may lie over those of all screens; in a form the list has its keys while it is in focus."""
    places = set(of.places)  # type: ignore[attr-defined]
    own = places - {"moves"} if "forms" in places else (places - {"everywhere", "lists"}) | {"moves"}
    for together in (own, {"everywhere", "lists"}):
        keys = Counter(key for action in actions_of(*together) for key in action.keys)
        assert [key for key, count in keys.items() if count > 1] == []


@pytest.mark.parametrize("of", [of for of in SCREENS if issubclass(of, HouseScreen)], ids=lambda of: of.__name__)
def test_palette_knows_what_is_bound(of: type[HouseScreen]) -> None:
    """The actions of a screen's places are those bound on it, no more and no less."""
    bound = {binding.id for base in of.__mro__ if base in WITH_BINDINGS for binding in own_bindings(base)}
    assert {action.id for action in actions_of(*of.places)} == bound


def test_footer_is_short(app: PmschedApp) -> None:
    """Eight keys at most; the rest is in palette and help."""

    async def steps(pilot: Pilot[None]) -> None:
        shown = {active.binding.id for active in app.screen.active_bindings.values() if active.binding.show}
        assert "report" in shown
        assert len(shown) <= FOOTER_KEYS
        await settled(app, pilot)

    run_app(app, steps)


# --- other keys -------------------------------------------------------------------------------------------------------


def test_every_key_can_be_changed(app: PmschedApp) -> None:
    """Each action of the Watch put on another key answers to that one, and no longer to its old ones."""
    # From the Watch there is no way back.
    actions = [action for action in actions_of(*WatchScreen.places, "moves") if action.id != "back"]
    changed = {action.id: f"ctrl+f{n}" for n, action in enumerate(actions, 1)}

    async def steps(pilot: Pilot[None]) -> None:
        app.set_keymap(changed)
        await settled(app, pilot)
        active = {key: one.binding.id for key, one in app.screen.active_bindings.items() if one.binding.id in changed}
        assert active == {key: name for name, key in changed.items()}

    run_app(app, steps)


def test_changed_key_works_and_is_in_the_help(app: PmschedApp) -> None:
    """The help lists the keys as they are now."""

    async def steps(pilot: Pilot[None]) -> None:
        app.set_keymap({"widen": "z", "help": "f12"})
        await press(pilot, "z")
        assert "for seven days" in text_of(app)
        await press(pilot, "x")
        assert "for seven days" in text_of(app)
        await press(pilot, "f12", "slash")
        await type_ahead(pilot, "wider")
        assert [line.cells[0].split()[0] for line in app.screen.query_one("#text", Lines).lines] == ["z"]

    run_app(app, steps)


# --- palette and help -------------------------------------------------------------------------------------------------


def titles(screen: Screen[object]) -> set[str]:
    """What the palette offers on a screen."""
    return {title_of(action) for action in runnable(screen)}


def test_palette_offers_what_can_be_done_now(app: PmschedApp) -> None:
    """Titled by place; the screen in front, and what needs a line or a tick, are left out while they can do nothing."""

    async def steps(pilot: Pilot[None]) -> None:
        offered = titles(app.screen)
        assert {"watch: Wider", "watch: Done", "watch: Settle", "everywhere: Round", "lists: Print page"} <= offered
        assert offered.isdisjoint(
            {"everywhere: Watch", "everywhere: All actions", "everywhere: Back", "watch: Report ticked"}
        )
        # The first line is overdue and may be ticked; the steering gear is critical and may not.
        assert "watch: Tick" in offered
        await press(pilot, "space")
        assert "watch: Report ticked" in titles(app.screen)
        app.screen.query_one("#due", Lines).choose("STG-TST/")
        assert "watch: Tick" not in titles(app.screen)
        await press(pilot, "slash")
        await type_ahead(pilot, "nothing like that\n")
        assert titles(app.screen).isdisjoint({"watch: Done", "watch: Tick"})

    run_app(app, steps)


def test_palette_offers_only_actions_of_the_registry(app: PmschedApp) -> None:
    """The palette has no other source."""
    assert [*app.COMMANDS] == [ActionsProvider]

    async def steps(pilot: Pilot[None]) -> None:
        known = {title_of(action) for action in actions_of(*WatchScreen.places)}
        provider = ActionsProvider(app.screen)
        found = {hit.text async for hit in provider.discover()}
        assert found == titles(app.screen) <= known
        assert {hit.text async for hit in provider.search("wider")} == {"watch: Wider"}
        await settled(app, pilot)

    run_app(app, steps)


def test_palette_shows_the_keys_as_they_are_now(app: PmschedApp) -> None:
    """Beside each name, found or listed, so that the next time the palette is not needed."""

    async def steps(pilot: Pilot[None]) -> None:
        app.set_keymap({"widen": "z"})
        await settled(app, pilot)
        provider = ActionsProvider(app.screen)
        listed = {hit.text: str(hit.prompt).split()[-1] async for hit in provider.discover()}
        assert (listed["watch: Tick"], listed["watch: Wider"], listed["lists: Print page"]) == ("Space", "z", "F9")
        assert [str(hit.prompt).split() async for hit in provider.search("wider")] == [["watch:", "Wider", "z"]]

    run_app(app, steps)


def test_palette_finds_by_typing_and_runs(app: PmschedApp) -> None:
    """A colon, a few letters, Enter."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "colon", "w", "i", "d", "e", "r")
        await pilot.pause(0.2)
        await press(pilot, "enter")
        assert isinstance(app.screen, WatchScreen)
        assert "for seven days" in text_of(app)

    run_app(app, steps)


def test_help_lists_every_action_that_works_here(app: PmschedApp) -> None:
    """On the Watch and on a job's card: each once, with the keys of the registry."""

    async def steps(pilot: Pilot[None]) -> None:
        for opening, screen_type in ((), WatchScreen), (("enter",), JobCardScreen):
            await press(pilot, *opening)
            assert isinstance(app.screen, screen_type)
            wanted = {a.id: a for a in actions_of(*screen_type.places) if target_of(app.screen, a)}
            assert "back" in wanted
            if not opening:
                del wanted["back"]
            listed = "\n".join(said.text for said in HelpScreen.of(app)._keys)
            for action in wanted.values():
                (line,) = [line for line in listed.splitlines() if line.endswith(f"{action.title}: {action.help}")]
                assert all(key_name(key) in line for key in action.keys)
        await settled(app, pilot)

    run_app(app, steps)


def test_key_table_of_the_manual_is_that_of_the_registry() -> None:
    """If the manual has a page of keys, it names every action with its keys."""
    page = MANUAL / "keys.md"
    if not page.exists():
        pytest.skip("the manual has no page of keys")
    text = page.read_text(encoding="utf-8")
    for action in ACTIONS:
        assert any(
            all(key_name(key) in line for key in action.keys) and action.title in line for line in text.splitlines()
        )


@pytest.mark.parametrize(
    ("key", "name"),
    [("f1", "F1"), ("ctrl+s", "Ctrl+S"), ("question_mark", "?"), ("escape", "Esc"), ("G", "G"), ("d", "d"), ("f", "f")],
)
def test_keys_are_written_as_people_write_them(key: str, name: str) -> None:
    """In help and manual."""
    assert key_name(key) == name
