"""The steps of a load, each in one place for all who take them: look the files through, then write what they say.

A load keeps what was written; an outlook only looks at it. Everything happens under the register's lock.
"""

from __future__ import annotations

import hashlib
from datetime import date
from pathlib import Path

from sqlalchemy import Connection

from pmsched.domain.plain import check_text
from pmsched.domain.problems import Problem
from pmsched.exchange.input_files import find_files
from pmsched.exchange.places import placed
from pmsched.exchange.rows import Bundle
from pmsched.store.lookups import people, site_row
from pmsched.usecases.load_checks import check_definitions
from pmsched.usecases.load_checks_history import NO_LAST_DOING, HistoryChecks
from pmsched.usecases.load_checks_unread import check_unread
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


class Ready:
    """The files looked through: all that is wrong with them, and what the writing needs.

    Args:
        loading: the load under way.
        found: what is wrong with the files themselves.

    Attributes:
        problems: all of them, in order.
        unstarted: file and row of the jobs of which neither a doing nor a start is known; each is a problem too.
    """

    def __init__(self, loading: Loading, found: list[Problem]) -> None:
        unread = Unread(loading.bundle)
        self.given = GivenReadings(loading, unread)
        self.grounds = Grounds(loading, SaidDoings(loading))
        checks = [*check_definitions(loading, unread), *self.given.problems]
        checks += HistoryChecks(loading, unread, self.grounds, self.given.first_read).problems()
        checks += check_unread(loading, unread, self.given)
        self.unstarted = {(one.file, one.row) for one in checks if one.code == NO_LAST_DOING}
        self.problems = sorted([*found, *placed(checks, loading.bundle.sources)], key=_place)


def _place(problem: Problem) -> tuple[str, str, int]:
    return problem.file, problem.sheet, problem.row


def begin_loading(
    connection: Connection,
    bundle: Bundle,
    signer: Signer,
    reason: str | None = None,
    valid_from: date | None = None,
    progress: Progress | None = None,
) -> Loading:
    """A load under way, with nothing written yet. Arguments as for ``load``.

    Raises:
        NotFound: the signer is not on the books.
    """
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
        progress or silent,
    )


def write_facts(loading: Loading, ready: Ready) -> list[Recount]:
    """Add the facts; the totals that were worked out again. What is asked of the register while doing so must have been flushed before."""
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


def about_files(paths: list[Path], reason: str | None) -> dict[str, object]:
    """What was loaded, for the record: the files with their SHA-256."""
    files = [
        {"name": found.path.name, "sha256": hashlib.sha256(found.path.read_bytes()).hexdigest()}
        for found in find_files(paths, [])
    ]
    return {"files": files} | ({"reason": reason.strip()} if reason and reason.strip() else {})


def somebody(connection: Connection, signer: Signer) -> Signer:
    """A check is signed by nobody; it is made as the first person on the books."""
    seen = scene(connection, Asked(signer.at))
    first = next((person.code for person in people(connection, seen.view) if person.active), "")
    return signer._replace(person=first)


def silent(_what: str, _done: int, _total: int) -> None:
    """Nobody asked how far it is."""
