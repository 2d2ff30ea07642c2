"""Things found by their codes, and what is said of them in force: people, machines, counters, jobs, clock, settings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import Connection, Select, Table, func, select

from pmsched.store.live import DAY, KNOWN, View, in_force, live
from pmsched.store.tables import (
    ALIAS,
    BOOK,
    CLOCK_CHANGE,
    COUNTER,
    COUNTER_REVISION,
    ENTRY,
    JOB,
    JOB_REVISION,
    JOB_UNIT,
    MACHINE,
    MACHINE_REVISION,
    PERSON,
    PERSON_REVISION,
    SETTING,
    SITE,
    SITE_REVISION,
)

Found = Any


def clock_changes(connection: Connection, known: int) -> Iterator[Found]:
    """Live changes of the ship's clock: fact_id, at, offset_minutes."""
    c = CLOCK_CHANGE
    statement = select(c.c.fact_id, c.c.at, c.c.offset_minutes).where(live(c)).order_by(c.c.at, c.c.id)
    return iter(connection.execute(statement, {"known": known}))


def settings_rows(connection: Connection, view: View) -> Iterator[Found]:
    """Settings in force or once in force, oldest first: name, value."""
    s = SETTING
    statement = select(s.c.name, s.c.value).where(live(s), s.c.valid_from <= DAY).order_by(s.c.valid_from, s.c.id)
    return iter(connection.execute(statement, view.binds()))


def site_row(connection: Connection, view: View) -> Found:
    """The site of this register: id, number, name."""
    statement = _defined(SITE, SITE_REVISION, SITE.c.number).order_by(SITE.c.id).limit(1)
    return connection.execute(statement, view.binds()).one_or_none()


def people(connection: Connection, view: View) -> Iterator[Found]:
    """People on the books: id, code, name, rank, department, active."""
    return iter(
        connection.execute(_defined(PERSON, PERSON_REVISION, PERSON.c.code).order_by(PERSON.c.id), view.binds())
    )


def machines(connection: Connection, view: View) -> Iterator[Found]:
    """Machines in walking order: id, code, name, parent_id, walking_order, critical, department, active."""
    order = (MACHINE_REVISION.c.walking_order, MACHINE.c.id)
    return iter(connection.execute(_defined(MACHINE, MACHINE_REVISION, MACHINE.c.code).order_by(*order), view.binds()))


def aliases(connection: Connection, view: View) -> Iterator[Found]:
    """Other names of machines: machine_id, name."""
    statement = select(ALIAS.c.machine_id, ALIAS.c.name).where(live(ALIAS)).order_by(ALIAS.c.id)
    return iter(connection.execute(statement, view.binds()))


def counters(connection: Connection, view: View) -> Iterator[Found]:
    """Counters in walking order: id, code, machine_id, unit, name, reads, walking_order."""
    columns = (COUNTER.c.code, COUNTER.c.machine_id, COUNTER.c.unit)
    order = (COUNTER_REVISION.c.walking_order, COUNTER.c.id)
    return iter(connection.execute(_defined(COUNTER, COUNTER_REVISION, *columns).order_by(*order), view.binds()))


def jobs(connection: Connection, view: View, ids: Iterable[int] | None = None) -> Iterator[Found]:
    """Jobs: id, code, machine_id and the revision in force; all of them, or those with the given ids."""
    statement = _defined(JOB, JOB_REVISION, JOB.c.code, JOB.c.machine_id).order_by(JOB.c.id)
    if ids is not None:
        statement = statement.where(JOB.c.id.in_(list(ids)))
    return iter(connection.execute(statement, view.binds()))


def job_by_code(connection: Connection, view: View, code: str) -> Found:
    """The job of that code (any case), as ``jobs`` gives it."""
    statement = _defined(JOB, JOB_REVISION, JOB.c.code, JOB.c.machine_id)
    return connection.execute(statement.where(func.lower(JOB.c.code) == code.lower()), view.binds()).first()


def units_of(connection: Connection, view: View, job_id: int) -> list[str]:
    """The units of a job that keep their own dates; one empty name for a job without units."""
    statement = select(JOB_UNIT.c.unit).where(JOB_UNIT.c.job_id == job_id, live(JOB_UNIT)).order_by(JOB_UNIT.c.id)
    return list(connection.execute(statement, view.binds()).scalars())


def job_revisions(connection: Connection, view: View, job_id: int) -> list[Found]:
    """Every live revision of a job, in the order in which they act: valid_from, rule."""
    r = JOB_REVISION
    statement = select(r.c.valid_from, r.c.rule).where(r.c.job_id == job_id, live(r)).order_by(r.c.valid_from, r.c.id)
    return list(connection.execute(statement, view.binds()))


def last_known(connection: Connection, instant: int) -> int:
    """The greatest id known at an instant; 0 before the first entry."""
    statement = (
        select(ENTRY.c.last_id)
        .where(ENTRY.c.recorded_at <= instant)
        .order_by(ENTRY.c.recorded_at.desc(), ENTRY.c.id.desc())
        .limit(1)
    )
    return connection.execute(statement).scalar_one_or_none() or 0


def entry_by_no(connection: Connection, no: int, book: int) -> Found:
    """An entry of a book by its number: id, last_id, recorded_at, deed."""
    e = ENTRY
    statement = select(e.c.id, e.c.last_id, e.c.recorded_at, e.c.deed).where(e.c.book == book, e.c.no == no)
    return connection.execute(statement).one_or_none()


def tip(connection: Connection, known: int) -> Found:
    """The last entry known: book, no, hash, recorded_at."""
    e = ENTRY
    statement = select(e.c.book, e.c.no, e.c.hash, e.c.recorded_at).where(e.c.id <= known).order_by(e.c.id.desc())
    return connection.execute(statement.limit(1)).one_or_none()


def highest_opening(connection: Connection) -> int:
    """The greatest opening number of any book known."""
    return int(connection.execute(select(func.max(BOOK.c.opening))).scalar_one())


def _defined(identity: Table, revision: Table, *columns: Any) -> Select[Any]:
    """An identity with its revision in force."""
    ruling = in_force(revision.alias("ruling"), identity.c.id, correlate=identity)
    said = [c for c in revision.columns if c.name not in _COMMON and c.name != f"{identity.name}_id"]
    return (
        select(identity.c.id, *columns, *said, revision.c.id.label("revision_id"))
        .select_from(identity)
        .join(revision, revision.c.id == ruling)
        .where(identity.c.id <= KNOWN)
    )


_COMMON = frozenset({"id", "entry_id", "fact_id", "replaces_id", "struck", "reason"})
