"""JSON shapes of records: machines and their cards, history, readings, entries; the conventions are those of ``shapes``."""

from __future__ import annotations

from pmsched.cli.shapes import Shape, amount, amounts, attached_shape, day, due_shape, header_shape, rate_shape
from pmsched.domain.clocks import ShipClock
from pmsched.domain.counts import HOURS
from pmsched.exchange.stamps import at_offset, utc
from pmsched.usecases.ask_attachments import AttachmentRow
from pmsched.usecases.ask_due import Header
from pmsched.usecases.ask_history import History, HistoryRow
from pmsched.usecases.ask_isolations import IsolationRow
from pmsched.usecases.ask_machines import CounterLine, CountsOn, MachineCard, MachineList, MachineRow, PartLine
from pmsched.usecases.ask_records import EntryRow, ReadingHistory, ReadingRow


def machine_list_shape(found: MachineList) -> Shape:
    """The machines in walking order."""
    return {
        "header": header_shape(found.header),
        "looked_at": found.looked_at,
        "machines": [machine_shape(row) for row in found.rows],
    }


def machine_shape(row: MachineRow) -> Shape:
    """One machine of the tree."""
    return {**row._asdict(), "other_names": list(row.other_names)}


def card_shape(card: MachineCard) -> Shape:
    """Everything about one machine."""
    return {
        "header": header_shape(card.header),
        "machine": machine_shape(card.machine),
        "isolations": [isolation_shape(row, card.clock) for row in card.isolations],
        "path": list(card.path),
        "children": list(card.children),
        "counters": [_counter(line, card.header.offset_minutes) for line in card.counters],
        "counts_on": [_counts_on(one) for one in card.counts_on],
        "jobs": [due_shape(row) for row in card.jobs],
        "parts": [_part(part) for part in card.parts],
    }


def isolation_shape(row: IsolationRow, clock: ShipClock) -> Shape:
    """One isolation; times in ship's time."""
    return {
        "number": row.number,
        "machine": row.machine,
        "machine_name": row.machine_name,
        "department": row.department,
        "critical": row.critical,
        "kind": row.kind,
        "why": row.why,
        "tag": row.tag,
        "begun_at": at_offset(row.begun_at, clock.offset_at(row.begun_at)),
        "back_on": day(row.back_on),
        "late": row.late,
        "signer": row.signer,
        "signed_as": row.signed_as,
        "entry_no": row.entry_no,
        "ended_at": None if row.ended_at is None else at_offset(row.ended_at, clock.offset_at(row.ended_at)),
        "tried": row.tried,
        "ended_by": row.ended_by,
    }


def attachment_shape(row: AttachmentRow) -> Shape:
    """One file attached to a report."""
    return {**row._asdict(), "attached_on": day(row.attached_on)}


def history_shape(found: History) -> Shape:
    """What was done: every version of every report, a line for each unit it closed."""
    return {"header": header_shape(found.header), "rows": [_history_row(row) for row in found.rows]}


def readings_shape(found: ReadingHistory) -> Shape:
    """The readings of one counter, every version of them."""
    return {
        "header": header_shape(found.header),
        "counter": found.counter,
        "unit": found.meter.unit,
        "reads": found.meter.reads,
        "rows": [_reading(row, found.meter.unit) for row in found.rows],
    }


def entries_shape(header: Header, rows: tuple[EntryRow, ...]) -> Shape:
    """The entries of the register in the order written."""
    return {
        "header": header_shape(header),
        "rows": [{**row._asdict(), "recorded_at": utc(row.recorded_at), "recorded_on": day(row.recorded_on)} for row in rows],
    }  # fmt: skip


def _counter(line: CounterLine, offset_minutes: int) -> Shape:
    unit = line.meter.unit
    return {
        "code": line.code,
        "name": line.name,
        "unit": unit,
        "reads": line.meter.reads,
        "dial": amount(line.dial, unit),
        "total": amount(line.total, unit),
        "read_at": at_offset(line.read_at, offset_minutes),
        "read_on": day(line.read_on),
        "age_days": line.age_days,
        "rate": rate_shape(line.rate, unit),
        "held": line.held,
        "counted_by": list(line.counted_by),
    }


def _counts_on(one: CountsOn) -> Shape:
    return {
        "unit": one.unit,
        "counter": one.counter,
        "machine": one.machine,
        "from_on": day(one.from_on),
        "share": str(one.share),
        "total": amount(one.total, one.unit),
    }


def _part(part: PartLine) -> Shape:
    return {
        "serial": part.serial,
        "name": part.name,
        "since": day(part.since),
        "hours_since_overhaul": amount(part.since_overhaul, HOURS),
        "hours_since_new": amount(part.since_new, HOURS),
        "note": part.note,
    }


def _history_row(row: HistoryRow) -> Shape:
    shape = row._asdict()
    # Instants are told in UTC, days as ship's dates; the offset between them is not needed.
    del shape["offset_minutes"], shape["recorded_offset"]
    shape |= {
        "done_on": day(row.done_on),
        "done_at": utc(row.done_at),
        "counts": [
            {"unit": count.unit, "total": amount(count.total, count.unit), "basis": count.basis} for count in row.counts
        ],
        "recorded_at": utc(row.recorded_at),
        "recorded_on": day(row.recorded_on),
        "reported_on": day(row.reported_on),
        "counts_late": amounts(row.counts_late),
        "closed_on": day(row.closed_on),
        "not_done": [day(one) for one in row.not_done],
        "attachments": attached_shape(row.attachments),
    }
    return shape


def _reading(row: ReadingRow, unit: str) -> Shape:
    shape = row._asdict()
    del shape["offset_minutes"]
    return shape | {
        "read_at": at_offset(row.read_at, row.offset_minutes),
        "read_on": day(row.read_on),
        "dial": amount(row.dial, unit),
        "total": amount(row.total, unit),
        "recorded_at": utc(row.recorded_at),
    }
