"""Last doings in comparable form: what a row states, and what loads stated of the same unit before.

Compares a file with what it said last, so that what was corrected in the program since is left alone.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Any, NamedTuple

from pmsched.domain.aims import DoingKind
from pmsched.domain.words import BEFORE_REGISTER
from pmsched.exchange.rows import LastDoneRow
from pmsched.store.tables import CLOSING, CLOSING_COUNT, REPORT
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.load_units import WHOLE_JOB, units_named

_DAY_SECONDS = 86_400


class Statement(NamedTuple):
    """A last doing as a row states it: the day, the time shown (seconds of the day; None: not stated), and the rest."""

    done_on: date
    time_shown: int | None
    counts: frozenset[tuple[str, int]]
    by: str
    remarks: str


class SaidClosing(NamedTuple):
    """A closing as a load wrote it last, and what its report stated then."""

    closing: Any
    statement: Statement


class SaidDoings:
    """By job and unit, the last doings and the starts that loads wrote, each as it was written last."""

    def __init__(self, load: Loading) -> None:
        loads = load.before.loads
        reports = {row.fact_id: row for row in loads.rows(REPORT)}
        counts: dict[int, dict[int, Any]] = defaultdict(dict)
        for count in loads.rows(CLOSING_COUNT):
            counts[count.closing_id][count.fact_id] = count
        self.done: dict[tuple[int, str], SaidClosing] = {}
        self.starts: dict[tuple[int, str], tuple[Any, dict[str, int]]] = {}
        for row in {row.fact_id: row for row in loads.rows(CLOSING)}.values():
            if row.struck:
                continue
            typed = typed_of(counts[row.fact_id].values())
            if row.kind == DoingKind.DONE and row.report_id in reports:
                self.done[row.job_id, row.unit] = SaidClosing(row, stated(reports[row.report_id]._mapping, typed))  # noqa: SLF001 - SQLAlchemy's public accessor
            elif row.kind != DoingKind.DONE:
                self.starts[row.job_id, row.unit] = (row, typed)


def typed_of(counts: Any) -> dict[str, int]:
    """The totals among these that were typed, by unit."""
    return {count.unit: count.total for count in counts if count.basis == "typed" and not count.struck}


def statement_of(row: LastDoneRow) -> Statement:
    """What a row states."""
    time = row.time_of_day
    shown_at = None if time is None else time.hour * 3600 + time.minute * 60
    return Statement(row.done_on, shown_at, frozenset(row.counts), row.by or BEFORE_REGISTER, row.remarks)


def rows_by_unit(load: Loading) -> dict[tuple[str, str], LastDoneRow]:
    """The row that speaks for each unit of each job (by key): its own, else the one for the whole job."""
    found: dict[tuple[str, str], LastDoneRow] = {}
    for row in load.bundle.last_done:
        if row.unit == WHOLE_JOB and load.names.known("jobs", row.job):
            for unit in units_named(load, row.job):
                found.setdefault((key_of(row.job), unit), row)
        else:
            found[key_of(row.job), row.unit] = row
    return found


def is_said(load: Loading, said: SaidDoings, row: LastDoneRow, unit: str) -> bool:
    """Whether a load said the same of this unit last, so that there is nothing to add."""
    job = load.names.ids["jobs"].get(key_of(row.job), 0)
    there = said.done.get((job, unit))
    return there is not None and there.statement == statement_of(row)


def stated(report: Mapping[str, Any], typed: dict[str, int]) -> Statement:
    """What a version of a report states, with the totals typed for it."""
    shown_at = (report["done_at"] + report["offset_minutes"] * 60) % _DAY_SECONDS if report["time_stated"] else None
    return Statement(report["done_on"], shown_at, frozenset(typed.items()), report["done_by"], report["remarks"] or "")
