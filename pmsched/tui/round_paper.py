"""The sheet to walk with: the meters in walking order, what each showed last and should show, and a line to write on."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from pmsched.tui.folding import row
from pmsched.tui.page import Paper
from pmsched.tui.round_lines import Entry
from pmsched.tui.widgets.lines import Line

_HEADS = ("counter", "last", "on", "expected", "reads")
_WIDTHS = (35, 11, 5, 11, 12)
_LAST, _ON, _EXPECTED = 1, 2, 5
_WRITE_HERE = "_" * 12


def round_paper(lines: Iterable[Line], entries: Mapping[str, Entry]) -> Paper | None:
    """The sheet on paper; what was entered stands on its line. None where there is no counter."""
    blocks = []
    for line in lines:
        value = entries[line.key].text if line.key in entries else _WRITE_HERE
        cells = (line.cells[0], line.cells[_LAST], line.cells[_ON], line.cells[_EXPECTED], value)
        # An empty line between meters: hands are gloved, pencils are blunt.
        blocks.append((*row(cells, _WIDTHS), ""))
    heads = next(row(_HEADS, _WIDTHS))
    return Paper("round", "Round: read at ____________________", heads, tuple(blocks)) if blocks else None
