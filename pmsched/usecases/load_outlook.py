"""See ahead of a load: what would be overdue and why, where jobs never done could begin, and which meters lack a reading.

Nothing is kept: the load is rehearsed under the lock, jobs of which nothing is known are taken to be due at once, and the
due list of that register is worked out before it is all rolled back.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection

from pmsched.domain.aims import DoingKind
from pmsched.domain.counts import Meter, format_amount
from pmsched.domain.due import State
from pmsched.domain.first_dates import FirstDate, Unstarted, spread
from pmsched.domain.problems import Problem
from pmsched.exchange.columns import FileKind
from pmsched.exchange.files_in import read_files
from pmsched.exchange.phrases import write_starts
from pmsched.exchange.places import Source
from pmsched.exchange.rows import JobRow, Start
from pmsched.store.loaded_facts import LOAD_DEED
from pmsched.store.lookups import counters, critical_machines, machines
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueFilter, DueRow, due_rows_of
from pmsched.usecases.counting import counter_counts, machine_counts, periods_of
from pmsched.usecases.load_changes import Held, Proposed
from pmsched.usecases.load_checks_history import NO_LAST_DOING
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.load_steps import Ready, begin_loading, somebody, write_facts
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked, Scene, scene


class ProposedStart(NamedTuple):
    """A job of which neither a doing nor a start is known, and where it could begin.

    Attributes:
        job, title, machine: what it is.
        starts: what would stand in the column starts, as it reads back.
        first_on: the date on which it then falls due first; None: due at once, or by hours alone.
        held_back: critical or a class item: it is not spread.
        file, row: where it stands.
    """

    job: str
    title: str
    machine: str
    starts: str
    first_on: date | None
    held_back: bool
    file: str
    row: int


class NeverRead(NamedTuple):
    """A counter that would have no reading: its code, its name on the round, and its meter."""

    counter: str
    name: str
    meter: Meter


class Outlook(NamedTuple):
    """What a load would lead to.

    Attributes:
        problems: what is wrong with the files; with any, the rest is not worked out. Jobs without a last doing are none.
        without_doing: how many jobs have neither a last doing nor a start.
        unstarted: those jobs, with where they could begin.
        never_read: the counters without a reading, in walking order.
        rows: every line of the due list as it would stand, most urgent first.
        added: rows that would bring something new, by kind of file.
        revised: rows that would change what was loaded before.
        held: readings that cannot be true.
        sources: the files and sheets that were read.
        notes: what of them was passed over, a sentence each.
    """

    problems: tuple[Problem, ...] = ()
    without_doing: int = 0
    unstarted: tuple[ProposedStart, ...] = ()
    never_read: tuple[NeverRead, ...] = ()
    rows: tuple[DueRow, ...] = ()
    added: Mapping[FileKind, int] = {}
    revised: tuple[Proposed, ...] = ()
    held: tuple[Held, ...] = ()
    sources: tuple[Source, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def pressing(self) -> tuple[DueRow, ...]:
        """The lines that would be due or overdue."""
        return tuple(row for row in self.rows if row.standing.state >= State.DUE)


def outlook(register: Register, paths: Iterable[Path | str], signer: Signer) -> Outlook:
    """What loading these files would lead to; nothing is kept.

    Args:
        register: the open register.
        paths: files, workbooks and folders.
        signer: who would sign; nobody need be named.

    Raises:
        NotFound: the signer is not on the books.
    """
    bundle, found = read_files([Path(path) for path in paths])
    with register.locked(rehearse=True) as connection:
        if not signer.person.strip():
            signer = somebody(connection, signer)
        first = Ready(begin_loading(connection, bundle, signer), found)
        problems = tuple(one for one in first.problems if one.code != NO_LAST_DOING)
        told = Outlook(problems, len(first.unstarted), sources=bundle.sources, notes=bundle.notes)
        if problems:
            return told
        jobs = [row for row in bundle.jobs if (row.file, row.row) in first.unstarted]
        begun = {id(row): replace(row, starts=Start()) for row in jobs}
        whole = replace(bundle, jobs=tuple(begun.get(id(row), row) for row in bundle.jobs))
        loading = begin_loading(connection, whole, signer)
        write_facts(loading, Ready(loading, found=[]))
        if not loading.work.empty:
            loading.work.enter(LOAD_DEED)
        return _looked(connection, loading, jobs, told)


def doubtful_totals(rows: Iterable[DueRow]) -> Iterator[str]:
    """Last doings at a total that the counter has not reached: one of the two is wrong. A sentence each."""
    for row in rows:
        if row.because.since_kind is not DoingKind.DONE:
            continue
        for limb in row.because.limbs:
            if limb.kind == "count" and limb.base is not None and limb.total is not None and limb.base > limb.total:
                done, now = format_amount(limb.base, limb.unit), format_amount(limb.total, limb.unit)
                yield f"{row.job} was last done at {done}, and its counter shows {now} on {limb.read_on}."


def _looked(connection: Connection, loading: Loading, jobs: list[JobRow], told: Outlook) -> Outlook:
    """The register as it stands in the rehearsal."""
    seen = scene(connection, Asked(loading.now))
    rows, _ = due_rows_of(connection, seen, DueFilter(within_days=None))
    return told._replace(
        unstarted=tuple(_proposals(connection, seen, loading, jobs)),
        never_read=tuple(_never_read(connection, seen)),
        rows=tuple(rows),
        added=loading.tally.added,
        revised=loading.tally.revised,
        held=tuple(one._replace(number="") for one in loading.tally.held),
    )


def _proposals(connection: Connection, seen: Scene, loading: Loading, jobs: list[JobRow]) -> Iterator[ProposedStart]:
    ids, critical = loading.names.ids["machines"], critical_machines(connection, seen.view)
    counts = machine_counts(connection, seen)
    unstarted = []
    for place, row in enumerate(jobs):
        machine = ids[loading.names.machine_of_job(row.code)]
        totals = {unit: count.total for unit, count in counts.get(machine, {}).items()}
        held_back = row.critical or row.class_item or machine in critical
        unstarted.append(Unstarted(str(place), row.rule, held_back, totals))
    for row, job, date_ in zip(jobs, unstarted, spread(unstarted, seen.today), strict=True):
        yield _proposed(loading, row, date_, held_back=job.held_back)


def _proposed(loading: Loading, row: JobRow, first: FirstDate, *, held_back: bool) -> ProposedStart:
    starts = write_starts(Start(first.from_on, first.from_counts))
    machine = loading.names.ids["machines"][key_of(row.machine)]
    code = loading.names.code("machines", machine)
    return ProposedStart(row.code, row.title, code, starts, first.first_on, held_back, row.file, row.row)


def _never_read(connection: Connection, seen: Scene) -> Iterator[NeverRead]:
    read = counter_counts(connection, seen, periods_of(connection, seen))
    places = {machine.id: machine for machine in machines(connection, seen.view) if machine.active}
    for row in counters(connection, seen.view):
        if row.id not in read and row.machine_id in places:
            name = row.name or places[row.machine_id].name
            yield NeverRead(row.code, name, Meter(row.unit, row.reads))
