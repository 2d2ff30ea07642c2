"""Loading where jobs stand: the last doing of each unit as a report, or a stated start.

A row that says otherwise than it did when it was loaded last corrects that report; what was corrected in the program
since, and not in the file, stays.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Any

from pmsched.domain.aims import DoingKind
from pmsched.domain.words import BEFORE_REGISTER
from pmsched.exchange.rows import LastDoneRow
from pmsched.store.loaded_facts import version_now
from pmsched.store.report_facts import closings_of_report, counts_of_closing, done_on_day
from pmsched.store.tables import CLOSING, CLOSING_COUNT, REPORT
from pmsched.usecases.load_changes import Change, amounts_shown, shown
from pmsched.usecases.load_said import (
    SaidClosing,
    SaidDoings,
    Statement,
    is_said,
    rows_by_unit,
    statement_of,
    typed_of,
)
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.load_totals import Totals

Columns = dict[str, Any]


def load_last_done(load: Loading, said: SaidDoings, totals: Totals) -> None:
    """Write the last doings."""
    units: dict[int, list[str]] = defaultdict(list)
    for (_, unit), row in rows_by_unit(load).items():
        units[id(row)].append(unit)
    for nth, row in enumerate(load.bundle.last_done, 1):
        _Doing(load, said, totals, row).load(units[id(row)])
        load.progress("last doings", nth, len(load.bundle.last_done))


class _Doing:
    """One row being loaded."""

    def __init__(self, load: Loading, said: SaidDoings, totals: Totals, row: LastDoneRow) -> None:
        self._load = load
        self._said = said
        self._row = row
        self._job = load.names.ids["jobs"][key_of(row.job)]
        self._new_job = key_of(row.job) not in load.names.there["jobs"]
        # Work of today without a time counts at noon, or at once if noon is still ahead.
        self._at = min(load.instant(row.done_on, row.time_of_day), load.now)
        self._totals = totals
        self._counts: dict[str, Columns] = {}

    def load(self, units: list[str]) -> None:
        """Report the units that were never loaded, correct those that the row states otherwise than before."""
        pending = [unit for unit in units if not is_said(self._load, self._said, self._row, unit)]
        if pending:
            machine = self._load.names.ids["machines"][self._load.names.machine_of_job(self._row.job)]
            self._counts = self._totals.kept(machine, self._at, dict(self._row.counts))
        known = {unit: self._said.done[self._job, unit] for unit in pending if (self._job, unit) in self._said.done}
        new = [unit for unit in pending if unit not in known and not self._entered(unit)]
        if new:
            self._report(new)
        changes = self._correct(known)
        self._load.tally.saw("last_done", _name(self._row), self._row, changes, new=bool(new))

    def _entered(self, unit: str) -> bool:
        if self._new_job:
            return False
        return done_on_day(self._load.connection, self._job, unit, self._row.done_on) is not None

    def _report(self, units: list[str]) -> None:
        report = self._load.work.add(REPORT, job_id=self._job, outcome="done", condition=None, **self._columns())
        for unit in units:
            closing = self._load.work.add(
                CLOSING, job_id=self._job, unit=unit, kind=int(DoingKind.DONE), done_on=self._row.done_on,
                done_at=self._at, report_id=report,
            )  # fmt: skip
            for columns in self._counts.values():
                self._load.work.add(CLOSING_COUNT, closing_id=closing, **columns)

    def _correct(self, known: dict[str, SaidClosing]) -> list[Change]:
        by_report: dict[int, list[dict[str, Any]]] = defaultdict(list)
        for there in known.values():
            closing = version_now(self._load.connection, CLOSING, there.closing.id)
            by_report[closing["report_id"]].append(closing)
        changes: dict[Change, None] = {}
        for report, closings in by_report.items():
            changes |= dict.fromkeys(self._correct_report(report, closings))
        return list(changes)

    def _correct_report(self, report_id: int, closings: list[dict[str, Any]]) -> list[Change]:
        """Correct one report; where it speaks for other units too, these units get a report of their own."""
        load, row = self._load, self._row
        report = version_now(load.connection, REPORT, report_id)
        old = [{c.unit: c for c in counts_of_closing(load.connection, closing["fact_id"])} for closing in closings]
        changes = _differences(report, closings[0], typed_of(old[0].values()), statement_of(row))
        if not changes or self._elsewhere(closings):
            return []
        units = {closing["unit"] for closing in closings}
        if all(one.struck or one.unit in units for one in closings_of_report(load.connection, report_id)):
            load.work.replace(REPORT, report, load.reason, **self._columns())
            moved_to = report_id
        else:
            moved_to = load.work.add(REPORT, job_id=self._job, outcome="done", condition=None, **self._columns())
        for closing, counts in zip(closings, old, strict=True):
            load.work.replace(CLOSING, closing, load.reason, done_on=row.done_on, done_at=self._at, report_id=moved_to)
            replace_counts(load, closing["fact_id"], counts, self._counts)
        return changes

    def _elsewhere(self, closings: list[dict[str, Any]]) -> bool:
        """Whether every unit was reported done on the day of the row already, in the program."""
        row = self._row
        return all(closing["done_on"] != row.done_on and self._entered(closing["unit"]) for closing in closings)

    def _columns(self) -> Columns:
        row = self._row
        return {
            "done_on": row.done_on,
            "done_at": self._at,
            "offset_minutes": self._load.seen.clock.offset_at(self._at),
            "time_stated": row.time_of_day is not None,
            "done_by": row.by or BEFORE_REGISTER,
            "remarks": row.remarks or None,
        }


def replace_counts(load: Loading, closing: int, old: dict[str, Any], wanted: dict[str, Columns]) -> None:
    """Bring the totals kept with a closing to those wanted, by unit, with the reason of the load."""
    for unit, count in old.items():
        before = {column.name: getattr(count, column.name) for column in CLOSING_COUNT.columns}
        columns = wanted.get(unit)
        if columns is None:
            if not count.struck:
                load.work.strike(CLOSING_COUNT, before, load.reason)
        elif count.struck or any(before[name] != value for name, value in columns.items()):
            load.work.replace(CLOSING_COUNT, before, load.reason, **columns)
    for unit in wanted.keys() - old.keys():
        load.work.add(CLOSING_COUNT, closing_id=closing, **wanted[unit])


def _differences(
    report: dict[str, Any], closing: dict[str, Any], typed: dict[str, int], new: Statement
) -> list[Change]:
    shown_at = (report["done_at"] + report["offset_minutes"] * 60) % 86_400 if report["time_stated"] else None
    old = Statement(report["done_on"], shown_at, frozenset(typed.items()), report["done_by"], report["remarks"] or "")
    changes = [
        Change("done_on", "struck" if closing["struck"] else shown(old.done_on), shown(new.done_on)),
        Change("time", _time(old.time_shown), _time(new.time_shown)),
        Change("count", amounts_shown(typed), amounts_shown(dict(new.counts))),
        Change("by", old.by, new.by),
        Change("remarks", shown(old.remarks), shown(new.remarks)),
    ]
    return [change for change in changes if change.old != change.new]


def _time(seconds: int | None) -> str:
    return "" if seconds is None else f"{seconds // 3600:02d}:{seconds % 3600 // 60:02d}"


def _name(row: LastDoneRow) -> str:
    return f"{row.job} {row.unit}".rstrip()
