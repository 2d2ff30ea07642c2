"""How the rounds came into the register: typed on the day, or kept on a sheet and loaded at the end of the quarter.

And how wrong values among them were put right later. Knows the meters; knows no jobs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date, time, timedelta
from itertools import groupby
from random import Random

from seeds_demo.events import CorrectionEvent, RoundEvent, SheetEvent
from seeds_demo.meters import Meters
from seeds_demo.people import on_board
from seeds_demo.slips import Slip

_THIRD_WALKS = 0.15
_REASONS = (
    "misread by torch light, checked against the engine log",
    "tens digit written wrong, photo of the dial agrees with the log",
    "copied from the wrong line of the round sheet",
    "figure smeared on the sheet, log book says otherwise",
    "typed from memory, the dial was read again",
)


def rounds_typed(meters: Meters, from_on: date, rng: Random) -> Iterator[RoundEvent]:
    """The rounds from that date on: read at noon, entered within the hour, mostly by the fourth engineer."""
    for day in meters.rounds:
        if meters.date_of(day) >= from_on:
            rank = "Third engineer" if rng.random() < _THIRD_WALKS else "Fourth engineer"
            at = time(12, rng.randint(5, 55))
            yield RoundEvent(meters.date_of(day), at, on_board(rank, day, rng).code, meters.written(day))


def sheets_loaded(meters: Meters, until: date, rng: Random) -> Iterator[SheetEvent]:
    """The rounds before that date, quarter by quarter, each loaded in the evening of the quarter's last round."""
    before = (day for day in meters.rounds if meters.date_of(day) < until)
    for _quarter, days in groupby(before, key=lambda day: _quarter_of(meters.date_of(day))):
        rounds = tuple((meters.date_of(day), meters.written(day)) for day in days)
        last_on = rounds[-1][0]
        by = on_board("Fourth engineer", meters.day_of(last_on), rng).code
        yield SheetEvent(last_on, time(rng.randint(18, 21), rng.randint(0, 59)), by, rounds)


def _quarter_of(on: date) -> tuple[int, int]:
    return on.year, (on.month - 1) // 3


def corrections(meters: Meters, sheets: Iterable[SheetEvent], rng: Random) -> Iterator[CorrectionEvent]:
    """Wrong readings that were possible, found some time after the next round was in the register."""
    entered_on = {on: sheet.recorded_on for sheet in sheets for on, _ in sheet.rounds}
    for slip, reason in zip(meters.slips, _REASONS, strict=True):
        read_on = meters.date_of(slip.day)
        found = _next_round_in(meters, slip, entered_on) + timedelta(days=rng.randint(2, 9))
        by = on_board("Second engineer", meters.day_of(found), rng).code
        at = time(rng.randint(14, 17), rng.randint(0, 59))
        yield CorrectionEvent(found, at, by, slip.counter, read_on, meters.dial(slip.counter, slip.day), reason)


def _next_round_in(meters: Meters, slip: Slip, entered_on: dict[date, date]) -> date:
    following = meters.date_of(next(day for day in meters.rounds if day > slip.day))
    return entered_on.get(following, following)
