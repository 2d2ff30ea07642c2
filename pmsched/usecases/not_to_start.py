"""Which machines must not be started: the isolated ones, and everything that belongs to them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Connection

from pmsched.store.isolation_facts import standing_isolations
from pmsched.usecases.views import Scene


def must_not_start(connection: Connection, seen: Scene, places: Mapping[int, Any]) -> frozenset[int]:
    """Ids of the machines that are isolated, opened or not to be started, and of all that belongs to them.

    ``places`` are all machines by id, as ``lookups.machines`` gives them.
    """
    down = {row.machine_id for row in standing_isolations(connection, seen.standing_view)}
    if not down:
        return frozenset()
    parents = {machine.id: machine.parent_id for machine in places.values()}
    return frozenset(one for one in parents if down & set(_upwards(one, parents)))


def _upwards(one: int | None, parents: dict[int, int | None]) -> list[int]:
    path: list[int] = []
    while one is not None and one not in path:
        path.append(one)
        one = parents.get(one)
    return path
