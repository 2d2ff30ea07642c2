"""How each kind of column is read, and what a blank cell of that kind is where the column has no default."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, NamedTuple

from pmsched.domain.clocks import parse_offset
from pmsched.domain.written import parse_interval, parse_margins
from pmsched.exchange import cells, dates, phrases
from pmsched.exchange.columns import Column, Kind
from pmsched.exchange.rows import GridStart
from pmsched.exchange.stand_ins import check_written_out

CellReader = Callable[[str], Any]
"""From a cell that is not blank to its value. Raises Refusal."""


class Reading(NamedTuple):
    """The reader of a kind, and the value of a blank cell."""

    read: CellReader
    blank: Any


def _checked(read: CellReader) -> CellReader:
    """The domain's own readers, behind the check for hidden characters."""
    return lambda text: read(cells.read_text(text))


def _written_out(read: CellReader) -> CellReader:
    """Readers of names, behind the check for marks that stand instead of one."""

    def checked(text: str) -> Any:
        check_written_out(text)
        return read(text)

    return checked


KINDS: dict[Kind, Reading] = {
    "code": Reading(_written_out(cells.read_code), ""),
    "text": Reading(_written_out(cells.read_text), ""),
    "long text": Reading(cells.read_long_text, ""),
    "word": Reading(_written_out(cells.read_word), ""),
    "words": Reading(_written_out(cells.read_words), ()),
    "lines": Reading(cells.read_lines, ()),
    "units": Reading(_written_out(cells.read_units), ()),
    "date": Reading(_checked(dates.read_date), None),
    "time": Reading(_checked(dates.read_time), None),
    "offset": Reading(_checked(parse_offset), None),
    "yes/no": Reading(cells.read_yes_no, None),
    "whole number": Reading(cells.read_whole_number, None),
    "hours": Reading(phrases.read_hours, None),
    "amounts": Reading(phrases.read_amounts, ()),
    # The unit and the fineness of a count stand in other columns: it is read when the row is put together.
    "count": Reading(cells.read_text, ""),
    "unit": Reading(phrases.read_unit, ""),
    "reads": Reading(cells.read_reads, None),
    "counts on": Reading(phrases.read_counts_on, ()),
    "interval": Reading(_checked(parse_interval), ()),
    "counts from": Reading(cells.read_counts_from, None),
    "grid from": Reading(phrases.read_grid_from, GridStart()),
    "margins": Reading(_checked(parse_margins), ()),
    "starts": Reading(phrases.read_starts, None),
}
"""Every kind of column. A test reads each example of the registry through it."""


def blank_value(column: Column) -> Any:
    """What a blank cell of this column is read as."""
    kind = KINDS[column.kind]
    return kind.read(column.default) if column.default else kind.blank
