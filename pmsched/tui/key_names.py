"""The keys on which actions lie on a screen now, also where they were changed, written as people write them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from textual.screen import Screen

_NAMES = {
    "equals_sign": "=", "question_mark": "?", "slash": "/", "colon": ":", "full_stop": ".", "minus": "-",
    "escape": "Esc", "enter": "Enter", "space": "Space", "backspace": "Backspace", "down": "Down", "up": "Up",
    "pagedown": "PgDn", "pageup": "PgUp", "home": "Home", "end": "End",
}  # fmt: skip


def keys_now(screen: Screen[Any]) -> Mapping[str, str]:
    """The keys of each action by its id, the plain ones first: '?, F1'. Actions without a key here are left out."""
    by_action: dict[str, list[str]] = defaultdict(list)
    for key, active in screen.active_bindings.items():
        by_action[active.binding.id or ""].append(key_name(key))
    return {action: ", ".join(sorted(names, key=len)) for action, names in by_action.items()}


def key_name(key: str) -> str:
    """A key as people write it: 'F1', 'Ctrl+S', '?', 'Esc'."""
    return "+".join(_parts(key))


def _parts(key: str) -> Iterator[str]:
    *held, last = key.split("+")
    yield from (part.capitalize() for part in held)
    is_function = last[0] == "f" and last[1:].isdecimal()
    yield _NAMES.get(last) or (last.upper() if held or is_function else last)
