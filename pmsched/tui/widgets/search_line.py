"""The line above a list that says what was searched for, and the list below it: Up from its first line gets there."""

from __future__ import annotations

from typing import ClassVar

from textual.binding import BindingType
from textual.message import Message
from textual.widgets import Static

from pmsched.tui.actions import bindings_of
from pmsched.tui.safe_text import shown
from pmsched.tui.widgets.lines import Lines


class SearchLine(Static, can_focus=True):
    """What was searched for; Enter opens the search."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("moves")]
    DEFAULT_CSS = """
    SearchLine { height: 1; padding: 0 1; color: $secondary; }
    SearchLine:focus { background: $primary; color: $block-cursor-foreground; text-style: bold; }
    """

    class Opened(Message):
        """Enter was pressed on the line."""

    def __init__(self, *, id: str | None = None) -> None:  # noqa: A002 - textual's name
        super().__init__("", markup=False, id=id)

    def say(self, text: str) -> None:
        """Show what was searched for."""
        self.update(shown(text))

    def action_open(self) -> None:
        """Open the search."""
        self.post_message(self.Opened())

    def action_move(self, step: int) -> None:
        """Down to the list."""
        if step > 0:
            self.screen.focus_next()

    def action_page(self, direction: int) -> None:
        """Down to the list."""
        self.action_move(direction)

    def action_go(self, index: int) -> None:
        """Down to the list, for its last line."""
        self.action_move(-index)


class LinesUnderSearch(Lines):
    """A list with a search line above it."""

    def action_move(self, step: int) -> None:
        """Down or up by a number of lines; up from the first one to the line above the list."""
        if step < 0 and not self.cursor:
            self.screen.focus_previous()
        else:
            super().action_move(step)
