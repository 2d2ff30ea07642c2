"""What is said of the chosen line, below a list: its whole name on the rule between them, then the rest.

What has no room is never cut off unseen: the last line says so.
"""

from __future__ import annotations

from collections.abc import Iterator

from rich.cells import cell_len
from textual.content import Content
from textual.widgets import Static

from pmsched.tui.folding import folded
from pmsched.tui.safe_text import shown

MORE = "… Enter shows all of it"
_BESIDE_NAME = 4
_DANGERS = ("CAUTION:", "DO NOT START")


class Detail(Static):
    """The text, its first line the name.

    Args:
        more: what stands in the last line where there is no room for all of it.
    """

    DEFAULT_CSS = """
    Detail { border-top: solid $panel; border-title-color: $foreground; border-title-style: bold; padding: 0 1; }
    """

    def __init__(self, more: str = MORE, *, id: str = "detail") -> None:  # noqa: A002 - textual's name
        super().__init__(markup=False, id=id)
        self.more = more
        self._text = ""

    def tell(self, text: str) -> None:
        """Show this text."""
        self._text = text
        self._lay_out()

    def on_resize(self) -> None:
        """Lines break elsewhere in another width."""
        self._lay_out()

    def _lay_out(self) -> None:
        room = self.content_size
        name, _, rest = self._text.partition("\n")
        on_rule = cell_len(name) <= self.size.width - _BESIDE_NAME
        self.border_title = shown(name if on_rule else "").stylize(_look(name))  # as content: no markup
        lines = list(_lines(rest if on_rule else self._text, max(room.width, 1)))
        if len(lines) > room.height > 0:
            lines = [*lines[: room.height - 1], shown(self.more)]
        self.update(Content("\n").join(lines), layout=False)


def _lines(text: str, width: int) -> Iterator[Content]:
    """Broken to the width; what somebody may be hurt by stands out."""
    for paragraph in text.splitlines():
        yield from (shown(line).stylize(_look(paragraph)) for line in folded(paragraph, width))


def _look(paragraph: str) -> str:
    return "bold $error" if paragraph.startswith(_DANGERS) else ""
