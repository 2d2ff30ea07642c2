"""Two years of an invented vessel, ending today: the input files, and everything people entered since.

Pure and seeded: the same day and seed give the same history every time. Knows no clock, no register and no engine.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, time, timedelta
from random import Random

from pmsched.domain.periods import add_months
from seeds_demo.catalogue import first_of, jobs
from seeds_demo.doings import Crew
from seeds_demo.ending import settle
from seeds_demo.events import CorrectionEvent, Ending, Event, History, ReportEvent, RoundEvent, moment_of
from seeds_demo.lines import Doing, Line
from seeds_demo.meters import Meters
from seeds_demo.tables import input_files
from seeds_demo.voyage import sail
from seeds_demo.words import Writer, condition_found, reporter

_MONTHS = 24
_THIRD_WALKS = 0.15
_TIME_NOTED = 0.25
_REASONS = (
    "misread by torch light, checked against the engine log",
    "tens digit written wrong, photo of the dial agrees with the log",
    "copied from the wrong line of the round sheet",
)


def simulate(today: date, seed: int = 7) -> History:
    """Two years of history up to the evening before ``today``.

    Args:
        today: the ship's date on which the demo is looked at; nothing has been done yet on it.
        seed: another seed gives another history of the same vessel.
    """
    start = add_months(today, -_MONTHS)
    rng = Random(f"{seed} voyage")
    voyage = sail(start, (today - start).days + 1, rng)
    meters = Meters(start, voyage.states, rng)
    crew = Crew(meters, voyage.states, seed)
    lines = [line for job in jobs() for line in crew.lines_of(job)]
    overdue, soon = settle(lines, crew, rng)
    entered: list[Event] = [*voyage.clock, *_rounds(meters, rng), *_corrections(meters, rng), *_reports(lines, crew)]
    return History(
        files=input_files(lines, meters),
        start=start,
        events=tuple(sorted(entered, key=moment_of)),
        ending=Ending(overdue, soon, meters.held.counter, meters.held.dial),
    )


def _rounds(meters: Meters, rng: Random) -> Iterator[RoundEvent]:
    """Read on Sundays at noon, entered within the hour, mostly by the fourth engineer."""
    for day in meters.rounds:
        by = first_of("Third engineer" if rng.random() < _THIRD_WALKS else "Fourth engineer").code
        yield RoundEvent(meters.date_of(day), time(12, rng.randint(5, 55)), by, meters.written(day))


def _corrections(meters: Meters, rng: Random) -> Iterator[CorrectionEvent]:
    """Wrong readings that were possible, found some time after the next round."""
    for slip, reason in zip(meters.slips, _REASONS, strict=True):
        found = meters.date_of(slip.day) + timedelta(days=rng.randint(8, 17))
        at = time(rng.randint(14, 17), rng.randint(0, 59))
        right = meters.dial(slip.counter, slip.day)
        yield CorrectionEvent(
            found, at, first_of("Second engineer").code, slip.counter, meters.date_of(slip.day), right, reason
        )


def _reports(lines: Iterable[Line], crew: Crew) -> Iterator[ReportEvent]:
    """One report for all units of a job that were done on the same day, in the order of reporting."""
    together: dict[tuple[str, date], list[tuple[Line, Doing]]] = {}
    for line in lines:
        for doing in line.doings[1:]:
            together.setdefault((line.job.code, doing.on), []).append((line, doing))
    writer = Writer()
    in_order = sorted(together.values(), key=lambda done: (done[0][1].recorded_on, done[0][1].recorded_time))
    for done in in_order:
        yield _report(done, crew, writer)


def _report(done: Sequence[tuple[Line, Doing]], crew: Crew, writer: Writer) -> ReportEvent:
    job, doing = done[0][0].job, done[0][1]
    rng = crew.chance("report", job.code, doing.on)
    condition = condition_found(job, rng)
    noted = doing.typed is None and not doing.counts and rng.random() < _TIME_NOTED
    return ReportEvent(
        recorded_on=doing.recorded_on,
        recorded_time=doing.recorded_time,
        by=reporter(job, rng),
        job=job.code,
        units=tuple(unit for line, _ in done for unit in line.units),
        done_on=doing.on,
        done_time=time(rng.randint(8, 15), rng.choice((0, 15, 30, 45))) if noted else None,
        count=doing.typed,
        condition=condition,
        remarks=writer.remark(job, condition, rng),
    )
