"""The last line of a screen: the keys that can be pressed now, drawn as one line.

One widget instead of one for each key: a widget costs milliseconds at every start and every change of screen.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import accumulate
from typing import Any, ClassVar, NamedTuple

from rich.cells import cell_len
from rich.segment import Segment
from textual import events
from textual.binding import Binding
from textual.screen import Screen
from textual.strip import Strip
from textual.widget import Widget
from textual.widgets import Input

_NEVER_TYPED = frozenset({"enter", "escape", "up", "down"})


class Shown(NamedTuple):
    """A key in the line: the key itself, how it is written, what it does, and whether it does that now."""

    key: str
    written: str
    title: str
    enabled: bool

    @property
    def width(self) -> int:
        """How many cells it takes, with the blanks around it."""
        return cell_len(self.written) + cell_len(self.title) + 3


class KeysLine(Widget):
    """The keys whose actions are marked for the footer; a click on one presses it."""

    DEFAULT_CSS = """
    KeysLine { dock: bottom; height: 1; background: $panel; color: $foreground; }
    KeysLine > .keys--key { color: $footer-key-foreground; background: $panel; text-style: bold; }
    KeysLine > .keys--off { color: $secondary; background: $panel; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {"keys--key", "keys--off"}

    def __init__(self) -> None:
        super().__init__()
        self.keys: tuple[Shown, ...] = ()

    def on_mount(self) -> None:
        """Follow what can be pressed."""
        self.screen.bindings_updated_signal.subscribe(self, self._look)

    def _look(self, screen: Screen[Any]) -> None:
        by_action: dict[str, Shown] = {}
        typing = isinstance(screen.focused, Input)
        for _node, binding, enabled, _tooltip in screen.active_bindings.values():
            written = self._chord(binding) if typing else self.app.get_key_display(binding)
            title = getattr(screen, "on_enter", "") if binding.id == "open" else binding.description
            if written and title and binding.show and binding.action not in by_action:
                by_action[binding.action] = Shown(binding.key, written, title, enabled)
        keys = tuple(by_action.values())
        if keys != self.keys:
            self.keys = keys
            self.refresh()

    def _chord(self, binding: Binding) -> str:
        """How a key is written that works while text is typed; empty for one that would only be typed as well."""
        if binding.key in _NEVER_TYPED:
            return self.app.get_key_display(binding)
        if binding.key.startswith("ctrl+"):
            return self.app.get_key_display(replace(binding, key_display=None))
        return binding.key.upper() if binding.key[0] == "f" and binding.key[1:].isdigit() else ""

    def render_line(self, y: int) -> Strip:  # noqa: ARG002 - there is only one
        """The keys from the left; those for which there is no room are left out whole, and are in the help."""
        on, off = (self.get_component_rich_style(f"keys--{name}") for name in ("key", "off"))
        segments: list[Segment] = []
        ends = accumulate(shown.width for shown in self.keys)
        for shown in (shown for shown, end in zip(self.keys, ends, strict=True) if end <= self.size.width):
            segments.append(Segment(f" {shown.written}", on if shown.enabled else off))
            segments.append(Segment(f" {shown.title} ", self.rich_style if shown.enabled else off))
        return Strip(segments).adjust_cell_length(self.size.width, self.rich_style)

    def on_click(self, event: events.Click) -> None:
        """Press the key that was clicked."""
        start = 0
        for shown in self.keys:
            if start <= event.x < start + shown.width:
                self.app.simulate_key(shown.key)
            start += shown.width
