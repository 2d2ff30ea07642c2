"""Loading serialised parts: what they are, and where they are with how many hours of their own."""

from __future__ import annotations

from typing import Any

from pmsched.domain.counts import HOURS
from pmsched.domain.limbs import write_amount
from pmsched.exchange.rows import PartRow
from pmsched.store.loaded_facts import version_now
from pmsched.store.opening import BEGINNING
from pmsched.store.tables import PART_MOVE, PART_REVISION
from pmsched.usecases.load_changes import Change, shown
from pmsched.usecases.load_definitions import define, identify
from pmsched.usecases.load_scene import Loading, key_of

_HEADINGS = {
    "machine_id": "machine",
    "moved_on": "since",
    "since_overhaul": "hours_since_overhaul",
    "since_new": "hours_since_new",
}


def load_parts(load: Loading) -> None:
    """The parts and their places."""
    for row in load.bundle.parts:
        part, new = identify(load, "parts", row.serial)
        changes = define(load, PART_REVISION, part, {"name": row.name})
        changes += _place(load, row, part)
        load.tally.saw("parts", row.serial, row, changes, new=new)


def _place(load: Loading, row: PartRow, part: int) -> list[Change]:
    """A later date in the file is a move; anything else that differs corrects where the part was said to be."""
    columns = {
        "machine_id": load.names.ids["machines"][key_of(row.machine)] if row.machine else None,
        "place": row.place,
        "moved_on": row.since or BEGINNING,
        "since_overhaul": row.since_overhaul_seconds,
        "since_new": row.since_new_seconds,
        "note": row.note or None,
    }
    moves = load.before.live_facts(PART_MOVE, "part_id").get(part, [])
    said = load.before.said_facts(PART_MOVE, "part_id").get(part, [])
    if not moves and not said:
        load.work.add(PART_MOVE, part_id=part, **columns)
        return []
    last = max(moves or said, key=lambda move: (move.moved_on, move.id))
    if (said and _agrees(said[-1], columns)) or (moves and _agrees(last, columns)):
        return []
    there = said[-1] if said else last
    now = version_now(load.connection, PART_MOVE, there.id)
    changes = [_change(load, name, now[name], value) for name, value in columns.items() if now[name] != value]
    if not changes:
        return []
    if columns["moved_on"] > there.moved_on:
        load.work.add(PART_MOVE, part_id=part, **columns)
    else:
        load.work.replace(PART_MOVE, now, load.reason, **columns)
    return changes


def _agrees(move: Any, columns: dict[str, Any]) -> bool:
    return all(getattr(move, name) == value for name, value in columns.items())


def _change(load: Loading, name: str, old: Any, new: Any) -> Change:
    return Change(_HEADINGS.get(name, name), _shown(load, name, old), _shown(load, name, new))


def _shown(load: Loading, name: str, value: Any) -> str:
    if value is None or value == BEGINNING:
        return ""
    if name == "machine_id":
        return load.names.code("machines", value)
    return write_amount(value, HOURS) if name in {"since_overhaul", "since_new"} else shown(value)
