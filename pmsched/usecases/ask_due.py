"""Ask the due list, and ask why a job is due then."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.because import Because, explain, left_text, sentence
from pmsched.domain.due import Standing, State
from pmsched.domain.errors import NotFound
from pmsched.store.canonical import seal
from pmsched.store.lookups import job_by_code, jobs, machines, people, site_row, tip
from pmsched.store.register import Register
from pmsched.usecases.near_names import check_known, near
from pmsched.usecases.not_to_start import must_not_start
from pmsched.usecases.standings import JobStanding, standings
from pmsched.usecases.views import Asked, Scene, scene


class DueRow(NamedTuple):
    """One line of the due list.

    Attributes:
        job, unit, title, machine, machine_name, department, rank: what it is; ``unit`` is empty without units.
        state: as a word; ``marks`` stand beside it (isolated, critical, class, estimated, ...).
        due_on: the date of the governing limb; ``expected`` if it comes from use ("about"), None without a date.
        left: what is left, in few words.
        standing, because: the answer and the sum it came from; ``sentence`` says it in words.
    """

    job: str
    unit: str
    title: str
    machine: str
    machine_name: str
    department: str
    rank: str
    critical: bool
    state: str
    marks: tuple[str, ...]
    due_on: date | None
    expected: bool
    left: str
    standing: Standing
    because: Because
    sentence: str
    cautions: str
    needs: str


class Header(NamedTuple):
    """What every answer is headed by: site, ship's date and offset, how old the oldest reading is, and the seal."""

    site: str
    today: date
    offset_minutes: int
    entry_no: int
    seal: str
    as_of: str | None
    known_on: str | None


class DueList(NamedTuple):
    """The due list: its header, its lines (most urgent first), and how many jobs were looked at."""

    header: Header
    rows: tuple[DueRow, ...]
    looked_at: int


class DueFilter(NamedTuple):
    """Which lines to show; all conditions must hold. ``within_days`` None shows every job."""

    within_days: int | None = 30
    department: str | None = None
    machine: str | None = None
    state: str | None = None
    job: str | None = None


def due_list(register: Register, asked: Asked, wanted: DueFilter = DueFilter()) -> DueList:  # noqa: B008 - immutable
    """What is due, at the moment and by the facts asked for.

    Raises:
        NotFound: there is no such machine, job or department.
    """
    with register.reading() as connection:
        seen = scene(connection, asked)
        check_names(connection, seen, wanted)
        rows, looked_at = due_rows_of(connection, seen, wanted)
        return DueList(header(connection, seen, asked), tuple(rows), looked_at)


def check_names(connection: Connection, seen: Scene, wanted: DueFilter) -> None:
    """A name with a slip in it must not read as "nothing is due". Raises NotFound."""
    if wanted.machine is not None:
        check_known("machine", wanted.machine, (machine.code for machine in machines(connection, seen.view)))
    if wanted.job is not None:
        check_known("job", wanted.job, (job.code for job in jobs(connection, seen.view)))
    if wanted.department is not None:
        sources = (jobs, machines, people)
        known = {row.department for find in sources for row in find(connection, seen.view) if row.department}
        if wanted.department.lower() not in map(str.lower, known):
            hint = f"Known: {', '.join(sorted(known))}."
            raise NotFound("unknown-department", f"There is no department {wanted.department}.", hint)


def due_rows_of(connection: Connection, seen: Scene, wanted: DueFilter) -> tuple[list[DueRow], int]:
    """The lines wanted, most urgent first, and how many job units were looked at."""
    rows, looked_at = due_stream(connection, seen, wanted)
    return list(rows), looked_at


def due_stream(connection: Connection, seen: Scene, wanted: DueFilter) -> tuple[Iterator[DueRow], int]:
    """As ``due_rows_of``, but each line is put into words only when it is taken."""
    every = list(standings(connection, seen))
    near_ones = [found for found in every if _is_near(found, seen.today, wanted)]
    said = _said(connection, seen, near_ones)
    kept = [one for one in near_ones if _is_wanted(one, said, wanted)]
    kept.sort(key=lambda one: _urgency(one.standing, one.critical, *said.names(one)))
    return (_row(seen, one, said) for one in kept), len(every)


