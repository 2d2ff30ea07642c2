"""When every job was done, by the simulation's own simple arithmetic and with human scatter.

A calendar limit is the last doing plus the interval, or the next date of a grid; a counter limit is reached when the
hidden meters pass it. Knows nothing of reports in words, and nothing of the engine that the demo is to show.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, time, timedelta
from random import Random

from pmsched.domain.counts import HOURS
from pmsched.domain.rules import CalendarLimb, CountLimb
from seeds_demo.beginnings import first_doing
from seeds_demo.catalogue import counters
from seeds_demo.jobs import Job, Source
from seeds_demo.lines import Doing, Line
from seeds_demo.meters import Meters
from seeds_demo.voyage import State

_CAREFUL_DAYS = 60  # close to the end nobody is late by chance; what is overdue there is chosen
_LATE, _PROMPT = 0.04, 0.35
_SHORT_DAYS = 14
_MISSED = 0.02
_PLACE_SEARCH_DAYS = 20
_PLACE_SEARCH_DAYS_SHORT = 2
_TYPED = 0.6
_SLIP_SHADOW_DAYS = 30


class Crew:
    """Does the jobs of a vessel and books them.

    Args:
        meters: what was really counted, and what is known of it.
        states: where the ship was on each day.
        seed: names the source of chance; each job draws from its own.
    """

    def __init__(self, meters: Meters, states: tuple[State, ...], seed: int) -> None:
        self.meters = meters
        self.states = states
        self.yesterday = meters.today - timedelta(days=1)
        self._careful_from = meters.today - timedelta(days=_CAREFUL_DAYS)
        self._seed = seed
        docked = [state == "dock" for state in states]
        self._dockings = [day for day, now in enumerate(docked) if now and not docked[day - 1]]

    def chance(self, *about: object) -> Random:
        """The source of chance for one matter; the same matter draws the same numbers every time."""
        return Random(f"{self._seed} {about}")

    def lines_of(self, job: Job) -> list[Line]:
        """All lines of a job with everything done up to yesterday."""
        rng = self.chance(job.code)
        lines = [Line(job, units) for units in job.lines]
        for n, place in enumerate(rng.sample(range(len(lines)), len(lines))):
            gone = 0.03 + 0.9 * (place + rng.random()) / len(lines)
            lines[n].doings.append(first_doing(job, gone, self.meters, self._dockings))
        for line in lines:
            while (plan := self._next(line, rng)) and plan[0] <= self.yesterday:
                self.do(line, *plan)
        return lines

    def do(self, line: Line, on: date, mark: int) -> None:
        """Book one more doing on that day."""
        line.doings.append(self._book(line.job, on, mark))

    def _next(self, line: Line, rng: Random) -> tuple[date, int] | None:
        """Day and mark of the next doing; None when a counter or a docking does not come."""
        mark = line.doings[-1].mark + 1
        earliest = max(line.doings[-1].on, self.meters.start) + timedelta(days=1)
        if line.job.place == "in dry dock":
            docks_on = next((day for day in self._dockings if self.meters.date_of(day) >= earliest), None)
            return None if docks_on is None else (self.meters.date_of(docks_on + rng.randint(2, 9)), mark)
        late = rng.uniform(0.005, 0.04) if rng.random() < _LATE else 0.0
        early = 0.0 if late or rng.random() < _PROMPT else rng.uniform(0, 0.10)
        calendar = line.job.calendar
        if calendar:
            mark = self._skip_missed(line, calendar, mark, rng)
        days = list(self._days(line, mark, early, late, rng))
        return (self._where_possible(line.job, max(min(days), earliest), line), mark) if days else None

    def _days(self, line: Line, mark: int, early: float, late: float, rng: Random) -> Iterator[date]:
        """The day for each limit, where there is one."""
        for limb in line.job.limbs:
            if isinstance(limb, CalendarLimb):
                yield self._calendar_day(line, limb, mark, early, late, rng)
            elif day := self._count_day(line, limb, mark, early, late, rng):
                yield day

    def _skip_missed(self, line: Line, limb: CalendarLimb, mark: int, rng: Random) -> int:
        """The number of the next date of a short grid that was neither forgotten nor impossible."""
        if line.job.counts_from != "grid" or not 0 < limb.every.days <= _SHORT_DAYS:
            return mark
        missed = _MISSED / 3 if line.job.critical else _MISSED
        while (aim := line.aim_on(limb, mark)) < self._careful_from:
            day = self.meters.day_of(aim)
            near = range(day - _PLACE_SEARCH_DAYS_SHORT, day + _PLACE_SEARCH_DAYS_SHORT + 1)
            if any(self._can_be_done(line.job, at) for at in near) and rng.random() >= missed:
                break
            mark += 1
        return mark

    def _calendar_day(self, line: Line, limb: CalendarLimb, mark: int, early: float, late: float, rng: Random) -> date:
        aim = line.aim_on(limb, mark)
        length = limb.every.days + limb.every.months * 30
        if length <= _SHORT_DAYS:
            # Where the place decides, the day moves later on; more would run into the next date of the grid.
            offset = rng.choices((-1, 0, 1, 2), (14, 76, 8, 2))[0] if line.job.place == "anywhere" else 0
        else:
            offset = -min(14, int(early * length)) or max(int(late > 0), int(late * length))
        if aim >= self._careful_from:
            offset = min(offset, 0)
        if aim > self.yesterday and line.job.counts_from == "grid":
            offset = 0
        return aim + timedelta(days=offset)

    def _count_day(self, line: Line, limb: CountLimb, mark: int, early: float, late: float, rng: Random) -> date | None:
        aim, margin = line.aim_count(limb, mark), line.job.margin(limb)
        target = aim + int((late - early) * limb.amount)
        if margin:
            target = aim + int(rng.uniform(-0.85, 0.7) * margin)
        day = self.meters.first_day_at(line.job.sources[limb.unit], target)
        if target > aim and (day is None or self.meters.date_of(day) >= self._careful_from):
            day = self.meters.first_day_at(line.job.sources[limb.unit], aim - limb.amount // 100)
        return None if day is None else self.meters.date_of(day)

    def _where_possible(self, job: Job, day: date, line: Line) -> date:
        """The nearest day after the last doing on which the ship is where the job can be done."""
        wanted, last = self.meters.day_of(day), max(0, self.meters.day_of(line.doings[-1].on))
        for step in range(_PLACE_SEARCH_DAYS):
            for at in (wanted - step, wanted + step):
                if last < at and self._can_be_done(job, at):
                    return self.meters.date_of(at)
        return day

    def _can_be_done(self, job: Job, day: int) -> bool:
        if job.place == "anywhere" or not 0 <= day < len(self.states):
            return True
        return (self.states[day] == "sea") == (job.place == "at sea")

    def _book(self, job: Job, on: date, mark: int) -> Doing:
        """A doing with its report and its counts, which are worked out again when the next round comes."""
        rng = self.chance(job.code, on)
        recorded_on = min(on + timedelta(days=rng.choices((0, 1, 2, 3), (60, 20, 12, 8))[0]), self.yesterday)
        evening = recorded_on == on or rng.random() < 0.6
        recorded_time = time(rng.randint(16, 21) if evening else rng.randint(7, 11), rng.randint(0, 59))
        day = self.meters.day_of(on)
        units = [limb.unit for limb in job.counted]
        typed = self._typed(job.sources[HOURS], day, rng) if units == [HOURS] else None
        counts = {unit: typed or self.meters.offered(job.sources[unit], day) for unit in units}
        return Doing(on, counts, mark, recorded_on, recorded_time, typed)

    def _typed(self, source: Source, day: int, rng: Random) -> int | None:
        """The running hours read off at the machine; only where the dial is the total and no slip is near."""
        counter = counters()[source.counter]
        near = any(
            abs(slip.day - day) < _SLIP_SHADOW_DAYS for slip in self.meters.slips if slip.counter == counter.code
        )
        on_a_round = day in self.meters.rounds
        if rng.random() > _TYPED or near or on_a_round or source.den > 1 or counter.dial != counter.total:
            return None
        return self.meters.total(counter.code, day)
