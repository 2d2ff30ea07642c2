"""Screens that show a text: a list of one column, so that reading, narrowing and printing work as everywhere else."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from rich.cells import cell_len
from textual.app import ComposeResult

from pmsched.tui.folding import folded
from pmsched.tui.page import WIDTH, Paper
from pmsched.tui.screens.base import HouseScreen, matching
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import NOTHING_FITS

_GUTTER = 1


class Said(NamedTuple):
    """One paragraph: its text, how far it stands in, how it looks (one of LOOKS), and a key if Enter opens something."""

    text: str
    indent: int = 0
    look: str = ""
    key: str = ""


class TextLines(Lines):
    """A list that is read: a page down shows the next page, not only the next line below the last."""

    def action_page(self, direction: int) -> None:
        """Down or up by a screen; the cursor goes to its first line."""
        rows = max(1, self.scrollable_content_region.height - 1)
        last = max(0, len(self.lines) - rows)
        top = max(0, min(self.scroll_offset.y + direction * rows, last))
        if top == self.scroll_offset.y:
            self.action_go(-1 if direction > 0 else 0)
            return
        self.scroll_to(y=top, animate=False, force=True, immediate=True)
        self.cursor = top


class TextScreen(HouseScreen):
    """A text under a heading that stays in sight; lines are broken to the width of the screen."""

    on_enter = ""

    def __init__(self) -> None:
        super().__init__()
        self.heading = ""
        self.seal = ""
        self._said: tuple[Said, ...] = ()

    def body(self) -> ComposeResult:
        """The text."""
        yield TextLines((Column("", WIDTH),), id="text")

    def write(self, heading: str, said: Sequence[Said], seal: str = "") -> None:
        """Show this text."""
        self.heading, self.seal, self._said = heading, seal, tuple(said)
        self.fill()

    def opened_key(self, line: Line) -> str:
        """What Enter opens on this line; empty for nothing."""
        return line.key.partition("\n")[2]

    def paper(self) -> Paper | None:
        """The whole text."""
        blocks = tuple(tuple(_paragraph(said, WIDTH)) for said in self._said)
        return Paper(self.path.rsplit("> ", 1)[-1].lower(), self.heading, "", blocks, self.seal) if blocks else None

    def fill(self) -> None:
        """Break the text anew, for this width."""
        width = max(self.size.width - _GUTTER, 20)
        lines = [
            # The number keeps the cursor in place; what follows is what Enter opens.
            Line(f"{number} {part}\n{said.key}", (text,), said.look)
            for number, said in enumerate(self._whole(width))
            for part, text in enumerate(_paragraph(said, width))
            if matching(self.words, said.text)
        ]
        if self._said and not lines:
            lines = [Line("", (NOTHING_FITS,), "quiet")]
        self.query_one("#text", Lines).show(lines, (Column(self.heading, width),))

    def _whole(self, width: int) -> Sequence[Said]:
        """The text; before it the heading, where there is no room for all of it above."""
        return self._said if cell_len(self.heading) <= width else (Said(self.heading), *self._said)


def _paragraph(said: Said, width: int) -> list[str]:
    margin = " " * said.indent
    return [margin + line for line in folded(said.text, width - said.indent, "  ")]
