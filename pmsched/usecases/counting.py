"""The running totals machines count by, from readings, meter periods and who counts on whose counter."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from datetime import time
from itertools import pairwise
from typing import Any

from sqlalchemy import Connection

from pmsched.domain.clocks import date_shown
from pmsched.domain.counters import (
    Between,
    Count,
    MeterPeriod,
    Point,
    count_of,
    period_at,
    rate_between,
    total_at,
)
from pmsched.store.due_facts import counter_rows, counts_on, held_counters, meter_periods, readings_of
from pmsched.store.reading_facts import around, last_two
from pmsched.usecases.views import Scene

MachineCounts = dict[int, dict[str, Count]]
Periods = Mapping[int, list[MeterPeriod]]


def machine_counts(connection: Connection, scene: Scene) -> MachineCounts:
    """Every machine's counts by unit, as last read."""
    periods = periods_of(connection, scene)
    shown = counter_counts(connection, scene, periods)
    counts: MachineCounts = defaultdict(dict)
    for machine_id, follows in follows_by_machine(connection, scene).items():
        for unit, rows in follows.items():
            count = shown.get(rows[-1].counter_id)
            if count is not None:
                counts[machine_id][unit] = _followed(connection, scene, rows, count)
    return counts


def counter_counts(connection: Connection, scene: Scene, periods: Periods) -> dict[int, Count]:
    """The count of every counter that was ever read."""
    window = scene.settings.rate_window_days
    held = held_counters(connection, scene.view)
    counts = {}
    for (
        counter_id,
        _unit,
        _reads,
        last_id,
        at,
        offset,
        dial,
        first_id,
        first_at,
        first_offset,
        first_dial,
    ) in counter_rows(connection, scene.view, window):
        if last_id is None:
            continue
        own = periods.get(counter_id, ())
        last = _point(own, last_id, at, offset, dial)
        if first_id == last_id:
            # The last reading stands alone in its window: use is measured from the one before it, wherever that is.
            count = count_of(_points(own, last_two(connection, scene.view, counter_id)), window)
        else:
            count = Count(
                last.total, last.on, rate_between(_point(own, first_id, first_at, first_offset, first_dial), last)
            )
        if count is not None:
            counts[counter_id] = count._replace(held=True) if counter_id in held else count
    return counts


def points_of(connection: Connection, scene: Scene, counter_id: int, periods: Periods) -> list[Point]:
    """The accepted readings of one counter as running totals, oldest first."""
    return _points(periods.get(counter_id, ()), readings_of(connection, scene.view, counter_id))


def totals_offered(connection: Connection, scene: Scene, machine_id: int, instant: int) -> dict[str, Between]:
    """What the machine's totals were at an instant, by unit, with the readings they rest on."""
    offered = {}
    for unit, rows in follows_by_machine(connection, scene, machine_id).get(machine_id, {}).items():
        acting = [row for row in rows if _begins(scene, row) <= instant] or rows[:1]
        found = _counter_at(connection, scene, acting[-1].counter_id, instant)
        if found is not None:
            offered[unit] = _shared(found, acting[-1], _offset(connection, scene, acting))
    return offered


def units_counted(connection: Connection, scene: Scene, machine_id: int) -> set[str]:
    """The units of the counters a machine counts on."""
    return set(follows_by_machine(connection, scene, machine_id).get(machine_id, {}))


def _shared(found: Between, row: Any, offset: int) -> Between:
    """A counter's total at an instant as that of a machine that takes a share of it."""

    def share(amount: int) -> int:
        return amount * int(row.share_num) // int(row.share_den) + offset

    high = None if found.high is None else share(found.high)
    return found._replace(total=share(found.total), low=share(found.low), high=high)


def _begins(scene: Scene, row: Any) -> int:
    """The instant from which a machine counts on a counter: the beginning of that ship's date."""
    return scene.clock.instant_of(row.from_on, time())


def periods_of(connection: Connection, scene: Scene, counter_id: int | None = None) -> Periods:
    """Meter periods by counter, oldest first; of one counter or of all."""
    periods: dict[int, list[MeterPeriod]] = defaultdict(list)
    for row in meter_periods(connection, scene.view, counter_id):
        periods[row.counter_id].append(MeterPeriod(*row[1:]))
    return periods


def follows_by_machine(
    connection: Connection, scene: Scene, machine_id: int | None = None
) -> dict[int, dict[str, list[Any]]]:
    """Whose counters a machine counts on, by unit, oldest first; of one machine or of all."""
    follows: dict[int, dict[str, list[Any]]] = defaultdict(lambda: defaultdict(list))
    for row in counts_on(connection, scene.view, machine_id):
        follows[row.machine_id][row.unit].append(row)
    return follows


def _followed(connection: Connection, scene: Scene, rows: list[Any], count: Count) -> Count:
    now = rows[-1]
    if len(rows) == 1 and now.share_num == now.share_den:
        return count
    return count.shared(now.share_num, now.share_den, _offset(connection, scene, rows))


def _offset(connection: Connection, scene: Scene, rows: list[Any]) -> int:
    """What keeps a machine's total continuous where it changes the counter, or the share, that it counts on."""
    offset = 0
    for before, after in pairwise(rows):
        instant = _begins(scene, after)
        ends = _counter_at(connection, scene, before.counter_id, instant)
        starts = _counter_at(connection, scene, after.counter_id, instant)
        reached = (ends.total if ends else 0) * before.share_num // before.share_den + offset
        offset = reached - (starts.total if starts else 0) * after.share_num // after.share_den
    return offset


def _counter_at(connection: Connection, scene: Scene, counter_id: int, instant: int) -> Between | None:
    """A counter's running total at an instant, from the readings next to it."""
    periods = periods_of(connection, scene, counter_id).get(counter_id, ())
    return total_at(_points(periods, around(connection, scene.view, counter_id, instant)), instant)


def _points(periods: Any, rows: Iterable[Any]) -> list[Point]:
    return [
        _point(periods, row.fact_id, row.read_at, row.offset_minutes, row.dial)._replace(
            estimated=row.status == "stand-in"
        )
        for row in rows
    ]


def _point(periods: Any, reading: int, at: int, offset_minutes: int, dial: int) -> Point:
    period = period_at(periods, at)
    return Point(at, date_shown(at, offset_minutes), period.total(dial) if period else dial, reading=reading)
