"""The lists that can be exported, and by what each can be narrowed; their rows as cells, streamed from the register.

Knows no file and no header.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from datetime import date
from typing import Literal, NamedTuple, get_args

from sqlalchemy import Connection

from pmsched.domain.counts import Meter
from pmsched.exchange.exports import DayRow
from pmsched.store.lookups import counters, machines
from pmsched.usecases import export_tables as tables
from pmsched.usecases.ask_changes import ChangeFilter, change_rows
from pmsched.usecases.ask_due import DueFilter, check_names, due_stream
from pmsched.usecases.ask_history import HistoryFilter, history_rows
from pmsched.usecases.ask_records import counter_called, entry_rows, reading_rows
from pmsched.usecases.near_names import check_known
from pmsched.usecases.views import Scene

What = Literal["due", "history", "readings", "entries", "changes"]
WHAT: tuple[What, ...] = get_args(What)


class Narrowed(NamedTuple):
    """What a list is narrowed by; None leaves nothing out. The days are ship's dates, both included."""

    machine: str | None = None
    job: str | None = None
    counter: str | None = None
    person: str | None = None
    words: str | None = None
    first: date | None = None
    last: date | None = None


NARROWED_BY: dict[What, frozenset[str]] = {
    "due": frozenset({"machine", "job"}),
    "history": frozenset({"machine", "job", "person", "words", "first", "last"}),
    "readings": frozenset({"machine", "counter", "first", "last"}),
    "entries": frozenset({"first", "last"}),
    "changes": frozenset({"machine", "job", "counter", "first", "last"}),
}
"""By what each list can be narrowed."""

Listed = tuple[tuple[str, ...], Iterable[DayRow]]
"""The names of the columns, and the rows."""


def _due(connection: Connection, seen: Scene, narrowed: Narrowed) -> Listed:
    wanted = DueFilter(within_days=None, machine=narrowed.machine, job=narrowed.job)
    check_names(connection, seen, wanted)
    rows, _ = due_stream(connection, seen, wanted)
    return tables.DUE, map(tables.due_cells, rows)


def _history(connection: Connection, seen: Scene, narrowed: Narrowed) -> Listed:
    wanted = HistoryFilter(
        narrowed.job, narrowed.machine, narrowed.person, narrowed.words, narrowed.first, narrowed.last
    )
    return tables.HISTORY, map(tables.history_cells, history_rows(connection, seen, wanted))


def _readings(connection: Connection, seen: Scene, narrowed: Narrowed) -> Listed:
    every = list(counters(connection, seen.view))
    if narrowed.counter is not None:
        every = [counter_called(connection, seen, narrowed.counter)]
    if narrowed.machine is not None:
        places = {machine.id: machine.code for machine in machines(connection, seen.view)}
        check_known("machine", narrowed.machine, places.values())
        every = [one for one in every if places[one.machine_id].lower() == narrowed.machine.lower()]
    rows = (
        tables.reading_cells(counter.code, Meter(counter.unit, counter.reads), row)
        for counter in every
        for row in reading_rows(connection, seen, counter.id)
    )
    return tables.READINGS, _between(rows, narrowed)


def _entries(connection: Connection, seen: Scene, narrowed: Narrowed) -> Listed:
    return tables.ENTRIES, _between(map(tables.entry_cells, entry_rows(connection, seen)), narrowed)


def _changes(connection: Connection, seen: Scene, narrowed: Narrowed) -> Listed:
    wanted = ChangeFilter(narrowed.machine, narrowed.job, narrowed.counter, narrowed.first, narrowed.last)
    return tables.CHANGES, map(tables.change_cells, change_rows(connection, seen, wanted))


def _between(rows: Iterable[DayRow], narrowed: Narrowed) -> Iterator[DayRow]:
    """The rows of the days wanted."""
    for row in rows:
        day = row[0]
        if day is not None and (narrowed.first or day) <= day <= (narrowed.last or day):
            yield row


LISTS: dict[What, Callable[[Connection, Scene, Narrowed], Listed]] = {
    "due": _due,
    "history": _history,
    "readings": _readings,
    "entries": _entries,
    "changes": _changes,
}
"""By name: how to take the rows. Raises NotFound at once for a machine, job or counter that there is not."""
