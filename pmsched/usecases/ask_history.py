"""Ask what was done: every report with every version of it, late or on time by the rule in force when it was done."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from itertools import groupby
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.aims import Doing, DoingKind, RuleTerms
from pmsched.domain.clocks import date_shown
from pmsched.domain.closes import Judge, Outcome
from pmsched.store.book import label_of
from pmsched.store.lookups import job_revisions, jobs, machines
from pmsched.store.register import Register
from pmsched.store.report_facts import closings_with_counts, report_versions
from pmsched.usecases.ask_attachments import attached_to
from pmsched.usecases.ask_due import Header, header
from pmsched.usecases.attaching import AttachedFile
from pmsched.usecases.near_names import check_known
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
        offset_minutes: the ship's offset when the work was done; ``recorded_offset`` when this version was entered.
        attachments: photos and files that go with the report; told with its newest version.
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
    recorded_offset: int = 0
    attachments: tuple[AttachedFile, ...] = ()


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
        return History(header(connection, seen, asked), tuple(history_rows(connection, seen, wanted)))


def history_rows(connection: Connection, seen: Scene, wanted: HistoryFilter) -> Iterator[HistoryRow]:
    """The rows in the order done, then by job, unit and entry; streamed, so that a history of any length passes.

    Raises:
        NotFound: there is no such job or machine; at once, not when the first row is taken.
    """
    places = {machine.id: machine for machine in machines(connection, seen.view)}
    every_job = list(jobs(connection, seen.view))
    check_known("machine", wanted.machine, [machine.code for machine in places.values()])
    check_known("job", wanted.job, [job.code for job in every_job])
    said = {job.id: job for job in every_job if _names(job, places[job.machine_id], wanted)}
    ids = None if wanted.job is None and wanted.machine is None else list(said)
    told = _Told(said, places, ids, attached_to(connection, seen.view, ids))
    return (row for row in _told(connection, seen, wanted, told) if _matches(row, wanted))


class _Told(NamedTuple):
    """What is said of things: the jobs wanted, the machines, and what is attached to reports, by id.

    ``ids`` is None where every job is wanted.
    """

    jobs: dict[int, Any]
    places: dict[int, Any]
    ids: list[int] | None
    attached: Mapping[int, tuple[AttachedFile, ...]]


def _told(connection: Connection, seen: Scene, wanted: HistoryFilter, told: _Told) -> Iterator[HistoryRow]:
    closings = _Closings(connection, seen, told.ids)
    versions = report_versions(connection, seen.view, told.ids, wanted.first, wanted.last)
    for done_at, group in groupby(versions, key=lambda row: row.done_at):
        found = [_version(row) for row in group if row.job_id in told.jobs]
        # Only the version in force closes anything; the others are shown as they were signed.
        closed = closings.at(done_at, {one.row.fact_id for one in found if one.became == "in force"})
        rows = [row for one in found for row in _rows(one, told, closed)]
        rows.sort(key=lambda r: (r.job, r.unit, r.entry_no))
        yield from rows


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


def _version(row: Any) -> _Version:
    became = "struck" if row.struck else "corrected" if row.replaced else "in force"
    if row.reported_at is None:
        return _Version(row, became, date_shown(row.recorded_at, row.recorded_offset))
    return _Version(row, became, date_shown(row.reported_at, row.reported_offset))


def _rows(version: _Version, told: _Told, closed: dict[int, list[_Closed]]) -> Iterator[HistoryRow]:
    row, became, reported_on = version
    job = told.jobs[row.job_id]
    machine = told.places[job.machine_id]
    common = HistoryRow(
        label_of(row.fact_id), became, job.code, "", job.title, machine.code, job.critical or machine.critical,
        row.done_on, row.done_at, row.time_stated, (), row.done_by, row.condition or "", row.remarks or "",
        row.signer, row.signed_as, row.recorded_at, date_shown(row.recorded_at, row.recorded_offset),
        (reported_on - row.done_on).days, row.no, row.reason or "", offset_minutes=row.offset_minutes,
        reported_on=reported_on, recorded_offset=row.recorded_offset,
        attachments=() if row.replaced else told.attached.get(row.fact_id, ()),
    )  # fmt: skip
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


class _Closings:
    """The live closings, taken in the order done; of every job unit only what stands before the next one is kept."""

    def __init__(self, connection: Connection, seen: Scene, job_ids: list[int] | None) -> None:
        self._connection = connection
        self._seen = seen
        rows = closings_with_counts(connection, seen.view, job_ids)
        self._left = (list(same) for _, same in groupby(rows, key=lambda row: row.fact_id))
        self._next = next(self._left, None)
        self._judges: dict[tuple[int, str], Judge] = {}
        self._rules: dict[int, _RuleInForce] = {}

    def at(self, instant: int, reports: set[int]) -> dict[int, list[_Closed]]:
        """What each of these reports (by fact id), all done at this instant, closed. Instants only go forward."""
        found: dict[int, list[_Closed]] = {}
        while self._next is not None and self._next[0].done_at <= instant:
            same, self._next = self._next, next(self._left, None)
            judge, doing = self._judge(same[0]), _doing(same)
            if same[0].report_id in reports:
                found.setdefault(same[0].report_id, []).append(_Closed(same[0].unit, _counts(same), judge(doing)))
            else:
                judge.pass_over(doing)
        return found

    def _judge(self, closing: Any) -> Judge:
        judge = self._judges.get((closing.job_id, closing.unit))
        if judge is None:
            rule = self._rules.get(closing.job_id)
            if rule is None:
                rule = self._rules[closing.job_id] = _RuleInForce(self._connection, self._seen, closing.job_id)
            judge = self._judges[closing.job_id, closing.unit] = Judge(rule, self._seen.settings.skipped)
        return judge


def _counts(same: list[Any]) -> tuple[HistoryCount, ...]:
    return tuple(HistoryCount(r.counted, r.total, basis_words({"basis": r.basis})) for r in same if r.counted)


def _doing(same: list[Any]) -> Doing:
    first = same[0]
    return Doing(first.done_on, {r.counted: r.total for r in same if r.counted}, DoingKind(first.kind))


class _RuleInForce:
    """The compiled rule of a job in force on a date; before its first revision, the first one."""

    def __init__(self, connection: Connection, seen: Scene, job_id: int) -> None:
        self._revisions = [(row.valid_from, row.rule) for row in job_revisions(connection, seen.view, job_id)]

    def __call__(self, day: date) -> RuleTerms:
        acting = [rule for valid_from, rule in self._revisions if valid_from <= day]
        return terms_of(acting[-1] if acting else self._revisions[0][1])
