"""What loads brought in, and what stands now: to compare a file with what it said last time, not with the present.

Facts of one entry have ids in one stretch, so what loads wrote is found by key, whatever else the tables hold.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import BindParameter, Connection, Table, bindparam, select

from pmsched.store.live import EVERYTHING, live
from pmsched.store.tables import CLOSING, CLOSING_COUNT, ENTRY, READING

LOAD_DEED = "load register"
"""The deed of the entries by which files are loaded."""

_CHUNK = 500
_FIRST: BindParameter[int] = bindparam("first")
_LAST: BindParameter[int] = bindparam("last")
_COUNTER: BindParameter[int] = bindparam("counter")


class Loads:
    """The stretches of ids that loads wrote; loads that follow each other make one."""

    def __init__(self, connection: Connection) -> None:
        statement = select(ENTRY.c.id, ENTRY.c.last_id).where(ENTRY.c.deed == LOAD_DEED).order_by(ENTRY.c.id)
        self._connection = connection
        self._stretches: list[tuple[int, int]] = []
        for first, last in connection.execute(statement):
            if self._stretches and self._stretches[-1][1] + 1 == first:
                self._stretches[-1] = (self._stretches[-1][0], last)
            else:
                self._stretches.append((first, last))
        self._firsts = [first for first, _ in self._stretches]

    def wrote(self, version_id: int) -> bool:
        """Whether a load wrote that version."""
        at = bisect_right(self._firsts, version_id) - 1
        return at >= 0 and version_id <= self._stretches[at][1]

    def rows(self, table: Table) -> Iterator[Any]:
        """Every version of a kind of fact that loads wrote, in the order written."""
        written = table.c.id.between(ENTRY.c.id, ENTRY.c.last_id)
        # An outer join is worked out from its left side: a few loads, and by key the facts of each.
        statement = select(table).select_from(ENTRY).outerjoin(table, written).where(ENTRY.c.deed == LOAD_DEED)
        found = self._connection.execute(statement.order_by(table.c.id))
        return (row for row in found if row.id is not None)


def live_rows(connection: Connection, table: Table) -> Iterator[Any]:
    """Every live row of a kind of fact, in the order written."""
    return iter(connection.execute(select(table).where(live(table)).order_by(table.c.id), {"known": EVERYTHING}))


def revisions_at_last(connection: Connection, table: Table) -> dict[int, Any]:
    """By owner, the live revision that acts last, whether or not its day has come."""
    owner = table.c[f"{table.name.removesuffix('_revision')}_id"]
    statement = select(table).where(live(table)).order_by(table.c.valid_from, table.c.id)
    return {row._mapping[owner.name]: row for row in connection.execute(statement, {"known": EVERYTHING})}  # noqa: SLF001 - SQLAlchemy's public accessor


def identities(connection: Connection, table: Table) -> list[Any]:
    """Every person, machine, counter, job or part: the row that names it for life."""
    return list(connection.execute(select(table).order_by(table.c.id)))


def version_now(connection: Connection, table: Table, version_id: int) -> dict[str, Any]:
    """The newest version of a fact, struck or not, from any version of it."""
    statement = select(table.c.id).where(table.c.replaces_id == bindparam("before"))
    newest = version_id
    while (later := connection.execute(statement, {"before": newest}).scalar_one_or_none()) is not None:
        newest = later
    return dict(connection.execute(select(table).where(table.c.id == newest)).mappings().one())


def reading_versions(connection: Connection, counter_id: int, first: int, last: int) -> list[Any]:
    """Every version of the readings of one counter between two instants, in the order written."""
    binds = {"counter": counter_id, "first": first, "last": last}
    return list(connection.execute(_READINGS, binds))


def first_reading_at(connection: Connection, counter_id: int) -> Any:
    """The instant of the first accepted reading of a counter; None without one."""
    return connection.execute(_FIRST_READING, {"counter": counter_id, "known": EVERYTHING}).scalar_one_or_none()


def closed_units(connection: Connection, job_ids: Iterable[int]) -> dict[tuple[int, str], set[int]]:
    """The kinds of live closing that the units of these jobs have."""
    wanted, found = list(job_ids), dict[tuple[int, str], set[int]]()
    c = CLOSING
    for start in range(0, len(wanted), _CHUNK):
        chunk = wanted[start : start + _CHUNK]
        statement = select(c.c.job_id, c.c.unit, c.c.kind).distinct().where(c.c.job_id.in_(chunk), live(c))
        for job_id, unit, kind in connection.execute(statement, {"known": EVERYTHING}):
            found.setdefault((job_id, unit), set()).add(kind)
    return found


def readings_under_counts(connection: Connection, counter_id: int) -> list[int]:
    """The readings of a counter (by fact id) on which totals kept with doings rest."""
    k, r = CLOSING_COUNT, READING
    bases = [
        select(r.c.fact_id).select_from(k).join(r, r.c.id == column).where(r.c.counter_id == counter_id, live(k))
        for column in (k.c.reading_1, k.c.reading_2)
    ]
    found = (row for base in bases for row in connection.execute(base, {"known": EVERYTHING}).scalars())
    return sorted(set(found))


_READINGS = (
    select(READING)
    .where(READING.c.counter_id == _COUNTER, READING.c.read_at.between(_FIRST, _LAST))
    .order_by(READING.c.id)
)
_FIRST_READING = (
    select(READING.c.read_at)
    .where(READING.c.counter_id == _COUNTER, READING.c.status == "accepted", live(READING))
    .order_by(READING.c.read_at)
    .limit(1)
)
