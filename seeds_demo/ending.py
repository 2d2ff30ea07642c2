"""The end of the history: some jobs overdue, some due today or soon, one machine isolated, whatever the date.

Jobs become overdue by leaving out their last doing; too many due at once are done a day early. Judged by simple
arithmetic on the readings that were accepted, never by the engine.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from datetime import time, timedelta
from random import Random
from typing import NamedTuple

from seeds_demo.csv_files import Row, rows
from seeds_demo.doings import Crew
from seeds_demo.events import Isolation
from seeds_demo.lines import Line
from seeds_demo.outlook import Outlook, outlook
from seeds_demo.people import on_board

_SOON_DAYS = 2
_MOST_DUE_TODAY = 7
_MOST_DUE_SOON = 14
_MOST_LATE_DAYS = 40
_MOST_LATE_DAYS_CRITICAL = 12
_MOST_DAYS_PAST_AIM = 75
_LATE_PART = (0.01, 0.25)
_USUALLY_LATE_PART = 0.12
_TRIES = 4


class _Undone(NamedTuple):
    """A line as it would stand without its last doing."""

    line: Line
    look: Outlook

    @property
    def is_by_count(self) -> bool:
        """Late by a counter, and not by the calendar too."""
        return self.look.part_late > 0 and self.look.days_late <= 0

    @property
    def is_short(self) -> bool:
        """Of a job that comes every few days."""
        return self.line.job.calendar is not None and self.line.job.calendar.every.days > 0


class _Kind(NamedTuple):
    """A kind of job of which so many are left overdue: the fewest and the most."""

    wanted: tuple[int, int]
    fits: Callable[[_Undone], bool]


_LEFT_OVERDUE = (
    _Kind((0, 1), lambda one: one.line.job.critical),
    _Kind((1, 1), lambda one: not one.line.job.critical and one.is_short),
    _Kind((2, 3), lambda one: not one.line.job.critical and one.is_by_count),
    _Kind((2, 4), lambda one: not one.line.job.critical and not one.is_by_count and not one.is_short),
)


def settle(lines: Sequence[Line], crew: Crew, rng: Random) -> tuple[tuple[str, ...], tuple[str, ...], Isolation]:
    """Shape the end of the history; the codes of the jobs overdue and of those due soon, and what is isolated."""
    isolated = _isolate(lines, crew)
    for line in lines:
        _catch_up(line, crew, rng)
    at_work = [line for line in lines if line.job.machine != isolated.machine]
    overdue = _leave_overdue(at_work, crew, rng)
    on_time = [line for line in at_work if line.job.code not in overdue]
    _thin_out(due_by(on_time, crew, 0), _MOST_DUE_TODAY, crew, rng)
    _thin_out(due_by(on_time, crew, _SOON_DAYS), _MOST_DUE_SOON, crew, rng)
    soon = {line.job.code for line in due_by(lines, crew, _SOON_DAYS)}
    return tuple(sorted(overdue)), tuple(sorted(soon - set(overdue))), isolated


def due_by(lines: Iterable[Line], crew: Crew, days: int) -> list[Line]:
    """The lines aimed at by so many days after today, and not overdue."""
    by = crew.meters.today + timedelta(days=days)
    looks = ((line, outlook(line, crew.meters)) for line in lines)
    return [line for line, look in looks if not look.overdue and look.aim_on is not None and look.aim_on <= by]


def _isolate(lines: Iterable[Line], crew: Crew) -> Isolation:
    """The first machine of the file on which nothing was done since it is said to be isolated, nor needs to be.

    Raises:
        LookupError: there is none.
    """
    for row in rows("isolations.csv"):
        found = _isolation(row, crew)
        own = [line for line in lines if line.job.machine == found.machine]
        if all(line.doings[-1].on < found.since_on and not outlook(line, crew.meters).overdue for line in own):
            return found
    raise LookupError("No machine can stand isolated.")


def _isolation(row: Row, crew: Crew) -> Isolation:
    since = crew.meters.today - timedelta(days=int(row["days_ago"]))
    by = on_board(row["rank"], crew.meters.day_of(since), crew.chance("isolated")).code
    return Isolation(row["machine"], row["why"], row["tag"], since, time.fromisoformat(row["time"]), by)


def _thin_out(due: Sequence[Line], most: int, crew: Crew, rng: Random) -> None:
    """Do some of the lines due a day early; those of several units first, as each unit stands on the list."""
    left = list(due)
    for line in sorted(rng.sample(due, len(due)), key=lambda line: -len(line.units)):
        if len(left) <= most:
            return
        if line.doings[-1].on < crew.yesterday:
            crew.do(line, crew.yesterday, line.doings[-1].mark + 1)
            left.remove(line)


def _catch_up(line: Line, crew: Crew, rng: Random) -> None:
    """Do a line that chance left overdue, in the last days."""
    for _ in range(_TRIES):
        if not outlook(line, crew.meters).overdue:
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
    could_be = [_Undone(line, outlook(line, crew.meters, left_out=1)) for line in lines if _may_be_undone(line)]
    candidates = [one for one in could_be if _is_believable(one, crew)]
    for kind in _LEFT_OVERDUE:
        fitting = [one for one in candidates if kind.fits(one)]
        wanted = len(chosen) + rng.randint(*kind.wanted)
        drawn = rng.sample(fitting, len(fitting))
        for one in sorted(drawn, key=lambda one: one.look.part_late > _USUALLY_LATE_PART):
            if len(chosen) < wanted and all(one.line.job.machine != other.job.machine for other in chosen):
                chosen.append(one.line)
                one.line.doings.pop()
    return [line.job.code for line in chosen]


def _may_be_undone(line: Line) -> bool:
    """One day's work, of which there is an earlier doing, and not for class."""
    return len(line.units) < 2 and not line.job.class_item and len(line.doings) > 1


def _is_believable(one: _Undone, crew: Crew) -> bool:
    """The line would be late, but not so late that somebody would have noticed."""
    look = one.look
    most_days = _MOST_LATE_DAYS_CRITICAL if one.line.job.critical else _MOST_LATE_DAYS
    low, high = _LATE_PART
    past_aim = (crew.meters.today - look.aim_on).days if look.aim_on else 0
    return (
        look.overdue
        and (low < look.part_late < high or look.part_late <= 0)
        and look.days_late <= most_days
        and past_aim <= _MOST_DAYS_PAST_AIM
    )
