"""What a deed moved on the due list: the standings before and after it, compared."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from sqlalchemy import Connection

from pmsched.domain.due import Standing
from pmsched.store.live import EVERYTHING, View
from pmsched.store.lookups import jobs
from pmsched.usecases.standings import standings
from pmsched.usecases.views import Scene

Snapshot = dict[tuple[int, str], Standing]


class Moved(NamedTuple):
    """A job unit whose standing changed: state words and dates before and after (None where there is no date)."""

    job: str
    unit: str
    title: str
    state_before: str
    state_after: str
    due_before: date | None
    due_after: date | None


def snapshot(connection: Connection, seen: Scene) -> Snapshot:
    """The standing of every job unit in this scene."""
    return {(found.job_id, found.unit): found.standing for found in standings(connection, seen)}


def moved_between(connection: Connection, before: Snapshot, after: Snapshot) -> tuple[Moved, ...]:
    """What differs between two snapshots, soonest new date first."""
    changed = [key for key, standing in after.items() if before.get(key) != standing]
    if not changed:
        return ()
    view = View(EVERYTHING, EVERYTHING, date.max)
    said = {job.id: job for job in jobs(connection, view, {job_id for job_id, _ in changed})}
    moved = [
        Moved(
            said[key[0]].code, key[1], said[key[0]].title,
            before[key].state.word if key in before else "", after[key].state.word,
            before[key].due_on if key in before else None, after[key].due_on,
        )
        for key in changed
    ]  # fmt: skip
    return tuple(sorted(moved, key=lambda m: (m.due_after or date.max, m.job, m.unit)))
