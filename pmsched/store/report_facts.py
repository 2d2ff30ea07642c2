"""Reports and closings one by one, and the history of jobs with every version kept."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from sqlalchemy import ColumnElement, Connection, Table, and_, bindparam, exists, func, select

from pmsched.domain.aims import DoingKind
from pmsched.store.live import EVERYTHING, KNOWN, UNTIL, View, live
from pmsched.store.streams import streamed
from pmsched.store.tables import CLOSING, CLOSING_COUNT, ENTRY, JOB_UNIT, PERSON, READING, REPORT


def version_of(connection: Connection, table: Table, fact_or_version: int) -> Any:
    """The newest version of a fact, struck or not; None if there is none."""
    fact = select(table.c.fact_id).where(table.c.id == fact_or_version).scalar_subquery()
    statement = select(table).where(table.c.fact_id == fact).order_by(table.c.id.desc()).limit(1)
    return connection.execute(statement).one_or_none()


def report_of_entry(connection: Connection, entry_id: int) -> Any:
    """The report that an entry added; None if it added none."""
    return connection.execute(select(REPORT).where(REPORT.c.entry_id == entry_id)).first()


def closings_of_report(connection: Connection, report: int) -> list[Any]:
    """The newest versions of a report's closings (by its fact id), struck ones too."""
    return _newest(connection, CLOSING, CLOSING.c.report_id == report)


def counts_of_closing(connection: Connection, closing: int) -> list[Any]:
    """The newest versions of a closing's counts (by its fact id), struck ones too."""
    return _newest(connection, CLOSING_COUNT, CLOSING_COUNT.c.closing_id == closing)


def _newest(connection: Connection, table: Table, condition: Any) -> list[Any]:
    newer = table.alias()
    statement = select(table).where(condition, ~exists().where(newer.c.replaces_id == table.c.id)).order_by(table.c.id)
    return list(connection.execute(statement))


def closings_with_counts(connection: Connection, view: View, job_ids: list[int] | None = None) -> Iterator[Any]:
    """Live closings with their totals, streamed in the order done; one row per counted unit, adjacent for one closing.

    Columns: fact_id, job_id, unit, kind, done_on, done_at, report_id, counted, total, basis.
    """
    c, k = CLOSING, CLOSING_COUNT.alias("k")
    statement = (
        select(
            c.c.fact_id, c.c.job_id, c.c.unit, c.c.kind, c.c.done_on, c.c.done_at, c.c.report_id,
            k.c.unit.label("counted"), k.c.total, k.c.basis,
        )
        .select_from(c)
        .outerjoin(k, and_(k.c.closing_id == c.c.fact_id, live(k)))
        .where(c.c.done_at <= UNTIL, live(c))
        .order_by(c.c.done_at, c.c.id, k.c.unit)
    )  # fmt: skip
    if job_ids is not None:
        statement = statement.where(c.c.job_id.in_(job_ids))
    return streamed(connection, statement, view.binds())


def units_on_day(connection: Connection, job_id: int, day: date) -> dict[str, int | None]:
    """The units of a job, each with the number of the entry that reported it done on that ship's date, if one did."""
    rows = connection.execute(_UNITS_ON_DAY, {"known": EVERYTHING, "job": job_id, "on": day})
    return {row.unit: row.no for row in rows}


def done_on_day(connection: Connection, job_id: int, unit: str, day: date) -> int | None:
    """The number of the entry that reported that job unit done on that ship's date; None if none did."""
    return units_on_day(connection, job_id, day).get(unit)