def why(register: Register, asked: Asked, code: str) -> tuple[DueRow, ...]:
    """Every unit of one job, with the sum behind its date. Raises NotFound with near codes."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        job = job_by_code(connection, seen.view, code)
        if job is None:
            raise NotFound(
                "unknown-job", f"There is no job {code}.", near(code, (j.code for j in jobs(connection, seen.view)))
            )
        found = list(standings(connection, seen, frozenset({job.id})))
        said = _said(connection, seen, found)
        return tuple(_row(seen, one, said) for one in found)


def header(connection: Connection, seen: Scene, asked: Asked) -> Header:
    """The header of an answer."""
    site = site_row(connection, seen.view)
    last = tip(connection, seen.view.known)
    return Header(
        site.name if site else "",
        seen.today,
        seen.clock.offset_at(seen.view.until),
        last.no if last else 0,
        seal(last.hash) if last else "",
        asked.as_of,
        asked.known_on,
    )


def header_of(register: Register, asked: Asked) -> Header:
    """The header alone, for an answer that brings none. Raises Refusal as ``scene`` does."""
    with register.reading() as connection:
        return header(connection, scene(connection, asked), asked)


def urgency(row: DueRow) -> tuple[Any, ...]:
    """The order of the list: what is due by state, critical first; the rest by date; no date at the end."""
    return _urgency(row.standing, row.critical, row.machine, row.job, row.unit)


def _urgency(standing: Standing, critical: bool, *names: str) -> tuple[Any, ...]:
    due = standing.state >= State.DUE
    band = State.OVERDUE - standing.state if due else State.OVERDUE
    return (band, due and not critical, standing.due_on or date.max, *names)


def _is_near(found: JobStanding, today: date, wanted: DueFilter) -> bool:
    standing = found.standing
    # A job without a date is never dropped: it stands at the end.
    if wanted.within_days is None or standing.state >= State.MAY_BE_DONE or standing.due_on is None:
        return True
    return (standing.due_on - today).days <= wanted.within_days


class _Said(NamedTuple):
    """What is said of jobs and machines, by id, and the machines that must not be started."""

    jobs: dict[int, Any]
    places: dict[int, Any]
    down: Collection[int]

    def names(self, one: JobStanding) -> tuple[str, str, str]:
        """Codes of machine and job, and the unit."""
        return self.places[one.machine_id].code, self.jobs[one.job_id].code, one.unit


_FEW = 500


def _said(connection: Connection, seen: Scene, found: list[JobStanding]) -> _Said:
    ids = {one.job_id for one in found} if len(found) < _FEW else None
    places = {machine.id: machine for machine in machines(connection, seen.view)}
    down = must_not_start(connection, seen, places)
    return _Said({job.id: job for job in jobs(connection, seen.view, ids)}, places, down)


def _is_wanted(one: JobStanding, said: _Said, wanted: DueFilter) -> bool:
    machine, job, _ = said.names(one)
    return (
        (wanted.department is None or said.jobs[one.job_id].department == wanted.department.lower())
        and (wanted.machine is None or machine.lower() == wanted.machine.lower())
        and (wanted.job is None or job.lower() == wanted.job.lower())
        and (wanted.state is None or one.standing.state.word == wanted.state)
    )


def _row(seen: Scene, one: JobStanding, said: _Said) -> DueRow:
    standing, because = explain(one.terms, one.doing, one.counts, seen.today, seen.settings)
    job, machine = said.jobs[one.job_id], said.places[one.machine_id]
    marks = _marks(one, isolated=one.machine_id in said.down)
    return DueRow(
        job.code, one.unit, job.title, machine.code, machine.name, job.department, job.rank, one.critical,
        standing.state.word, marks, standing.due_on, standing.expected, left_text(standing, because),
        standing, because, sentence(because), job.cautions, job.needs,
    )  # fmt: skip


def _marks(one: JobStanding, *, isolated: bool = False) -> tuple[str, ...]:
    held = any(count.held for unit, count in one.counts.items() if unit in one.terms.units)
    given = (
        ("isolated", isolated),
        ("critical", one.critical),
        ("class", one.class_item),
        ("extended", one.standing.extended),
        ("estimated", one.standing.estimated),
        ("held reading", held),
    )
    return tuple(mark for mark, is_set in given if is_set)
