"""Text tables: plain columns that fit the terminal. Only here are long texts cut, with an ellipsis character.

Knows widths, not meanings. Wide characters (two places) and combining ones (none) keep the columns straight.
"""

from __future__ import annotations

import shutil
import unicodedata
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from pmsched.domain.plain import plain

ELLIPSIS = "\u2026"
_GAP, _NARROW_GAP = 2, 1
_NARROWEST = 8
_COMFORTABLE = 20


class Column(NamedTuple):
    """A column: its heading; ``cut`` if it may be shortened, ``spare`` if it may be left out, ``right`` for numbers."""

    heading: str
    cut: bool = False
    spare: bool = False
    right: bool = False


def terminal_width() -> int:
    """Characters in a line of the terminal; 80 where there is none."""
    return shutil.get_terminal_size((80, 24)).columns


def table(columns: Sequence[Column], rows: Sequence[Sequence[str]], width: int) -> Iterator[str]:
    """The heading and the rows as lines no wider than ``width``, as far as columns that may be cut allow."""
    safe = [[plain(cell) for cell in row] for row in rows]
    natural = [_natural(column, [row[p] for row in safe]) for p, column in enumerate(columns)]
    places, gap = _layout(columns, natural, safe, width)
    widths = _widths(columns, natural, places, width - gap * (len(places) - 1))
    for row in ([column.heading for column in columns], *safe):
        cells = (_fitted(row[p], size, columns[p]) for p, size in zip(places, widths, strict=True))
        yield (" " * gap).join(cells).rstrip()


def text_width(text: str) -> int:
    """How many places the text takes on a terminal."""
    if text.isascii():
        return len(text)
    return sum(map(_places_of, text))


def cut_to(text: str, width: int) -> str:
    """The text, shortened to ``width`` places with an ellipsis character if it is longer."""
    if text_width(text) <= width:
        return text
    kept, used = "", 0
    for character in text:
        used += _places_of(character)
        if used > width - 1:
            break
        kept += character
    return kept.rstrip() + ELLIPSIS


def wrapped(text: str, width: int, indent: str = "") -> Iterator[str]:
    """The text in lines no wider than ``width``, each after the indent; line breaks stay."""
    for part in plain(text, line_breaks=True).splitlines():
        line = ""
        for word in part.split(" "):
            if line and text_width(f"{indent}{line} {word}") > width:
                yield indent + line
                line = word
            else:
                line = f"{line} {word}" if line else word
        yield indent + line


def _layout(
    columns: Sequence[Column], natural: Sequence[int], rows: Sequence[Sequence[str]], width: int
) -> tuple[list[int], int]:
    """Which columns are shown, and the blanks between them.

    While what is cut would be uncomfortable, spare columns are left out, the last first; then the gap shrinks.
    """
    places = [p for p, column in enumerate(columns) if not column.spare or any(row[p] for row in rows)]
    least = [min(_COMFORTABLE, size) if column.cut else size for column, size in zip(columns, natural, strict=True)]
    while sum(least[p] for p in places) + _GAP * (len(places) - 1) > width:
        spare = [p for p in places if columns[p].spare]
        if not spare:
            return places, _NARROW_GAP
        places.remove(spare[-1])
    return places, _GAP


def _widths(columns: Sequence[Column], natural: Sequence[int], places: Sequence[int], room: int) -> list[int]:
    widths = {p: natural[p] for p in places}
    for _ in range(sum(widths.values()) - room):
        widest = max((p for p in places if columns[p].cut), key=lambda p: widths[p], default=None)
        if widest is None or widths[widest] <= _NARROWEST:
            break
        widths[widest] -= 1
    return list(widths.values())


def _natural(column: Column, cells: Sequence[str]) -> int:
    return max(map(text_width, (column.heading, *cells)))


def _fitted(cell: str, width: int, column: Column) -> str:
    shown = cut_to(cell, width)
    padding = " " * (width - text_width(shown))
    return padding + shown if column.right else shown + padding


def _places_of(character: str) -> int:
    if unicodedata.combining(character) or unicodedata.category(character) in {"Mn", "Me", "Cf"}:
        return 0
    return 2 if unicodedata.east_asian_width(character) in {"W", "F"} else 1
