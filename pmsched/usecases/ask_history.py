"""Ask what was done: every report with every version of it, late or on time by the rule in force when it was done."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from itertools import groupby
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.aims import Doing, DoingKind, RuleTerms
from pmsched.domain.clocks import date_shown
from pmsched.domain.closes import Outcome, outcomes
from pmsched.domain.errors import NotFound
from pmsched.store.book import label_of
from pmsched.store.lookups import job_revisions, jobs, machines
from pmsched.store.register import Register
from pmsched.store.report_facts import closings_with_counts, report_versions
from pmsched.usecases.ask_due import Header, header
from pmsched.usecases.near_names import near
from pmsched.usecases.report_work import basis_words
from pmsched.usecases.standings import terms_of
from pmsched.usecases.views import Asked, Scene, scene


class HistoryFilter(NamedTuple):
    """Which rows to show; all conditions must hold. ``person`` matches who signed or did it, ``words`` the texts."""

    job: str | None = None
    machine: str | None = None
    person: str | None = None
    words: str | None = None
    first: date | None = None
    last: date | None = None


class HistoryCount(NamedTuple):
    """A running total at a doing: unit of counter, amount, and its basis in words."""

    unit: str
    total: int
    basis: str


class HistoryRow(NamedTuple):
    """One version of one report, for one unit it closed.

    Attributes:
        number: of the report, for corrections; empty for a stated start.
        version: 'in force', 'corrected' (a later version replaced it), 'struck', or 'start'.
        done_on, done_at: ship's date and UTC instant of the work; ``time_stated`` if the time was given.
        counts: running totals then.
        done_by, signer, signed_as: who did it, who signed, and the rank signed in.
        recorded_at, recorded_on: when this version was entered (UTC instant and ship's date).
        days_to_report: days from the work to its first report; later corrections do not count.
        reported_on: the ship's date of that first report.
        on_time: by the rule in force when it was done; None where nothing can be judged.
        days_late, counts_late: against the limits then (negative when early); ``past_aim`` days past the aim.
        closed_on, not_done, extra: on a grid: the occurrence it closed, earlier ones left undone, or an extra.
        reason: why this version replaced another.
        offset_minutes: the ship's offset when the work was done.
    """

    number: str
    version: str
    job: str
    unit: str
    title: str
    machine: str
    critical: bool
    done_on: date
    done_at: int
    time_stated: bool
    counts: tuple[HistoryCount, ...]
    done_by: str
    condition: str
    remarks: str
    signer: str
    signed_as: str
    recorded_at: int
    recorded_on: date
    days_to_report: int
    entry_no: int
    reason: str
    on_time: bool | None = None
    days_late: int | None = None
    past_aim: int | None = None
    counts_late: tuple[tuple[str, int], ...] = ()
    closed_on: date | None = None
    not_done: tuple[date, ...] = ()
    extra: bool = False
    offset_minutes: int = 0
    reported_on: date = date.min


class History(NamedTuple):
    """History asked for: the header, and the rows in the order done."""

    header: Header
    rows: tuple[HistoryRow, ...]


class _Closed(NamedTuple):
    """A live closing: its unit, totals, and what it meant."""

    unit: str
    counts: tuple[HistoryCount, ...]
    outcome: Outcome | None


def history(register: Register, asked: Asked, wanted: HistoryFilter = HistoryFilter()) -> History:  # noqa: B008 - immutable
    """What was done, with every correction showing. Raises NotFound for a job or machine there is not."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        places = {machine.id: machine for machine in machines(connection, seen.view)}
        every_job = list(jobs(connection, seen.view))
        _check_name("machine", wanted.machine, [machine.code for machine in places.values()])
        _check_name("job", wanted.job, [job.code for job in every_job])
        said = {job.id: job for job in every_job if _names(job, places[job.machine_id], wanted)}
        ids = None if wanted.job is None and wanted.machine is None else list(said)
        closed = _closed(connection, seen, ids)
        rows = (
            row
            for version in _versions(report_versions(connection, seen.view, ids))
            if version.row.job_id in said
            for row in _rows(version, said[version.row.job_id], places, closed)
        )
        kept = sorted(
            (row for row in rows if _matches(row, wanted)), key=lambda r: (r.done_at, r.job, r.unit, r.entry_no)
        )
        return History(header(connection, seen, asked), tuple(kept))


def _check_name(what: str, typed: str | None, codes: list[str]) -> None:
    """A code with a slip in it must not read as "nothing was done"."""
    if typed is not None and typed.lower() not in map(str.lower, codes):
        raise NotFound(f"unknown-{what}", f"There is no {what} {typed}.", near(typed, codes))


def _names(job: Any, machine: Any, wanted: HistoryFilter) -> bool:
    return (wanted.job is None or job.code.lower() == wanted.job.lower()) and (
        wanted.machine is None or machine.code.lower() == wanted.machine.lower()
    )


def _matches(row: HistoryRow, wanted: HistoryFilter) -> bool:
    if wanted.first is not None and row.done_on < wanted.first:
        return False
    if wanted.last is not None and row.done_on > wanted.last:
        return False
    if wanted.person is not None and wanted.person.lower() not in f"{row.signer}\n{row.done_by}".lower():
        return False
    texts = f"{row.title}\n{row.remarks}\n{row.condition}\n{row.reason}".lower()
    return wanted.words is None or all(word in texts for word in wanted.words.lower().split())


class _Version(NamedTuple):
    """One version of a report, what became of it, and the ship's date on which the work was first reported."""

    row: Any
    became: str
    reported_on: date


def _versions(rows: Iterator[Any]) -> Iterator[_Version]:
    """Every version with what became of it."""
    every = list(rows)
    replaced = {row.replaces_id for row in every}
    first: dict[int, date] = {}
    for row in every:
        reported = first.setdefault(row.fact_id, date_shown(row.recorded_at, row.recorded_offset))
        became = "struck" if row.struck else "corrected" if row.id in replaced else "in force"
        yield _Version(row, became, reported)


def _rows(
    version: _Version, job: Any, places: dict[int, Any], closed: dict[int, list[_Closed]]
) -> Iterator[HistoryRow]:
    row, became, reported_on = version
    recorded_on = date_shown(row.recorded_at, row.recorded_offset)
    common = HistoryRow(
        label_of(row.fact_id), became, job.code, "", job.title, places[job.machine_id].code,
        job.critical or places[job.machine_id].critical,
        row.done_on, row.done_at, row.time_stated, (), row.done_by, row.condition or "", row.remarks or "",
        row.signer, row.signed_as, row.recorded_at, recorded_on, (reported_on - row.done_on).days, row.no,
        row.reason or "", offset_minutes=row.offset_minutes, reported_on=reported_on,
    )  # fmt: skip
    # Only the version in force closes anything; the others are shown as they were signed.
    mine = closed.get(row.fact_id, []) if became == "in force" else []
    if not mine:
        yield common
    for one in mine:
        yield _judged(common._replace(unit=one.unit, counts=one.counts), one.outcome)


def _judged(row: HistoryRow, outcome: Outcome | None) -> HistoryRow:
    if outcome is None:
        return row
    return row._replace(
        on_time=outcome.on_time,
        days_late=outcome.days_late,
        past_aim=outcome.calendar and outcome.calendar.past_aim,
        counts_late=outcome.counts_late,
        closed_on=outcome.closed_on,
        not_done=outcome.not_done,
        extra=outcome.extra,
    )


def _closed(connection: Connection, seen: Scene, job_ids: list[int] | None) -> dict[int, list[_Closed]]:
    """What each report (its fact id) closed."""
    found: dict[int, list[_Closed]] = {}
    rules: dict[int, _RuleInForce] = {}
    rows = closings_with_counts(connection, seen.view, job_ids)
    for (job_id, unit), group in groupby(rows, key=lambda row: (row.job_id, row.unit)):
        every = [list(same) for _, same in groupby(group, key=lambda row: row.fact_id)]
        doings = [_doing(same) for same in every]
        if job_id not in rules:
            rules[job_id] = _RuleInForce(connection, seen, job_id)
        judged = iter(outcomes(doings, rules[job_id], seen.settings.skipped))
        for same, doing in zip(every, doings, strict=True):
            outcome = next(judged) if doing.kind is DoingKind.DONE else None
            counts = tuple(HistoryCount(r.counted, r.total, basis_words({"basis": r.basis})) for r in same if r.counted)
            found.setdefault(same[0].report_id, []).append(_Closed(unit, counts, outcome))
    return found


def _doing(same: list[Any]) -> Doing:
    first = same[0]
    return Doing(first.done_on, {r.counted: r.total for r in same if r.counted}, DoingKind(first.kind))


class _RuleInForce:
    """The compiled rule of a job in force on a date; before its first revision, the first one."""

    def __init__(self, connection: Connection, seen: Scene, job_id: int) -> None:
        self._revisions = job_revisions(connection, seen.view, job_id)

    def __call__(self, day: date) -> RuleTerms:
        acting = [r for r in self._revisions if r.valid_from <= day] or self._revisions[:1]
        return terms_of(acting[-1].rule)
