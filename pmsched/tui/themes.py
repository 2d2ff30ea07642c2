"""Four looks of our own: dark, light, for a red-lit room, and high contrast in one colour.

A state is always a word first. Where there is colour, the states lie apart in lightness and on the blue-yellow axis, which
eyes that confuse red and green still see.
"""

from __future__ import annotations

from typing import Any

from textual.app import App
from textual.theme import Theme

DARK = Theme(
    name="night-watch",
    primary="#2f6db5",
    secondary="#9fb4c8",
    accent="#c9a6ff",
    foreground="#e6e6e1",
    background="#12171d",
    surface="#12171d",
    panel="#26323f",
    error="#ffb000",
    warning="#ffe08a",
    success="#6fb7ff",
    dark=True,
    variables={"block-cursor-foreground": "#ffffff", "footer-key-foreground": "#ffe08a"},
)
LIGHT = Theme(
    name="day-watch",
    primary="#1d5fa8",
    secondary="#42566b",
    accent="#5b2a91",
    foreground="#14181c",
    background="#f7f6f1",
    surface="#f7f6f1",
    panel="#d9dde0",
    error="#8a3b00",
    warning="#5c4a00",
    success="#0b4f9e",
    dark=False,
    variables={"block-cursor-foreground": "#ffffff", "footer-key-foreground": "#1d5fa8"},
)
RED_LIT = Theme(
    name="red-lit-room",
    primary="#6e1010",
    secondary="#b04a4a",
    accent="#ff9c9c",
    foreground="#d05050",
    background="#0b0000",
    surface="#0b0000",
    panel="#2a0606",
    error="#ff8080",
    warning="#f06060",
    success="#a84040",
    dark=True,
    variables={"block-cursor-foreground": "#ffd0d0", "footer-key-foreground": "#ff8080"},
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
    variables={"block-cursor-foreground": "#000000", "footer-key-foreground": "#ffffff"},
)

THEMES = (DARK, LIGHT, RED_LIT, CONTRAST)


def put_on(app: App[Any]) -> None:
    """Make our looks known and start in the first; called before the app reads its rules, so that it reads them once."""
    for theme in THEMES:
        app.register_theme(theme)
    app.set_reactive(App.theme, THEMES[0].name)
    app.stylesheet.set_variables(app.get_css_variables())
