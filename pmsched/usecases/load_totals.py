"""Machines' running totals at many instants, from readings of this load and of the register, each counter read once."""

from __future__ import annotations

from typing import Any

from pmsched.domain.counters import Between, Point, total_at
from pmsched.usecases.counting import follows_by_machine, periods_of, points_of, totals_offered
from pmsched.usecases.load_scene import Loading
from pmsched.usecases.report_work import offered_columns


class Totals:
    """The totals that can be offered for doings. The readings of the load must be flushed."""

    def __init__(self, load: Loading) -> None:
        self._load = load
        self._periods = periods_of(load.connection, load.seen)
        self._follows = follows_by_machine(load.connection, load.seen)
        self._points: dict[int, list[Point]] = {}

    def kept(self, machine: int, at: int, typed: dict[str, int]) -> dict[str, dict[str, Any]]:
        """The totals to keep with a doing, as columns by unit: those typed, and the others as readings show them.

        Before the first reading nothing shows them; the day of the first reading is near enough.
        """
        found = {unit: offered_columns(unit, between) for unit, between in self._offered(machine, at).items()}
        for unit, total in typed.items():
            found[unit] = {"unit": unit, "total": total, "basis": "typed", "reading_1": None, "reading_2": None}
        return dict(sorted(found.items()))

    def _offered(self, machine: int, at: int) -> dict[str, Between]:
        day = self._load.seen.clock.ship_date(at)
        shown = {
            unit: rows
            for unit, rows in self._follows.get(machine, {}).items()
            if (points := self._points_of(rows[-1].counter_id)) and (points[0].at <= at or points[0].on == day)
        }
        if any(len(rows) > 1 for rows in shown.values()):
            # Where the counter was changed the totals must stay continuous; that sum is made in one place only.
            whole = totals_offered(self._load.connection, self._load.seen, machine, at)
            return {unit: whole[unit] for unit in shown if unit in whole}
        offered = {}
        for unit, (row,) in shown.items():
            if found := total_at(self._points_of(row.counter_id), at):
                offered[unit] = found._replace(total=found.total * row.share_num // row.share_den)
        return offered

    def _points_of(self, counter: int) -> list[Point]:
        if counter not in self._points:
            self._points[counter] = points_of(self._load.connection, self._load.seen, counter, self._periods)
        return self._points[counter]
