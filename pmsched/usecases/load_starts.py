"""Loading where jobs begin that were never done: counted from a stated day and totals, or due at once.

A start is what a unit counts from until it is done for the first time. It holds from the beginning of its day, so that
work of that same day comes after it.
"""

from __future__ import annotations

from datetime import date, time
from typing import Any, NamedTuple

from pmsched.domain.aims import DoingKind
from pmsched.exchange.rows import JobRow, LastDoneRow, Start
from pmsched.store.loaded_facts import closed_units, version_now
from pmsched.store.report_facts import counts_of_closing
from pmsched.store.tables import CLOSING, CLOSING_COUNT
from pmsched.usecases.load_changes import Change, amounts_shown
from pmsched.usecases.load_history import replace_counts
from pmsched.usecases.load_said import SaidDoings, rows_by_unit, typed_of
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.load_totals import Totals
from pmsched.usecases.load_units import units_named

_MIDNIGHT = time()


class Grounds:
    """What the units of the jobs in the files count from: last doings in the files, starts and doings in the register."""

    def __init__(self, load: Loading, said: SaidDoings) -> None:
        self._load = load
        self.said = said
        self.rows: dict[tuple[str, str], LastDoneRow] = rows_by_unit(load)
        there = load.names.there["jobs"]
        ids = [there[key].id for key in load.names.rows["jobs"] if key in there]
        self._closed = closed_units(load.connection, ids)

    def is_done(self, job: str, unit: str) -> bool:
        """Whether a doing of the unit is in the files or in the register."""
        return (job, unit) in self.rows or DoingKind.DONE in self._kinds(job, unit)

    def counts_from_something(self, job: str, unit: str) -> bool:
        """Whether the unit has a doing or a start without what its job's row states."""
        return (job, unit) in self.rows or bool(self._kinds(job, unit))

    def done_said(self, job: str, unit: str) -> bool:
        """Whether a load stated a last doing of the unit before, struck since or not."""
        return (self._id(job), unit) in self.said.done

    def start_said(self, job: str, unit: str) -> bool:
        """Whether a load stated a start of the unit before."""
        return (self._id(job), unit) in self.said.starts

    def _kinds(self, job: str, unit: str) -> set[int]:
        return self._closed.get((self._id(job), unit), set())

    def _id(self, job: str) -> int:
        row = self._load.names.there["jobs"].get(job)
        return int(row.id) if row else 0


class _Begun(NamedTuple):
    """A start in comparable form; due at once has no day, as the day is that of the load."""

    kind: int
    on: date | None
    counts: frozenset[tuple[str, int]]


def load_starts(load: Loading, grounds: Grounds, totals: Totals) -> None:
    """Write the starts that the rows of jobs state."""
    for row in load.bundle.jobs:
        job = key_of(row.code)
        changes: dict[Change, None] = {}
        for unit in units_named(load, row.code):
            if grounds.start_said(job, unit):
                changes |= dict.fromkeys(_correct(load, grounds.said, totals, row, unit))
            elif row.starts is not None and not grounds.counts_from_something(job, unit):
                _begin(load, totals, row, unit, row.starts)
        load.tally.saw("jobs", row.code, row, changes)


def states_anew(load: Loading, grounds: Grounds, row: JobRow) -> bool:
    """Whether the row states a start that is not in the register as it states it."""
    if row.starts is None:
        return False
    job = key_of(row.code)
    for unit in units_named(load, row.code):
        if grounds.start_said(job, unit):
            closing, typed = grounds.said.starts[load.names.ids["jobs"][job], unit]
            if _begun_by(row.starts) != _begun(closing._mapping, typed):  # noqa: SLF001 - SQLAlchemy's public accessor
                return True
        elif not grounds.counts_from_something(job, unit):
            return True
    return False


def start_at(load: Loading, start: Start) -> int:
    """The instant from which a start holds."""
    return min(load.instant(start.from_on or load.seen.today, _MIDNIGHT), load.now)


def _begin(load: Loading, totals: Totals, row: JobRow, unit: str, start: Start) -> None:
    job = load.names.ids["jobs"][key_of(row.code)]
    closing = load.work.add(CLOSING, job_id=job, unit=unit, report_id=None, **_columns(load, start))
    for columns in _counts(load, totals, row, start).values():
        load.work.add(CLOSING_COUNT, closing_id=closing, **columns)


def _correct(load: Loading, said: SaidDoings, totals: Totals, row: JobRow, unit: str) -> list[Change]:
    closing, typed = said.starts[load.names.ids["jobs"][key_of(row.code)], unit]
    new = _begun_by(row.starts) if row.starts else None
    if new == _begun(closing._mapping, typed):  # noqa: SLF001 - SQLAlchemy's public accessor
        return []
    now = version_now(load.connection, CLOSING, closing.id)
    counts = {count.unit: count for count in counts_of_closing(load.connection, closing.fact_id)}
    old = None if now["struck"] else _begun(now, typed_of(counts.values()))
    if new == old:
        return []
    if row.starts is None:
        load.work.strike(CLOSING, now, load.reason)
        replace_counts(load, closing.fact_id, counts, {})
    else:
        load.work.replace(CLOSING, now, load.reason, **_columns(load, row.starts))
        replace_counts(load, closing.fact_id, counts, _counts(load, totals, row, row.starts))
    return [Change("starts", _shown(old), _shown(new))]


def _columns(load: Loading, start: Start) -> dict[str, Any]:
    kind = DoingKind.DUE_AT_ONCE if start.due_at_once else DoingKind.START
    day = start.from_on or load.seen.today
    return {"kind": int(kind), "done_on": day, "done_at": start_at(load, start)}


def _counts(load: Loading, totals: Totals, row: JobRow, start: Start) -> dict[str, dict[str, Any]]:
    if start.due_at_once:
        return {}
    machine = load.names.ids["machines"][load.names.machine_of_job(row.code)]
    return totals.kept(machine, start_at(load, start), dict(start.from_counts))


def _begun_by(start: Start) -> _Begun:
    kind = DoingKind.DUE_AT_ONCE if start.due_at_once else DoingKind.START
    return _Begun(int(kind), start.from_on, frozenset(start.from_counts))


def _begun(closing: Any, typed: dict[str, int]) -> _Begun:
    at_once = closing["kind"] == DoingKind.DUE_AT_ONCE
    return _Begun(closing["kind"], None if at_once else closing["done_on"], frozenset(typed.items()))


def _shown(begun: _Begun | None) -> str:
    if begun is None:
        return ""
    if begun.on is None:
        return "due at once"
    at = amounts_shown(dict(begun.counts))
    return f"from {begun.on}" + (f" at {at}" if at else "")
