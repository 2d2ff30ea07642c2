"""Ask the due list, and ask why a job is due then."""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.because import Because, explain, left_text, sentence
from pmsched.domain.due import Standing, State
from pmsched.domain.errors import NotFound
from pmsched.store.canonical import seal
from pmsched.store.lookups import job_by_code, jobs, machines, people, site_row, tip
from pmsched.store.register import Register
from pmsched.usecases.near_names import near
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


def due_list(register: Register, asked: Asked, wanted: DueFilter = DueFilter()) -> DueList:  # noqa: B008 - immutable
    """What is due, at the moment and by the facts asked for. Raises NotFound for a machine or department there is not."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        _check_names(connection, seen, wanted)
        rows, looked_at = due_rows_of(connection, seen, wanted)
        return DueList(header(connection, seen, asked), tuple(rows), looked_at)


def _check_names(connection: Connection, seen: Scene, wanted: DueFilter) -> None:
    """A name with a slip in it must not read as "nothing is due"."""
    if wanted.machine is not None:
        codes = [machine.code for machine in machines(connection, seen.view)]
        if wanted.machine.lower() not in map(str.lower, codes):
            raise NotFound("unknown-machine", f"There is no machine {wanted.machine}.", near(wanted.machine, codes))
    if wanted.department is not None:
        sources = (jobs, machines, people)
        known = {row.department for find in sources for row in find(connection, seen.view) if row.department}
        if wanted.department.lower() not in map(str.lower, known):
            hint = f"Known: {', '.join(sorted(known))}."
            raise NotFound("unknown-department", f"There is no department {wanted.department}.", hint)


def due_rows_of(connection: Connection, seen: Scene, wanted: DueFilter) -> tuple[list[DueRow], int]:
    """The lines wanted, most urgent first, and how many job units were looked at."""
    every = list(standings(connection, seen))
    near_ones = [found for found in every if _is_near(found, seen.today, wanted)]
    rows = [row for row in _rows(connection, seen, near_ones) if _is_wanted(row, wanted)]
    rows.sort(key=urgency)
    return rows, len(every)


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
        return tuple(_rows(connection, seen, found))


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
    due = row.standing.state >= State.DUE
    band = State.OVERDUE - row.standing.state if due else State.OVERDUE
    return (band, due and not row.critical, row.due_on or date.max, row.machine, row.job, row.unit)


def _is_near(found: JobStanding, today: date, wanted: DueFilter) -> bool:
    standing = found.standing
    # A job without a date is never dropped: it stands at the end.
    if wanted.within_days is None or standing.state >= State.MAY_BE_DONE or standing.due_on is None:
        return True
    return (standing.due_on - today).days <= wanted.within_days


def _is_wanted(row: DueRow, wanted: DueFilter) -> bool:
    return (
        (wanted.department is None or row.department == wanted.department.lower())
        and (wanted.machine is None or row.machine.lower() == wanted.machine.lower())
        and (wanted.state is None or row.state == wanted.state)
    )


def _rows(connection: Connection, seen: Scene, found: list[JobStanding]) -> list[DueRow]:
    said = {
        job.id: job for job in jobs(connection, seen.view, {f.job_id for f in found} if len(found) < _FEW else None)
    }
    places = {machine.id: machine for machine in machines(connection, seen.view)}
    down = must_not_start(connection, seen)
    return [_row(seen, one, said[one.job_id], places[one.machine_id], isolated=one.machine_id in down) for one in found]


_FEW = 500


def _row(seen: Scene, one: JobStanding, job: Any, machine: Any, *, isolated: bool) -> DueRow:
    standing, because = explain(one.terms, one.doing, one.counts, seen.today, seen.settings)
    return DueRow(
        job.code, one.unit, job.title, machine.code, machine.name, job.department, job.rank, one.critical,
        standing.state.word, _marks(one, isolated=isolated), standing.due_on, standing.expected, left_text(standing, because),
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
