"""Years of an invented vessel, ending today: the input files, and everything people entered since.

Pure and seeded: the same day and seed give the same history every time. Knows no clock, no register and no engine.
"""

from __future__ import annotations

from datetime import date
from random import Random

from pmsched.domain.periods import add_months
from seeds_demo.catalogue import jobs
from seeds_demo.doings import Crew
from seeds_demo.ending import settle
from seeds_demo.events import Ending, Event, Held, History, moment_of
from seeds_demo.meters import Meters
from seeds_demo.mistakes import with_mistakes
from seeds_demo.reports import reports
from seeds_demo.rounds import corrections, rounds_typed, sheets_loaded
from seeds_demo.tables import input_files
from seeds_demo.voyage import sail

MONTHS = 60
"""How long the history is."""
MONTHS_TYPED = 4
"""How long ago rounds began to be typed on the day; before that they were loaded quarter by quarter."""


def simulate(today: date, seed: int = 7, months: int = MONTHS) -> History:
    """The history up to the evening before ``today``.

    Args:
        today: the ship's date on which the demo is looked at; nothing has been done yet on it.
        seed: another seed gives another history of the same vessel.
        months: how long the history is; at least nine.
    """
    start = add_months(today, -months)
    rng = Random(f"{seed} voyage")
    voyage = sail(start, (today - start).days + 1, rng)
    meters = Meters(start, voyage.states, rng)
    crew = Crew(meters, voyage.states, seed)
    lines = [line for job in jobs() for line in crew.lines_of(job)]
    overdue, soon, isolated = settle(lines, crew, rng)
    typed_from = add_months(today, -MONTHS_TYPED).replace(day=1)
    sheets = list(sheets_loaded(meters, typed_from, rng))
    entered: list[Event] = [*voyage.clock, isolated, *sheets, *rounds_typed(meters, typed_from, rng)]
    entered += [*corrections(meters, sheets, rng), *with_mistakes(list(reports(lines, crew)), crew)]
    return History(
        files=input_files(lines, meters),
        start=start,
        events=tuple(sorted(entered, key=moment_of)),
        ending=Ending(overdue, soon, tuple(Held(slip.counter, slip.dial) for slip in meters.held), isolated),
    )
