"""Files attached to reports, as facts: which, by whom, and the hash of each. The files themselves: ``attached_files``."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from sqlalchemy import Connection, Select, bindparam, exists, select

from pmsched.store.live import EVERYTHING, View, live
from pmsched.store.streams import streamed
from pmsched.store.tables import ATTACHMENT, ENTRY, JOB, PERSON, REPORT


def attachments(
    connection: Connection, view: View, *, report_id: int | None = None, job_ids: list[int] | None = None
) -> Iterator[Any]:
    """The live attachments, streamed in the order attached; those of one report (by fact id), or of some jobs.

    An attachment goes with its report: no time of its own keeps it from being seen, only when it became known. The
    columns are fact_id, report_id, job, name, media_type, size, sha256, signer, signed_as, entry_no, recorded_at,
    recorded_offset.
    """
    statement = _ALL
    if report_id is not None:
        statement = statement.where(ATTACHMENT.c.report_id == report_id)
    if job_ids is not None:
        statement = statement.where(REPORT.c.job_id.in_(job_ids))
    return streamed(connection, statement, {"known": view.known})


def attachment(connection: Connection, view: View, fact_id: int) -> Any:
    """One live attachment, as ``attachments`` gives it; None if there is none."""
    return connection.execute(_ONE, {"known": view.known, "fact": fact_id}).one_or_none()


def hashes_of_report(connection: Connection, report_id: int) -> dict[str, int]:
    """What is attached to a report (by fact id) now: the fact id of each attachment by its hash."""
    a = ATTACHMENT
    statement = select(a.c.sha256, a.c.fact_id).where(a.c.report_id == report_id, live(a))
    return {row.sha256: row.fact_id for row in connection.execute(statement, {"known": EVERYTHING})}


def attachment_version(connection: Connection, fact_id: int) -> Any:
    """The row of a live attachment, to be struck; None if there is none."""
    a = ATTACHMENT
    statement = select(a).where(a.c.fact_id == fact_id, live(a))
    return connection.execute(statement, {"known": EVERYTHING}).mappings().one_or_none()


def named_files(connection: Connection) -> Iterator[Any]:
    """Every file that an entry names, streamed by hash: fact_id, report_id, name, size, sha256, book, entry_no, struck.

    A hash that several attachments name comes several times, those that are not struck first.
    """
    a, newer = ATTACHMENT, ATTACHMENT.alias("newer")
    statement = (
        select(
            a.c.fact_id, a.c.report_id, a.c.name, a.c.size, a.c.sha256, ENTRY.c.book, ENTRY.c.no.label("entry_no"),
            a.c.struck,
        )
        .select_from(a)
        .outerjoin(ENTRY, ENTRY.c.id == a.c.entry_id)
        .where(~exists().where(newer.c.replaces_id == a.c.id))
        .order_by(a.c.sha256, a.c.struck, a.c.id)
    )  # fmt: skip
    return streamed(connection, statement, {})


def _question() -> Select[Any]:
    a = ATTACHMENT
    return (
        select(
            a.c.fact_id, a.c.report_id, JOB.c.code.label("job"), a.c.name, a.c.media_type, a.c.size, a.c.sha256,
            PERSON.c.code.label("signer"), ENTRY.c.rank.label("signed_as"), ENTRY.c.no.label("entry_no"),
            ENTRY.c.recorded_at, ENTRY.c.offset_minutes.label("recorded_offset"),
        )
        .select_from(a)
        .join(REPORT, REPORT.c.id == a.c.report_id)
        .join(JOB, JOB.c.id == REPORT.c.job_id)
        .join(ENTRY, ENTRY.c.id == a.c.entry_id)
        .join(PERSON, PERSON.c.id == ENTRY.c.person_id)
        .where(live(a))
        .order_by(a.c.id)
    )  # fmt: skip


_ALL = _question()
_ONE = _ALL.where(ATTACHMENT.c.fact_id == bindparam("fact"))
