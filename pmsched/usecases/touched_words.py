"""What a deed moved or touches, in words: the same list on every face before a correction is confirmed."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from pmsched.domain.counts import format_amount
from pmsched.domain.due import State
from pmsched.domain.words import named, some
from pmsched.store.book import Receipt
from pmsched.usecases.changes import Moved
from pmsched.usecases.recounting import Touched


def entered(receipt: Receipt) -> str:
    """What a deed left behind: 'entered as entry 12, seal ...'."""
    again = "already entered as" if receipt.repeated else "entered as"
    return f"{again} entry {receipt.no}, seal {receipt.seal}"


def moved_lines(moved: Sequence[Moved]) -> Iterator[str]:
    """What moved on the due list, a line each: state and date before and after."""
    for one in moved:
        before, after = _stood(one.state_before or "new", one.due_before), _stood(one.state_after, one.due_after)
        yield f"{named(one.job, one.unit)}  {one.title}: {before} -> {after}"


def _stood(state: str, due: date | None) -> str:
    """State and date; 'no date' is said once."""
    return state if due is None and state == State.NO_DATE.word else f"{state} {due or 'no date'}"


def touched_lines(touched: Touched) -> Iterator[str]:
    """All that a correction touches, a line each, under headings."""
    if touched.moved:
        yield f"On the due list {some(len(touched.moved), 'line changes', 'lines change')}:"
        yield from (f"  {line}" for line in moved_lines(touched.moved))
    if touched.recounted:
        yield "Totals kept with reports, worked out again:"
        for one in touched.recounted:
            before, after = format_amount(one.before, one.counted), format_amount(one.after, one.counted)
            yield f"  {named(one.job, one.unit)} done {one.done_on}: {before} -> {after}"
    if touched.flags:
        yield "To be looked at:"
        yield from (f"  {flag}" for flag in touched.flags)
    if touched.countersign:
        yield "Signed reports change: the chief engineer countersigns."
    if not (touched.moved or touched.recounted or touched.flags):
        yield "Nothing else changes."
