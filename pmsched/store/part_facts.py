"""Serialised parts: where each one is now, and its own hours when it came there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, select

from pmsched.store.live import View, in_force, latest
from pmsched.store.tables import PART, PART_MOVE, PART_REVISION


def parts_now(connection: Connection, view: View) -> Iterator[Any]:
    """The last live move of every part: serial, name, machine_id, place, moved_on, since_overhaul, since_new, note."""
    move = PART_MOVE
    last = latest(PART_MOVE, "seek.part_id = part.id AND seek.moved_on <= :day", "seek.moved_on DESC, seek.id DESC")
    statement = (
        select(
            PART.c.serial, PART_REVISION.c.name, move.c.machine_id, move.c.place, move.c.moved_on,
            move.c.since_overhaul, move.c.since_new, move.c.note,
        )
        .select_from(PART)
        .join(move, move.c.id == last)
        .outerjoin(PART_REVISION, PART_REVISION.c.id == in_force(PART_REVISION, "part.id"))
        .order_by(PART.c.id)
    )  # fmt: skip
    return iter(connection.execute(statement, view.binds()))
