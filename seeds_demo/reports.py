"""The reports of what was done: who wrote them, for whom, and what they say.

Knows lines and their doings; decides nothing about when work is done.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from datetime import date, time
from random import Random

from seeds_demo.doings import Crew
from seeds_demo.events import ReportEvent
from seeds_demo.jobs import Job
from seeds_demo.lines import Doing, Line
from seeds_demo.people import Person, on_board
from seeds_demo.words import Writer, condition_found, is_wordless

_TIME_NOTED = 0.25
_STAND_IN = 0.08
_RARELY_LOG_IN = {"Fitter", "Motorman", "Able seaman", "Bosun", "Cook"}
_OFFICERS = {
    "engine": ("Second engineer", "Third engineer", "Fourth engineer"),
    "electrical": ("Electrician", "Second engineer"),
    "deck": ("Chief mate", "Second mate", "Third mate"),
    "hotel": ("Chief mate",),
}


def reports(lines: Iterable[Line], crew: Crew) -> Iterator[ReportEvent]:
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
    day = crew.meters.day_of(doing.recorded_on)
    signs = reporter(job, day, rng)
    does = on_board(job.rank, day, rng)
    return ReportEvent(
        recorded_on=doing.recorded_on,
        recorded_time=doing.recorded_time,
        by=signs.code,
        job=job.code,
        units=tuple(unit for line, _ in done for unit in line.units),
        done_on=doing.on,
        done_time=time(rng.randint(8, 15), rng.choice((0, 15, 30, 45))) if noted else None,
        done_by=does.name if job.rank in _RARELY_LOG_IN and signs != does else "",
        count=doing.typed,
        condition=condition,
        remarks="" if is_wordless(job, condition, rng) else writer.remark(job, condition, rng),
    )


def reporter(job: Job, day: int, rng: Random) -> Person:
    """The person who reports: of the rank that does the job, or an officer for those who rarely log in."""
    rank = job.rank
    if rank in _RARELY_LOG_IN or rng.random() < _STAND_IN:
        rank = rng.choice(_OFFICERS[job.department])
    return on_board(rank, day, rng)
