"""JSON shapes of what deeds leave behind; the conventions are those of ``shapes``."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path

from pmsched.cli.shapes import Shape, amount, attached_shape, day, due_shape, receipt_shape
from pmsched.domain.clocks import ShipClock
from pmsched.domain.readings import Judgement
from pmsched.exchange.stamps import at_offset
from pmsched.store.book import label_of
from pmsched.usecases.amend_reading import AmendResult, HeldReading
from pmsched.usecases.ask_due import DueRow
from pmsched.usecases.attaching import AttachResult
from pmsched.usecases.changes import Moved
from pmsched.usecases.correct_report import CorrectResult
from pmsched.usecases.load_register import LoadResult
from pmsched.usecases.record_round import RoundLine, RoundResult
from pmsched.usecases.recounting import Recount, Touched
from pmsched.usecases.report_work import ReportResult


def round_shape(lines: Sequence[RoundLine], result: RoundResult, clock: ShipClock, *, checked_only: bool) -> Shape:
    """A round: its receipt (null if nothing was kept), its lines as judged, and what moved on the due list."""
    receipt = None if checked_only else receipt_shape(result.receipt)
    # A repeated attempt judges nothing again.
    judged = zip(lines, result.lines, strict=True) if result.lines else ()
    return {
        "receipt": receipt,
        "lines": [
            {
                "counter": found.counter,
                "unit": found.meter.unit,
                "value": amount(found.dial, found.meter.unit),
                "read_at": at_offset(line.read_at, clock.offset_at(line.read_at)),
                **_judgement(found.judgement, found.meter.unit),
            }
            for line, found in judged
        ],
        "moved": moved_shape(result.moved),
    }


def held_shape(held: HeldReading, clock: ShipClock) -> Shape:
    """A reading that waits to be settled."""
    unit = held.meter.unit
    return {
        "number": held.number,
        "counter": held.counter,
        "unit": unit,
        "value": amount(held.dial, unit),
        "read_at": at_offset(held.read_at, clock.offset_at(held.read_at)),
        **_judgement(held.judgement, unit),
    }


def amend_shape(result: AmendResult) -> Shape:
    """A reading settled or corrected: values before and after (null if struck), and all it touched."""
    unit = result.meter.unit
    return {
        "receipt": receipt_shape(result.receipt),
        "counter": result.counter,
        "unit": unit,
        "before": amount(result.before, unit),
        "after": amount(result.after, unit),
        **touched_shape(result.touched),
    }


def correct_shape(result: CorrectResult) -> Shape:
    """A report corrected, and all it touched."""
    return {"receipt": receipt_shape(result.receipt), "job": result.job, **touched_shape(result.touched)}


def report_shape(result: ReportResult, now: Iterable[DueRow]) -> Shape:
    """A report kept: the totals with their basis, notes, and how each unit of the job stands now."""
    return {
        "receipt": receipt_shape(result.receipt),
        "report": label_of(result.report_id) if result.report_id else None,
        "counts": [
            {"unit": count.unit, "total": amount(count.total, count.unit), "basis": count.basis}
            for count in result.counts
        ],
        "notes": list(result.notes),
        "now": [due_shape(row) for row in now],
        "attached": attached_shape(result.attached),
    }


def attach_shape(result: AttachResult) -> Shape:
    """Files attached to a report that was signed before; the receipt is null if none was new."""
    return {
        "receipt": None if result.receipt is None else receipt_shape(result.receipt),
        "report": result.report,
        "job": result.job,
        "attached": attached_shape(result.attached),
        "notes": list(result.notes),
    }


def moved_shape(moved: Iterable[Moved]) -> list[Shape]:
    """What moved on the due list: states and dates before and after."""
    return [{**one._asdict(), "due_before": day(one.due_before), "due_after": day(one.due_after)} for one in moved]


def touched_shape(touched: Touched) -> Shape:
    """All that a correction touches."""
    return {
        "moved": moved_shape(touched.moved),
        "recounted": recounted_shape(touched.recounted),
        "flags": list(touched.flags),
        "countersign": touched.countersign,
    }


def load_shape(result: LoadResult, marked: Iterable[Path] = ()) -> Shape:
    """A load: rows by kind of file, every change, what is held, what is wrong (in a check), and what it touched.

    Args:
        result: the load.
        marked: the copies that were written with the problems marked.
    """
    return {
        "receipt": receipt_shape(result.receipt),
        "added": dict(result.added),
        "unchanged": dict(result.unchanged),
        "revised": [
            {
                "kind": one.kind,
                "key": one.key,
                "file": one.file,
                "row": one.row,
                "changes": [change._asdict() for change in one.changes],
            }
            for one in result.revised
        ],
        "held": [one._asdict() for one in result.held],
        "problems": [problem._asdict() for problem in result.problems],
        "recounted": recounted_shape(result.recounted),
        "notes": list(result.notes),
        "marked": [str(path) for path in marked],
    }


def recounted_shape(recounted: Iterable[Recount]) -> list[Shape]:
    """Totals kept with doings that were worked out again, before and after."""
    return [
        {
            "job": one.job,
            "unit": one.unit,
            "done_on": day(one.done_on),
            "counted": one.counted,
            "before": amount(one.before, one.counted),
            "after": amount(one.after, one.counted),
        }
        for one in recounted
    ]


def _judgement(judgement: Judgement, unit: str) -> Shape:
    return {
        "accepted": judgement.accepted,
        "held_for": judgement.code or None,
        "duplicate": judgement.duplicate,
        "message": judgement.message,
        "suggestions": [
            {"kind": one.kind, "value": amount(one.dial, unit), "text": one.text} for one in judgement.suggestions
        ],
    }
