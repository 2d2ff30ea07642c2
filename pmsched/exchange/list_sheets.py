"""A list of jobs taken apart into our sheets: machines, counters, jobs, last doings and readings, with codes for all.

Everything stands in the sheets as a person would have written it, to be looked at, changed and checked like any other file;
nothing is known of a register. The same list and the same answers give the same sheets.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import NamedTuple

from pmsched.domain.counts import HOURS
from pmsched.exchange.columns import FileKind
from pmsched.exchange.list_cells import YES, Answers, Doubt, Doubts, as_date, is_nothing, read_day, read_hours
from pmsched.exchange.list_codes import counter_code
from pmsched.exchange.list_jobs import Cells, JobMaker, Machines, counted_in, with_codes
from pmsched.exchange.list_past import past_readings
from pmsched.exchange.list_read import FoundLists
from pmsched.exchange.list_rows import ListRow, Rows, rows_of
from pmsched.exchange.native_cells import BLANK

_COUNTED = frozenset({HOURS, "starts", "cycles", "lifts", "m3", "km"})


class Parts(NamedTuple):
    """What a list becomes.

    Attributes:
        sheets: the rows of our sheets.
        machines: code and name of every machine, in the order of the list.
        doubts: what is in doubt still, with how many cells each is about.
        notes: what was not taken over, a sentence each.
    """

    sheets: Mapping[FileKind, tuple[Cells, ...]]
    machines: tuple[tuple[str, str], ...]
    doubts: tuple[tuple[Doubt, int], ...]
    notes: tuple[str, ...]


def take_apart(found: FoundLists, answers: Answers, now: datetime) -> Parts:
    """The sheets, as far as the answers go.

    Args:
        found: the lists of a file.
        answers: what was answered to doubts, and codes wanted for machines.
        now: the ship's date and time: readings of today were taken before it.
    """
    doubts = Doubts(answers)
    rows = rows_of(found, doubts)
    machines = Machines(rows, doubts)
    maker = JobMaker(machines, doubts, now.date())
    kept: list[ListRow] = []
    left_out: list[ListRow] = []
    for row in rows.jobs:
        (left_out if maker.leaves_out(row) else kept).append(row)
    jobs = [(row, maker.job(row, code)) for row, code in with_codes(kept, machines)]
    done = [cells for row, job in jobs if (cells := maker.last_done(row, job))]
    meters = _Meters(rows, machines, doubts, now)
    sheets = meters.sheets([job for _, job in jobs], done)
    sheets |= {
        "machines": tuple({"code": code, "name": name} for code, name in machines.every),
        "jobs": tuple(job for _, job in jobs),
        "last_done": tuple(done),
    }
    opened = tuple((doubt, doubts.times[key]) for key, doubt in doubts.open.items())
    order: tuple[FileKind, ...] = ("machines", "counters", "jobs", "last_done", "readings")
    return Parts(
        {kind: sheets[kind] for kind in order},
        machines.every,
        opened,
        (*rows.notes, *_said_of(left_out), *meters.notes),
    )


def _said_of(left_out: Sequence[ListRow]) -> Iterator[str]:
    if left_out:
        rows = "; ".join(f"row {row.number} '{row.text('title')}'" for row in left_out)
        yield f"left out, as they have no interval: {rows}."


class _Meters:
    """Makes the rows of counters and readings."""

    def __init__(self, rows: Rows, machines: Machines, doubts: Doubts, now: datetime) -> None:
        self._rows = (*rows.hours, *rows.jobs)
        self._machines = machines
        self._doubts = doubts
        self._now = now
        self.notes: list[str] = []

    def sheets(self, jobs: Sequence[Cells], done: Sequence[Cells]) -> dict[FileKind, tuple[Cells, ...]]:
        """The counters that the jobs need, and their readings."""
        counts = self._units_counted(jobs, done)
        readings = self._with_past(tuple(self._readings(counts)), jobs, done)
        return {"counters": tuple(_counters(counts, readings)), "readings": readings}

    def _units_counted(self, jobs: Sequence[Cells], done: Sequence[Cells]) -> dict[str, list[str]]:
        """What each machine counts: as its intervals say, and hours where doings or readings state them."""
        machine_of = {job["code"]: job["machine"] for job in jobs}
        counts: dict[str, list[str]] = {code: [] for code, _ in self._machines.every}
        named = [(job["machine"], unit) for job in jobs for unit in counted_in(job["interval"])]
        named += [(machine_of[one["job"]], HOURS) for one in done if one["count"].endswith(f" {HOURS}")]
        named += [(self._machines.code_of(row), HOURS) for row in self._rows if not is_nothing(row.cell("count_now"))]
        for machine, unit in named:
            if unit in _COUNTED and unit not in counts.setdefault(machine, []):
                counts[machine].append(unit)
        return {machine: units for machine, units in counts.items() if machine}

    def _readings(self, counts: Mapping[str, list[str]]) -> Iterator[Cells]:
        """A reading of each machine's hours, if all its rows agree on it."""
        said: dict[str, dict[tuple[str, str, str], int]] = {}
        for row in self._rows:
            if hours := read_hours(row.cell("count_now"), self._doubts):
                day, time = self._read_on(row)
                said.setdefault(self._machines.code_of(row), {}).setdefault((day, time, hours), row.number)
        for machine, found in said.items():
            if HOURS not in counts.get(machine, ()):
                continue
            if len({hours for _, _, hours in found}) > 1:
                told = ", ".join(f"{hours} (row {number})" for (_, _, hours), number in found.items())
                self.notes.append(f"{machine} has different hours, so none is taken over: {told}.")
                continue
            day, time, hours = next(iter(found))
            yield {"counter": counter_code(machine, HOURS), "read_on": day, "time": time, "value": hours}

    def _with_past(self, now: tuple[Cells, ...], jobs: Sequence[Cells], done: Sequence[Cells]) -> tuple[Cells, ...]:
        """The readings, and before them the hours stated with last doings, if the person wants them so."""
        counter_of = {job["code"]: counter_code(job["machine"], HOURS) for job in jobs}
        past = tuple(past_readings(done, counter_of, now))
        question = (
            "The hours at last doings can be taken as readings of those days. Then jobs by hours get a date at once, from "
            "how much each machine is used. Take them so?"
        )
        doubt = Doubt("doings-as-readings", question, ((YES, "yes"), ("no", "no")), "", YES)
        return (*past, *now) if past and self._doubts.answer(doubt) == YES else now

    def _read_on(self, row: ListRow) -> tuple[str, str]:
        day, time = read_day(row.cell("read_on"), self._doubts, since_1904=row.table.since_1904)
        if not day:
            today = self._now.date().isoformat()
            doubt = Doubt("read-on", "On which date were the hours read?", (), "", today)
            day, _ = read_day(BLANK._replace(value=self._doubts.answer(doubt)), self._doubts, since_1904=False)
        # A reading without a time counts at noon, and that may lie ahead.
        return day, time or (f"{self._now:%H:%M}" if as_date(day) == self._now.date() else "")


def _counters(counts: Mapping[str, list[str]], readings: tuple[Cells, ...]) -> Iterator[Cells]:
    values: dict[str, str] = {}
    for one in readings:
        values[one["counter"]] = values.get(one["counter"], "") + one["value"]
    for machine, units in counts.items():
        for unit in units:
            code = counter_code(machine, unit)
            yield {"code": code, "machine": machine, "unit": unit, "reads": _fineness(values.get(code, ""))}


def _fineness(value: str) -> str:
    """How fine a dial must read to show this value."""
    if ":" in value:
        return "h:min"
    return "tenths" if any(mark in value for mark in ".,") else ""
