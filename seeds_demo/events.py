"""What the simulation hands over: input files, and what people entered afterwards, in the order of entering.

Values only. Dates and times are ship's dates and times. Counts are running hours in whole seconds and whole units
otherwise, as the dial showed them unless it says running total.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from typing import Literal, NamedTuple

Condition = Literal["as new", "fair wear, will last", "worn, watch", "worn, renewed", "damaged, not repaired"]
"""The plain grades in which a report says how the machine was found."""

Dials = tuple[tuple[str, int], ...]
"""Counter codes with the dial values written down for them."""


@dataclass(frozen=True, slots=True)
class RoundEvent:
    """A round past all meters, read at noon and entered soon after."""

    recorded_on: date
    recorded_time: time
    by: str
    lines: Dials


@dataclass(frozen=True, slots=True)
class SheetEvent:
    """The rounds of a quarter, kept on a sheet and loaded from a file at its end; each with the date it was walked."""

    recorded_on: date
    recorded_time: time
    by: str
    rounds: tuple[tuple[date, Dials], ...]


@dataclass(frozen=True, slots=True)
class ReportEvent:
    """A job reported as done.

    Attributes:
        recorded_on: ship's date of reporting.
        recorded_time: ship's time of reporting.
        by: code of the person who reports.
        job: code of the job.
        units: the units done; empty when the job has none.
        done_on: ship's date of the doing.
        done_time: its time; None when nobody wrote it down, which counts as 12:00 (R15).
        done_by: name of who did it, where that is another person; empty otherwise.
        count: the running total typed by hand; None when the value between the readings was taken as offered.
        condition: how the machine was found.
        remarks: what the next engineer reads; often nothing after a routine test.
    """

    recorded_on: date
    recorded_time: time
    by: str
    job: str
    units: tuple[str, ...]
    done_on: date
    done_time: time | None
    done_by: str
    count: int | None
    condition: Condition
    remarks: str


@dataclass(frozen=True, slots=True)
class CorrectionEvent:
    """The reading of ``counter`` on ``read_on`` was wrong although it was possible; ``dial`` is the right value."""

    recorded_on: date
    recorded_time: time
    by: str
    counter: str
    read_on: date
    dial: int
    reason: str


@dataclass(frozen=True, slots=True)
class ReportCorrectionEvent:
    """The report of ``job`` done on ``done_on`` was wrong: it is void if ``condition`` is None, else incomplete."""

    recorded_on: date
    recorded_time: time
    by: str
    job: str
    done_on: date
    reason: str
    condition: Condition | None
    remarks: str


@dataclass(frozen=True, slots=True)
class ClockEvent:
    """From that ship's date and time on, the clock stands ``offset_minutes`` from UTC, east positive."""

    at_on: date
    at_time: time
    offset_minutes: int


class Isolation(NamedTuple):
    """A machine that stands isolated at the end: why, under which tag, since when, and who signed it off."""

    machine: str
    why: str
    tag: str
    since_on: date
    since_time: time
    by: str


Event = RoundEvent | SheetEvent | ReportEvent | CorrectionEvent | ReportCorrectionEvent | ClockEvent | Isolation


class Held(NamedTuple):
    """A reading of the last round that cannot be true: the counter and the dial value as written."""

    counter: str
    dial: int


class Ending(NamedTuple):
    """How the history ends, by the simulation's own arithmetic.

    Attributes:
        overdue: codes of jobs that are past their limit, because their last doing was left out.
        due_soon: codes of jobs due by the second day after today and not overdue.
        held: the readings that wait to be settled.
        isolated: what must not be started.
    """

    overdue: tuple[str, ...]
    due_soon: tuple[str, ...]
    held: tuple[Held, ...]
    isolated: Isolation


class History(NamedTuple):
    """The years of a vessel: ``files`` (name to CSV text) fill the register at ``start``, ``events`` follow."""

    files: dict[str, str]
    start: date
    events: tuple[Event, ...]
    ending: Ending


def moment_of(event: Event) -> tuple[date, time]:
    """When it was entered, by the ship's clock."""
    if isinstance(event, ClockEvent):
        return event.at_on, event.at_time
    if isinstance(event, Isolation):
        return event.since_on, event.since_time
    return event.recorded_on, event.recorded_time
