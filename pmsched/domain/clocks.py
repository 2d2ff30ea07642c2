"""The ship's clock: which date and time it was on board at an instant, and which instant a ship's date means.

Knows offsets from UTC, clock changes and the date line. Knows no time zone names, no summer time and not the
present moment. Instants are whole UTC epoch seconds. A ship's date may last 23 or 25 hours, occur twice
(crossing eastbound) or not at all (crossing westbound).
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterable, Iterator
from datetime import UTC, date, datetime, time, timedelta, timezone
from itertools import pairwise
from typing import NamedTuple

from pmsched.domain.errors import Refusal

MOST_WEST_MINUTES = -12 * 60
MOST_EAST_MINUTES = 14 * 60
NOON = time(12)

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_EPOCH_DAY = date(1970, 1, 1).toordinal()
_DAY_SECONDS = 86_400
# A clock reading taken as if it were UTC is at most this far from the instants that can show it.
_EARLIEST = -MOST_EAST_MINUTES * 60 - 1
_LATEST = -MOST_WEST_MINUTES * 60 + 1
_OFFSET = re.compile(r"^(?:UTC)?([+-])([0-9]{1,2})(?::([0-5][0-9]))?$", re.IGNORECASE)


class ClockChange(NamedTuple):
    """From instant ``at`` (UTC epoch seconds) on, the ship's clock stands ``offset_minutes`` from UTC, east positive."""

    at: int
    offset_minutes: int


