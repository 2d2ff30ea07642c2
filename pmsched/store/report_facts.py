"""Reports and closings one by one, and the history of jobs with every version kept."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Table, bindparam, exists, select

from pmsched.domain.aims import DoingKind
from pmsched.store.live import EVERYTHING, UNTIL, View, live
from pmsched.store.tables import CLOSING, CLOSING_COUNT, ENTRY, JOB, PERSON, REPORT


def version_of(connection: Connection, table: Table, fact_or_version: int) -> Any:
    """The newest version of a fact, struck or not; None if there is none."""
    fact = select(table.c.fact_id).where(table.c.id == fact_or_version).scalar_subquery()
    statement = select(table).where(table.c.fact_id == fact).order_by(table.c.id.desc()).limit(1)
    return connection.execute(statement).one_or_none()


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


def closings_of_job(connection: Connection, view: View, job_id: int) -> list[Any]:
    """Live closings of a job in the order done: fact_id, unit, kind, done_on, done_at, report_id."""
    c = CLOSING
    statement = (
        select(c.c.fact_id, c.c.unit, c.c.kind, c.c.done_on, c.c.done_at, c.c.report_id)
        .where(c.c.job_id == job_id, c.c.done_at <= UNTIL, live(c))
        .order_by(c.c.done_at, c.c.id)
    )
    return list(connection.execute(statement, view.binds()))


def done_on_day(connection: Connection, job_id: int, unit: str, day: Any) -> Any:
    """A live doing of that job unit on that ship's date, with its entry; None if there is none."""
    statement = (
        select(CLOSING.c.fact_id, ENTRY.c.no, ENTRY.c.recorded_at)
        .join(ENTRY, ENTRY.c.id == CLOSING.c.entry_id)
        .where(
            CLOSING.c.job_id == job_id, CLOSING.c.unit == unit, CLOSING.c.done_on == day,
            CLOSING.c.kind == int(DoingKind.DONE), live(CLOSING),
        )
        .limit(1)
    )  # fmt: skip
    return connection.execute(statement, {"known": EVERYTHING}).one_or_none()


def report_versions(connection: Connection, view: View, job_ids: list[int] | None = None) -> list[Any]:
    """Every known version of reports, in the order written, with job code, signer and entry."""
    statement = (
        select(
            REPORT, JOB.c.code.label("job"), PERSON.c.code.label("signer"), ENTRY.c.rank, ENTRY.c.no,
            ENTRY.c.recorded_at, ENTRY.c.offset_minutes.label("recorded_offset"), ENTRY.c.deed,
        )
        .join(JOB, JOB.c.id == REPORT.c.job_id)
        .join(ENTRY, ENTRY.c.id == REPORT.c.entry_id)
        .join(PERSON, PERSON.c.id == ENTRY.c.person_id)
        .where(REPORT.c.id <= bindparam("known"), REPORT.c.done_at <= UNTIL)
        .order_by(REPORT.c.id)
    )  # fmt: skip
    if job_ids is not None:
        statement = statement.where(REPORT.c.job_id.in_(job_ids))
    return list(connection.execute(statement, {"known": view.known, "until": view.until}))
