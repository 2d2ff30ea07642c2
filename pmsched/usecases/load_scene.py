"""What a load works with: the rows of the files, the register as it was before, and how codes name things in both."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date, time
from typing import Any

from sqlalchemy import Connection, Table

from pmsched.exchange.columns import FileKind
from pmsched.exchange.rows import Bundle, CounterRow, JobRow, MachineRow
from pmsched.store.book import Work
from pmsched.store.loaded_facts import Loads, identities, live_rows, revisions_at_last
from pmsched.store.tables import COUNTER, JOB, MACHINE, PART, PERSON
from pmsched.usecases.load_changes import Tally
from pmsched.usecases.views import Scene

Progress = Callable[[str, int, int], None]
"""Told what is being done, how much of it is done, and how much there is."""

IDENTITIES: dict[FileKind, Table] = {
    "people": PERSON,
    "machines": MACHINE,
    "counters": COUNTER,
    "jobs": JOB,
    "parts": PART,
}
"""The table that holds the name of each kind of thing."""


def key_of(code: str) -> str:
    """What two writings of one code share: capitals make no difference."""
    return code.lower()


def code_column(kind: FileKind) -> str:
    """The column, in the file and in the table, of what a thing is called for life."""
    return "serial" if kind == "parts" else "code"


class Before:
    """The register before the load: what loads said of a thing last, and how it stands. Each table is read once."""

    def __init__(self, connection: Connection) -> None:
        self._connection = connection
        self.loads = Loads(connection)
        self._found: dict[tuple[str, str], dict[int, Any]] = {}

    def said(self, table: Table) -> dict[int, Any]:
        """By owner, the newest revision that a load wrote, corrected since or not."""
        owner = f"{table.name.removesuffix('_revision')}_id"
        return self._once("said", table, lambda: {getattr(row, owner): row for row in self.loads.rows(table)})

    def last(self, table: Table) -> dict[int, Any]:
        """By owner, the revision in force that acts last."""
        return self._once("last", table, lambda: revisions_at_last(self._connection, table))

    def said_facts(self, table: Table, owner: str) -> dict[int, list[Any]]:
        """By owner, the facts that loads wrote and did not end, each as a load wrote it last; oldest version first."""
        return self._once("said", table, lambda: _grouped(_latest(self.loads.rows(table)), owner))

    def live_facts(self, table: Table, owner: str) -> dict[int, list[Any]]:
        """By owner, the facts that stand."""
        return self._once("live", table, lambda: _grouped(live_rows(self._connection, table), owner))

    def _once(self, what: str, table: Table, find: Callable[[], dict[int, Any]]) -> dict[int, Any]:
        at = (what, table.name)
        if at not in self._found:
            self._found[at] = find()
        return self._found[at]


class Names:
    """Codes, in capitals or not, to what they name: in the register and in the files."""

    def __init__(self, connection: Connection, bundle: Bundle) -> None:
        self.there: dict[FileKind, dict[str, Any]] = {}
        self.ids: dict[FileKind, dict[str, int]] = {}
        self.rows: dict[FileKind, dict[str, Any]] = {}
        self.written: dict[tuple[FileKind, int], str] = {}
        for kind, table in IDENTITIES.items():
            name = code_column(kind)
            rows = identities(connection, table)
            self.there[kind] = {key_of(getattr(row, name)): row for row in rows}
            self.ids[kind] = {key: row.id for key, row in self.there[kind].items()}
            self.written |= {(kind, row.id): getattr(row, name) for row in rows}
            self.rows[kind] = {key_of(getattr(row, name)): row for row in getattr(bundle, kind)}
        self._own: dict[str, list[str]] | None = None

    def known(self, kind: FileKind, code: str) -> bool:
        """Whether the register or the files have that code."""
        return key_of(code) in self.ids[kind] or key_of(code) in self.rows[kind]

    def codes(self, kind: FileKind) -> Iterable[str]:
        """Every code of that kind, as written in the register and in the files."""
        name = code_column(kind)
        yield from (getattr(row, name) for row in self.there[kind].values())
        yield from (getattr(row, name) for row in self.rows[kind].values())

    def code(self, kind: FileKind, thing: int | None) -> str:
        """The code of a thing in the register by its id; empty for None."""
        return self.written[kind, thing] if thing is not None else ""

    def name_new(self, kind: FileKind, code: str, thing: int) -> None:
        """A thing was added under that code."""
        self.ids[kind][key_of(code)] = thing
        self.written[kind, thing] = code

    def unit_of(self, counter: str) -> str:
        """What a known counter counts."""
        row: CounterRow | None = self.rows["counters"].get(key_of(counter))
        return row.meter.unit if row else str(self.there["counters"][key_of(counter)].unit)

    def counter_code(self, counter: str) -> str:
        """The code of a known counter as it is written."""
        row = self.there["counters"].get(counter) or self.rows["counters"][counter]
        return str(row.code)

    def own_counters(self, machine: str) -> list[str]:
        """Keys of the counters that a machine carries, those of the register first."""
        if self._own is None:
            self._own = defaultdict(list)
            for key, row in self.there["counters"].items():
                self._own[key_of(self.code("machines", row.machine_id))].append(key)
            for key, given in self.rows["counters"].items():
                if key not in self.there["counters"]:
                    self._own[key_of(given.machine)].append(key)
        return self._own.get(key_of(machine), [])

    def machine_of_job(self, job: str) -> str:
        """Key of the machine that a known job is done on."""
        if there := self.there["jobs"].get(key_of(job)):
            return key_of(self.code("machines", there.machine_id))
        row: JobRow = self.rows["jobs"][key_of(job)]
        return key_of(row.machine)

    def machine_row(self, machine: str) -> MachineRow | None:
        """The row of a machine in the files."""
        return self.rows["machines"].get(key_of(machine))


@dataclass(slots=True)
class Loading:
    """A load under way.

    Attributes:
        connection, seen, work: the register under its lock, the moment, and the deed being written.
        bundle, names, before: the rows of the files, the names in both, and the register as it was.
        site_id: whose register it is.
        reason: why something is changed; a stand-in when none was given, as nothing is kept then.
        from_on: the ship's date from which changed definitions act.
        tally: what becomes of every row.
        shifted: counters whose totals all change, because their start was corrected.
        corrected: readings (by fact id) whose value was corrected.
        hints, counted: what was found out while checking, by code.
        progress: told how far the load is.
    """

    connection: Connection
    seen: Scene
    work: Work
    bundle: Bundle
    names: Names
    before: Before
    site_id: int
    reason: str
    from_on: date
    progress: Progress
    tally: Tally = field(default_factory=Tally)
    shifted: set[int] = field(default_factory=set)
    corrected: list[int] = field(default_factory=list)
    hints: dict[tuple[FileKind, str], str] = field(default_factory=dict)
    counted: dict[str, dict[str, str]] = field(default_factory=dict)
    _instants: dict[tuple[date, time | None], int] = field(default_factory=dict)

    @property
    def now(self) -> int:
        """The moment of the load, UTC epoch seconds."""
        return self.seen.view.until

    def instant(self, day: date, time_of_day: time | None) -> int:
        """The instant of a ship's date and time; many rows share one."""
        at = self._instants.get((day, time_of_day))
        if at is None:
            at = self._instants[day, time_of_day] = self.seen.clock.instant_of(day, time_of_day)
        return at


def _latest(versions: Iterable[Any]) -> Iterable[Any]:
    """The last version of every fact, in the order of these versions, struck ones left out."""
    latest = {row.fact_id: row for row in versions}
    return sorted((row for row in latest.values() if not row.struck), key=lambda row: row.id)


def _grouped(rows: Iterable[Any], owner: str) -> dict[int, list[Any]]:
    grouped: dict[int, list[Any]] = defaultdict(list)
    for row in rows:
        grouped[getattr(row, owner)].append(row)
    return grouped
