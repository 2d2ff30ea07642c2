"""A list of any length of which only the visible lines are drawn: ten thousand lines open as fast as ten."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import ClassVar, NamedTuple

from rich.cells import cell_len, set_cell_size
from rich.segment import Segment
from rich.style import Style
from textual import events
from textual.binding import BindingType
from textual.geometry import Region, Size
from textual.message import Message
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

from pmsched.domain.plain import plain
from pmsched.tui.actions import bindings_of

_DIGITS = re.compile(r"([0-9]+)")
LOOKS = ("overdue", "due", "soon", "quiet", "held")


class Column(NamedTuple):
    """A column: its name in the heading, its width in cells, and whether it stands to the right."""

    name: str
    width: int
    right: bool = False


class Line(NamedTuple):
    """One line: a key that stays with it, its cells, how it looks (one of LOOKS, or plain), and whether it is a band."""

    key: str
    cells: tuple[str, ...]
    look: str = ""
    band: bool = False


class Lines(ScrollView, can_focus=True):
    """The list. The first row shows the names of the columns; the cursor never rests on a band."""

    DEFAULT_CSS = """
    Lines { height: 1fr; background: $surface; color: $foreground; scrollbar-gutter: stable; scrollbar-size: 1 1; }
    Lines > .lines--names { background: $panel; color: $foreground; text-style: bold; }
    Lines > .lines--band { background: $surface; color: $secondary; text-style: bold; }
    Lines > .lines--cursor { background: $primary; color: $block-cursor-foreground; text-style: bold; }
    Lines > .lines--chosen { background: $panel; color: $foreground; text-style: bold; }
    Lines > .lines--overdue { color: $error; text-style: bold; }
    Lines > .lines--due { color: $warning; text-style: bold; }
    Lines > .lines--soon { color: $success; }
    Lines > .lines--quiet { color: $foreground-darken-2; }
    Lines > .lines--held { color: $accent; }
    """
    COMPONENT_CLASSES: ClassVar[set[str]] = {
        "lines--names",
        "lines--band",
        "lines--cursor",
        "lines--chosen",
        *(f"lines--{look}" for look in LOOKS),
    }
    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("moves")]

    cursor: reactive[int] = reactive(0, repaint=False, init=False)
    """Index of the chosen line."""

    class Chosen(Message):
        """The cursor came to rest on another line."""

        def __init__(self, lines: Lines, line: Line | None) -> None:
            super().__init__()
            self.lines = lines
            self.line = line

        @property
        def control(self) -> Lines:
            """The list it happened in."""
            return self.lines

        def can_replace(self, message: Message) -> bool:
            """While keys repeat only the newest choice matters."""
            return isinstance(message, Lines.Chosen) and message.lines is self.lines

    class Opened(Message):
        """Enter was pressed on a line."""

        def __init__(self, lines: Lines, line: Line) -> None:
            super().__init__()
            self.lines = lines
            self.line = line

        @property
        def control(self) -> Lines:
            """The list it happened in."""
            return self.lines

    def __init__(self, columns: Sequence[Column], *, id: str | None = None, classes: str | None = None) -> None:  # noqa: A002
        super().__init__(id=id, classes=classes)
        self._columns = tuple(columns)
        self._lines: tuple[Line, ...] = ()
        self._given: tuple[Line, ...] = ()
        self._order: int | None = None

    @property
    def lines(self) -> tuple[Line, ...]:
        """What the list holds."""
        return self._lines

    @property
    def chosen(self) -> Line | None:
        """The line under the cursor; None in an empty list."""
        return self._lines[self.cursor] if 0 <= self.cursor < len(self._lines) else None

    def show(self, lines: Sequence[Line], columns: Sequence[Column] | None = None) -> None:
        """Show other lines; the cursor stays on the line with the same key, or at the same height."""
        kept = self.chosen.key if self.chosen else None
        at = self.cursor
        self._given = tuple(lines)
        self._lines = self._given if self._order is None else tuple(self._ordered(self._order))
        if columns is not None:
            self._columns = tuple(columns)
        self.virtual_size = Size(
            sum(column.width for column in self._columns) + len(self._columns) - 1, len(self._lines) + 1
        )
        found = next((i for i, line in enumerate(self._lines) if line.key == kept and not line.band), at)
        self.set_reactive(Lines.cursor, self._off_band(max(0, min(found, len(self._lines) - 1)), 1))
        self._keep_in_sight()
        self.refresh()
        self.post_message(self.Chosen(self, self.chosen))

    def next_order(self) -> str:
        """Order the lines by the next column, after the last as they were given; the name of the column, or nothing."""
        following = 0 if self._order is None else self._order + 1
        self._order = following if following < len(self._columns) else None
        self.show(self._given)
        return "" if self._order is None else self._columns[self._order].name

    def _ordered(self, place: int) -> list[Line]:
        """By one column, numbers by size and words by letters; bands would part what belongs together."""
        lines = [line for line in self._given if not line.band]
        return sorted(lines, key=lambda line: _order_key(line.cells[place] if place < len(line.cells) else ""))

    def choose(self, key: str) -> None:
        """Put the cursor on the line with this key, if it is there."""
        for index, line in enumerate(self._lines):
            if line.key == key:
                self.cursor = index

    def render_line(self, y: int) -> Strip:
        """One row of the screen; row 0 holds the names of the columns."""
        offset, top = self.scroll_offset
        index = top + y - 1
        if y == 0:
            style = self.get_component_rich_style("lines--names")
            text = self._laid_out(tuple(column.name for column in self._columns))
        elif index >= len(self._lines):
            return Strip.blank(self.size.width, self.rich_style)
        else:
            line = self._lines[index]
            style = self._style_of(line, index)
            text = plain(line.cells[0]) if line.band else self._laid_out(self.cells_of(index))
        width = max(self.size.width + offset, 1)
        return Strip([Segment(set_cell_size(text, width), style)]).crop(offset, offset + self.size.width)

    def cells_of(self, index: int) -> tuple[str, ...]:
        """What stands in the cells of a line; for lists in which is typed."""
        return self._lines[index].cells

    def _style_of(self, line: Line, index: int) -> Style:
        if index == self.cursor and not line.band:
            # Without the keyboard it is still the line that is explained, and reported if a key says so.
            return self.get_component_rich_style("lines--cursor" if self.has_focus else "lines--chosen")
        if line.band:
            return self.get_component_rich_style("lines--band")
        style = self.rich_style
        return style + self.get_component_rich_style(f"lines--{line.look}", partial=True) if line.look else style

    def _laid_out(self, cells: tuple[str, ...]) -> str:
        return " ".join(_fitted(plain(cell), column) for cell, column in zip(cells, self._columns, strict=True)) + " "

    def _off_band(self, index: int, step: int) -> int:
        """The nearest line that is no band, looking in the direction of the step first."""
        for direction in (step, -step):
            at = index
            while 0 <= at < len(self._lines):
                if not self._lines[at].band:
                    return at
                at += direction
        return 0

    def validate_cursor(self, wanted: int) -> int:
        """Inside the list and off the bands."""
        inside = max(0, min(wanted, len(self._lines) - 1))
        return self._off_band(inside, 1 if wanted >= self.cursor else -1)

    def watch_cursor(self, old: int, new: int) -> None:
        """Repaint the two lines that changed and nothing else."""
        self._keep_in_sight()
        for index in (old, new):
            self.refresh(Region(0, index - self.scroll_offset.y + 1, self.size.width, 1))
        self.post_message(self.Chosen(self, self.chosen))

    def _keep_in_sight(self) -> None:
        height = self.scrollable_content_region.height - 1
        if height <= 0:
            return
        top, at = self.scroll_offset.y, self.cursor
        first = at - 1 if at and self._lines[at - 1].band else at
        if first < top or at >= top + height:
            # Every scroll paints the whole list; half a page at once makes it seldom.
            self.scroll_to(y=max(0, first - height // 2), animate=False, force=True)

    def action_move(self, step: int) -> None:
        """Down or up by a number of lines."""
        self.cursor = self.cursor + step if 0 <= self.cursor + step < len(self._lines) else self.cursor

    def action_page(self, direction: int) -> None:
        """Down or up by a screen."""
        self.cursor += direction * max(1, self.scrollable_content_region.height - 1)

    def action_go(self, index: int) -> None:
        """To the first line, or (-1) the last."""
        self.cursor = len(self._lines) - 1 if index < 0 else index

    def action_open(self) -> None:
        """Open the chosen line."""
        if self.chosen is not None and not self.chosen.band:
            self.post_message(self.Opened(self, self.chosen))

    def on_focus(self) -> None:
        """The cursor is bright only in the list that has the keyboard."""
        self.refresh()

    def on_blur(self) -> None:
        """See ``on_focus``."""
        self.refresh()

    def on_resize(self, _event: events.Resize) -> None:
        """A smaller screen still shows the chosen line."""
        self._keep_in_sight()

    def on_click(self, event: events.Click) -> None:
        """A click chooses a line; a second one on it opens it."""
        index = self.scroll_offset.y + event.y - 1
        if not (event.y > 0 and index < len(self._lines)) or self._lines[index].band:
            return
        if index == self.cursor:
            self.action_open()
        else:
            self.cursor = index


def _fitted(text: str, column: Column) -> str:
    """As wide as the column; what is cut off is seen to be."""
    text = " ".join(text.split("\n"))
    if (taken := cell_len(text)) > column.width:
        return set_cell_size(text, column.width - 1) + "…"
    return " " * (column.width - taken) + text if column.right else set_cell_size(text, column.width)


def _order_key(cell: str) -> list[tuple[int, int, str]]:
    """Digits count as numbers, thousands set apart by blanks too; empty cells come last."""
    if not cell.strip():
        return [(2, 0, "")]
    parts = _DIGITS.split(re.sub(r"(?<=\d) (?=\d{3}(?!\d))", "", cell.casefold()))
    return [(0, int(part), "") if part.isdecimal() else (1, 0, part) for part in parts if part]
