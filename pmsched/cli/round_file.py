"""A round from a CSV file: columns counter and value, and read_on, time, offset and note where they are needed.

Reads with the house's own table reader; every problem is collected. What a row leaves out, the round's own moment fills.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta, timezone
from pathlib import Path
from typing import Any, NamedTuple

from pmsched.domain.clocks import ShipClock, from_datetime
from pmsched.domain.counts import parse_count
from pmsched.domain.errors import ProblemsFound, Refusal
from pmsched.domain.problems import Problem
from pmsched.exchange.columns import READINGS
from pmsched.exchange.faults import Faults
from pmsched.exchange.headings import Heading, count_known, read_heading
from pmsched.exchange.kinds import KINDS
from pmsched.exchange.tables import Record, read_table
from pmsched.usecases.ask_round import SheetLine
from pmsched.usecases.near_names import near
from pmsched.usecases.record_round import RoundLine

_NEEDED = ("counter", "value")
ROUND_FILE = READINGS._replace(
    columns=tuple(column._replace(required=column.name in _NEEDED) for column in READINGS.columns)
)
"""The columns of a round: those of a file of readings, most of them left to the round itself."""


class Moment(NamedTuple):
    """When a round is walked: the present, the instant for rows that do not say, and the ship's clock."""

    now: int
    at: int
    clock: ShipClock


def read_round_file(path: Path, name: str, sheet: Sequence[SheetLine], moment: Moment) -> list[RoundLine]:
    """The lines of the file in its order.

    Args:
        path: the file.
        name: what messages call it.
        sheet: the counters there are.
        moment: fills in what rows leave out.

    Raises:
        ProblemsFound: with every problem of every row.
    """
    problems: list[Problem] = []
    faults = Faults(name, problems)
    records = read_table(path, lambda cells: count_known(cells, ROUND_FILE), faults)
    first = next(records, None)
    lines: list[RoundLine] = []
    if first is None:
        if not problems:
            faults.tell("no-heading", "There is no heading row.", "Begin with: counter,value")
    else:
        heading = read_heading(first, ROUND_FILE, faults)
        known = {line.counter.lower(): line for line in sheet}
        found = (_line(record, heading, known, moment, faults) for record in records)
        lines = [line for line in found if line is not None]
    if problems:
        raise ProblemsFound(problems)
    return lines


def _line(
    record: Record, heading: Heading, known: dict[str, SheetLine], moment: Moment, faults: Faults
) -> RoundLine | None:
    cells = _cells(record, heading, faults)
    if cells is None:
        return None
    counter = known.get(cells["counter"].lower())
    if counter is None:
        hint = near(cells["counter"], (line.counter for line in known.values()))
        faults.tell(
            "unknown-counter", f"There is no counter {cells['counter']}.", hint, row=record.row, column="counter"
        )
        return None
    try:
        parse_count(cells["value"], counter.meter)
    except Refusal as refusal:
        faults.refuse(refusal, record.row, "value")
        return None
    at = _read_at(cells, moment)
    if at > moment.now:
        faults.tell("reading-in-future", "It is read later than now.", "Check the date and time.", row=record.row)
        return None
    return RoundLine(counter.counter, cells["value"], at, cells.get("note") or "")


def _cells(record: Record, heading: Heading, faults: Faults) -> dict[str, Any] | None:
    """The cells that hold something, read, by column; None after telling what is wrong."""
    values: dict[str, Any] = {}
    sound = True
    for at, column in heading.places:
        cell = record.cells[at] if at < len(record.cells) else ""
        if not cell.strip():
            if column.required:
                hint = f"Write it, such as {column.example}."
                faults.tell("missing-value", "The cell is blank.", hint, row=record.row, column=column.name)
            continue
        try:
            values[column.name] = KINDS[column.kind].read(cell)
        except Refusal as refusal:
            faults.refuse(refusal, record.row, column.name)
            sound = False
    return values if sound and all(name in values for name in _NEEDED) else None


def _read_at(cells: dict[str, Any], moment: Moment) -> int:
    """The instant of a row; a date alone means its noon (R15), or now while noon is still ahead."""
    day: date | None = cells.get("read_on")
    hour: time | None = cells.get("time")
    minutes: int | None = cells.get("offset")
    if day is None and hour is None and minutes is None:
        return moment.at
    today = moment.clock.ship_date(moment.at)
    on = today if day is None else day
    if minutes is not None:
        there = timezone(timedelta(minutes=minutes))
        return from_datetime(datetime.combine(on, time(12) if hour is None else hour, there))
    at = moment.clock.instant_of(on, hour)
    return min(at, moment.at) if hour is None and on == today else at
