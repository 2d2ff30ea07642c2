"""Slips of the pen on the rounds: some that could be true and were found later, and the last ones that cannot be.

Knows dials and days of rounds; all dials here count hours.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from random import Random
from typing import NamedTuple

from pmsched.domain.counts import SECONDS_PER_DAY, SECONDS_PER_HOUR

Dial = Callable[[str, int], int]
"""What the dial of a counter showed at noon of a day."""

_SLIPS_AT = (0.08, 0.3, 0.52, 0.74, 0.93)
_SLIP_COUNTERS = ("AE1-H", "LOP1-H", "FOP1-H", "AE3-H", "FWG-H", "REF1-H", "LTP2-H", "ACC1-H")
# Counters few jobs depend on, so that a held reading does not hide what is due.
_HELD_COUNTERS = ("FWG-H", "BLR-H", "LOP2-H", "DOP-H", "WAC-H", "REF2-H", "ACC2-H", "BAP1-H", "BAP2-H", "BFP2-H")
_TWO_HELD = 0.4
_BEYOND_CLOCK = 24 * SECONDS_PER_HOUR


class Slip(NamedTuple):
    """A dial value written down wrong on the round of a day (counted from the start)."""

    counter: str
    day: int
    dial: int


def possible_slips(dial: Dial, rounds: Sequence[int], rng: Random) -> tuple[Slip, ...]:
    """A few values that were accepted although they were wrong, spread over the history."""
    return tuple(_possible_slip(dial, rounds, int(part * len(rounds)), rng) for part in _SLIPS_AT)


def impossible_slips(dial: Dial, rounds: Sequence[int], rng: Random) -> tuple[Slip, ...]:
    """One value or two of the last round that cannot be true. Raises LookupError where no dial lends itself."""
    wanted = 2 if rng.random() < _TWO_HELD else 1
    found = [
        slip
        for counter in rng.sample(_HELD_COUNTERS, len(_HELD_COUNTERS))
        if (slip := _impossible_slip(dial, rounds, counter))
    ]
    if not found:
        raise LookupError("No dial has neighbouring digits to swap.")
    return tuple(found[:wanted])


def _possible_slip(dial: Dial, rounds: Sequence[int], place: int, rng: Random) -> Slip:
    """A tens digit misread, so that the value still lies between its neighbours and the clock allows it."""
    before, day, after = rounds[place - 1 : place + 2]
    for counter in rng.sample(_SLIP_COUNTERS, len(_SLIP_COUNTERS)):
        right, low, high = (dial(counter, at) for at in (day, before, after))
        tens = right // (10 * SECONDS_PER_HOUR) % 10
        moved = [right + (digit - tens) * 10 * SECONDS_PER_HOUR for digit in range(10) if digit != tens]
        slowest = max(low, high - (after - day) * SECONDS_PER_DAY + _BEYOND_CLOCK)
        fastest = min(high, low + (day - before) * SECONDS_PER_DAY - _BEYOND_CLOCK)
        if possible := [value for value in moved if slowest <= value <= fastest]:
            return Slip(counter, day, rng.choice(possible))
    return _possible_slip(dial, rounds, place + 1, rng)


def _impossible_slip(dial: Dial, rounds: Sequence[int], counter: str) -> Slip | None:
    """Neighbouring digits swapped, so that the meter ran backwards or faster than the clock."""
    before, day = rounds[-2:]
    low, right = dial(counter, before), dial(counter, day)
    fastest = low + (day - before) * SECONDS_PER_DAY + _BEYOND_CLOCK
    swapped = [value for value in _swaps(right) if not low <= value <= fastest]
    return Slip(counter, day, min(swapped, key=lambda value: abs(value - right))) if swapped else None


def _swaps(right: int) -> Iterator[int]:
    """The dial value with two different neighbouring digits of its whole part swapped, once each."""
    digits, rest = str(right // SECONDS_PER_HOUR), right % SECONDS_PER_HOUR
    for n in range(len(digits) - 1):
        if digits[n] != digits[n + 1] and not (n == 0 and digits[1] == "0"):
            swapped = digits[:n] + digits[n + 1] + digits[n] + digits[n + 2 :]
            yield int(swapped) * SECONDS_PER_HOUR + rest
