"""Lists as tables for files: the columns of every export. Names are never reused; new ones are added at the end."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from decimal import Decimal
from typing import NamedTuple

from pmsched.domain.clocks import ShipClock
from pmsched.domain.counts import HOURS, format_amount
from pmsched.exchange.csv_out import Cell
from pmsched.exchange.stamps import at_offset, hours, utc
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueList
from pmsched.usecases.ask_history import History, HistoryRow
from pmsched.usecases.ask_records import EntryRow, ReadingHistory
from pmsched.usecases.lateness import judged
from pmsched.usecases.views import ship_clock_of

DUE = (
    "job", "unit", "title", "machine", "machine_name", "department", "rank", "critical", "state", "marks", "due_on",
    "expected", "left", "overdue_days", "because",
)  # fmt: skip
HISTORY = (
    "report", "version", "job", "unit", "title", "machine", "critical", "done_on", "done_at_utc", "recorded_at_ship",
    "recorded_at_utc", "days_to_report", "hours", "hours_basis", "counts", "done_by", "condition", "remarks", "signer",
    "signed_as", "judged", "days_late", "hours_late", "closed_on", "not_done", "entry", "reason",
)  # fmt: skip
READINGS = (
    "reading", "version", "counter", "unit", "read_at_ship", "read_at_utc", "dial", "total", "held_for", "note",
    "signer", "signed_as", "recorded_at_utc", "entry", "reason",
)  # fmt: skip
ENTRIES = (
    "book", "entry", "recorded_on", "recorded_at_utc", "deed", "signer", "signed_as", "facts", "seal",
)  # fmt: skip


class Table(NamedTuple):
    """What is written: heading, rows, and the days the rows are about (ISO dates, for telling the period)."""

    heading: Sequence[str]
    rows: Sequence[Sequence[Cell]]
    days: Sequence[str]


def table_of(register: Register, found: DueList | History) -> Table:
    """What was found as a table; the due list or the history."""
    return due_export(found) if isinstance(found, DueList) else history_export(found, ship_clock_of(register))


def due_export(found: DueList) -> Table:
    """The due list, every job unit a row."""
    rows = [
        (
            r.job, r.unit, r.title, r.machine, r.machine_name, r.department, r.rank, r.critical, r.state,
            "; ".join(r.marks), r.due_on, r.expected, r.left, r.standing.overdue_days, r.sentence,
        )
        for r in found.rows
    ]  # fmt: skip
    return Table(DUE, rows, [])


def history_export(found: History, clock: ShipClock) -> Table:
    """History, a row for each version and unit; times of entry as ship's time and as UTC."""
    return Table(HISTORY, [_done(row, clock) for row in found.rows], [str(row.done_on) for row in found.rows])


def readings_export(found: Iterable[ReadingHistory]) -> Table:
    """Readings of counters, every version a row; amounts in hours for hours meters."""
    rows: list[Sequence[Cell]] = []
    days: list[str] = []
    for one in found:
        unit = one.meter.unit
        for r in one.rows:
            days.append(str(r.read_on))
            rows.append((
                r.number, r.version, one.counter, unit, at_offset(r.read_at, r.offset_minutes), utc(r.read_at),
                _number(r.dial, unit), None if r.total is None else _number(r.total, unit), r.held_for, r.note,
                r.signer, r.signed_as, utc(r.recorded_at), r.entry_no, r.reason,
            ))  # fmt: skip
    return Table(READINGS, rows, days)


def entries_export(rows: Iterable[EntryRow]) -> Table:
    """The entries, one a row."""
    cells = [
        (r.book, r.no, r.recorded_on, utc(r.recorded_at), r.deed, r.signer, r.signed_as, r.facts, r.seal) for r in rows
    ]
    return Table(ENTRIES, cells, [str(row[2]) for row in cells])


def _done(row: HistoryRow, clock: ShipClock) -> Sequence[Cell]:
    counts = {count.unit: count for count in row.counts}
    in_hours, late = counts.get(HOURS), dict(row.counts_late).get(HOURS)
    return (
        row.number, row.version, row.job, row.unit, row.title, row.machine, row.critical, row.done_on,
        utc(row.done_at) if row.time_stated else None,
        at_offset(row.recorded_at, clock.offset_at(row.recorded_at)), utc(row.recorded_at), row.days_to_report,
        _number(in_hours.total, HOURS) if in_hours else None, in_hours.basis if in_hours else "",
        "; ".join(f"{format_amount(c.total, c.unit)} ({c.basis})" for c in row.counts),
        row.done_by, row.condition, row.remarks, row.signer, row.signed_as, judged(row).lower(), row.days_late,
        None if late is None else _number(late, HOURS), row.closed_on, "; ".join(map(str, row.not_done)), row.entry_no,
        row.reason,
    )  # fmt: skip


def _number(value: int, unit: str) -> Cell:
    return Decimal(hours(value)) if unit == HOURS else value
