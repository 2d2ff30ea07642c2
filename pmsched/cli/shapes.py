"""JSON shapes: the one place that fixes what ``--json`` prints. Scripts rest on it; names are never reused.

Keys are snake_case. Dates are ISO 8601; instants are ISO 8601 with the ship's offset, or ``Z`` where UTC is meant. Hours
are decimal text ("2920.5"; up to four decimals, from which the second can be told), other amounts whole numbers. What is
not known is null, never left out.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from pmsched.domain.because import as_data
from pmsched.domain.counters import Rate
from pmsched.domain.counts import HOURS
from pmsched.domain.reasons import Because, CountReason
from pmsched.exchange.stamps import hours
from pmsched.store.book import Receipt
from pmsched.usecases.ask_due import DueList, DueRow, Header
from pmsched.usecases.attaching import AttachedFile

Shape = dict[str, Any]

_COUNT_AMOUNTS = (
    "base", "interval", "opens", "aim", "original", "limit", "total", "guessed", "left", "total_today", "most_today",
)  # fmt: skip


def amount(value: int | None, unit: str) -> str | int | None:
    """An amount on a counter: hours as decimal text, others as whole numbers."""
    return hours(value) if value is not None and unit == HOURS else value


def amounts(pairs: Iterable[tuple[str, int]]) -> list[Shape]:
    """Amounts with their units."""
    return [{"unit": unit, "amount": amount(value, unit)} for unit, value in pairs]


def day(value: date | None) -> str | None:
    """A date."""
    return None if value is None else value.isoformat()


def attached_shape(files: Iterable[AttachedFile]) -> list[Shape]:
    """Files attached to a report."""
    return [file._asdict() for file in files]


def offset(minutes: int) -> str:
    """An offset from UTC: '+08:00'."""
    hour, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else '+'}{hour:02d}:{rest:02d}"


def header_shape(header: Header) -> Shape:
    """What heads every answer."""
    return {
        "site": header.site,
        "today": day(header.today),
        "offset": offset(header.offset_minutes),
        "entry_no": header.entry_no,
        "seal": header.seal,
        "as_of": header.as_of,
        "known_on": header.known_on,
    }


def due_list_shape(found: DueList) -> Shape:
    """The due list: header, how many were looked at, and the lines."""
    return {
        "header": header_shape(found.header),
        "looked_at": found.looked_at,
        "lines": [due_shape(row) for row in found.rows],
    }


def due_shape(row: DueRow) -> Shape:
    """One line of the due list."""
    standing = row.standing
    return {
        "job": row.job,
        "unit": row.unit,
        "title": row.title,
        "machine": row.machine,
        "machine_name": row.machine_name,
        "department": row.department,
        "rank": row.rank,
        "critical": row.critical,
        "state": row.state,
        "marks": list(row.marks),
        "due_on": day(row.due_on),
        "expected": row.expected,
        "left": row.left,
        "governing": standing.governing,
        "overdue_days": standing.overdue_days,
        "overdue_counts": amounts(standing.overdue_counts),
        "missed": standing.missed,
        "because": because_shape(row.because),
        "sentence": row.sentence,
        "cautions": row.cautions,
        "needs": row.needs,
    }


def because_shape(because: Because) -> Shape:
    """The sum behind a line: every limb with its figures, and what it all counts from."""
    found = as_data(because)
    found["limbs"] = [
        _count_shape(reason, shape) if isinstance(reason, CountReason) else shape
        for reason, shape in zip(because.limbs, found["limbs"], strict=True)
    ]
    if because.extension is not None:
        found["extension"] = {
            "until_on": day(because.extension.until_on),
            "until_counts": amounts(because.extension.until_counts),
        }
    return found


def receipt_shape(receipt: Receipt | None) -> Shape | None:
    """What a deed left behind: the entry's number and seal, and whether it was there already."""
    if receipt is None:
        return None
    return {"entry_no": receipt.no, "book": receipt.book, "seal": receipt.seal, "repeated": receipt.repeated}


def _count_shape(reason: CountReason, shape: Mapping[str, Any]) -> Shape:
    found = dict(shape) | {name: amount(getattr(reason, name), reason.unit) for name in _COUNT_AMOUNTS}
    found["rate"] = rate_shape(reason.rate, reason.unit)
    return found


def rate_shape(rate: Rate | None, unit: str) -> Shape | None:
    """Use: how much it rose in how many seconds, between which dates."""
    if rate is None:
        return None
    return {
        "rise": amount(rate.rise, unit),
        "seconds": rate.seconds,
        "since": day(rate.since),
        "until": day(rate.until),
        "before_layup": rate.before_layup,
    }
