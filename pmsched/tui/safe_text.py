"""Text from the register on the screen: exactly as typed, never as markup, and no control character reaches the terminal.

Three layers: hidden characters are refused at the door (``domain.plain``), everything shown is made plain here and passed
as an object rather than as markup, and the last filter below looks at what is painted.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

from rich.segment import Segment
from textual.color import Color
from textual.content import Content
from textual.filter import LineFilter

from pmsched.domain.plain import plain

_PICTURES = {code: 0x2400 + code for code in range(0x20)} | {0x7F: 0x2421}
_MISLEADING = (*range(0x80, 0xA0), 0x61C, 0x200E, 0x200F, *range(0x2028, 0x202F), *range(0x2066, 0x206A), 0xFEFF)
_VISIBLE = _PICTURES | dict.fromkeys(_MISLEADING, 0xFFFD)
_HIDDEN = re.compile("[" + "".join(re.escape(chr(code)) for code in _VISIBLE) + "]")


def shown(text: object, *, line_breaks: bool = False) -> Content:
    """Text as content for any widget: nothing in it is read as markup."""
    return Content(plain(str(text), line_breaks=line_breaks))


class NoControls(LineFilter):
    """The net under the other two layers: control characters in what is painted become visible pictures."""

    def apply(self, segments: list[Segment], background: Color) -> list[Segment]:  # noqa: ARG002 - textual's signature
        """The segments with their hidden characters made visible."""
        return [_visible(segment) for segment in segments]


def _visible(segment: Segment) -> Segment:
    if segment.control or not _HIDDEN.search(segment.text):
        return segment
    return Segment(segment.text.translate(_VISIBLE), segment.style)


def joined(parts: Sequence[object], between: str = "  ") -> Content:
    """Several texts on one line, the empty ones left out."""
    return Content(between).join([shown(part) for part in parts if str(part)])
