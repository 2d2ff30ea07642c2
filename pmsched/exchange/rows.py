"""What one row of each input file says, as values. Whether it fits the register is decided elsewhere.

Every row carries the name of its ``file`` (or sheet) and its ``row`` there, as a spreadsheet counts them, for messages.
Amounts of hours are whole seconds, other amounts whole units, as in ``pmsched.domain.counts``.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, time
from fractions import Fraction
from typing import Any, NamedTuple

from pmsched.domain.counts import Meter
from pmsched.domain.rules import Rule
from pmsched.exchange.columns import FileKind
from pmsched.exchange.places import Source

Amount = tuple[str, int]
"""A unit and how much of it: seconds for hours, whole units otherwise."""


class Follow(NamedTuple):
    """A machine counts on a counter: all of it or a share (more than 0, at most 1), from a date or from ever."""

    counter: str
    share: Fraction = Fraction(1)
    from_on: date | None = None


class GridStart(NamedTuple):
    """The first date and the first marks of a grid; either may be absent."""

    on: date | None = None
    counts: tuple[Amount, ...] = ()


class Start(NamedTuple):
    """Where a job that was never done begins: due at once (no date), or counted from a date and running totals."""

    from_on: date | None = None
    from_counts: tuple[Amount, ...] = ()

    @property
    def due_at_once(self) -> bool:
        """Nothing to count from was named: it is due now."""
        return self.from_on is None


@dataclass(frozen=True, slots=True)
class PersonRow:
    """A person; ``department`` is one lower-case word."""

    file: str
    row: int
    code: str
    name: str
    rank: str
    department: str


@dataclass(frozen=True, slots=True)
class MachineRow:
    """A machine; ``parent`` is empty at the top of the tree."""

    file: str
    row: int
    code: str
    name: str
    parent: str
    order: int
    critical: bool
    department: str
    counts_on: tuple[Follow, ...]
    other_names: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CounterRow:
    """A counter with its meter; the dial showed ``dial_start`` when the running total was ``total_start``."""

    file: str
    row: int
    code: str
    machine: str
    name: str
    meter: Meter
    order: int
    dial_start: int
    total_start: int


@dataclass(frozen=True, slots=True)
class JobRow:
    """A job; ``starts`` is None when its last doing is named elsewhere, ``units`` is empty when it has none."""

    file: str
    row: int
    code: str
    machine: str
    title: str
    rule: Rule
    units: tuple[str, ...]
    department: str
    rank: str
    critical: bool
    class_item: bool
    cautions: tuple[str, ...]
    steps: tuple[str, ...]
    needs: str
    starts: Start | None


@dataclass(frozen=True, slots=True)
class LastDoneRow:
    """The last doing of a job, or of one unit of it; ``time_of_day`` is None when none was written (R15)."""

    file: str
    row: int
    job: str
    unit: str
    done_on: date
    time_of_day: time | None
    counts: tuple[Amount, ...]
    by: str
    remarks: str


@dataclass(frozen=True, slots=True)
class ReadingRow:
    """A reading; ``value`` stays text because the counter's meter decides how it reads.

    ``offset_minutes`` (east of UTC positive) is None when the ship's clock of that moment applies.
    """

    file: str
    row: int
    counter: str
    read_on: date
    time_of_day: time
    offset_minutes: int | None
    value: str
    note: str


@dataclass(frozen=True, slots=True)
class PartRow:
    """A serialised part; ``machine`` is empty when it lies in store; its own hours are None when not known."""

    file: str
    row: int
    serial: str
    name: str
    machine: str
    since: date | None
    since_overhaul_seconds: int | None
    since_new_seconds: int | None
    place: str
    note: str


Row = PersonRow | MachineRow | CounterRow | JobRow | LastDoneRow | ReadingRow | PartRow


class UnreadRow(NamedTuple):
    """A row with a problem: what can be told of it all the same.

    Attributes:
        kind: what it is a row of.
        file: as in a row that reads.
        row: as in a row that reads.
        texts: its cells as written, by column.
        values: those of its cells that read, by column; none if the row cannot be trusted at all.
    """

    kind: FileKind
    file: str
    row: int
    texts: Mapping[str, str]
    values: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Bundle:
    """Everything that was read, each kind of row in the order of the files.

    Attributes:
        unread: the rows with a problem.
        cut_short: kinds of which rows may be missing that nothing is known of.
        sources: the files and sheets.
        notes: what was passed over, or read in a way of its own, a sentence each.
    """

    people: tuple[PersonRow, ...] = ()
    machines: tuple[MachineRow, ...] = ()
    counters: tuple[CounterRow, ...] = ()
    jobs: tuple[JobRow, ...] = ()
    last_done: tuple[LastDoneRow, ...] = ()
    readings: tuple[ReadingRow, ...] = ()
    parts: tuple[PartRow, ...] = ()
    unread: tuple[UnreadRow, ...] = field(default=(), compare=False)
    cut_short: frozenset[FileKind] = field(default=frozenset(), compare=False)
    sources: tuple[Source, ...] = field(default=(), compare=False)
    notes: tuple[str, ...] = field(default=(), compare=False)
