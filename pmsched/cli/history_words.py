"""History as text: reports with both dates, who signed, hours with basis, late or early; readings; entries."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime, timedelta, timezone

from pmsched.cli.tables import Column, table, wrapped
from pmsched.cli.words import all_attached, dial_text, heading, named, some
from pmsched.domain.because import dates_text
from pmsched.domain.counts import format_amount
from pmsched.domain.words import done_by
from pmsched.usecases.ask_due import Header
from pmsched.usecases.ask_history import History, HistoryRow
from pmsched.usecases.ask_records import EntryRow, ReadingHistory, ReadingRow
from pmsched.usecases.lateness import judged

_REPORTS = (
    Column("report", right=True), Column("done on"), Column("reported"), Column("job"), Column("title", cut=True),
    Column("signed"), Column("judged"),
)  # fmt: skip
_READINGS = (
    Column("reading", right=True), Column("read at"), Column("dial", right=True), Column("total", right=True),
    Column("signed"), Column("as", spare=True), Column("version"), Column("note", cut=True),
)  # fmt: skip
_ENTRIES = (
    Column("entry", right=True), Column("ship's date"), Column("UTC", spare=True), Column("deed"), Column("signed"),
    Column("as", cut=True), Column("facts", right=True), Column("seal"),
)  # fmt: skip
_INDENT = "    "


def history_lines(found: History, width: int) -> Iterator[str]:
    """Reports as text: a line for each version and unit, what was said of it under it."""
    yield heading(found.header, some(len(found.rows), "line"), width)
    if not found.rows:
        return
    lines = table(_REPORTS, [_report_cells(row) for row in found.rows], width)
    yield next(lines)
    for row, line in zip(found.rows, lines, strict=True):
        yield line
        for said in _said(row):
            yield from wrapped(said, width, _INDENT)


def reading_lines(found: ReadingHistory, width: int) -> Iterator[str]:
    """The readings of one counter as text."""
    yield heading(found.header, f"{some(len(found.rows), 'reading')} of {found.counter}", width)
    if found.rows:
        yield from table(_READINGS, [_reading_cells(row, found) for row in found.rows], width)


def entry_lines(header: Header, rows: Sequence[EntryRow], width: int) -> Iterator[str]:
    """The entries of the register as text."""
    yield heading(header, some(len(rows), "entry", "entries"), width)
    if rows:
        yield from table(_ENTRIES, [_entry_cells(row) for row in rows], width)


def _report_cells(row: HistoryRow) -> tuple[str, ...]:
    return (
        row.number, str(row.done_on), str(row.recorded_on), named(row.job, row.unit), row.title, row.signer, judged(row),
    )  # fmt: skip


def _said(row: HistoryRow) -> Iterator[str]:
    """What stands under a line: the signer's rank, hours with basis, who did it, condition, why it was corrected."""
    parts = [f"signed as {row.signed_as}"] if row.signed_as else []
    parts += [f"{format_amount(count.total, count.unit)} ({count.basis})" for count in row.counts]
    parts += filter(None, (done_by(row.done_by), row.condition))
    if row.days_to_report > 0:
        parts.append(f"reported {some(row.days_to_report, 'day')} later")
    if row.not_done:
        parts.append(f"not done: {dates_text(row.not_done)}")
    if parts:
        yield "; ".join(parts)
    if row.remarks:
        yield row.remarks
    if row.attachments:
        yield f"attached: {all_attached(row.attachments)}"
    if row.reason:
        yield f"{'struck' if row.version == 'struck' else 'corrects an earlier version'}: {row.reason}"


def _reading_cells(row: ReadingRow, found: ReadingHistory) -> tuple[str, ...]:
    read = datetime.fromtimestamp(row.read_at, UTC).astimezone(timezone(timedelta(minutes=row.offset_minutes)))
    version = row.version.upper() if row.version in {"corrected", "struck", "held"} else row.version
    return (
        row.number,
        f"{read:%Y-%m-%d %H:%M}",
        dial_text(row.dial, found.meter),
        "" if row.total is None else format_amount(row.total, found.meter.unit),
        row.signer,
        row.signed_as,
        version,
        "; ".join(said for said in (row.held_for, row.reason, row.note) if said),
    )


def _entry_cells(row: EntryRow) -> tuple[str, ...]:
    recorded = datetime.fromtimestamp(row.recorded_at, UTC)
    return (
        str(row.no), str(row.recorded_on), f"{recorded:%Y-%m-%d %H:%M}", row.deed, row.signer,
        row.signed_as, str(row.facts), row.seal,
    )  # fmt: skip
