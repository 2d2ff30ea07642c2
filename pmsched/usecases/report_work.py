"""Report work done: when, by whom, in what condition; it resets the job (or those of its units) that it names.

The date and the running total that count are those when the work was done, never those when it was reported (R12).
Hours are offered from the readings by interpolation, with their basis; the person may type the true ones.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from datetime import date, time
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.aims import DoingKind
from pmsched.domain.counters import Between
from pmsched.domain.counts import HOURS, Meter, format_amount, parse_count
from pmsched.domain.errors import NotAllowed, NotFound, Refusal
from pmsched.domain.plain import check_text
from pmsched.store.book import Receipt, Work
from pmsched.store.lookups import job_by_code, jobs
from pmsched.store.opening import BEGINNING
from pmsched.store.register import Register
from pmsched.store.report_facts import report_of_entry, units_on_day
from pmsched.store.staged_files import staged
from pmsched.store.tables import CLOSING, CLOSING_COUNT, REPORT
from pmsched.usecases.attaching import AttachedFile, add_attachments
from pmsched.usecases.counting import totals_offered, units_counted
from pmsched.usecases.near_names import near
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.standings import JobStanding, standings, terms_of
from pmsched.usecases.views import Asked, Scene, scene

CONDITIONS = (
    "as new",
    "fair wear, will last",
    "worn, watch",
    "worn, renewed",
    "damaged, not repaired",
)
# Typed totals may be a little finer than any meter; they are read as the finest one.
_FINEST = {HOURS: Meter(HOURS, "h:min")}


class ReportWork(NamedTuple):
    """Work done, as reported.

    Attributes:
        job: code of the job; ``units`` names the units done (empty: all of them).
        done_on, done_time: ship's date, and the time if it is known (12:00 counts if not, R15).
        counts: running totals typed by unit of counter ("h" -> "12340.5"); the others are offered.
        done_by: who did it, in words; by default the signer.
        condition: one of CONDITIONS, or empty.
        again: report it although it was already reported done on that day.
        attach: photos and files that go with it.
    """

    job: str
    done_on: date
    done_time: time | None = None
    units: tuple[str, ...] = ()
    counts: Mapping[str, str] = {}
    done_by: str = ""
    condition: str = ""
    remarks: str = ""
    again: bool = False
    attach: tuple[Path, ...] = ()


class CountKept(NamedTuple):
    """A running total kept with a doing: its unit, amount, and basis in words."""

    unit: str
    total: int
    basis: str


class ReportResult(NamedTuple):
    """A kept report: its receipt and id, the totals kept, notes to read, how the job stands now, and what is attached."""

    receipt: Receipt
    report_id: int
    counts: tuple[CountKept, ...]
    notes: tuple[str, ...]
    now: tuple[JobStanding, ...]
    attached: tuple[AttachedFile, ...] = ()


def report_work(
    register: Register, command: ReportWork, signer: Signer, *, rehearse: bool = False, tell: bool = True
) -> ReportResult:
    """Keep a report and reset what it closes.

    With ``rehearse`` nothing is written; without ``tell`` it is not worked out how the job stands now (for many at once).

    Raises:
        NotFound: unknown job, unit or signer, or a file that is not there.
        NotAllowed: done in the future, already reported for that day, or a file that is not fit to be kept.
        Refusal: a condition or total that cannot be read.
        RegisterUnusable: files cannot be written beside the register.
    """
    with staged(register, command.attach) as files, register.locked(rehearse=rehearse) as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        job = find_job(connection, seen, command.job)
        if earlier := work.earlier("report work"):
            _refuse_other(connection, earlier, job.id, command)
            return ReportResult(earlier, 0, (), ("already entered",), _now(connection, seen, job.id))
        done_at = done_instant(seen, command.done_on, command.done_time, signer.at)
        units = _units(connection, job, command)
        report_id = work.add(REPORT, job_id=job.id, outcome="done", **_said(seen, command, done_at, work))
        check_units(units_counted(connection, seen, job.machine_id), command.counts)
        offered = totals_offered(connection, seen, job.machine_id, done_at)
        counts, notes = counts_kept(offered, command.counts)
        _refuse_without_total(job, {count["unit"] for count in counts})
        for unit in units:
            closing = work.add(
                CLOSING, job_id=job.id, unit=unit, kind=int(DoingKind.DONE), done_on=command.done_on, done_at=done_at,
                report_id=report_id,
            )  # fmt: skip
            for count in counts:
                work.add(CLOSING_COUNT, closing_id=closing, **count)
        attached = add_attachments(work, report_id, files.files)
        if not rehearse:
            files.keep(files.files)
        receipt = work.enter("report work")
        kept = tuple(CountKept(c["unit"], c["total"], basis_words(c)) for c in counts)
        now = _now(connection, seen, job.id) if tell else ()
        return ReportResult(receipt, report_id, kept, notes, now, attached)


def done_instant(seen: Scene, done_on: date, done_time: time | None, now: int) -> int:
    """The instant that counts. Work without a time, done today, counts at noon or at once if noon is still ahead.

    Raises:
        NotAllowed: the work would be done after ``now``.
    """
    done_at = seen.clock.instant_of(done_on, done_time)
    if done_on < BEGINNING:
        raise NotAllowed("too-early", f"{done_on} lies before the year {BEGINNING.year}.", "Check the date.")
    if done_on > seen.clock.ship_date(now) or (done_time is not None and done_at > now):
        raise NotAllowed(
            "done-in-future",
            f"{done_on} lies ahead of the ship's date {seen.clock.ship_date(now)}.",
            "Check the date.",
        )
    return min(done_at, now)


def find_job(connection: Connection, seen: Scene, code: str) -> Any:
    """The job of that code. Raises NotFound with near codes."""
    job = job_by_code(connection, seen.view, code.strip())
    if job is None:
        raise NotFound(
            "unknown-job", f"There is no job {code}.", near(code, (j.code for j in jobs(connection, seen.view)))
        )
    return job


def counts_kept(
    offered: Mapping[str, Between], typed: Mapping[str, str]
) -> tuple[list[dict[str, Any]], tuple[str, ...]]:
    """The totals to keep with a doing, as columns, and notes where a typed one disagrees with the readings."""
    kept: list[dict[str, Any]] = []
    notes: list[str] = []
    for unit in sorted({*offered, *typed}):
        between = offered.get(unit)
        if unit in typed:
            total = parse_count(typed[unit], _FINEST.get(unit, Meter(unit)))
            kept.append({"unit": unit, "total": total, "basis": "typed", "reading_1": None, "reading_2": None})
            notes += _disagreements(total, unit, between)
        elif between:
            kept.append(offered_columns(unit, between))
            if between.stale_since:
                notes.append(
                    f"{format_amount(between.total, unit)} is the reading of {between.stale_since}, the last one;"
                    " it is worked out again when the next reading comes"
                )
    return kept, tuple(notes)


def _disagreements(total: int, unit: str, between: Between | None) -> Iterator[str]:
    said = f"typed {format_amount(total, unit)}"
    if between is not None and total < between.low:
        yield f"{said} is below the reading before it ({format_amount(between.low, unit)})"
    if between is not None and between.high is not None and total > between.high:
        yield f"{said} is above the reading after it ({format_amount(between.high, unit)})"


def check_units(counted: Iterable[str], typed: Mapping[str, str]) -> None:
    """Refuse a total typed for a unit that the machine does not count. Raises Refusal naming those it counts."""
    known = sorted(counted)
    for unit in typed:
        if unit not in known:
            raise Refusal(
                "unit-not-counted",
                f"This machine counts no {check_text(unit)}.",
                f"It counts: {', '.join(known)}." if known else "It counts on no counter.",
            )


def _refuse_without_total(job: Any, counted: set[str]) -> None:
    """A job that goes by a counter needs the total at the doing, or its next date could never be told."""
    for unit in sorted(terms_of(job.rule).units - counted):
        raise NotAllowed(
            "no-total",
            f"There is no reading of {unit} by that time, so the total at the doing is not known.",
            f"Give it: --count {unit}=...",
        )


def _refuse_other(connection: Connection, earlier: Receipt, job_id: int, command: ReportWork) -> None:
    """The same request id for another report would lose it."""
    row = report_of_entry(connection, earlier.entry_id)
    if row is None or row.job_id != job_id or row.done_on != command.done_on:
        raise NotAllowed(
            "request-used", f"This request id was used for another report (entry {earlier.no}).", "Give each its own."
        )


def offered_columns(unit: str, between: Between) -> dict[str, Any]:
    """The columns of an offered total with its basis."""
    basis = "between" if between.second else "reading"
    return {
        "unit": unit,
        "total": between.total,
        "basis": basis,
        "reading_1": between.first,
        "reading_2": between.second or None,
    }


def basis_words(count: Mapping[str, Any]) -> str:
    """The basis of a total, in words: 'typed', 'from a reading', 'interpolated'."""
    return {"typed": "typed", "reading": "from a reading", "between": "interpolated"}[count["basis"]]


def check_condition(condition: str) -> str | None:
    """The condition in the house's words, or None when not given. Raises Refusal naming the choices."""
    said = condition.strip().lower()
    if not said:
        return None
    found = [known for known in CONDITIONS if known == said] or [c for c in CONDITIONS if c.startswith(said)]
    if len(found) != 1:
        raise Refusal(
            "unknown-condition", f"'{condition}' is not a condition.", f"Write one of: {'; '.join(CONDITIONS)}."
        )
    return found[0]


