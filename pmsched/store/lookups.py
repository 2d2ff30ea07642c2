"""Things found by their codes, and what is said of them in force: people, machines, counters, jobs, clock, settings."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from sqlalchemy import BindParameter, Connection, Select, Table, bindparam, func, select

from pmsched.store.live import DAY, KNOWN, View, in_force, live
from pmsched.store.tables import (
    ALIAS,
    CLOCK_CHANGE,
    COUNTER,
    COUNTER_REVISION,
    ENTRY,
    JOB,
    JOB_REVISION,
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
    return iter(connection.execute(_CLOCK, {"known": known}))


def settings_rows(connection: Connection, view: View) -> Iterator[Found]:
    """Settings in force or once in force, oldest first: name, value."""
    return iter(connection.execute(_SETTINGS, view.binds()))


def site_row(connection: Connection, view: View) -> Found:
    """The site of this register: id, number, name; None before one is set up."""
    return connection.execute(_SITE, view.binds()).one_or_none()


def people(connection: Connection, view: View) -> Iterator[Found]:
    """People on the books: id, code, name, rank, department, active."""
    return iter(connection.execute(_PEOPLE.order_by(PERSON.c.id), view.binds()))


def person_by_code(connection: Connection, view: View, code: str) -> Found:
    """The person of that code (any case), as ``people`` gives them; None if there is none."""
    return connection.execute(_PERSON, {**view.binds(), "code": code.lower()}).first()


def machines(connection: Connection, view: View) -> Iterator[Found]:
    """Machines in walking order: id, code, name, parent_id, walking_order, critical, department, active."""
    return iter(connection.execute(_MACHINES, view.binds()))


def critical_machines(connection: Connection, view: View) -> set[int]:
    """The ids of machines whose sudden failure may be dangerous: every job on them is critical too."""
    return set(connection.execute(_CRITICAL, view.binds()).scalars())


def aliases(connection: Connection, view: View) -> Iterator[Found]:
    """Other names of machines: machine_id, name."""
    return iter(connection.execute(_ALIASES, view.binds()))


def counters(connection: Connection, view: View) -> Iterator[Found]:
    """Counters in walking order: id, code, machine_id, unit, name, reads, walking_order."""
    return iter(connection.execute(_COUNTERS, view.binds()))


def jobs(connection: Connection, view: View, ids: Iterable[int] | None = None) -> Iterator[Found]:
    """Jobs: id, code, machine_id and the revision in force; all of them, or those with the given ids."""
    statement = _JOBS if ids is None else _JOBS.where(JOB.c.id.in_(list(ids)))
    return iter(connection.execute(statement.order_by(JOB.c.id), view.binds()))


def job_by_code(connection: Connection, view: View, code: str) -> Found:
    """The job of that code (any case), as ``jobs`` gives it; None if there is none."""
    found = connection.execute(_JOB, {**view.binds(), "code": code}).first()
    return found or connection.execute(_JOB_IN_ANY_CASE, {**view.binds(), "code": code.lower()}).first()


def job_revisions(connection: Connection, view: View, job_id: int) -> list[Found]:
    """Every live revision of a job, in the order in which they act: valid_from, rule."""
    return list(connection.execute(_REVISIONS, {**view.binds(), "job": job_id}))


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


def _defined(identity: Table, revision: Table, *columns: Any) -> Select[Any]:
    """An identity with its revision in force."""
    said = [c for c in revision.columns if c.name not in _COMMON and c.name != f"{identity.name}_id"]
    return (
        select(identity.c.id, *columns, *said, revision.c.id.label("revision_id"))
        .select_from(identity)
        .join(revision, revision.c.id == in_force(revision, f"{identity.name}.id"))
        .where(identity.c.id <= KNOWN)
    )


_COMMON = frozenset({"id", "entry_id", "fact_id", "replaces_id", "struck", "reason"})
_CODE: BindParameter[str] = bindparam("code")
_JOB_ID: BindParameter[int] = bindparam("job")

# Made once: putting a statement together costs more than running it.
_CLOCK = (
    select(CLOCK_CHANGE.c.fact_id, CLOCK_CHANGE.c.at, CLOCK_CHANGE.c.offset_minutes)
    .where(live(CLOCK_CHANGE))
    .order_by(CLOCK_CHANGE.c.at, CLOCK_CHANGE.c.id)
)
_SETTINGS = (
    select(SETTING.c.name, SETTING.c.value)
    .where(live(SETTING), SETTING.c.valid_from <= DAY)
    .order_by(SETTING.c.valid_from, SETTING.c.id)
)
_SITE = _defined(SITE, SITE_REVISION, SITE.c.number).order_by(SITE.c.id).limit(1)
_PEOPLE = _defined(PERSON, PERSON_REVISION, PERSON.c.code)
_PERSON = _PEOPLE.where(func.lower(PERSON.c.code) == _CODE)
_MACHINES = _defined(MACHINE, MACHINE_REVISION, MACHINE.c.code).order_by(MACHINE_REVISION.c.walking_order, MACHINE.c.id)
_CRITICAL = _MACHINES.with_only_columns(MACHINE.c.id).where(MACHINE_REVISION.c.critical)
_ALIASES = select(ALIAS.c.machine_id, ALIAS.c.name).where(live(ALIAS)).order_by(ALIAS.c.id)
_COUNTERS = _defined(COUNTER, COUNTER_REVISION, COUNTER.c.code, COUNTER.c.machine_id, COUNTER.c.unit).order_by(
    COUNTER_REVISION.c.walking_order, COUNTER.c.id
)
_JOBS = _defined(JOB, JOB_REVISION, JOB.c.code, JOB.c.machine_id)
_JOB = _JOBS.where(JOB.c.code == _CODE)
_JOB_IN_ANY_CASE = _JOBS.where(func.lower(JOB.c.code) == _CODE)
_REVISIONS = (
    select(JOB_REVISION.c.valid_from, JOB_REVISION.c.rule)
    .where(JOB_REVISION.c.job_id == _JOB_ID, live(JOB_REVISION))
    .order_by(JOB_REVISION.c.valid_from, JOB_REVISION.c.id)
)
