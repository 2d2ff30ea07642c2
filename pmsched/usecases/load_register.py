"""Load files into the register: machines, people, jobs and where they stand; all of it in one entry, or nothing.

The same files again add nothing, also after something they brought was corrected in the program: a file is compared
with what it said when it was loaded last. What it says otherwise is a change, and a change needs a reason.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection

from pmsched.domain.errors import NotAllowed, ProblemsFound
from pmsched.domain.plain import check_text
from pmsched.domain.problems import Problem
from pmsched.exchange.columns import FileKind
from pmsched.exchange.csv_in import read_files
from pmsched.exchange.input_files import find_files
from pmsched.exchange.rows import Bundle
from pmsched.store.book import Receipt
from pmsched.store.loaded_facts import LOAD_DEED
from pmsched.store.lookups import people, site_row
from pmsched.store.register import Register
from pmsched.usecases.load_changes import Held, Proposed, ReasonMissing
from pmsched.usecases.load_checks import check_definitions
from pmsched.usecases.load_checks_history import HistoryChecks
from pmsched.usecases.load_definitions import load_counters, load_jobs, load_machines, load_people
from pmsched.usecases.load_follows import load_follows
from pmsched.usecases.load_given import GivenReadings
from pmsched.usecases.load_history import load_last_done
from pmsched.usecases.load_parts import load_parts
from pmsched.usecases.load_readings import load_readings, recount_corrected
from pmsched.usecases.load_said import SaidDoings
from pmsched.usecases.load_scene import Before, Loading, Names, Progress
from pmsched.usecases.load_starts import Grounds, load_starts
from pmsched.usecases.load_totals import Totals
from pmsched.usecases.load_unread import Unread
from pmsched.usecases.recounting import Recount, accepted_now, recount_since
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, scene

# Stands where a reason must, in what is never committed: a check, or a load that is refused for want of one.
_NO_REASON = "-"


class LoadResult(NamedTuple):
    """What a load did, or what it would do.

    Attributes:
        receipt: of the entry; None if nothing was new, and in a check.
        added: rows that brought something new, by kind of file.
        revised: rows that say otherwise than when they were loaded last, with every change.
        unchanged: rows that say nothing new, by kind of file.
        held: readings that cannot be true; they are kept, and wait to be settled.
        problems: what is wrong with the files; only in a check, as otherwise they are raised.
        recounted: totals kept with doings that were worked out again, because readings were corrected.
    """

    receipt: Receipt | None = None
    added: Mapping[FileKind, int] = {}
    revised: tuple[Proposed, ...] = ()
    unchanged: Mapping[FileKind, int] = {}
    held: tuple[Held, ...] = ()
    problems: tuple[Problem, ...] = ()
    recounted: tuple[Recount, ...] = ()


def load(
    register: Register,
    paths: Iterable[Path | str],
    signer: Signer,
    *,
    check: bool = False,
    reason: str | None = None,
    valid_from: date | None = None,
    progress: Progress | None = None,
) -> LoadResult:
    """Load input files, or the input files of folders.

    Args:
        register: the open register.
        paths: files and folders.
        signer: who signs.
        check: only tell what is wrong and what would be done; nothing is written.
        reason: why things loaded before are changed; needed if any is.
        valid_from: ship's date from which changed definitions act; that of the load by default.
        progress: told what is being done, how much of it is done, and how much there is.

    Raises:
        ProblemsFound: something is wrong with the files (not in a check).
        ReasonMissing: something is changed and no reason is given (not in a check).
        NotFound: the signer is not on the books.
    """
    places, tell = [Path(path) for path in paths], progress or _silent
    tell("files", 0, 1)
    bundle, problems = read_files(places)
    tell("files", 1, 1)
    with register.locked(rehearse=check) as connection:
        if check and not signer.person.strip():
            signer = _somebody(connection, signer)
        loading = _begin(connection, bundle, signer, reason, valid_from, tell)
        if valid_from is not None and valid_from < loading.seen.today:
            raise NotAllowed(
                "valid-from-past",
                f"{valid_from} is past: a changed rule never changes whether past work was on time.",
                f"Give {loading.seen.today} or a later date.",
            )
        if earlier := loading.work.earlier(LOAD_DEED):
            return LoadResult(earlier)
        ready = _Ready(loading, problems)
        if ready.problems and not check:
            raise ProblemsFound(ready.problems)
        if ready.problems:
            return LoadResult(problems=tuple(ready.problems))
        recounted = tuple(_write(loading, ready))
        revised = loading.tally.revised
        if revised and not (reason and reason.strip()) and not check:
            raise ReasonMissing(revised)
        receipt = None if check or loading.work.empty else loading.work.enter(LOAD_DEED, _about(places, reason))
    held = tuple(one._replace(number="") if check else one for one in loading.tally.held)
    return LoadResult(receipt, loading.tally.added, revised, loading.tally.unchanged, held, (), recounted)


class _Ready:
    """The files looked through: all that is wrong with them, and what the writing needs."""

    def __init__(self, loading: Loading, found: list[Problem]) -> None:
        unread = Unread(found, loading.bundle)
        self.given = GivenReadings(loading, unread)
        self.grounds = Grounds(loading, SaidDoings(loading))
        checks = [*check_definitions(loading, unread), *self.given.problems]
        checks += HistoryChecks(loading, unread, self.grounds, self.given.first_read).problems()
        self.problems = sorted([*found, *checks], key=lambda problem: (problem.file, problem.row))


def _begin(
    connection: Connection,
    bundle: Bundle,
    signer: Signer,
    reason: str | None,
    valid_from: date | None,
    progress: Progress,
) -> Loading:
    seen = scene(connection, Asked(signer.at))
    work = begin(connection, signer, seen)
    return Loading(
        connection,
        seen,
        work,
        bundle,
        Names(connection, bundle),
        Before(connection),
        site_row(connection, seen.view).id,
        check_text((reason or "").strip()) or _NO_REASON,
        valid_from or seen.today,
        progress,
    )


def _write(loading: Loading, ready: _Ready) -> list[Recount]:
    """Add the facts. What is asked of the register while doing so must have been flushed before."""
    for put in (load_people, load_machines, load_counters, load_follows, load_jobs, load_parts):
        put(loading)
    loading.work.flush()
    load_readings(loading, ready.given)
    recounted = recount_corrected(loading)
    recounted += recount_since(loading.connection, loading.seen, loading.work, _first_of_each(loading))
    totals = Totals(loading)
    load_starts(loading, ready.grounds, totals)
    load_last_done(loading, ready.grounds.said, totals)
    return recounted


def _first_of_each(loading: Loading) -> list[tuple[int, int]]:
    """Of every counter the earliest reading that is new: the register's last one before it stood alone until now."""
    new: dict[int, int] = {}
    for counter_id, at in accepted_now(loading.work):
        new.setdefault(counter_id, at)
    return list(new.items())


def _about(paths: list[Path], reason: str | None) -> dict[str, object]:
    """What was loaded, for the record: the files with their SHA-256."""
    files = [
        {"name": found.path.name, "sha256": hashlib.sha256(found.path.read_bytes()).hexdigest()}
        for found in find_files(paths, [])
    ]
    return {"files": files} | ({"reason": reason.strip()} if reason and reason.strip() else {})


def _somebody(connection: Connection, signer: Signer) -> Signer:
    """A check is signed by nobody; it is made as the first person on the books."""
    seen = scene(connection, Asked(signer.at))
    first = next((person.code for person in people(connection, seen.view) if person.active), "")
    return signer._replace(person=first)


def _silent(_what: str, _done: int, _total: int) -> None:
    """Nobody asked how far it is."""
