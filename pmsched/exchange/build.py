"""From the read cells of one row to the row as a value: where several cells only make sense together.

Knows one row at a time. Whether codes named in it exist is decided elsewhere.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, NamedTuple

from pmsched.domain.counts import HOURS, Meter, parse_count
from pmsched.domain.errors import Refusal
from pmsched.domain.rules import Rule
from pmsched.domain.written import build_rule
from pmsched.exchange.columns import (
    COUNTERS,
    JOBS,
    LAST_DONE,
    MACHINES,
    PARTS,
    PEOPLE,
    READINGS,
    FileKind,
    InputFile,
)
from pmsched.exchange.faults import Faults
from pmsched.exchange.rows import (
    CounterRow,
    JobRow,
    LastDoneRow,
    MachineRow,
    PartRow,
    PersonRow,
    ReadingRow,
    Row,
)

_STEP_OF_ORDER = 10
_OF_RULE = ("interval", "counts_from", "grid_from", "tolerance", "opens", "closes")
_HINTS = {
    "grid-without-date": "Write it in grid_from, such as 2025-01-31.",
    "start-without-grid": "Write grid in counts_from, or leave grid_from blank.",
}
"""What to do in a table where the domain's own hint speaks of a rule in one line."""


class Cells(NamedTuple):
    """The read cells of one row.

    Attributes:
        file: name of the file.
        row: row of the file, as a spreadsheet counts it.
        nth: which data row of its kind it is, from 1.
        values: by name, the value of every column whose cell did read or is blank.
        faults: told of what is wrong.
    """

    file: str
    row: int
    nth: int
    values: Mapping[str, Any]
    faults: Faults

    def has(self, *columns: str) -> bool:
        """Whether all of these columns have a value."""
        return all(column in self.values for column in columns)

    def refuse(self, column: str, refusal: Refusal) -> None:
        """Tells of a refusal of that column of this row."""
        self.faults.refuse(refusal, self.row, column)


Builder = Callable[[Cells], Row | None]
"""The row as a value; None after telling why there is none, and where a column has no value."""


def _whole(file: InputFile, build: Builder) -> Builder:
    """A builder that needs every column."""
    names = [column.name for column in file.columns]
    return lambda cells: build(cells) if cells.has(*names) else None


def _person(cells: Cells) -> PersonRow:
    return PersonRow(cells.file, cells.row, **cells.values)


def _machine(cells: Cells) -> MachineRow:
    return MachineRow(cells.file, cells.row, **{**cells.values, "order": _order(cells)})


def _counter(cells: Cells) -> CounterRow | None:
    values = cells.values
    if not cells.has("unit", "reads"):
        return None
    meter = Meter(values["unit"], values["reads"])
    if meter.unit != HOURS and meter.reads != "whole":
        message = f"A counter of {meter.unit} reads whole; only hours have {meter.reads}."
        cells.refuse("reads", Refusal("reads-hours-only", message, "Write whole, or leave it blank."))
        return None
    # A running total may be finer than the dial: hours counted elsewhere may be in it.
    finest = Meter(HOURS, "h:min") if meter.unit == HOURS else meter
    dial_start = _count(cells, "dial_start", meter)
    total_start = _count(cells, "total_start", finest) if values.get("total_start") else dial_start
    if dial_start is None or total_start is None or not cells.has(*(column.name for column in COUNTERS.columns)):
        return None
    return CounterRow(
        cells.file,
        cells.row,
        code=values["code"],
        machine=values["machine"],
        name=values["name"],
        meter=meter,
        order=_order(cells),
        dial_start=dial_start,
        total_start=total_start,
    )


def _job(cells: Cells) -> JobRow | None:
    rule = _rule(cells) if cells.has(*_OF_RULE) else None
    if rule is None or not cells.has(*(column.name for column in JOBS.columns)):
        return None
    others = {name: value for name, value in cells.values.items() if name not in _OF_RULE}
    return JobRow(cells.file, cells.row, rule=rule, **others)


def _rule(cells: Cells) -> Rule | None:
    values = cells.values
    if values["tolerance"] and (values["opens"] or values["closes"]):
        message = "The margins are said twice: tolerance holds on both sides of the aim."
        hint = "Leave tolerance blank, or leave opens and closes blank."
        cells.refuse("tolerance", Refusal("said-twice", message, hint))
        return None
    both, grid = values["tolerance"], values["grid_from"]
    opens, closes = values["opens"] or both, values["closes"] or both
    try:
        return build_rule(values["interval"], values["counts_from"], grid.on, grid.counts, opens, closes)
    except Refusal:
        for column, refusal in _rule_refusals(values):
            hint = _HINTS.get(refusal.code, refusal.hint)
            cells.refuse(column, Refusal(refusal.code, refusal.message, hint))
        return None


def _rule_refusals(values: Mapping[str, Any]) -> Iterator[tuple[str, Refusal]]:
    """Which columns cannot stand with the interval: each tried alone, so that all of them are told."""
    limbs, grid = values["interval"], values["grid_from"]
    trials: dict[str, dict[str, Any]] = {
        "grid_from": {"counts_from": values["counts_from"], "anchor_on": grid.on, "anchor_counts": grid.counts},
        "tolerance": {"opens": values["tolerance"]},
        "opens": {"opens": values["opens"]},
        "closes": {"closes": values["closes"]},
    }
    for column, parts in trials.items():
        try:
            build_rule(limbs, **parts)
        except Refusal as refusal:
            yield column, refusal


def _last_done(cells: Cells) -> LastDoneRow:
    values = dict(cells.values)
    time_of_day, counts = values.pop("time"), values.pop("count")
    return LastDoneRow(cells.file, cells.row, time_of_day=time_of_day, counts=counts, **values)


def _reading(cells: Cells) -> ReadingRow:
    values = cells.values
    return ReadingRow(
        cells.file,
        cells.row,
        values["counter"],
        values["read_on"],
        values["time"],
        values["offset"],
        values["value"],
        values["note"],
    )


def _part(cells: Cells) -> PartRow:
    values = dict(cells.values)
    since_overhaul, since_new = values.pop("hours_since_overhaul"), values.pop("hours_since_new")
    return PartRow(cells.file, cells.row, since_overhaul_seconds=since_overhaul, since_new_seconds=since_new, **values)


def _order(cells: Cells) -> int:
    order: int | None = cells.values["order"]
    return cells.nth * _STEP_OF_ORDER if order is None else order


def _count(cells: Cells, column: str, meter: Meter) -> int | None:
    if not cells.has(column):
        return None
    try:
        return parse_count(cells.values[column], meter)
    except Refusal as refusal:
        cells.refuse(column, refusal)
        return None


BUILDERS: dict[FileKind, Builder] = {
    "people": _whole(PEOPLE, _person),
    "machines": _whole(MACHINES, _machine),
    "counters": _counter,
    "jobs": _job,
    "last_done": _whole(LAST_DONE, _last_done),
    "readings": _whole(READINGS, _reading),
    "parts": _whole(PARTS, _part),
}
"""The builder of every kind of row."""
