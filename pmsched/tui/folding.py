"""Text broken into lines of a given width in cells, for screens and for paper. Nothing is cut away.

Knows widths of characters; nothing of widgets.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from rich.cells import cell_len, chop_cells, set_cell_size

from pmsched.domain.plain import plain

# The blank that parts thousands, and the one before a unit: a figure is not torn apart.
_INSIDE_FIGURE = re.compile(r"(?<=\d) (?=\d{3}(?!\d)|[hd]\b)")
_KEPT = "\u00a0"
_WIDEST = 2


def folded(text: str, width: int, indent: str = "") -> list[str]:
    """The text in lines of at most ``width`` cells, at least one; lines after the first begin with ``indent``.

    Words are kept whole where they fit; line breaks in the text stay.
    """
    lines: list[str] = []
    for part in plain(text, line_breaks=True).splitlines() or [""]:
        lines += _folded(part, width, indent, first=not lines)
    return lines


def row(cells: Sequence[str], widths: Sequence[int]) -> Iterator[str]:
    """A row of a table, in as many lines as its fullest cell needs."""
    columns = [folded(cell, width) for cell, width in zip(cells, widths, strict=True)]
    for n in range(max(map(len, columns))):
        parts = (lines[n] if n < len(lines) else "" for lines in columns)
        yield " ".join(set_cell_size(part, width) for part, width in zip(parts, widths, strict=True)).rstrip()


def _folded(text: str, width: int, indent: str, *, first: bool) -> list[str]:
    if cell_len(text) <= width - (0 if first else cell_len(indent)):
        return [text.rstrip() if first else indent + text.rstrip()]
    margin = text[: len(text) - len(text.lstrip(" "))]
    # The widest character takes two cells, and must fit beside indent and margin.
    if len(margin) > width // 4 or width - cell_len(indent) - len(margin) < _WIDEST:
        margin = ""
    lines: list[str] = []
    line = margin if first else indent + margin
    empty = True
    for word in _INSIDE_FIGURE.sub(_KEPT, text).split(" "):
        if not word:
            continue
        for piece in _pieces(word, width - cell_len(indent) - cell_len(margin)):
            longer = line + piece if empty else f"{line} {piece}"
            if not empty and cell_len(longer) > width:
                lines.append(line)
                longer = indent + margin + piece
            line, empty = longer, False
    return [done.replace(_KEPT, " ").rstrip() for done in (*lines, line)]


def _pieces(word: str, width: int) -> list[str]:
    """The word, broken only if it is longer than a whole line."""
    return [word] if cell_len(word) <= width else chop_cells(word, max(width, 1))
