"""Rebuild: a register whose tables are made anew from the bodies of its entries, and the comparison of two registers.

The bodies are the truth. A register whose rows were damaged is made whole by a rebuild; which book a copy writes in is
no fact and is not carried over, so a rebuilt register is read from, or restored.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection, RowMapping, Table, insert, select

from pmsched.domain.errors import RegisterUnusable
from pmsched.store.canonical import FORM, fact_from_body
from pmsched.store.register import Register
from pmsched.store.tables import APPEND_ONLY, ENTRY, FACTS

_CHUNK = 1000
_IDS = ("id", "book", "person_id", "last_id")
_BESIDE_BODY = ("prev_hash", "hash", "body")
_IN_BODY = tuple(name for name in ENTRY.columns.keys() if name not in _BESIDE_BODY)  # noqa: SIM118 - a collection of columns


class Difference(NamedTuple):
    """Where two registers differ: one value, or a whole row that only one of them has (column is then empty)."""

    table: str
    row_id: int
    column: str
    left: Any
    right: Any


def rebuild(source: Register, target: Path) -> None:
    """Make a new register at ``target`` from the bodies of ``source``, entry by entry.

    Raises:
        RegisterUnusable: the target exists, or a body cannot be read.
    """
    if target.exists():
        raise RegisterUnusable("target-exists", f"{target} exists already.", "Choose a name that is free.")
    with (
        Register(str(target), create=True) as made,
        source.reading() as old,
        made.engine.begin() as new,
    ):
        # An entry may refer to one of another book that comes later in the order of ids.
        new.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        entries = select(*(ENTRY.c[name] for name in _BESIDE_BODY)).order_by(ENTRY.c.id)
        for entry in old.execution_options(yield_per=_CHUNK).execute(entries).mappings():
            _add(new, entry)


def _add(connection: Connection, entry: RowMapping) -> None:
    try:
        body = json.loads(entry["body"])
        if body["form"] != FORM:
            raise RegisterUnusable("form-unknown", f"An entry is in form {body['form']}.", "Use the newer program.")
        header = {name: int(body[name]) if name in _IDS else body.get(name) for name in _IN_BODY}
        rows = {
            name: [fact_from_body(FACTS[name], fact, header["id"]) for fact in facts]
            for name, facts in body["facts"].items()
        }
    except (TypeError, ValueError, KeyError, AttributeError) as error:
        raise RegisterUnusable(
            "body-unreadable", f"The body of an entry cannot be read ({error}).", "Restore a back-up."
        ) from error
    connection.execute(insert(ENTRY), {**header, **entry})
    for name, facts in rows.items():
        connection.execute(insert(FACTS[name]), facts)


def tables_equal(left: Register, right: Register) -> list[Difference]:
    """Every difference between the facts and entries of two registers; empty when they are equal."""
    with left.reading() as one, right.reading() as other:
        return [
            difference
            for table in APPEND_ONLY.values()
            for difference in _differences(table, _rows(one, table), _rows(other, table))
        ]


def _rows(connection: Connection, table: Table) -> Iterator[RowMapping]:
    ordered = select(table).order_by(table.c.id)
    return iter(connection.execution_options(yield_per=_CHUNK).execute(ordered).mappings())


def _differences(table: Table, left: Iterator[RowMapping], right: Iterator[RowMapping]) -> Iterator[Difference]:
    """Both sides are in the order of their ids, so that a row of one side alone is seen as it passes."""
    one, other = next(left, None), next(right, None)
    while one is not None or other is not None:
        if other is None or (one is not None and one["id"] < other["id"]):
            yield _of_one_side(table, one, None)
            one = next(left, None)
        elif one is None or other["id"] < one["id"]:
            yield _of_one_side(table, None, other)
            other = next(right, None)
        else:
            for column in table.columns:
                if one[column.name] != other[column.name]:
                    yield Difference(table.name, one["id"], column.name, one[column.name], other[column.name])
            one, other = next(left, None), next(right, None)


def _of_one_side(table: Table, one: RowMapping | None, other: RowMapping | None) -> Difference:
    left, right = one and dict(one), other and dict(other)
    return Difference(table.name, (left or right or {})["id"], "", left, right)
