"""Where the ship is on each day, and how her clock follows.

Knows legs at sea, port calls, dockings, and clock changes by whole or half hours at night. Knows no machines.
"""

from __future__ import annotations

from datetime import date, time, timedelta
from random import Random
from typing import Literal, NamedTuple

from seeds_demo.events import ClockEvent

State = Literal["sea", "port", "dock"]

DOCKING_DAYS = 12
DAYS_BETWEEN_DOCKINGS = 913
FIRST_OFFSET = 60
"""Minutes east of UTC at which her clock stands on the first day."""
_DOCKS_AFTER = 0.15
# Clocks of the ports she calls at; she stays on one coast more often than not.
_PORT_OFFSETS = (60, 120, 0, 180, 330, 120, 60, -180)
_STAYS_ON_COAST = 0.7
_MOST_CHANGE_MINUTES = 210
_CHANGE_AT = time(2)


class Voyage(NamedTuple):
    """The state of every day, from the first on, and the clock changes."""

    states: tuple[State, ...]
    clock: tuple[ClockEvent, ...]


def sail(start: date, days: int, rng: Random) -> Voyage:
    """A voyage of that many days; she docks early in it, and every thirty months from then on."""
    states: list[State] = []
    offset = FIRST_OFFSET
    clock: list[ClockEvent] = []
    docks_on = days * _DOCKS_AFTER
    while len(states) < days:
        at_sea = rng.randint(5, 15)
        ahead = _next_offset(offset, rng)
        clock += _changes(start + timedelta(days=len(states)), at_sea, offset, ahead)
        offset = ahead
        states += ["sea"] * at_sea
        if len(states) > docks_on:
            states += ["dock"] * DOCKING_DAYS
            docks_on += DAYS_BETWEEN_DOCKINGS
        else:
            states += ["port"] * rng.randint(2, 4)
    last = start + timedelta(days=days - 1)
    return Voyage(tuple(states[:days]), tuple(change for change in clock if change.at_on < last))


def _next_offset(offset: int, rng: Random) -> int:
    ahead = rng.choice(_PORT_OFFSETS)
    if rng.random() < _STAYS_ON_COAST or abs(ahead - offset) > _MOST_CHANGE_MINUTES:
        return offset
    return ahead


def _changes(leaves: date, at_sea: int, offset: int, ahead: int) -> list[ClockEvent]:
    """One change a night, the smallest first, the nights spread over the leg."""
    towards = 1 if ahead > offset else -1
    steps = [60] * (abs(ahead - offset) // 60) + [30] * (abs(ahead - offset) % 60 // 30)
    changes = []
    for n, minutes in enumerate(steps):
        offset += towards * minutes
        night = leaves + timedelta(days=1 + n * (at_sea - 1) // len(steps))
        changes.append(ClockEvent(night, _CHANGE_AT, offset))
    return changes
