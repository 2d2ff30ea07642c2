"""A list as paper: its columns made narrow enough for the page, nothing cut away, what is said of a line below it.

Knows columns and lines of lists; nothing of what they mean.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING

from pmsched.tui.folding import folded, row
from pmsched.tui.page import WIDTH, Block, Paper

if TYPE_CHECKING:
    from pmsched.tui.widgets.lines import Column, Line

_INDENT = "    "


def list_paper(
    name: str,
    title: str,
    columns: Sequence[Column],
    lines: Sequence[Line],
    seal: str = "",
    below: Callable[[Line], str] = lambda _line: "",
) -> Paper | None:
    """The list as paper; None where it is empty.

    Args:
        name: begins the name of the file.
        title: what the list shows.
        columns: as on the screen; the widest gives way.
        lines: as on the screen; a band stays with the line after it.
        seal: short form of the book's last hash.
        below: what is printed below a line.
    """
    if not lines:
        return None
    widths = _widths(columns)
    heads = "\n".join(row([column.name for column in columns], widths))
    return Paper(name, title, heads, tuple(_blocks(lines, widths, below)), seal)


def _blocks(lines: Sequence[Line], widths: Sequence[int], below: Callable[[Line], str]) -> Iterator[Block]:
    band: tuple[str, ...] = ()
    for line in lines:
        if line.band:
            band = ("", line.cells[0])
            continue
        said = below(line)
        yield (*band, *row(line.cells, widths), *(f"{_INDENT}{part}" for part in _folded(said) if said))
        band = ()


def _folded(text: str) -> list[str]:
    return folded(text, WIDTH - len(_INDENT))


def _widths(columns: Sequence[Column]) -> list[int]:
    widths = [column.width for column in columns]
    over = sum(widths) + len(widths) - 1 - WIDTH
    if over > 0:
        widths[widths.index(max(widths))] -= over
    return widths
