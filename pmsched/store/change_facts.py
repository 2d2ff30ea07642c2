"""What was said of machines, counters, jobs and settings, version by version, each with the one that stood before it.

Streamed in the order written. What stood before is what was known when the version was signed: the version that it
replaces, or else what acted on the day from which it acts. What the differences mean is not known here.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping
from heapq import merge
from typing import Any, NamedTuple

from sqlalchemy import Connection, Select, Table, bindparam, func, literal_column, null, select

from pmsched.store.live import KNOWN, live
from pmsched.store.streams import streamed
from pmsched.store.tables import (
    ALIAS,
    CLOSING,
    CLOSING_COUNT,
    COUNTER,
    COUNTER_REVISION,
    COUNTS_ON,
    ENTRY,
    JOB,
    JOB_REVISION,
    JOB_UNIT,
    MACHINE,
    MACHINE_REVISION,
    METER_PERIOD,
    PERSON,
    SETTING,
)

_BEFORE = "before_"
# Enough for what was said about a deed; a longer one is fetched whole.
_BEGINNING_OF_BODY = 65_536
_ABOUT = b'{"about":'


class Version(NamedTuple):
    """One version of a fact, with its entry.

    Attributes:
        table: the fact's table; ``closing`` for a stated start.
        row: its columns.
        before: the columns of what stood before; None if nothing did.
        came_with_owner: what it is about (a job, say) was entered in the same entry.
        signed: book, no, recorded_at, recorded_offset, deed, signer, signed_as, last_id of its entry.
    """

    table: str
    row: Mapping[str, Any]
    before: Mapping[str, Any] | None
    came_with_owner: bool
    signed: Mapping[str, Any]


def versions(connection: Connection, known: int) -> Iterator[Version]:
    """Every version known, in the order written."""
    streams = (_versions_of(connection, name, known) for name in _STATEMENTS)
    return merge(*streams, key=lambda version: version.row["id"])


def reason_of_deed(connection: Connection, entry_id: int) -> str:
    """The reason given for a whole deed, such as a load; empty without one."""
    beginning = connection.execute(_BODY_BEGINNING, {"entry": entry_id}).scalar_one()
    if not beginning.startswith(_ABOUT):
        return ""
    try:
        about, _ = json.JSONDecoder().raw_decode(beginning[len(_ABOUT) :].decode(errors="ignore"))
    except ValueError:
        about = json.loads(connection.execute(_BODY, {"entry": entry_id}).scalar_one())["about"]
    return str(about.get("reason", ""))


def typed_totals(connection: Connection, closing: int, known: int) -> dict[str, int]:
    """The totals that were typed for a stated start (by its fact id), by unit, as known at an id."""
    rows = connection.execute(_TYPED, {"closing": closing, "known": known})
    return {row.unit: row.total for row in rows}


def _versions_of(connection: Connection, name: str, known: int) -> Iterator[Version]:
    table, statement = _STATEMENTS[name]
    columns = [column.name for column in table.columns]
    for found in streamed(connection, statement, {"known": known}):
        said = found._mapping  # noqa: SLF001 - SQLAlchemy's public accessor
        row = {column: said[column] for column in columns}
        before = {column: said[_BEFORE + column] for column in columns} if said[_BEFORE + "id"] is not None else None
        yield Version(name, row, before, said["owner_entry"] == row["entry_id"], {key: said[key] for key in _SIGNED})


_SIGNED = ("book", "no", "recorded_at", "recorded_offset", "deed", "signer", "signed_as", "last_id")


def _statement(table: Table, owner: Table | None = None, acting: str = "NULL") -> Select[Any]:
    """Every version of a table with the one before it.

    Args:
        table: of what.
        owner: what it is about; found by its id.
        acting: SQL for the id of what acted before, for a version that replaces none.
    """
    before = table.alias("before")
    joined = (
        table.join(ENTRY, ENTRY.c.id == table.c.entry_id)
        .outerjoin(PERSON, PERSON.c.id == ENTRY.c.person_id)
        .outerjoin(before, before.c.id == func.coalesce(table.c.replaces_id, literal_column(acting)))
    )
    if owner is not None:
        joined = joined.outerjoin(owner, owner.c.id == table.c[f"{owner.name}_id"])
    return (
        select(
            table, *(column.label(_BEFORE + column.name) for column in before.columns),
            (null() if owner is None else owner.c.entry_id).label("owner_entry"),
            ENTRY.c.book, ENTRY.c.no, ENTRY.c.last_id, ENTRY.c.recorded_at,
            ENTRY.c.offset_minutes.label("recorded_offset"), ENTRY.c.deed,
            PERSON.c.code.label("signer"), ENTRY.c.rank.label("signed_as"),
        )
        .select_from(joined)
        .where(table.c.id <= KNOWN)
        .order_by(table.c.id)
    )  # fmt: skip


def _acting(table: Table, same: str, since: str = "valid_from") -> str:
    """SQL for the id of the version that acted before a row of the table, as known when the row was signed."""
    name = table.name
    return (
        f"(SELECT seek.id FROM {name} AS seek WHERE {same} AND seek.{since} <= {name}.{since} AND seek.id < {name}.id"  # noqa: S608 - ours
        f" AND NOT seek.struck AND NOT EXISTS (SELECT 1 FROM {name} AS newer WHERE newer.replaces_id = seek.id"
        f" AND newer.id < {name}.id) ORDER BY seek.{since} DESC, seek.id DESC LIMIT 1)"
    )


def _revisions(table: Table, owner: Table) -> tuple[Table, Select[Any]]:
    same = f"seek.{owner.name}_id = {table.name}.{owner.name}_id"
    return table, _statement(table, owner, _acting(table, same))


_SAME_UNIT = (
    "seek.machine_id = counts_on.machine_id AND (SELECT unit FROM counter WHERE counter.id = seek.counter_id)"
    " = (SELECT unit FROM counter WHERE counter.id = counts_on.counter_id)"
)
_STATEMENTS = {
    "machine_revision": _revisions(MACHINE_REVISION, MACHINE),
    "alias": (ALIAS, _statement(ALIAS, MACHINE)),
    "counts_on": (COUNTS_ON, _statement(COUNTS_ON, MACHINE, _acting(COUNTS_ON, _SAME_UNIT, "from_on"))),
    "counter_revision": _revisions(COUNTER_REVISION, COUNTER),
    "meter_period": (METER_PERIOD, _statement(METER_PERIOD, COUNTER)),
    "job_revision": _revisions(JOB_REVISION, JOB),
    "job_unit": (JOB_UNIT, _statement(JOB_UNIT, JOB)),
    # What has no report is a stated start; the others are work done.
    "closing": (CLOSING, _statement(CLOSING, JOB).where(CLOSING.c.report_id.is_(None))),
    "setting": (SETTING, _statement(SETTING, None, _acting(SETTING, "seek.name = setting.name"))),
}
_BODY_BEGINNING = select(func.substr(ENTRY.c.body, 1, _BEGINNING_OF_BODY)).where(ENTRY.c.id == bindparam("entry"))
_BODY = select(ENTRY.c.body).where(ENTRY.c.id == bindparam("entry"))
_TYPED = select(CLOSING_COUNT.c.unit, CLOSING_COUNT.c.total).where(
    CLOSING_COUNT.c.closing_id == bindparam("closing"), CLOSING_COUNT.c.basis == "typed", live(CLOSING_COUNT)
)
