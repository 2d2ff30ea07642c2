"""Serialised parts: where each one is now, and its own hours when it came there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, select

from pmsched.store.live import DAY, View, in_force, live
from pmsched.store.tables import PART, PART_MOVE, PART_REVISION


def parts_now(connection: Connection, view: View) -> Iterator[Any]:
    """The last live move of every part: serial, name, machine_id, place, moved_on, since_overhaul, since_new, note."""
    move, latest = PART_MOVE, PART_MOVE.alias("latest")
    last = (
        select(latest.c.id)
        .where(latest.c.part_id == PART.c.id, latest.c.moved_on <= DAY, live(latest))
        .order_by(latest.c.moved_on.desc(), latest.c.id.desc())
        .limit(1)
        .correlate(PART)
        .scalar_subquery()
    )
    ruling = in_force(PART_REVISION.alias("ruling"), PART.c.id, correlate=PART)
    statement = (
        select(
            PART.c.serial, PART_REVISION.c.name, move.c.machine_id, move.c.place, move.c.moved_on,
            move.c.since_overhaul, move.c.since_new, move.c.note,
        )
        .select_from(PART)
        .join(move, move.c.id == last)
        .outerjoin(PART_REVISION, PART_REVISION.c.id == ruling)
        .order_by(PART.c.id)
    )  # fmt: skip
    return iter(connection.execute(statement, view.binds()))
