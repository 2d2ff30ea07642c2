"""What the meters really counted, and what was written down on the rounds.

The hidden truth is one value for each counter at noon of each day; a dial shows it rounded down to its own step and
never runs faster than the clock. Slips of the pen are made here. Knows no jobs.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from random import Random
from typing import NamedTuple

from pmsched.domain.counts import HOURS, SECONDS_PER_DAY, SECONDS_PER_HOUR, format_count
from seeds_demo.catalogue import Counter, Source, Use, counters, uses
from seeds_demo.voyage import State

_SUNDAY = 6
_RATE_DAYS = 90
_SLIPS_AT = (0.22, 0.51, 0.83)
_SLIP_COUNTERS = ("AE1-H", "LOP-H", "FOP1-H", "AE3-H", "FWG-H")
# Counters few jobs depend on, so that the one held reading does not hide what is due.
_HELD_COUNTERS = ("FWG-H", "BLR-H", "LOP-H", "AE3-H", "FOP2-H", "AE1-H")
_BEYOND_CLOCK = 24 * SECONDS_PER_HOUR


class Slip(NamedTuple):
    """A dial value written down wrong on the round of a day (counted from the start)."""

    counter: str
    day: int
    dial: int


class Meters:
    """All meters over all days.

    Args:
        start: the first day, with the first readings.
        states: where the ship was on each day; the last day is today, when nothing has been read yet.
        rng: source of chance.
    """

    def __init__(self, start: date, states: tuple[State, ...], rng: Random) -> None:
        self.start = start
        self.today = start + timedelta(days=len(states) - 1)
        self._noon = {use.counter: [counters()[use.counter].dial] for use in uses()}
        for day, state in enumerate(states[:-1]):
            for counter, rise in _rises(day, state, rng):
                self._noon[counter].append(self._noon[counter][-1] + rise)
        self.rounds = tuple(day for day in range(1, len(states) - 1) if self.date_of(day).weekday() == _SUNDAY)
        self.slips = tuple(self._possible_slip(int(part * len(self.rounds)), rng) for part in _SLIPS_AT)
        self.held = self._impossible_slip(rng)

    def date_of(self, day: int) -> date:
        """The date of a day counted from the start."""
        return self.start + timedelta(days=day)

    def dial(self, counter: str, day: int) -> int:
        """What the dial showed at noon of that day."""
        step = counters()[counter].meter.step
        return self._noon[counter][day] // step * step

    def total(self, counter: str, day: int) -> int:
        """The running total the dial stood for at noon of that day."""
        return self.dial(counter, day) + _shift(counters()[counter])

    def written(self, day: int) -> tuple[tuple[str, int], ...]:
        """What was written down on the round of that day, slips and all."""
        slips = {slip.counter: slip.dial for slip in (*self.slips, self.held) if slip.day == day}
        return tuple((code, slips.get(code, self.dial(code, day))) for code in counters())

    def first_day_at(self, source: Source, target: int) -> int | None:
        """The first day at whose noon the share of the source's total has reached ``target``; None if it has not."""
        noon = self._noon[source.counter]
        needed = -(-target * source.den // source.num) - _shift(counters()[source.counter])
        day = bisect_left(noon, needed)
        return day if day < len(noon) else None

    def offered(self, source: Source, day: int, known_day: int) -> int:
        """The count taken for a doing at noon of ``day`` from readings up to the round of ``known_day``."""
        known = [0, *(at for at in self._accepted(source.counter) if at <= known_day)]
        before = max((at for at in known if at <= day), default=0)
        after = min((at for at in known if at >= day), default=before)
        total = self.total(source.counter, before)
        if after > before:
            rise = self.total(source.counter, after) - total
            total += rise * (day - before) // (after - before)
        return total * source.num // source.den

    def last(self, source: Source) -> tuple[int, int]:
        """Day and count of the last reading that was accepted."""
        day = self._accepted(source.counter)[-1]
        return day, self.total(source.counter, day) * source.num // source.den

    def expected_day(self, source: Source, target: int) -> int | None:
        """The day on which ``target`` is expected at the use of the last 90 days (R6); None without use."""
        day, count = self.last(source)
        first = min(at for at in (0, *self._accepted(source.counter)) if at >= day - _RATE_DAYS)
        rise = (self.total(source.counter, day) - self.total(source.counter, first)) * source.num
        if not rise:
            return day if target <= count else None
        return day + (target - count) * (day - first) * source.den // rise

    def per_day(self, source: Source) -> float:
        """Mean rise of the count a day over the whole time."""
        noon = self._noon[source.counter]
        return (noon[-1] - noon[0]) * source.num / source.den / (len(noon) - 1)

    def _accepted(self, counter: str) -> tuple[int, ...]:
        return self.rounds[:-1] if counter == self.held.counter else self.rounds

    def _possible_slip(self, place: int, rng: Random) -> Slip:
        """A tens digit misread, so that the value still lies between its neighbours and the clock allows it."""
        before, day, after = self.rounds[place - 1 : place + 2]
        for counter in rng.sample(_SLIP_COUNTERS, len(_SLIP_COUNTERS)):
            right, low, high = (self.dial(counter, at) for at in (day, before, after))
            tens = right // (10 * SECONDS_PER_HOUR) % 10
            moved = [right + (digit - tens) * 10 * SECONDS_PER_HOUR for digit in range(10) if digit != tens]
            slowest = max(low, high - (after - day) * SECONDS_PER_DAY + _BEYOND_CLOCK)
            fastest = min(high, low + (day - before) * SECONDS_PER_DAY - _BEYOND_CLOCK)
            if possible := [dial for dial in moved if slowest <= dial <= fastest]:
                return Slip(counter, day, rng.choice(possible))
        return self._possible_slip(place + 1, rng)

    def _impossible_slip(self, rng: Random) -> Slip:
        """Neighbouring digits swapped on the last round, so that the meter ran backwards or faster than the clock."""
        before, day = self.rounds[-2:]
        for counter in rng.sample(_HELD_COUNTERS, len(_HELD_COUNTERS)):
            low = self.dial(counter, before)
            fastest = low + (day - before) * SECONDS_PER_DAY + _BEYOND_CLOCK
            right = self.dial(counter, day)
            swapped = [dial for dial in _swaps(right) if not low <= dial <= fastest]
            if swapped:
                return Slip(counter, day, min(swapped, key=lambda dial: abs(dial - right)))
        raise LookupError("No dial has neighbouring digits to swap.")


def _shift(counter: Counter) -> int:
    return counter.total - counter.dial


def _swaps(right: int) -> Iterator[int]:
    """The dial value with two different neighbouring digits of its whole part swapped, once each."""
    digits, rest = str(right // SECONDS_PER_HOUR), right % SECONDS_PER_HOUR
    for n in range(len(digits) - 1):
        if digits[n] != digits[n + 1] and not (n == 0 and digits[1] == "0"):
            swapped = digits[:n] + digits[n + 1] + digits[n] + digits[n + 2 :]
            yield int(swapped) * SECONDS_PER_HOUR + rest


def _rises(day: int, state: State, rng: Random) -> Iterator[tuple[str, int]]:
    """How much each counter rises from noon to noon, in whole minutes or whole units."""
    for group in _groups().values():
        turn = day // group[0].turn_days
        for n, use in enumerate(group):
            low, high = group[(n + turn) % len(group)].by_state[state]
            rise = rng.randint(low, high)
            yield use.counter, rise - rise % 60 if counters()[use.counter].meter.unit == HOURS else rise


def _groups() -> Mapping[str, list[Use]]:
    groups: dict[str, list[Use]] = {}
    for use in uses():
        groups.setdefault(use.group or use.counter, []).append(use)
    return groups


def written_dial(counter: str, dial: int) -> str:
    """The dial value as a file holds it: ``41862.4``, ``612:35``."""
    return format_count(dial, counters()[counter].meter).replace(" ", "")
