"""Four looks of our own: dark, light, for a red-lit room, and high contrast in one colour.

A state is always a word first. Where there is colour, the states lie apart in lightness and on the blue-yellow axis, which
eyes that confuse red and green still see; in the red-lit room only lightness is left. Tests measure this.
"""

from __future__ import annotations

from typing import Any

from textual.app import App
from textual.theme import Theme


def _fixed(cursor: str, key: str, quiet: str, weak: str, blurred: str) -> dict[str, str]:
    """What textual would mix by itself, and often too weakly to be read.

    Args:
        cursor: text under the cursor.
        key: a key in the line of keys.
        quiet: lines that need nothing now.
        weak: explanations, and what is meant where nothing is typed.
        blurred: ground of the chosen line in a list without the keyboard.
    """
    return {
        "block-cursor-foreground": cursor,
        "block-cursor-blurred-background": blurred,
        "footer-key-foreground": key,
        "foreground-darken-2": quiet,
        "text-muted": weak,
        "text-disabled": weak,
    }


DARK = Theme(
    name="night-watch",
    primary="#245a9c",
    secondary="#a9bccd",
    accent="#dfbcff",
    foreground="#e4e6e2",
    background="#12171d",
    surface="#12171d",
    panel="#26323f",
    error="#ffab00",
    warning="#ffe69c",
    success="#4d9df5",
    dark=True,
    variables=_fixed("#ffffff", "#ffe69c", "#b9bdbd", "#a9bccd", "#26323f"),
)
LIGHT = Theme(
    name="day-watch",
    primary="#1d5fa8",
    secondary="#42566b",
    accent="#4a1180",
    foreground="#14181c",
    background="#f7f6f1",
    surface="#f7f6f1",
    panel="#dde1e3",
    error="#7a1f00",
    warning="#7d6410",
    success="#1f6dc2",
    dark=False,
    variables=_fixed("#ffffff", "#174f8f", "#4b5259", "#42566b", "#dde1e3"),
)
RED_LIT = Theme(
    name="red-lit-room",
    primary="#641010",
    secondary="#b84e4e",
    accent="#f66c6c",
    foreground="#d44c4c",
    background="#0b0000",
    surface="#0b0000",
    panel="#2a0606",
    error="#ff7d7d",
    warning="#ee5c5c",
    success="#b84040",
    dark=True,
    variables=_fixed("#ff7d7d", "#ff7d7d", "#a83636", "#b84e4e", "#2a0606"),
)
CONTRAST = Theme(
    name="high-contrast",
    primary="#ffffff",
    secondary="#ffffff",
    accent="#ffffff",
    foreground="#ffffff",
    background="#000000",
    surface="#000000",
    panel="#303030",
    error="#ffffff",
    warning="#ffffff",
    success="#ffffff",
    dark=True,
    variables=_fixed("#000000", "#ffffff", "#d4d4d4", "#ffffff", "#303030"),
)

THEMES = (DARK, LIGHT, RED_LIT, CONTRAST)


def put_on(app: App[Any]) -> None:
    """Make our looks known and start in the first; called before the app reads its rules, so that it reads them once."""
    for theme in THEMES:
        app.register_theme(theme)
    app.set_reactive(App.theme, THEMES[0].name)
    app.stylesheet.set_variables(app.get_css_variables())
