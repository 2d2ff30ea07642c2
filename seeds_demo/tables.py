"""The input files of the demo, with everything dated filled in for one start.

Machines, jobs and parts get their dates, last doings and first readings are made; people and counters stay as they
are.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date

from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR
from seeds_demo.catalogue import counters
from seeds_demo.csv_files import Row, rows, write_csv
from seeds_demo.lines import Line
from seeds_demo.meters import Meters, written_dial

_LAST_DONE = ("job", "unit", "done_on", "count")
_READINGS = ("counter", "read_on", "time", "value")


def input_files(lines: Iterable[Line], meters: Meters) -> dict[str, str]:
    """File name to CSV text, for a register that begins on the first day of the meters."""
    start, lines = meters.start.isoformat(), list(lines)
    grids: dict[str, date] = {line.job.code: line.anchor for line in lines if line.job.counts_from == "grid"}
    first_readings = ((code, start, "12:00", written_dial(code, meters.dial(code, 0))) for code in counters())
    return {
        "people.csv": _table("people.csv"),
        "machines.csv": _table("machines.csv", counts_on=lambda row: _with_start(row["counts_on"], start)),
        "counters.csv": _table("counters.csv"),
        "jobs.csv": _table("jobs.csv", grid_from=lambda row: str(grids.get(row["code"], ""))),
        "last_done.csv": write_csv(_LAST_DONE, (row for line in lines for row in _last_done(line))),
        "readings.csv": write_csv(_READINGS, first_readings),
        "parts.csv": _table("parts.csv", since=lambda _row: start),
    }


def _table(name: str, **columns: Callable[[Row], str]) -> str:
    """A file as it stands, but for the columns that are worked out."""
    head = list(rows(name)[0])
    return write_csv(head, ([columns[c](row) if c in columns else row[c] for c in head] for row in rows(name)))


def _with_start(counts_on: str, start: str) -> str:
    """A share is an agreement: it holds from the start of the register."""
    return f"{counts_on} from {start}" if "/" in counts_on else counts_on


def _last_done(line: Line) -> Iterator[tuple[str, ...]]:
    """One row for each unit; a share of a counter cannot be typed, it is taken from the first reading."""
    first = line.doings[0]
    shared = any(source.den > 1 for source in line.job.sources.values())
    counts = "" if shared else "; ".join(_amount(amount, unit) for unit, amount in first.counts.items())
    for unit in line.units or ("",):
        yield line.job.code, unit, first.on.isoformat(), counts


def _amount(amount: int, unit: str) -> str:
    return f"{amount // (SECONDS_PER_HOUR if unit == HOURS else 1)} {unit}"