def _said(seen: Scene, command: ReportWork, done_at: int, work: Work) -> dict[str, Any]:
    return {
        "done_on": command.done_on,
        "done_at": done_at,
        "offset_minutes": seen.clock.offset_at(done_at),
        "time_stated": command.done_time is not None,
        "done_by": check_text(command.done_by.strip()) or work.signature.name,
        "condition": check_condition(command.condition),
        "remarks": check_text(command.remarks.strip(), line_breaks=True) or None,
    }


def _units(connection: Connection, job: Any, command: ReportWork) -> list[str]:
    """The units to close: those named, or all. Refused if one is already reported for that day."""
    known = units_on_day(connection, job.id, command.done_on)
    wanted = list(dict.fromkeys(unit.strip() for unit in command.units))
    if unknown := [unit for unit in wanted if unit not in known]:
        has = f"its units are {', '.join(known)}" if any(known) else "it has no units"
        raise NotFound("unknown-unit", f"{job.code} has no unit {unknown[0]}; {has}.")
    closing = wanted or list(known)
    for unit in closing:
        if known[unit] is not None and not command.again:
            named = f"{job.code}{' ' + unit if unit else ''}"
            raise NotAllowed(
                "already-reported",
                f"{named} is already reported done on {command.done_on} (entry {known[unit]}).",
                "Correct that report, or say --again if it was done twice that day.",
            )
    return closing


def _now(connection: Connection, seen: Scene, job_id: int) -> tuple[JobStanding, ...]:
    return tuple(standings(connection, seen, frozenset({job_id})))
