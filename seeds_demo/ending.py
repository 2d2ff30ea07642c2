"""The end of the history: some jobs overdue, some due today or soon, whatever the date.

Jobs become overdue by leaving out their last doing; too many due at once are done a day early. Judged by simple
arithmetic on the readings that were accepted, never by the engine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import date, timedelta
from random import Random
from typing import NamedTuple

from pmsched.domain.periods import Span, add_span
from pmsched.domain.rules import CalendarLimb, CountLimb
from seeds_demo.catalogue import Job
from seeds_demo.doings import Crew
from seeds_demo.lines import Line

_SOON_DAYS = 2
_MOST_DUE_SOON = 5
_MOST_LATE_DAYS = 40
_MOST_LATE_DAYS_CRITICAL = 12
_LATE_PART = (0.01, 0.25)
_TRIES = 4


class Outlook(NamedTuple):
    """How a line stands at the end.

    Attributes:
        overdue: past its limit.
        days_late: days past a calendar limit.
        part_late: part of a counter interval past its limit.
        aim_on: the date it is aimed at; None when use gives none.
    """

    overdue: bool
    days_late: int
    part_late: float
    aim_on: date | None


class _Kind(NamedTuple):
    """A kind of job of which so many are left overdue."""

    wanted: int
    fits: Callable[[Job], bool]


def _is_short(job: Job) -> bool:
    return any(isinstance(limb, CalendarLimb) and limb.every.days > 0 for limb in job.limbs)


def _is_counted(job: Job) -> bool:
    return any(isinstance(limb, CountLimb) for limb in job.limbs)


_LEFT_OVERDUE = (
    _Kind(1, lambda job: job.critical),
    _Kind(1, lambda job: not job.critical and _is_short(job)),
    _Kind(3, lambda job: not job.critical and _is_counted(job)),
    _Kind(2, lambda job: not job.critical and not _is_counted(job) and not _is_short(job)),
)


def settle(lines: Sequence[Line], crew: Crew, rng: Random) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Shape the end of the history; the codes of the jobs that are overdue and of those due soon."""
    for line in lines:
        _catch_up(line, crew, rng)
    overdue = _leave_overdue(lines, crew, rng)
    soon = due_soon((line for line in lines if line.job.code not in overdue), crew)
    _thin_out(soon, crew, rng)
    return tuple(sorted(overdue)), tuple(sorted({line.job.code for line in due_soon(soon, crew)}))


def due_soon(lines: Iterable[Line], crew: Crew) -> list[Line]:
    """The lines aimed at by the second day after today, and not overdue."""
    by = crew.meters.today + timedelta(days=_SOON_DAYS)
    looks = ((line, outlook(line, crew)) for line in lines)
    return [line for line, look in looks if not look.overdue and look.aim_on is not None and look.aim_on <= by]


def _thin_out(soon: Sequence[Line], crew: Crew, rng: Random) -> None:
    """Do some of the lines due soon a day early; those of several units first, as each unit stands on the list."""
    left = list(soon)
    order = sorted(rng.sample(soon, len(soon)), key=lambda line: (len(line.units) < 2, line.job.counts_from == "grid"))
    for line in order:
        if line.doings[-1].on < crew.yesterday and (
            len(line.units) > 1 or len({other.job.code for other in left}) > _MOST_DUE_SOON
        ):
            crew.do(line, crew.yesterday, line.doings[-1].mark + 1)
            left.remove(line)


def outlook(line: Line, crew: Crew, left_out: int = 0) -> Outlook:
    """How the line stands today, with the last so many doings left out."""
    known = Line(line.job, line.units, line.doings[: len(line.doings) - left_out])
    mark = known.doings[-1].mark + 1
    days_late, part_late = 0, 0.0
    aims = []
    for limb in line.job.limbs:
        if isinstance(limb, CalendarLimb):
            aim = known.aim_on(limb, mark)
            aims.append(aim)
            limit = add_span(aim, line.job.closes) if line.job.closes != Span() else aim
            days_late = max(days_late, (crew.meters.today - limit).days)
            continue
        source, target = line.job.sources[limb.unit], known.aim_count(limb, mark)
        late = crew.meters.last(source)[1] - target - line.job.margin(limb)
        part_late = max(part_late, late / limb.amount)
        day = crew.meters.expected_day(source, target)
        aims += [] if day is None else [crew.meters.date_of(day)]
    return Outlook(days_late > 0 or part_late > 0, days_late, part_late, min(aims, default=None))


def _catch_up(line: Line, crew: Crew, rng: Random) -> None:
    """Do a line that chance left overdue, in the last days."""
    for _ in range(_TRIES):
        if not outlook(line, crew).overdue:
            return
        last = line.doings[-1]
        on = max(last.on + timedelta(days=1), crew.yesterday - timedelta(days=rng.randint(0, 2)))
        if on > crew.yesterday:
            line.doings.pop()
            on = crew.yesterday
        crew.do(line, on, last.mark + 1)


def _leave_overdue(lines: Sequence[Line], crew: Crew, rng: Random) -> list[str]:
    """Leave out the last doing of some lines, of each kind so many, no two on one machine."""
    chosen: list[Line] = []
    candidates = [line for line in lines if _may_be_overdue(line, crew)]
    for kind in _LEFT_OVERDUE:
        fitting = [line for line in candidates if kind.fits(line.job)]
        wanted = len(chosen) + kind.wanted
        for line in rng.sample(fitting, len(fitting)):
            if len(chosen) < wanted and all(line.job.machine != other.job.machine for other in chosen):
                chosen.append(line)
                line.doings.pop()
    return [line.job.code for line in chosen]


def _may_be_overdue(line: Line, crew: Crew) -> bool:
    """Without its last doing the line would be late, but not unbelievably so."""
    if line.job.units or line.job.class_item or len(line.doings) < 2:
        return False
    look = outlook(line, crew, left_out=1)
    most_days = _MOST_LATE_DAYS_CRITICAL if line.job.critical else _MOST_LATE_DAYS
    low, high = _LATE_PART
    by_count = low < look.part_late < high or not look.part_late
    return look.overdue and by_count and look.days_late <= most_days
