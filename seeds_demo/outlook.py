"""How a line stands at the end of the history: the last doing plus the interval against today and the last readings."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR
from pmsched.domain.rules import CalendarLimb
from seeds_demo.lines import Line
from seeds_demo.meters import Meters

# Counts between two rounds are worked out by days here and by seconds elsewhere: what is that close counts as past.
_NEARLY_SECONDS = 3 * SECONDS_PER_HOUR


class Outlook(NamedTuple):
    """How a line stands at the end.

    Attributes:
        overdue: past its limit, or so close to it by hours that it cannot be told here.
        days_late: days past a calendar limit.
        part_late: part of a counter interval past its limit; less than 0 before it.
        aim_on: the date it is aimed at; None when use gives none.
    """

    overdue: bool
    days_late: int
    part_late: float
    aim_on: date | None


def outlook(line: Line, meters: Meters, left_out: int = 0) -> Outlook:
    """How the line stands today, with the last so many doings left out."""
    known = Line(line.job, line.units, line.doings[: len(line.doings) - left_out])
    mark = known.doings[-1].mark + 1
    days_late, part_late, overdue = 0, -1.0, False
    aims = []
    for limb in line.job.limbs:
        if isinstance(limb, CalendarLimb):
            aim = known.aim_on(limb, mark)
            aims.append(aim)
            days_late = max(days_late, (meters.today - line.job.limit(limb, aim)).days)
            continue
        source, target = line.job.sources[limb.unit], known.aim_count(limb, mark)
        late = meters.last(source)[1] - target - line.job.margin(limb)
        overdue |= late > (-_NEARLY_SECONDS if limb.unit == HOURS else 0)
        part_late = max(part_late, late / limb.amount)
        day = meters.expected_day(source, target)
        aims += [] if day is None else [meters.date_of(day)]
    return Outlook(overdue or days_late > 0, days_late, part_late, min(aims, default=None))
