"""Correct or strike a report of work: a new version with a reason; the signed one stays readable for ever."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, time
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.errors import NotAllowed, NotFound
from pmsched.domain.plain import check_text
from pmsched.store.book import Receipt, Work, id_of, label_of
from pmsched.store.lookups import jobs
from pmsched.store.register import Register
from pmsched.store.report_facts import closings_of_report, counts_of_closing, version_of
from pmsched.store.tables import CLOSING, CLOSING_COUNT, REPORT
from pmsched.usecases.changes import moved_between, snapshot
from pmsched.usecases.counting import totals_offered, units_counted
from pmsched.usecases.recounting import Recount, Touched
from pmsched.usecases.report_work import check_condition, check_units, counts_kept, done_instant
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, Scene, scene


class CorrectReport(NamedTuple):
    """What was wrong with a report; None leaves a part as it is.

    Attributes:
        report: its number as listed.
        reason: why; always asked for.
        strike: the work was not done, or the report is void.
        done_on, done_time, counts, done_by, condition, remarks: the true ones; a typed total by unit of counter.
    """

    report: str
    reason: str
    strike: bool = False
    done_on: date | None = None
    done_time: time | None = None
    counts: Mapping[str, str] = {}
    done_by: str | None = None
    condition: str | None = None
    remarks: str | None = None


class CorrectResult(NamedTuple):
    """What was done: the receipt, the job, and all it touched."""

    receipt: Receipt
    job: str
    touched: Touched


def correct_report(
    register: Register, command: CorrectReport, signer: Signer, *, rehearse: bool = False
) -> CorrectResult:
    """Correct or strike a report; correcting a struck one brings it back.

    Raises:
        NotFound: no such report.
        NotAllowed: no reason, nothing to change, or a date ahead.
    """
    with register.locked(rehearse=rehearse) as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        row = _report(connection, work, command.report)
        job = next(j for j in jobs(connection, seen.view, [row.job_id]))
        if earlier := work.earlier("correct report"):
            return CorrectResult(earlier, job.code, Touched((), (), (), countersign=False))
        before = snapshot(connection, seen)
        counts: tuple[Recount, ...] = ()
        flags: tuple[str, ...] = ()
        if command.strike:
            _strike(connection, work, row, command)
        else:
            counts, flags = _correct(connection, seen, work, row, job, command)
        receipt = work.enter("correct report")
        moved = moved_between(connection, before, snapshot(connection, seen))
        return CorrectResult(receipt, job.code, Touched(moved, counts, flags, countersign=True))


def _report(connection: Connection, work: Work, label: str) -> Any:
    report_id = id_of(label, work.book)
    row = report_id and version_of(connection, REPORT, report_id)
    if not row:
        raise NotFound("unknown-report", f"There is no report {label}.", "See: pmsched history.")
    return row


def _strike(connection: Connection, work: Work, row: Any, command: CorrectReport) -> None:
    if row.struck:
        raise NotAllowed("already-struck", f"Report {label_of(row.fact_id)} is already struck.")
    work.strike(REPORT, _columns(REPORT, row), check_text(command.reason))
    for closing in closings_of_report(connection, row.fact_id):
        for count in counts_of_closing(connection, closing.fact_id):
            if not count.struck:
                work.strike(CLOSING_COUNT, _columns(CLOSING_COUNT, count), command.reason)
        if not closing.struck:
            work.strike(CLOSING, _columns(CLOSING, closing), command.reason)
    work.flush()


def _correct(
    connection: Connection, seen: Scene, work: Work, row: Any, job: Any, command: CorrectReport
) -> tuple[tuple[Recount, ...], tuple[str, ...]]:
    said = _said(seen, row, command)
    if not said and not command.counts and not row.struck:
        raise NotAllowed("nothing-changes", "Nothing is to be changed.", "Say what was wrong, for example --done-on.")
    work.replace(REPORT, _columns(REPORT, row), check_text(command.reason), **said)
    done_on, done_at = said.get("done_on", row.done_on), said.get("done_at", row.done_at)
    moved = done_at != row.done_at
    check_units(units_counted(connection, seen, job.machine_id), command.counts)
    offered = totals_offered(connection, seen, job.machine_id, done_at)
    typed, flags = counts_kept(offered, command.counts)
    recounts: list[Recount] = []
    for closing in closings_of_report(connection, row.fact_id):
        if moved or closing.struck:
            work.replace(CLOSING, _columns(CLOSING, closing), command.reason, done_on=done_on, done_at=done_at)
        wanted = {count["unit"]: count for count in typed if moved or count["unit"] in command.counts}
        for count in counts_of_closing(connection, closing.fact_id):
            columns = wanted.pop(count.unit, {})
            if count.basis == "typed" and count.unit not in command.counts:
                # A total typed before stays as typed, unless another is typed now.
                columns = {}
            if count.struck or any(getattr(count, name) != value for name, value in columns.items()):
                work.replace(CLOSING_COUNT, _columns(CLOSING_COUNT, count), command.reason, **columns)
            if columns and columns["total"] != count.total:
                recounts.append(Recount(job.code, closing.unit, done_on, count.unit, count.total, columns["total"]))
        for columns in wanted.values():
            work.add(CLOSING_COUNT, closing_id=closing.fact_id, **columns)
    work.flush()
    return tuple(recounts), flags


def _said(seen: Scene, row: Any, command: CorrectReport) -> dict[str, Any]:
    """The columns of the report that change."""
    said: dict[str, Any] = {}
    if command.done_on is not None or command.done_time is not None:
        said["done_on"] = command.done_on or row.done_on
        # A time that was stated stays, unless another is given.
        stated = command.done_time or (seen.clock.ship_time(row.done_at).time() if row.time_stated else None)
        said["done_at"] = done_instant(seen, said["done_on"], stated, seen.view.until)
        said["offset_minutes"] = seen.clock.offset_at(said["done_at"])
        said["time_stated"] = stated is not None
    if command.done_by is not None:
        said["done_by"] = check_text(command.done_by.strip())
    if command.condition is not None:
        said["condition"] = check_condition(command.condition)
    if command.remarks is not None:
        said["remarks"] = check_text(command.remarks.strip(), line_breaks=True) or None
    return {name: value for name, value in said.items() if value != getattr(row, name)}


def _columns(table: Any, row: Any) -> dict[str, Any]:
    return {column.name: getattr(row, column.name) for column in table.columns}
