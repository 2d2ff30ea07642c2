"""Facts in a few words, for text: times, amounts, states, headings of lists, and what a deed left behind."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from pmsched.cli.tables import text_width
from pmsched.domain.clocks import ShipClock, format_offset
from pmsched.domain.counters import Rate
from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR, Meter, format_amount, format_count
from pmsched.domain.plain import plain
from pmsched.store.book import Receipt
from pmsched.usecases.ask_due import Header
from pmsched.usecases.changes import Moved
from pmsched.usecases.recounting import Touched

_SECONDS_PER_DAY = 86_400


def heading(header: Header, shown: str, width: int = 0) -> str:
    """What heads every list: site, ship's date with offset, how much is shown, and the seal.

    It is broken between its parts where a line of ``width`` characters does not hold it; 0 for one line.
    """
    parts = [header.site, f"{header.today} {format_offset(header.offset_minutes)}", shown]
    if header.as_of is not None:
        parts.append(f"as of {header.as_of}")
    if header.known_on is not None:
        parts.append(f"known on {header.known_on}")
    parts.append(f"seal {header.seal}")
    lines = [""]
    for part in filter(None, parts):
        longer = f"{lines[-1]} | {part}" if lines[-1] else part
        if width and lines[-1] and text_width(longer) > width:
            lines.append(part)
        else:
            lines[-1] = longer
    return "\n".join(plain(line) for line in lines)


def some(count: int, what: str, plural: str = "") -> str:
    """A number of things: '1 job', '12 jobs'."""
    return f"{count} {what if count == 1 else plural or what + 's'}"


def ship_time(clock: ShipClock, instant: int) -> str:
    """A ship's date and time to the minute: '2030-01-15 10:00'."""
    return f"{clock.ship_time(instant):%Y-%m-%d %H:%M}"


def dial_text(dial: int, meter: Meter) -> str:
    """What a dial shows, with its unit: '12 345.5 h'."""
    return f"{format_count(dial, meter)} {meter.unit}"


def per_day(rate: Rate, unit: str) -> str:
    """Use to the nearest tenth: '12.0 h/day'."""
    size = SECONDS_PER_HOUR if unit == HOURS else 1
    tenths = (20 * rate.rise * _SECONDS_PER_DAY + rate.seconds * size) // (2 * rate.seconds * size)
    return f"{tenths // 10}.{tenths % 10} {unit}/day" if tenths or not rate.rise else f"under 0.1 {unit}/day"


def due_text(due_on: date | None, *, expected: bool) -> str:
    """A due date; '~' before one that comes from use, empty without one."""
    return "" if due_on is None else f"{'~' if expected else ''}{due_on}"


def named(job: str, unit: str) -> str:
    """A job with its unit: 'AE2-EXV 3'."""
    return f"{job} {unit}" if unit else job


def entered(receipt: Receipt) -> str:
    """What a deed left behind, in words."""
    again = "already entered as" if receipt.repeated else "entered as"
    return f"{again} entry {receipt.no}, seal {receipt.seal}"


def moved_lines(moved: Sequence[Moved]) -> Iterator[str]:
    """What moved on the due list, a line each: state and date before and after."""
    for one in moved:
        before = f"{one.state_before or 'new'} {one.due_before or 'no date'}"
        after = f"{one.state_after} {one.due_after or 'no date'}"
        yield f"{named(one.job, one.unit)}  {one.title}: {before} -> {after}"


def touched_lines(touched: Touched) -> Iterator[str]:
    """All that a correction touches, a line each, under headings."""
    if touched.moved:
        yield f"On the due list {some(len(touched.moved), 'line')} changes:"
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