class ShipClock:
    """The ship's clock over all time.

    Args:
        changes: in any order. The first one holds for all time before it too; of two at one instant the one given
            later counts; without any the clock shows UTC.

    Raises:
        Refusal: an offset is out of range.
    """

    __slots__ = ("_offsets", "_starts")

    def __init__(self, changes: Iterable[ClockChange] = ()) -> None:
        given = {change.at: check_offset(change.offset_minutes) for change in changes}
        in_order = sorted(given.items())
        # Offset k holds from start k-1 up to start k: the first change needs no start, it reaches back for ever.
        self._starts = tuple(at for at, _ in in_order[1:])
        self._offsets = tuple(offset for _, offset in in_order) or (0,)

    def offset_at(self, instant: int) -> int:
        """Minutes the ship's clock was ahead of UTC (east positive); a change counts from its own second on."""
        return self._offsets[bisect_right(self._starts, instant)]

    def ship_date(self, instant: int) -> date:
        """The date on board at that instant. Raises Refusal beyond the years 1-9999."""
        try:
            return date.fromordinal(_EPOCH_DAY + self._shown_at(instant) // _DAY_SECONDS)
        except (ValueError, OverflowError):
            raise _beyond_calendar() from None

    def ship_time(self, instant: int) -> datetime:
        """Date and time on board at that instant, carrying its offset. Raises Refusal beyond the years 1-9999."""
        try:
            return to_utc(instant).astimezone(timezone(timedelta(minutes=self.offset_at(instant))))
        except OverflowError:
            raise _beyond_calendar() from None

    def instant_of(self, day: date, time_of_day: time | None = None) -> int:
        """The instant a ship's date and time mean; without a time 12:00 is meant (R15). Never raises.

        A time that occurs twice means the first occurrence. A time the clock jumped over is read with the offset
        before the jump (both as in RFC 5545 section 3.3.5), unless that leaves a date that did occur: then the
        second of that date nearest to the time. Parts of a second are dropped.
        """
        wanted = _shown(day, NOON if time_of_day is None else time_of_day)
        near = self._pieces(wanted, wanted)
        if len(near) == 1:
            return wanted - self._offsets[near[0]] * 60
        if found := next(self._stretches(wanted, wanted + 1), None):
            return found[0]
        after_jump = wanted - self._offset_before_jump(wanted) * 60
        of_day = list(self._stretches_of(day))
        if not of_day or any(first <= after_jump <= last for first, last in of_day):
            return after_jump
        return min((end for ends in of_day for end in ends), key=lambda end: abs(self._shown_at(end) - wanted))

    def end_of_day(self, day: date) -> int:
        """The last second at which the ship's date was not later than ``day``.

        That is the end of its last occurrence if the date occurs twice, and the second before the jump if it
        never occurs. Never raises.
        """
        midnight = _shown(day, NOON) + _DAY_SECONDS // 2
        ends = [
            min(end, midnight - offset * 60)
            for start, end, offset in self._pieces_near(midnight, midnight)
            if start + offset * 60 < midnight
        ]
        return ends[-1] - 1

    def is_skipped(self, day: date) -> bool:
        """True if that ship's date never occurs, the date line having been crossed westbound (case 13c)."""
        return next(self._stretches_of(day), None) is None

    def skipped_days(self) -> frozenset[date]:
        """Every ship's date that never occurs (case 13c): each lies whole within one jump forward."""
        jumped = (
            date.fromordinal(_EPOCH_DAY + day)
            for at, (before, after) in zip(self._starts, pairwise(self._offsets), strict=True)
            for day in range(-(-(at + before * 60) // _DAY_SECONDS), (at + after * 60) // _DAY_SECONDS)
        )
        # A clock put back soon after the jump may have shown the date all the same.
        return frozenset(day for day in jumped if self.is_skipped(day))

    def _shown_at(self, instant: int) -> int:
        return instant + self._offsets[bisect_right(self._starts, instant)] * 60

    def _pieces(self, shown_first: int, shown_last: int) -> range:
        """Numbers of the stretches of constant offset that can hold these clock readings."""
        first = bisect_right(self._starts, shown_first + _EARLIEST)
        return range(first, bisect_right(self._starts, shown_last + _LATEST, first) + 1)

    def _pieces_near(self, shown_first: int, shown_last: int) -> Iterator[tuple[int, int, int]]:
        """The same stretches as (start, end, minutes), in order of time; the outer ends cut where no longer needed."""
        pieces = self._pieces(shown_first, shown_last)
        for k in pieces:
            start = self._starts[k - 1] if k > pieces[0] else shown_first + _EARLIEST
            end = self._starts[k] if k < pieces[-1] else shown_last + _LATEST
            yield start, end, self._offsets[k]

    def _stretches(self, shown_from: int, shown_until: int) -> Iterator[tuple[int, int]]:
        """First and last instant of each stretch during which the clock showed that range (its end left out)."""
        for start, end, offset in self._pieces_near(shown_from, shown_until):
            first, until = max(start, shown_from - offset * 60), min(end, shown_until - offset * 60)
            if first < until:
                yield first, until - 1

    def _stretches_of(self, day: date) -> Iterator[tuple[int, int]]:
        midnight = _shown(day, time.min)
        return self._stretches(midnight, midnight + _DAY_SECONDS)

    def _offset_before_jump(self, shown: int) -> int:
        """Minutes before the last jump over a clock reading that never occurred; there is always one."""
        return [offset for _, end, offset in self._pieces_near(shown, shown) if end + offset * 60 <= shown][-1]


def check_offset(minutes: int) -> int:
    """The same offset in minutes, if a ship's clock can have it: UTC-12 to UTC+14. Raises Refusal otherwise."""
    if MOST_WEST_MINUTES <= minutes <= MOST_EAST_MINUTES:
        return minutes
    raise Refusal(
        "offset-out-of-range",
        f"{format_offset(minutes)} is not an offset that clocks have.",
        "Offsets go from UTC-12 to UTC+14.",
    )


def format_offset(minutes: int) -> str:
    """The offset as people write it: ``UTC+8``, ``UTC+5:30``, ``UTC-12``, ``UTC``."""
    if not minutes:
        return "UTC"
    hours, rest = divmod(abs(minutes), 60)
    return f"UTC{'-' if minutes < 0 else '+'}{hours}" + (f":{rest:02d}" if rest else "")


def parse_offset(text: str) -> int:
    """Minutes east of UTC from ``+8``, ``+08:00``, ``UTC+5:30``, ``-3``, ``UTC`` or ``Z``.

    Raises:
        Refusal: not an offset (a number needs its sign), or out of range.
    """
    written = text.strip()
    if written.upper() in {"Z", "UTC"}:
        return 0
    found = _OFFSET.match(written)
    if not found:
        raise Refusal("not-an-offset", f"'{written}' is not an offset from UTC.", "Write it like +8, -3 or UTC+5:30.")
    size = int(found[2]) * 60 + int(found[3] or 0)
    return check_offset(-size if found[1] == "-" else size)


def to_utc(instant: int) -> datetime:
    """The instant as an aware UTC date and time. Raises Refusal beyond the years 1-9999."""
    try:
        return _EPOCH + timedelta(seconds=instant)
    except OverflowError:
        raise _beyond_calendar() from None


def from_datetime(aware: datetime) -> int:
    """The instant of a date and time that carries its offset; parts of a second are dropped.

    Raises:
        Refusal: no offset is given, so it cannot be told which instant is meant.
    """
    if aware.utcoffset() is None:
        raise Refusal(
            "time-without-offset",
            f"{aware.isoformat(sep=' ')} has no offset from UTC.",
            "Give the ship's offset, such as +08:00.",
        )
    return (aware - _EPOCH) // timedelta(seconds=1)


def date_shown(instant: int, offset_minutes: int) -> date:
    """The date a clock at that offset shows; as ``ShipClock.ship_date``, for an offset kept with a reading."""
    return date.fromordinal(_EPOCH_DAY + (instant + offset_minutes * 60) // _DAY_SECONDS)


def _shown(day: date, time_of_day: time) -> int:
    """What a clock shows, as a count of seconds from 1970-01-01 00:00 on that same clock."""
    days = day.toordinal() - _EPOCH_DAY
    return days * _DAY_SECONDS + time_of_day.hour * 3600 + time_of_day.minute * 60 + time_of_day.second


def _beyond_calendar() -> Refusal:
    return Refusal("beyond-calendar", "That moment lies outside the years 1-9999.", "Check the date.")
