"""The readings of the files as instants and dial values: which counter, when in UTC, and what its meter can show."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta, timezone
from typing import Any, NamedTuple

from pmsched.domain.clocks import from_datetime
from pmsched.domain.counts import Meter, parse_count
from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem
from pmsched.exchange.rows import CounterRow, ReadingRow
from pmsched.store.opening import BEGINNING
from pmsched.store.tables import COUNTER_REVISION
from pmsched.usecases.load_checks import check_known, problem, too_early
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.load_unread import Unread

_WITHOUT_TIME = time(12)
"""When a reading counts whose time is not written."""


class Given(NamedTuple):
    """A reading of the files: its row, instant, the ship's offset then, and the dial in base units."""

    row: ReadingRow
    at: int
    offset_minutes: int
    dial: int

    @property
    def shown_at(self) -> int:
        """What the ship's clock showed, as a count of seconds."""
        return self.at + self.offset_minutes * 60


class GivenReadings:
    """The readings that can be judged, by counter (its key) and in time order, and the problems of the others."""

    def __init__(self, load: Loading, unread: Unread) -> None:
        self._load = load
        self._unread = unread
        self.problems: list[Problem] = []
        self.by_counter: dict[str, list[Given]] = {}
        self.meters: dict[str, Meter] = {}
        for row in load.bundle.readings:
            self._take(row)
        for readings in self.by_counter.values():
            readings.sort(key=lambda one: one.at)

    @property
    def first_read(self) -> dict[str, int]:
        """The instant of the first reading of every counter."""
        return {counter: readings[0].at for counter, readings in self.by_counter.items()}

    def _take(self, row: ReadingRow) -> None:
        counter = key_of(row.counter)
        if (meter := self.meter_of(counter)) is None:
            self.problems += check_known(self._load, self._unread, "counters", row.counter, row, "counter")
            return
        at, offset = self._when(row)
        found = list(self._check_time(row, at))
        try:
            dial = parse_count(row.value, meter)
        except Refusal as refusal:
            found.append(problem(row, "value", refusal.code, refusal.message, refusal.hint))
        self.problems += found
        if not found:
            self.by_counter.setdefault(counter, []).append(Given(row, at, offset, dial))

    def _when(self, row: ReadingRow) -> tuple[int, int]:
        if row.offset_minutes is None:
            at = self._load.instant(row.read_on, row.time_of_day)
            return at, self._load.seen.clock.offset_at(at)
        zone = timezone(timedelta(minutes=row.offset_minutes))
        return from_datetime(datetime.combine(row.read_on, row.time_of_day, zone)), row.offset_minutes

    def _check_time(self, row: ReadingRow, at: int) -> Iterator[Problem]:
        if at > self._load.now:
            now = self._load.seen.clock.ship_time(self._load.now)
            message = f"The reading lies ahead of the ship's time, {now:%Y-%m-%d %H:%M}."
            hint = "Check the date and the time."
            if row.read_on == now.date() and row.time_of_day == _WITHOUT_TIME:
                hint = "Write its time in the column time; without one it counts at 12:00."
            yield problem(row, "read_on", "in-future", message, hint)
        elif row.read_on < BEGINNING:
            yield too_early(row, "read_on", row.read_on)

    def meter_of(self, counter: str) -> Meter | None:
        """The meter of a counter, by its key; None if there is no such counter."""
        if counter not in self.meters:
            row: CounterRow | None = self._load.names.rows["counters"].get(counter)
            there: Any = self._load.names.there["counters"].get(counter)
            if row is not None:
                self.meters[counter] = row.meter
            elif there is not None:
                self.meters[counter] = Meter(there.unit, self._load.before.last(COUNTER_REVISION)[there.id].reads)
        return self.meters.get(counter)
