"""The input files of the demo, with everything dated filled in for one start.

Machines, jobs and parts get their dates, last doings and first readings are made; people and counters stay as they
are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, time

from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR
from seeds_demo import kinds
from seeds_demo.catalogue import counters
from seeds_demo.csv_files import Row, rows, write_csv
from seeds_demo.events import Dials
from seeds_demo.jobs import FROM_THE_START
from seeds_demo.lines import Line
from seeds_demo.meters import Meters, written_dial

_LAST_DONE = ("job", "unit", "done_on", "count")
_READINGS = ("counter", "read_on", "time", "value")
_NOON = time(12)


def input_files(lines: Iterable[Line], meters: Meters) -> dict[str, str]:
    """File name to CSV text, for a register that begins on the first day of the meters."""
    start, lines = meters.start, list(lines)
    first: dict[str, Line] = {}
    for line in lines:
        first.setdefault(line.job.code, line)
    people, machines, counted, parts = (rows(f"{name}.csv") for name in ("people", "machines", "counters", "parts"))
    return {
        "people.csv": _table(people),
        "machines.csv": _table([{**row, "counts_on": _with_start(row["counts_on"], start)} for row in machines]),
        "counters.csv": _table(counted),
        "jobs.csv": _table([_dated(row, first[row["code"]], start) for row in kinds.job_rows()], kinds.COLUMNS),
        "last_done.csv": write_csv(_LAST_DONE, (row for line in lines for row in _last_done(line))),
        "readings.csv": readings_file([(start, tuple((code, meters.dial(code, 0)) for code in counters()))]),
        "parts.csv": _table([{**row, "since": start.isoformat()} for row in parts]),
    }


def readings_file(rounds: Iterable[tuple[date, Dials]]) -> str:
    """CSV text with the readings of rounds, each walked at noon."""
    lines = ((code, on, dial) for on, dials in rounds for code, dial in dials)
    return write_csv(
        _READINGS, ((code, on.isoformat(), f"{_NOON:%H:%M}", written_dial(code, dial)) for code, on, dial in lines)
    )


def _table(table: Iterable[Row], columns: Iterable[str] = ()) -> str:
    given = list(table)
    head = tuple(columns) or tuple(given[0])
    return write_csv(head, ([row[column] for column in head] for row in given))


def _with_start(counts_on: str, start: date) -> str:
    """A share is an agreement: it holds from the start of the register."""
    return f"{counts_on} from {start}" if "/" in counts_on else counts_on


def _dated(row: Row, line: Line, start: date) -> Row:
    """The row of a job with the first date of its grid, and the day from which a new one counts."""
    grid = line.anchor.isoformat() if line.job.dated_grid else row["grid_from"]
    starts = row["starts"]
    if starts == FROM_THE_START:
        counts = "; ".join(_amount(amount, unit) for unit, amount in line.doings[0].counts.items())
        starts = f"from {start}" + (f" at {counts}" if counts else "")
    return {**row, "grid_from": grid, "starts": starts}


def _last_done(line: Line) -> Iterator[tuple[str, ...]]:
    """One row for each unit done before; a share of a counter cannot be typed, it is taken from the first reading."""
    if line.job.starts:
        return
    first = line.doings[0]
    shared = any(source.den > 1 for source in line.job.sources.values())
    counts = "" if shared else "; ".join(_amount(amount, unit) for unit, amount in first.counts.items())
    for unit in line.units or ("",):
        yield line.job.code, unit, first.on.isoformat(), counts


def _amount(amount: int, unit: str) -> str:
    return f"{amount // (SECONDS_PER_HOUR if unit == HOURS else 1)} {unit}"
