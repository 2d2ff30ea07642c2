"""Which facts a question sees: as of a time, known on a day, the ship's clock and the settings in force.

"As of T" takes facts known now whose own time is not after T. "Known on T" takes only what was known then (a date
means the end of that ship's day), computed as of T unless another moment is given. The two are never mixed.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import NamedTuple

from sqlalchemy import Connection

from pmsched.domain.clocks import ClockChange, ShipClock
from pmsched.domain.due import Settings
from pmsched.domain.errors import NotFound
from pmsched.exchange.dates import read_date, read_time
from pmsched.store.book import writing_book
from pmsched.store.live import EVERYTHING, View
from pmsched.store.lookups import clock_changes, entry_by_no, last_known, settings_rows
from pmsched.store.register import Register

_ENTRY = re.compile(r"^(?:entry\s+)?#?(\d{1,9})$")


class Asked(NamedTuple):
    """When a question is asked, and of what: ``now`` in UTC epoch seconds, the rest as typed."""

    now: int
    as_of: str | None = None
    known_on: str | None = None


@dataclass(frozen=True)
class Scene:
    """What a question sees: the view of the facts, the ship's clock and settings, and the moment answered for.

    ``of_now`` is false where the question is about another moment than that in which it is asked.
    """

    connection: Connection
    view: View
    clock: ShipClock
    of_now: bool = True

    @cached_property
    def settings(self) -> Settings:
        """The settings in force; asked for once, and only where they matter."""
        return settings_in_force(self.connection, self.view)._replace(skipped=self.clock.skipped_days())

    @property
    def standing_view(self) -> View:
        """The view for what stands until it is ended: of now, all of it, though the computer's clock was put back since."""
        return self.view._replace(until=EVERYTHING) if self.of_now else self.view

    @property
    def today(self) -> date:
        """The ship's date of the moment answered for."""
        return self.view.day


def scene(connection: Connection, asked: Asked) -> Scene:
    """The scene of a question. Raises Refusal for a time that cannot be read, NotFound for an unknown entry."""
    clock = ship_clock(connection, EVERYTHING)
    known, until = EVERYTHING, asked.now
    if asked.known_on is not None:
        known, until = _known(connection, clock, asked.known_on)
        clock = ship_clock(connection, known)
    if asked.as_of is not None:
        until = _instant(clock, asked.as_of)
    of_now = asked.as_of is None and asked.known_on is None
    return Scene(connection, View(known, until, clock.ship_date(until)), clock, of_now)


def ship_clock(connection: Connection, known: int) -> ShipClock:
    """The ship's clock as known at an id."""
    return ShipClock(ClockChange(row.at, row.offset_minutes) for row in clock_changes(connection, known))


def ship_clock_of(register: Register) -> ShipClock:
    """The ship's clock as known now."""
    with register.reading() as connection:
        return ship_clock(connection, EVERYTHING)


def settings_in_force(connection: Connection, view: View) -> Settings:
    """The settings in force; those never set keep their defaults."""
    given = {row.name: row.value for row in settings_rows(connection, view) if row.name in Settings._fields}
    return Settings(**given)


def _known(connection: Connection, clock: ShipClock, text: str) -> tuple[int, int]:
    if found := _ENTRY.match(text.strip()):
        row = entry_by_no(connection, int(found[1]), writing_book(connection))
        if row is None:
            raise NotFound("unknown-entry", f"There is no entry {found[1]}.", "See: pmsched history --entries.")
        return row.last_id, row.recorded_at
    until = _instant(clock, text)
    return last_known(connection, until), until


def _instant(clock: ShipClock, text: str) -> int:
    """A date (its end) or a date and time, in ship's time."""
    day, _, hour = text.strip().replace("T", " ").rpartition(" ")
    if day and ":" in hour:
        return clock.instant_of(read_date(day), read_time(hour))
    return clock.end_of_day(read_date(text))
