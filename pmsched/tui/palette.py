"""The list of all actions: whatever the registry holds for the screen in front and can be done now, found by typing."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import Any

from textual.app import App
from textual.command import DiscoveryHit, Hit, Hits, Provider
from textual.content import Content
from textual.dom import DOMNode
from textual.screen import Screen

from pmsched.tui.actions import Action, actions_of
from pmsched.tui.key_names import keys_now

_TITLE_WIDTH = 26


class ActionsProvider(Provider):
    """Gives the palette its lines: 'place: Title' and the keys. Nothing is asked of the register here."""

    async def discover(self) -> Hits:
        """All of them, before anything is typed."""
        keys = keys_now(self.screen)
        for action in runnable(self.screen):
            title = title_of(action)
            line = _with_keys(Content(title), keys.get(action.id, ""))
            yield DiscoveryHit(line, self._runner(action), text=title, help=action.help)

    async def search(self, query: str) -> Hits:
        """Those whose title or help match."""
        matcher, keys = self.matcher(query), keys_now(self.screen)
        for action in runnable(self.screen):
            title = title_of(action)
            score = max(matcher.match(title), matcher.match(action.help) / 2)
            if score > 0:
                line = _with_keys(matcher.highlight(title), keys.get(action.id, ""))
                yield Hit(score, line, self._runner(action), text=title, help=action.help)

    def _runner(self, action: Action) -> Any:
        return partial(self.app.run_action, action.does, target_of(self.screen, action))


def runnable(screen: Screen[Any]) -> Iterator[Action]:
    """The actions that can do something on this screen now."""
    for action in actions_of(*getattr(screen, "places", ())):
        if action.id != "palette" and _can_run(screen, action):
            yield action


def _with_keys(title: Content, keys: str) -> Content:
    return title.pad_right(max(0, _TITLE_WIDTH - len(title))) + Content(f"  {keys}")


def title_of(action: Action) -> str:
    """How the palette names an action: 'watch: Wider'."""
    return f"{action.where}: {action.title}"


def target_of(screen: Screen[Any], action: Action) -> DOMNode | None:
    """Who does the action: the screen, or else the app; None if neither can."""
    name = f"action_{_name_of(action)}"
    nodes: tuple[DOMNode, ...] = (screen, screen.app)
    return next((node for node in nodes if callable(getattr(node, name, None))), None)


def _can_run(screen: Screen[Any], action: Action) -> bool:
    target = target_of(screen, action)
    if target is None or not target.check_action(_name_of(action), ()):
        return False
    if _name_of(action) == "mode":
        return _other_mode(screen.app, action)
    return bool(getattr(screen, "ready", lambda _: True)(action.id))


def _other_mode(app: App[Any], action: Action) -> bool:
    """Whether the action leads to a screen that is there and is not the one in front."""
    return action.id in app.MODES and (app.current_mode != action.id or len(app.screen_stack) > 1)


def _name_of(action: Action) -> str:
    return action.does.partition("(")[0]
