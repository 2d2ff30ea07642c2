"""Readings: can what was typed be true, and if not, what was probably meant?

Knows the accepted readings around the typed one and the length of time between them. Knows no database, no other
counters except in a round of lines, and never picks an explanation: a person does. A reading that cannot be true is
held, which means kept and not used.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

from pmsched.domain.clocks import ShipClock, format_offset
from pmsched.domain.counts import HOURS, SECONDS_PER_DAY, SECONDS_PER_HOUR, Meter, format_count, format_hours

Fault = Literal["", "backwards", "faster-than-clock", "above-later", "later-too-fast", "differs-at-same-time"]
SuggestionKind = Literal["swapped-digits", "decimal-point", "swapped-lines", "other-reading-wrong"]

_MINUTES = 60
_LONG_DAYS = 2
_HUNDREDTH_HOUR_SECONDS = 36


class Point(NamedTuple):
    """An accepted reading: the instant (UTC epoch seconds) and the running total (seconds for hours, else units)."""

    at: int
    total: int


class Suggestion(NamedTuple):
    """What was perhaps meant. ``dial`` is the value to type instead, None if this line itself may be right."""

    kind: SuggestionKind
    dial: int | None
    text: str


@dataclass(frozen=True, slots=True)
class Judgement:
    """What the tool says of a typed reading.

    Attributes:
        accepted: False means held.
        code: why it is held; empty when accepted.
        duplicate: the same value is already there for the same instant, so there is nothing to add.
        message: one plain sentence in ship's time; empty when there is nothing to say.
        suggestions: possible explanations, each of which could be true.
    """

    accepted: bool
    code: Fault = ""
    duplicate: bool = False
    message: str = ""
    suggestions: tuple[Suggestion, ...] = ()


class Line(NamedTuple):
    """A value typed for one meter, with the accepted readings around it.

    Attributes:
        at: instant of the reading, UTC epoch seconds.
        dial: what was typed, in base units (seconds for hours).
        meter: how the dial reads.
        before: the last accepted reading at or before ``at``.
        after: the first accepted reading later than ``at``.
        dial_offset: running total minus dial, in base units.
        earlier: the accepted reading before ``before``.
    """

    at: int
    dial: int
    meter: Meter
    before: Point | None
    after: Point | None
    dial_offset: int = 0
    earlier: Point | None = None

    @property
    def point(self) -> Point:
        """The reading as a running total."""
        return Point(self.at, self.dial + self.dial_offset)


def judge(
    candidate: Point,
    before: Point | None,
    after: Point | None,
    meter: Meter,
    typed_dial: int,
    dial_offset: int = 0,
    earlier: Point | None = None,
    *,
    clock: ShipClock,
) -> Judgement:
    """Whether a reading can be true between its neighbours; the boundaries are those of ``fault_of``.

    Args:
        candidate: the typed reading as a running total.
        before: the last accepted reading at or before the candidate's time.
        after: the first accepted reading later than it.
        meter: how the dial reads.
        typed_dial: what was typed, in base units.
        dial_offset: running total minus dial.
        earlier: the accepted reading before ``before``.
        clock: the ship's clock, for the times in sentences.

    Raises:
        ValueError: the total is not the typed dial plus the offset, a mistake in the calling code.
    """
    line = Line(candidate.at, typed_dial, meter, before, after, dial_offset, earlier)
    if line.point != candidate:
        raise ValueError(f"total {candidate.total} is not dial {typed_dial} + offset {dial_offset}")
    if before == candidate:
        return Judgement(accepted=True, duplicate=True, message="already entered")
    found = _find_fault(line)
    if found is None:
        return Judgement(accepted=True)
    message = _message(line, *found, clock)
    return Judgement(accepted=False, code=found[0], message=message, suggestions=_explain(line, clock))


def fault_of(line: Line) -> Fault:
    """Why the line cannot be true; empty if it can.

    Staying equal is possible. An hours counter may gain the time that passed plus one step of its dial, and no more
    (R10); other counters have no such limit. With no reading before or after, everything is possible.
    """
    found = _find_fault(line)
    return found[0] if found else ""


def find_swapped_lines(lines: Sequence[Line]) -> list[tuple[int, int]]:
    """Pairs of lines of a round (by position, lower first) whose typed values may have been exchanged.

    At least one of the two is held, and with the values exchanged both can be true. A held line that another held
    line explains is not also paired with accepted ones. Work grows with lines x held lines.
    """
    held = {i for i, line in enumerate(lines) if fault_of(line)}
    pairs = {(min(i, j), max(i, j)) for i in held for j in range(len(lines)) if _fit_exchanged(lines[i], lines[j])}
    explained = {i for pair in pairs if held.issuperset(pair) for i in pair}
    return sorted(pair for pair in pairs if held.issuperset(pair) or explained.isdisjoint(pair))


def exchange_suggestion(names: tuple[str, str], line: Line, other: Line) -> Suggestion:
    """For a pair that was found: ``line`` shows the value typed for ``other`` ('AE1 and AE2 exchanged?')."""
    return Suggestion("swapped-lines", other.dial, f"{names[0]} and {names[1]} exchanged? {_value(line, other.dial)}")


def _find_fault(line: Line) -> tuple[Fault, Point] | None:
    """The fault and the accepted reading it contradicts."""
    point, before, after = line.point, line.before, line.after
    if before is not None:
        if before.at == point.at:
            return ("differs-at-same-time", before) if before.total != point.total else None
        if point.total < before.total:
            return "backwards", before
        if _too_fast(before, point, line.meter):
            return "faster-than-clock", before
    if after is None or not (point.total > after.total or _too_fast(point, after, line.meter)):
        return None
    return "above-later" if point.total > after.total else "later-too-fast", after


def _too_fast(first: Point, second: Point, meter: Meter) -> bool:
    return meter.unit == HOURS and second.total - first.total > second.at - first.at + meter.step


def _fit_exchanged(one: Line, other: Line) -> bool:
    """True if each line could have shown the other's value; a line without neighbours proves nothing."""
    return one.meter.unit == other.meter.unit and _can_show(one, other.dial) and _can_show(other, one.dial)


