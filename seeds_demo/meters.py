"""What the meters really counted, and what was written down on the rounds.

The hidden truth is one value for each counter at noon of each day; a dial shows it rounded down to its own step and
never runs faster than the clock. Which values were written down wrong is decided in ``slips``. Knows no jobs.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Iterator
from datetime import date, timedelta
from random import Random

from pmsched.domain.counts import HOURS, format_count
from seeds_demo.catalogue import Counter, counters, groups, uses
from seeds_demo.jobs import Source
from seeds_demo.slips import Slip, impossible_slips, possible_slips
from seeds_demo.voyage import State

_ROUND_DAYS = (2, 6)  # Wednesdays and Sundays
_RATE_DAYS = 90


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
        self.rounds = tuple(day for day in range(1, len(states) - 1) if self.date_of(day).weekday() in _ROUND_DAYS)
        self.slips = possible_slips(self.dial, self.rounds, rng)
        self.held = impossible_slips(self.dial, self.rounds, rng)
        self._every_round = (0, *self.rounds)
        self._held_codes = {slip.counter for slip in self.held}

    def date_of(self, day: int) -> date:
        """The date of a day counted from the start."""
        return self.start + timedelta(days=day)

    def day_of(self, on: date) -> int:
        """The day counted from the start."""
        return (on - self.start).days

    def dial(self, counter: str, day: int) -> int:
        """What the dial showed at noon of that day."""
        step = counters()[counter].meter.step
        return self._noon[counter][day] // step * step

    def total(self, counter: str, day: int) -> int:
        """The running total the dial stood for at noon of that day."""
        return self.dial(counter, day) + _shift(counters()[counter])

    def written(self, day: int) -> tuple[tuple[str, int], ...]:
        """What was written down on the round of that day, slips and all."""
        slips = {slip.counter: slip.dial for slip in self._slips_on(day)}
        return tuple((code, slips.get(code, self.dial(code, day))) for code in counters())

    def first_day_at(self, source: Source, target: int) -> int | None:
        """The first day at whose noon the share of the source's total has reached ``target``; None if it has not."""
        noon = self._noon[source.counter]
        needed = -(-target * source.den // source.num) - _shift(counters()[source.counter])
        day = bisect_left(noon, needed)
        return day if day < len(noon) else None

    def offered(self, source: Source, day: int) -> int:
        """The count at noon of ``day``, on the line between the rounds around it, or at the last one before it."""
        known = self._accepted(source.counter)
        at = bisect_right(known, day)
        before = known[max(at - 1, 0)]
        total = self.total(source.counter, before)
        if before < day and at < len(known):
            after = known[at]
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
        known = self._accepted(source.counter)
        first = known[bisect_left(known, day - _RATE_DAYS)]
        rise = (self.total(source.counter, day) - self.total(source.counter, first)) * source.num
        if not rise:
            return day if target <= count else None
        return day + (target - count) * (day - first) * source.den // rise

    def per_day(self, source: Source) -> float:
        """Mean rise of the count a day over the whole time."""
        noon = self._noon[source.counter]
        return (noon[-1] - noon[0]) * source.num / source.den / (len(noon) - 1)

    def _accepted(self, counter: str) -> tuple[int, ...]:
        return self._every_round[:-1] if counter in self._held_codes else self._every_round

    def _slips_on(self, day: int) -> Iterator[Slip]:
        return (slip for slip in (*self.slips, *self.held) if slip.day == day)


def _shift(counter: Counter) -> int:
    return counter.total - counter.dial


def _rises(day: int, state: State, rng: Random) -> Iterator[tuple[str, int]]:
    """How much each counter rises from noon to noon, in whole minutes or whole units."""
    for group in groups():
        turn = day // group[0].turn_days
        for n, use in enumerate(group):
            low, high = group[(n + turn) % len(group)].by_state[state]
            rise = rng.randint(low, high)
            yield use.counter, rise - rise % 60 if counters()[use.counter].meter.unit == HOURS else rise


def written_dial(counter: str, dial: int) -> str:
    """The dial value as a file holds it: ``41862.4``, ``612:35``."""
    return format_count(dial, counters()[counter].meter).replace(" ", "")
