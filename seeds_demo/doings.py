"""When every job was done, by the simulation's own simple arithmetic and with human scatter.

A calendar limit is the last doing plus the interval, or the next date of a grid; a counter limit is reached when the
hidden meters pass it. Knows nothing of reports in words, and nothing of the engine that the demo is to show.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time, timedelta
from random import Random

from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR
from pmsched.domain.periods import add_span
from pmsched.domain.rules import CalendarLimb, CountLimb
from seeds_demo.catalogue import Job, Source, counters
from seeds_demo.lines import Doing, Line
from seeds_demo.meters import Meters
from seeds_demo.voyage import State

_CAREFUL_DAYS = 60  # close to the end nobody is late by chance; what is overdue there is chosen
_LATE, _PROMPT = 0.04, 0.35
_SHORT_GRID_DAYS = 14
_MISSED = 0.02
_PLACE_SEARCH_DAYS = 20
_PLACE_SEARCH_DAYS_SHORT = 2
_ROUND_IS_KNOWN = time(14)
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

    def chance(self, *about: object) -> Random:
        """The source of chance for one matter; the same matter draws the same numbers every time."""
        return Random(f"{self._seed} {about}")

    def lines_of(self, job: Job) -> list[Line]:
        """All lines of a job with everything done up to yesterday."""
        rng = self.chance(job.code)
        lines = [Line(job, units) for units in job.lines]
        for n, place in enumerate(rng.sample(range(len(lines)), len(lines))):
            lines[n].doings.append(self._first(job, 0.03 + 0.9 * (place + rng.random()) / len(lines)))
        for line in lines:
            while (plan := self._next(line, rng)) and plan[0] <= self.yesterday:
                self.do(line, *plan)
        return lines

    def do(self, line: Line, on: date, mark: int) -> None:
        """Book one more doing on that day."""
        line.doings.append(self._book(line.job, on, mark))

    def _first(self, job: Job, elapsed: float) -> Doing:
        """The doing before the two years, with that part of the interval gone by at the start."""
        start = self.meters.start
        calendar = next((limb for limb in job.limbs if isinstance(limb, CalendarLimb)), None)
        counted = [limb for limb in job.limbs if isinstance(limb, CountLimb)]
        if job.counts_from == "grid" and calendar:
            return _unreported(_grid_from(job, calendar, start, self.meters.today), {})
        if any(job.sources[limb.unit].den > 1 for limb in counted):
            # A share is counted from the start; before it there is nothing that could be typed.
            return _unreported(
                start, {limb.unit: self.meters.offered(job.sources[limb.unit], 0, 0) for limb in counted}
            )
        rates = {limb.unit: self.meters.per_day(job.sources[limb.unit]) for limb in counted}
        if calendar:
            back = (add_span(start, calendar.every) - start).days * elapsed
        else:
            back = counted[0].amount * elapsed / rates[counted[0].unit]
        counts = {
            limb.unit: self._earlier(job.sources[limb.unit], int(min(limb.amount * elapsed, rates[limb.unit] * back)))
            for limb in counted
        }
        return _unreported(start - timedelta(days=1 + int(back)), counts)

    def _earlier(self, source: Source, gone: int) -> int:
        """The running total so much before the start, as whole hours or units."""
        counter = counters()[source.counter]
        total = counter.total - gone
        return total - total % (SECONDS_PER_HOUR if counter.meter.unit == HOURS else 1)

    def _next(self, line: Line, rng: Random) -> tuple[date, int] | None:
        """Day and mark of the next doing; None when a counter does not get there."""
        late = rng.uniform(0.005, 0.04) if rng.random() < _LATE else 0.0
        early = 0.0 if late or rng.random() < _PROMPT else rng.uniform(0, 0.10)
        mark = line.doings[-1].mark + 1
        days = []
        for limb in line.job.limbs:
            if isinstance(limb, CalendarLimb):
                mark = self._skip_missed(line, limb, mark, rng)
                days.append(self._calendar_day(line, limb, mark, early, late, rng))
            elif day := self._count_day(line, limb, mark, early, late, rng):
                days.append(day)
        if not days:
            return None
        return self._where_possible(line.job, max(min(days), line.doings[-1].on + timedelta(days=1)), line), mark

    def _skip_missed(self, line: Line, limb: CalendarLimb, mark: int, rng: Random) -> int:
        """The number of the next date of a short grid that was neither forgotten nor impossible."""
        if line.job.counts_from != "grid" or not 0 < limb.every.days <= _SHORT_GRID_DAYS:
            return mark
        missed = _MISSED / 3 if line.job.critical else _MISSED
        while (aim := line.aim_on(limb, mark)) < self._careful_from:
            day = (aim - self.meters.start).days
            near = range(day - _PLACE_SEARCH_DAYS_SHORT, day + _PLACE_SEARCH_DAYS_SHORT + 1)
            if any(self._can_be_done(line.job, at) for at in near) and rng.random() >= missed:
                break
            mark += 1
        return mark

    def _calendar_day(self, line: Line, limb: CalendarLimb, mark: int, early: float, late: float, rng: Random) -> date:
        aim = line.aim_on(limb, mark)
        length = (aim - add_span(aim, limb.every, -1)).days
        if length <= _SHORT_GRID_DAYS:
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
        wanted, last = ((at - self.meters.start).days for at in (day, line.doings[-1].on))
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
        """A doing with its report and the counts booked for it, which are those known when it is reported."""
        rng = self.chance(job.code, on)
        recorded_on = min(on + timedelta(days=rng.choices((0, 1, 2, 3), (60, 20, 12, 8))[0]), self.yesterday)
        evening = recorded_on == on or rng.random() < 0.6
        recorded_time = time(rng.randint(16, 21) if evening else rng.randint(7, 11), rng.randint(0, 59))
        day, known = ((moment - self.meters.start).days for moment in (on, recorded_on))
        known -= recorded_time < _ROUND_IS_KNOWN
        units = [limb.unit for limb in job.limbs if isinstance(limb, CountLimb)]
        typed = None
        if units == [HOURS] and max((at for at in self.meters.rounds if at <= known), default=0) < day:
            typed = self._typed(job.sources[HOURS], day, rng)
        counts = {unit: typed or self.meters.offered(job.sources[unit], day, known) for unit in units}
        return Doing(on, counts, mark, recorded_on, recorded_time, typed)

    def _typed(self, source: Source, day: int, rng: Random) -> int | None:
        """The running hours read off at the machine; only where the dial is the total and no slip is near."""
        counter = counters()[source.counter]
        near = any(
            abs(slip.day - day) < _SLIP_SHADOW_DAYS for slip in self.meters.slips if slip.counter == counter.code
        )
        if rng.random() > _TYPED or near or source.den > 1 or counter.dial != counter.total:
            return None
        return self.meters.total(counter.code, day)


def _unreported(on: date, counts: Mapping[str, int]) -> Doing:
    """A doing from before the register."""
    return Doing(on, counts, 0, on, time(12), None)


def _grid_from(job: Job, limb: CalendarLimb, start: date, today: date) -> date:
    """The last date before the start of a grid that is due the stated number of days after today."""
    due = today + timedelta(days=job.due_in_days)
    times = 0
    while (first := add_span(due, limb.every, -times)) >= start:
        times += 1
    return first
