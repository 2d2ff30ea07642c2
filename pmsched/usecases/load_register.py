"""Load files into the register: machines, people, jobs and where they stand; all of it in one entry, or nothing.

The same files again add nothing, also after something they brought was corrected in the program: a file is compared
with what it said when it was loaded last. What it says otherwise is a change, and a change needs a reason.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.errors import NotAllowed, ProblemsFound
from pmsched.domain.problems import Problem
from pmsched.exchange.columns import FileKind
from pmsched.exchange.files_in import read_files
from pmsched.exchange.places import Source
from pmsched.store.book import Receipt
from pmsched.store.loaded_facts import LOAD_DEED
from pmsched.store.register import Register
from pmsched.usecases.load_changes import Held, Proposed, ReasonMissing
from pmsched.usecases.load_scene import Progress
from pmsched.usecases.load_steps import Ready, about_files, begin_loading, silent, somebody, write_facts
from pmsched.usecases.recounting import Recount
from pmsched.usecases.signing import Signer


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
        sources: the files and sheets that were read.
        notes: what of them was passed over, or read although it is hidden, a sentence each.
    """

    receipt: Receipt | None = None
    added: Mapping[FileKind, int] = {}
    revised: tuple[Proposed, ...] = ()
    unchanged: Mapping[FileKind, int] = {}
    held: tuple[Held, ...] = ()
    problems: tuple[Problem, ...] = ()
    recounted: tuple[Recount, ...] = ()
    sources: tuple[Source, ...] = ()
    notes: tuple[str, ...] = ()


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
    """Load input files and workbooks, or those of folders.

    Args:
        register: the open register.
        paths: files, workbooks and folders.
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
    places, tell = [Path(path) for path in paths], progress or silent
    tell("files", 0, 1)
    bundle, problems = read_files(places)
    tell("files", 1, 1)
    with register.locked(rehearse=check) as connection:
        if check and not signer.person.strip():
            signer = somebody(connection, signer)
        loading = begin_loading(connection, bundle, signer, reason, valid_from, tell)
        if valid_from is not None and valid_from < loading.seen.today:
            raise NotAllowed(
                "valid-from-past",
                f"{valid_from} is past: a changed rule never changes whether past work was on time.",
                f"Give {loading.seen.today} or a later date.",
            )
        if earlier := loading.work.earlier(LOAD_DEED):
            return LoadResult(earlier, notes=bundle.notes)
        ready = Ready(loading, problems)
        if ready.problems and not check:
            raise ProblemsFound(ready.problems, bundle.notes)
        if ready.problems:
            return LoadResult(problems=tuple(ready.problems), sources=bundle.sources, notes=bundle.notes)
        recounted = tuple(write_facts(loading, ready))
        revised = loading.tally.revised
        if revised and not (reason and reason.strip()) and not check:
            raise ReasonMissing(revised)
        receipt = None if check or loading.work.empty else loading.work.enter(LOAD_DEED, about_files(places, reason))
    held = tuple(one._replace(number="") if check else one for one in loading.tally.held)
    told = loading.tally
    return LoadResult(receipt, told.added, revised, told.unchanged, held, (), recounted, bundle.sources, bundle.notes)