def report_versions(
    connection: Connection,
    view: View,
    job_ids: list[int] | None = None,
    first: date | None = None,
    last: date | None = None,
) -> Iterator[Any]:
    """Every known version of reports, streamed in the order done and then written, with its entry.

    Also ``replaced`` (a later version known replaces it), and ``reported_at`` with ``reported_offset``: when its first
    version was signed; None for the first version itself.

    Args:
        connection: the register.
        view: what the question sees.
        job_ids: of these jobs only.
        first: done on this ship's date or later.
        last: done on this ship's date or earlier.
    """
    statement = (
        select(
            REPORT, *_SIGNED, _replaced(REPORT),
            _REPORTED.c.recorded_at.label("reported_at"), _REPORTED.c.offset_minutes.label("reported_offset"),
        )
        .select_from(REPORT)
        .join(ENTRY, ENTRY.c.id == REPORT.c.entry_id)
        .join(PERSON, PERSON.c.id == ENTRY.c.person_id)
        # Only later versions have another one before them: the others are spared the look.
        .outerjoin(_FIRST, and_(REPORT.c.replaces_id.is_not(None), _FIRST.c.id == REPORT.c.fact_id))
        .outerjoin(_REPORTED, _REPORTED.c.id == _FIRST.c.entry_id)
        .where(REPORT.c.id <= KNOWN, REPORT.c.done_at <= UNTIL)
        .order_by(REPORT.c.done_at, REPORT.c.id)
    )  # fmt: skip
    if job_ids is not None:
        statement = statement.where(REPORT.c.job_id.in_(job_ids))
    if first is not None:
        statement = statement.where(REPORT.c.done_on >= first)
    if last is not None:
        statement = statement.where(REPORT.c.done_on <= last)
    return streamed(connection, statement, {"known": view.known, "until": view.until})


def reading_versions(connection: Connection, view: View, counter_id: int) -> Iterator[Any]:
    """Every known version of a counter's readings, streamed in the order read and then written, with its entry.

    Also ``replaced``: a later version known replaces it.
    """
    statement = (
        select(READING, *_SIGNED, _replaced(READING))
        .select_from(READING)
        .join(ENTRY, ENTRY.c.id == READING.c.entry_id)
        .join(PERSON, PERSON.c.id == ENTRY.c.person_id)
        .where(READING.c.counter_id == bindparam("counter"), READING.c.id <= KNOWN, READING.c.read_at <= UNTIL)
        .order_by(READING.c.read_at, READING.c.fact_id, READING.c.id)
    )
    return streamed(connection, statement, {"known": view.known, "until": view.until, "counter": counter_id})


def entries(connection: Connection, view: View) -> Iterator[Any]:
    """Every known entry, streamed in the order written, with its signer."""
    statement = (
        select(ENTRY.c.book, ENTRY.c.id, ENTRY.c.last_id, ENTRY.c.hash, *_SIGNED)
        .select_from(ENTRY)
        .outerjoin(PERSON, PERSON.c.id == ENTRY.c.person_id)
        .where(ENTRY.c.id <= KNOWN, ENTRY.c.recorded_at <= UNTIL)
        .order_by(ENTRY.c.id)
    )
    return streamed(connection, statement, {"known": view.known, "until": view.until})


def count_of(connection: Connection, table: Table, view: View) -> int:
    """About how many rows an answer from this table has: all versions known. For telling how far it is."""
    return connection.execute(select(func.count()).select_from(table).where(table.c.id <= view.known)).scalar_one()


def _replaced(table: Table) -> ColumnElement[bool]:
    newer = table.alias()
    return exists().where(newer.c.replaces_id == table.c.id, newer.c.id <= KNOWN).label("replaced")


_SIGNED = (
    PERSON.c.code.label("signer"),
    ENTRY.c.rank.label("signed_as"),
    ENTRY.c.no,
    ENTRY.c.recorded_at,
    ENTRY.c.offset_minutes.label("recorded_offset"),
    ENTRY.c.deed,
)
_FIRST = REPORT.alias("first_version")
_REPORTED = ENTRY.alias("reported")
_DONE = CLOSING.alias("done")
_UNITS_ON_DAY = (
    select(JOB_UNIT.c.unit, ENTRY.c.no)
    .select_from(JOB_UNIT)
    .outerjoin(
        _DONE,
        and_(
            _DONE.c.job_id == JOB_UNIT.c.job_id,
            _DONE.c.unit == JOB_UNIT.c.unit,
            _DONE.c.done_on == bindparam("on"),
            _DONE.c.kind == int(DoingKind.DONE),
            live(_DONE),
        ),
    )
    .outerjoin(ENTRY, ENTRY.c.id == _DONE.c.entry_id)
    .where(JOB_UNIT.c.job_id == bindparam("job"), live(JOB_UNIT))
    .order_by(JOB_UNIT.c.id)
)
