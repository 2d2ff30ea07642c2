"""The line in which is typed what a list is narrowed to. Any key that moves leads from it to the list."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Input

from pmsched.tui.actions import bindings_of


class FilterLine(Input):
    """The line. What it holds goes out with each key, as with any input."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("filter")]

    class Left(Message):
        """The keyboard is to go to the list; what was typed stays. ``enters`` tells whether it was left by Enter."""

        def __init__(self, *, enters: bool) -> None:
            super().__init__()
            self.enters = enters

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - textual's name
        super().__init__(placeholder="type to narrow the list", id=id)

    def action_to_list(self, enters: bool) -> None:
        """To the list. What is typed after it, however fast, comes to the screen behind what was typed before."""
        self.post_message(self.Left(enters=enters))
