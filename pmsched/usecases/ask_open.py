"""Ask what is open now: machines that must not be started, held readings, and jobs of which only some units are done."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from datetime import date, timedelta
from typing import NamedTuple

from sqlalchemy import Connection

from pmsched.domain.aims import DoingKind
from pmsched.domain.counts import Meter, format_count
from pmsched.domain.due import State
from pmsched.store.lookups import counters, machines
from pmsched.store.reading_facts import held_readings
from pmsched.usecases.ask_due import DueRow
from pmsched.usecases.ask_isolations import isolation_rows
from pmsched.usecases.views import Scene

WORK_DAYS = 14
"""Units done within so many days are taken as one piece of work on the job."""


class OpenLine(NamedTuple):
    """One thing that is open.

    Attributes:
        kind: held (a reading), partly (a job), or why a machine must not be started: isolated, opened, not to be started.
        code: of the counter whose reading is held, of the job that is partly done, or of the machine.
        department: that of the machine or the job.
        machine: code and name of the machine.
        said: what is open, in a few words.
        since: ship's date of the reading, of the first unit done, or of the isolation.
        number: of the isolation; empty for the others.
    """

    kind: str
    code: str
    department: str
    machine: str
    said: str
    since: date
    number: str = ""

    @property
    def not_to_start(self) -> bool:
        """Whether it is a machine that must not be started."""
        return bool(self.number)


def open_lines(connection: Connection, seen: Scene, rows: Iterable[DueRow]) -> tuple[OpenLine, ...]:
    """What is open: what must not be started first, of every department; ``rows`` are the job units looked at."""
    return (*_down(connection, seen), *_held(connection, seen), *partly_done(rows, seen.today))


def _down(connection: Connection, seen: Scene) -> Iterator[OpenLine]:
    for row in isolation_rows(connection, seen):
        place = f"{row.machine} {row.machine_name}"
        yield OpenLine(row.kind, row.machine, row.department, place, row.said, row.begun_on, row.number)


def partly_done(rows: Iterable[DueRow], today: date) -> Iterator[OpenLine]:
    """Jobs of which some units were done in the last ``WORK_DAYS`` days and others are due or may be done."""
    by_job: dict[str, list[DueRow]] = defaultdict(list)
    for row in rows:
        if row.unit:
            by_job[row.job].append(row)
    for job, units in by_job.items():
        due = [row for row in units if row.standing.state >= State.MAY_BE_DONE]
        done = [day for row in units if row not in due and (day := _done_lately(row, today))]
        if due and done:
            named = ", ".join(sorted(row.unit for row in due))
            said = f"{due[0].title}: {len(done)} of {len(units)} done, open: {named}"
            yield OpenLine("partly", job, due[0].department, f"{due[0].machine} {due[0].machine_name}", said, min(done))


def _done_lately(row: DueRow, today: date) -> date | None:
    since = row.because.since
    done = row.because.since_kind is DoingKind.DONE and since is not None
    return since if done and since is not None and today - since <= timedelta(days=WORK_DAYS) else None


def _held(connection: Connection, seen: Scene) -> Iterator[OpenLine]:
    held = held_readings(connection, seen.view)
    if not held:
        return
    known = {row.id: row for row in counters(connection, seen.view)}
    places = {row.id: row for row in machines(connection, seen.view)}
    for reading in held:
        counter = known[reading.counter_id]
        place = places[counter.machine_id]
        value = format_count(reading.dial, Meter(counter.unit, counter.reads))
        yield OpenLine(
            "held", counter.code, place.department, f"{place.code} {place.name}",
            f"reading {value} {counter.unit} cannot be true", seen.clock.ship_date(reading.read_at),
        )  # fmt: skip
