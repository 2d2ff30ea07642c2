"""Ask the watch: what must be done before the watch ends, in bands, and what waits beside it."""

from __future__ import annotations

from datetime import date, time, timedelta
from typing import NamedTuple

from pmsched.domain.due import State
from pmsched.store.due_facts import counter_rows
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueFilter, DueRow, Header, due_rows_of, header
from pmsched.usecases.ask_open import OpenLine, open_lines
from pmsched.usecases.views import Asked, Scene, scene

_WATCH_HOURS = 24
_WEEK_DAYS = 7


class Band(NamedTuple):
    """A part of the watch's list: its name and its lines, most urgent first."""

    name: str
    rows: tuple[DueRow, ...]


class Watch(NamedTuple):
    """The watch.

    Attributes:
        header: site, ship's date, seal.
        bands: overdue, today, and what follows within the reach asked for; empty bands are left out.
        ends_on: the ship's date on which the watch ends, at the hour set.
        held: how many readings wait to be settled.
        oldest_days: age in days of the oldest last reading of any counter; None where none was ever read.
        open: what is open now: machines not to be started, held readings, jobs of which only some units are done.
        looked_at: how many job units there are in all.
    """

    header: Header
    bands: tuple[Band, ...]
    ends_on: date
    ends_at: time
    held: int
    oldest_days: int | None
    open: tuple[OpenLine, ...] = ()
    looked_at: int = 0


def watch(register: Register, asked: Asked, reach: str = "watch", department: str | None = None) -> Watch:
    """The watch's list.

    Args:
        register: the open register.
        asked: the moment.
        reach: ``watch`` (until the watch ends), ``week`` (seven days) or ``all``.
        department: only its jobs; None shows every department.
    """
    with register.reading() as connection:
        seen = scene(connection, asked)
        ends_on, ends_at = _watch_end(seen)
        rows, looked_at = due_rows_of(connection, seen, DueFilter(within_days=None, department=department))
        last = {"watch": ends_on, "week": seen.today + timedelta(days=_WEEK_DAYS)}.get(reach)
        bands = _bands(rows, ends_on, last)
        readings = [row for row in counter_rows(connection, seen.view, seen.settings.rate_window_days) if row[3]]
        ages = [(seen.today - seen.clock.ship_date(row[4])).days for row in readings]
        opened = open_lines(connection, seen, rows)
        held = sum(line.kind == "held" for line in opened)
        oldest = max(ages, default=None)
        return Watch(header(connection, seen, asked), bands, ends_on, ends_at, held, oldest, opened, looked_at)


def _watch_end(seen: Scene) -> tuple[date, time]:
    """The next time at which a watch ends; watches of a duty engineer last a day."""
    hour = time(seen.settings.watch_ends_minutes // 60, seen.settings.watch_ends_minutes % 60)
    now = seen.clock.ship_time(seen.view.until)
    day = seen.today if now.time() < hour else seen.today + timedelta(hours=_WATCH_HOURS)
    return day, hour


def _bands(rows: list[DueRow], ends_on: date, last: date | None) -> tuple[Band, ...]:
    overdue = [r for r in rows if r.standing.state >= State.PAST_DUE_BY_ESTIMATE]
    due = [r for r in rows if r.standing.state is State.DUE]
    rest = [r for r in rows if r.standing.state < State.DUE]
    soon = [r for r in rest if r.due_on is not None and r.due_on <= ends_on]
    later = [r for r in rest if r not in soon and (last is None or (r.due_on is not None and r.due_on <= last))]
    named = (
        ("overdue", overdue),
        ("today", due),
        ("before the watch ends", soon),
        ("after it" if last is None else f"until {last}", later if last is None or last > ends_on else []),
    )
    return tuple(Band(name, tuple(lines)) for name, lines in named if lines)
