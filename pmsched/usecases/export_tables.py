"""The columns of every export, and the rows of each list as cells. Names are never reused; new ones come at the end."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from pmsched.domain.clocks import date_shown, to_utc
from pmsched.domain.counts import HOURS, Meter, format_amount
from pmsched.exchange.exports import Cell, DayRow
from pmsched.exchange.stamps import at_offset, hours
from pmsched.usecases.ask_changes import ChangeRow
from pmsched.usecases.ask_due import DueRow
from pmsched.usecases.ask_history import HistoryRow
from pmsched.usecases.ask_records import EntryRow, ReadingRow
from pmsched.usecases.attaching import HASH_SHOWN
from pmsched.usecases.lateness import judged

DUE = (
    "job", "unit", "title", "machine", "machine_name", "department", "rank", "critical", "state", "marks", "due_on",
    "expected", "left", "overdue_days", "because",
)  # fmt: skip
HISTORY = (
    "report", "version", "job", "unit", "title", "machine", "critical", "done_on", "done_at_utc", "recorded_at_ship",
    "recorded_at_utc", "days_to_report", "hours", "hours_basis", "counts", "done_by", "condition", "remarks", "signer",
    "signed_as", "judged", "days_late", "hours_late", "closed_on", "not_done", "entry", "reason",
    "attachments",
)  # fmt: skip
READINGS = (
    "reading", "version", "counter", "unit", "read_at_ship", "read_at_utc", "dial", "total", "held_for", "note",
    "signer", "signed_as", "recorded_at_utc", "entry", "reason",
)  # fmt: skip
ENTRIES = (
    "book", "entry", "recorded_on", "recorded_at_utc", "deed", "signer", "signed_as", "facts", "seal",
)  # fmt: skip
CHANGES = (
    "fact", "kind", "code", "title", "machine", "act", "field", "old", "new", "acts_from", "recorded_at_ship",
    "recorded_at_utc", "deed", "signer", "signed_as", "reason", "book", "entry",
)  # fmt: skip

WIDTHS = {
    "job": 13, "unit": 8, "title": 30, "machine": 12, "machine_name": 21, "department": 13, "rank": 14, "state": 12,
    "marks": 11, "left": 12, "because": 46, "due_on": 12, "counts": 20, "hours_basis": 13, "done_by": 23, "condition": 18,
    "remarks": 44, "signed_as": 18, "judged": 16, "not_done": 12, "reason": 30, "note": 28, "counter": 13, "held_for": 18,
    "recorded_at_ship": 26, "read_at_ship": 26, "recorded_at_utc": 20, "read_at_utc": 20, "done_at_utc": 20,
    "deed": 16, "seal": 17, "code": 13, "act": 11, "field": 13, "old": 34, "new": 34, "attachments": 40,
}  # fmt: skip
"""How wide columns are in a spreadsheet, in characters, where their names alone do not say."""


def due_cells(row: DueRow) -> DayRow:
    """A line of the due list; it is about no day."""
    return None, (
        row.job, row.unit, row.title, row.machine, row.machine_name, row.department, row.rank, row.critical, row.state,
        "; ".join(row.marks), row.due_on, row.expected, row.left, row.standing.overdue_days, row.sentence,
    )  # fmt: skip


def history_cells(row: HistoryRow) -> DayRow:
    """A version and unit of a report, by the day done; times of entry as ship's time and as UTC."""
    counts = {count.unit: count for count in row.counts}
    in_hours, late = counts.get(HOURS), dict(row.counts_late).get(HOURS)
    return row.done_on, (
        row.number, row.version, row.job, row.unit, row.title, row.machine, row.critical, row.done_on,
        _utc(row.done_at) if row.time_stated else None,
        at_offset(row.recorded_at, row.recorded_offset), _utc(row.recorded_at), row.days_to_report,
        _number(in_hours.total, HOURS) if in_hours else None, in_hours.basis if in_hours else "",
        "; ".join(f"{format_amount(c.total, c.unit)} ({c.basis})" for c in row.counts),
        row.done_by, row.condition, row.remarks, row.signer, row.signed_as, judged(row).lower(), row.days_late,
        None if late is None else _number(late, HOURS), row.closed_on, "; ".join(map(str, row.not_done)), row.entry_no,
        row.reason, "; ".join(f"{file.name} ({file.sha256[:HASH_SHOWN]})" for file in row.attachments),
    )  # fmt: skip


def reading_cells(counter: str, meter: Meter, row: ReadingRow) -> DayRow:
    """A version of a reading, by the day read; amounts in hours for hours meters."""
    return row.read_on, (
        row.number, row.version, counter, meter.unit, at_offset(row.read_at, row.offset_minutes), _utc(row.read_at),
        _number(row.dial, meter.unit), None if row.total is None else _number(row.total, meter.unit), row.held_for,
        row.note, row.signer, row.signed_as, _utc(row.recorded_at), row.entry_no, row.reason,
    )  # fmt: skip


def entry_cells(row: EntryRow) -> DayRow:
    """An entry, by the day recorded."""
    return row.recorded_on, (
        row.book, row.no, row.recorded_on, _utc(row.recorded_at), row.deed, row.signer, row.signed_as, row.facts,
        row.seal,
    )  # fmt: skip


def change_cells(row: ChangeRow) -> DayRow:
    """A change of the schedule, by the day recorded."""
    return date_shown(row.recorded_at, row.recorded_offset), (
        row.number, row.kind, row.code, row.title, row.machine, row.act, row.field, row.old, row.new, row.acts_from,
        at_offset(row.recorded_at, row.recorded_offset), _utc(row.recorded_at), row.deed, row.signer, row.signed_as,
        row.reason, row.book, row.entry_no,
    )  # fmt: skip


def widths_of(heading: Sequence[str]) -> dict[str, int]:
    """The widths of those columns that have one of their own."""
    return {name: WIDTHS[name] for name in heading if name in WIDTHS}


def _utc(instant: int) -> datetime:
    return to_utc(instant)


def _number(value: int, unit: str) -> Cell:
    return Decimal(hours(value)) if unit == HOURS else value