def _can_show(line: Line, dial: int) -> bool:
    known = line.before is not None or line.after is not None
    return known and dial % line.meter.step == 0 and not fault_of(line._replace(dial=dial))


def _explain(line: Line, clock: ShipClock) -> tuple[Suggestion, ...]:
    """Every explanation of a held line that could be true."""
    found: dict[int, Suggestion] = {}
    guesses: list[tuple[SuggestionKind, int]] = [("swapped-digits", dial) for dial in _swapped_dials(line)]
    guesses += [("decimal-point", dial) for dial in _point_lost_dials(line)]
    for kind, dial in guesses:
        if not fault_of(line._replace(dial=dial)):
            found[dial] = Suggestion(kind, dial, f"Did you mean {_value(line, dial)}?")
    return (*found.values(), *_other_reading_wrong(line, clock, start="or" if found else "perhaps"))


def _swapped_dials(line: Line) -> Iterable[int]:
    """What the dial shows with two neighbouring digits swapped; nothing if it was typed finer than the meter reads."""
    step, by_minutes = line.meter.step, line.meter.reads == "h:min" and line.meter.unit == HOURS
    if line.dial % step:
        return
    minutes = line.dial // _MINUTES
    digits = f"{minutes // 60}{minutes % 60:02d}" if by_minutes else str(line.dial // step)
    for k in range(len(digits) - 1):
        swapped = digits[:k] + digits[k + 1] + digits[k] + digits[k + 2 :]
        if swapped == digits:
            continue
        if not by_minutes:
            yield int(swapped) * step
        elif int(swapped[-2:]) < _MINUTES:
            yield int(swapped[:-2]) * SECONDS_PER_HOUR + int(swapped[-2:]) * _MINUTES


def _point_lost_dials(line: Line) -> Iterable[int]:
    """What a number without its point or colon stood for: 12367 for 1236.7, 1234530 for 12345:30."""
    if line.meter.unit != HOURS or line.dial % SECONDS_PER_HOUR:
        return
    if line.meter.reads == "tenths":
        yield line.dial // 10
    elif line.meter.reads == "h:min":
        hours, minutes = divmod(line.dial // SECONDS_PER_HOUR, 100)
        if minutes < _MINUTES:
            yield hours * SECONDS_PER_HOUR + minutes * _MINUTES


def _other_reading_wrong(line: Line, clock: ShipClock, start: str) -> Iterable[Suggestion]:
    """If it goes backwards, but not against the reading before that one (case 11b)."""
    point, before, earlier = line.point, line.before, line.earlier
    if earlier is None or before is None or fault_of(line) != "backwards" or fault_of(line._replace(before=earlier)):
        return
    shown, rise = format_count(line.dial, line.meter), _amount(point.total - earlier.total, line.meter)
    yield Suggestion(
        "other-reading-wrong",
        None,
        f"{start} the reading of {_name(before, line, clock)} is the wrong one: "
        f"{shown} is {rise} above {_when(earlier, line, clock)}, in {_passed(point.at - earlier.at)}",
    )


def _message(line: Line, fault: Fault, other: Point, clock: ShipClock) -> str:
    """What is wrong with the line, beside the accepted reading it contradicts."""
    if fault == "faster-than-clock":
        return _rise(other, line.point, line.meter)
    if fault == "backwards":
        by = _amount(other.total - line.point.total, line.meter)
        return f"lower than the reading of {_when(other, line, clock)} by {by}"
    name = _name(other, line, clock)
    if fault == "above-later":
        return f"more than the later reading of {name}"
    if fault == "later-too-fast":
        return f"the later reading of {name} would be {_rise(line.point, other, line.meter)}"
    return f"another value is already entered for {name}"


def _rise(first: Point, second: Point, meter: Meter) -> str:
    """'226 h in 7 days (168 h on the clock)', '25 h in 23 h'."""
    elapsed = second.at - first.at
    passed, hours = _passed(elapsed), f"{_clock_hours(elapsed)} h"
    return f"{_amount(second.total - first.total, meter)} in {passed}" + (
        f" ({hours} on the clock)" if passed != hours else ""
    )


def _value(line: Line, dial: int) -> str:
    """'31 340 (+136 h)'."""
    shown, point = format_count(dial, line.meter), Point(line.at, dial + line.dial_offset)
    if line.before is None:
        return shown
    if line.before == point:
        return f"{shown} (already entered)"
    rise = point.total - line.before.total
    return f"{shown} (+{_amount(rise, line.meter)}{'' if rise else ': only if it stood still'})"


def _amount(value: int, meter: Meter) -> str:
    return f"{format_count(value, meter)} {meter.unit}"


def _name(point: Point, line: Line, clock: ShipClock) -> str:
    """'20:00 (5 418)': when, and what the dial showed."""
    return f"{_when(point, line, clock)} ({format_count(point.total - line.dial_offset, line.meter)})"


def _when(point: Point, line: Line, clock: ShipClock) -> str:
    """The ship's date, or the time if it is the line's own date; with the offset if that date is lived twice."""
    shown = clock.ship_time(point.at)
    if shown.date() != clock.ship_date(line.at):
        return shown.date().isoformat()
    offset = clock.offset_at(point.at)
    return f"{shown:%H:%M}" + ("" if offset == clock.offset_at(line.at) else f" {format_offset(offset)}")


def _passed(seconds: int) -> str:
    """'7 days', '6 days 23 h', '23 h': whole days where they fit, else hours on their own up to two days."""
    days, rest = divmod(seconds, SECONDS_PER_DAY)
    if days < _LONG_DAYS and (rest or not days):
        return f"{_clock_hours(seconds)} h"
    return f"{days} {'day' if days == 1 else 'days'}" + (f" {_clock_hours(rest)} h" if rest else "")


def _clock_hours(seconds: int) -> str:
    """Hours in decimals where two are exact, else hours and minutes: '23', '0.5', '0:10'."""
    return format_count(seconds, Meter(HOURS, "h:min")) if seconds % _HUNDREDTH_HOUR_SECONDS else format_hours(seconds)
