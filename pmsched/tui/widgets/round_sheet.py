"""The entry sheet of a round: a list in which digits go straight into the chosen line's box.

Knows keys and boxes. What was entered goes out as a message; what becomes of it comes back as lines.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from textual import events
from textual.geometry import Region
from textual.message import Message

from pmsched.tui.round_lines import END, TYPED, box
from pmsched.tui.widgets.lines import Column, Line, Lines

_PARTS_OF_NUMBERS = frozenset("0123456789.,:")
_LONGEST = 24


class Typed(NamedTuple):
    """What stands in a line's box and is not entered yet."""

    key: str
    text: str


class RoundSheet(Lines):
    """The sheet. Leaving a line in any way enters what was typed in it: nothing typed is dropped.

    Keys are taken in the order in which they were pressed, however fast, so digits never reach the wrong line.
    """

    class Entered(Message):
        """A line was entered; an empty text takes it back."""

        def __init__(self, typed: Typed) -> None:
            super().__init__()
            self.typed = typed

    class Ended(Message):
        """Enter was pressed on the line below the last counter."""

    def __init__(self, columns: Sequence[Column], *, id: str | None = None) -> None:  # noqa: A002 - textual's name
        super().__init__(columns, id=id)
        self._typed: Typed | None = None

    def show(self, lines: Sequence[Line], columns: Sequence[Column] | None = None) -> None:
        """Show other lines; if that takes away the line in which is typed, it is entered first."""
        if self._typed and self._typed.key not in {line.key for line in lines}:
            self._enter()
        super().show(lines, columns)

    def put(self, line: Line) -> None:
        """Show one line anew."""
        for index, old in enumerate(self._lines):
            if old.key == line.key and old != line:
                self._lines = (*self._lines[:index], line, *self._lines[index + 1 :])
                self._refresh_line(index)

    def take_out(self) -> Typed | None:
        """What is typed and not entered, which leaves the box."""
        typed, self._typed = self._typed, None
        self._refresh_line(self.cursor)
        return typed

    def cells_of(self, index: int) -> tuple[str, ...]:
        """The cells of a line; in the chosen one the box stands open."""
        cells = self._lines[index].cells
        if index != self.cursor or not self._lines[index].key:
            return cells
        text = self._typed.text if self._typed else cells[TYPED]
        return (*cells[:TYPED], box(text), *cells[TYPED + 1 :])

    def on_key(self, event: events.Key) -> None:
        """What belongs to typing stays here; any other key goes on to the actions."""
        if event.character in _PARTS_OF_NUMBERS:
            self._add(event.character or "")
        elif event.key == "backspace":
            self._erase()
        elif event.key in {"enter", "down"}:
            self._next(ends=event.key == "enter")
        elif event.key == "up":
            self.action_move(-1)
        elif event.key != "space":
            return
        event.stop()

    def watch_cursor(self, old: int, new: int) -> None:
        """A line that is left is entered."""
        self._enter()
        super().watch_cursor(old, new)

    def action_open(self) -> None:
        """A click on the chosen line enters it."""
        self._next(ends=True)

    def _add(self, character: str) -> None:
        if self.chosen is None or self.chosen.key == END:
            return
        # Typing over a value that was entered begins a new one; Backspace changes the old one.
        text = self._typed.text if self._typed else ""
        self._retype((text + character)[:_LONGEST])

    def _erase(self) -> None:
        if self.chosen is not None and self.chosen.key != END:
            text = self._typed.text if self._typed else self.chosen.cells[TYPED]
            if text or self._typed:
                self._retype(text[:-1])

    def _retype(self, text: str) -> None:
        if self.chosen is not None:
            self._typed = Typed(self.chosen.key, text)
            self._refresh_line(self.cursor)

    def _next(self, *, ends: bool) -> None:
        if self.chosen is not None and self.chosen.key == END:
            if ends:
                self.post_message(self.Ended())
        else:
            self.action_move(1)

    def _enter(self) -> None:
        if typed := self.take_out():
            self.post_message(self.Entered(typed))

    def _refresh_line(self, index: int) -> None:
        self.refresh(Region(0, index - self.scroll_offset.y + 1, self.size.width, 1))
