"""``pmsched load``: files into the register, all of them in one entry or nothing."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import click

from pmsched.cli.access import open_register, read_option, signer
from pmsched.cli.context import Here, moment, pass_here
from pmsched.cli.house import command, request_option
from pmsched.cli.load_starts import propose_starts
from pmsched.cli.printing import document, note, out
from pmsched.cli.progress import Progress
from pmsched.cli.shapes_deeds import load_shape
from pmsched.cli.tables import Column, table, terminal_width, wrapped
from pmsched.cli.words import entered, named, some
from pmsched.domain.counts import format_amount
from pmsched.domain.errors import ProblemsFound, Refusal
from pmsched.exchange.columns import INPUT_FILES
from pmsched.exchange.dates import read_date
from pmsched.usecases.load_checks_history import NO_LAST_DOING
from pmsched.usecases.load_register import LoadResult
from pmsched.usecases.load_register import load as load_files
from pmsched.usecases.signing import Signer

_COLUMNS = (
    Column("file"), Column("new", right=True), Column("changed", right=True), Column("as before", right=True),
)  # fmt: skip
_PROBLEMS = 3


@command(
    "load",
    "pmsched load my-files --check",
    "pmsched load my-files",
    "pmsched load ship.xlsx --check",
    "pmsched load ship.xlsx --check --starts ship-with-starts.xlsx",
    "pmsched load jobs.csv --reason 'maker letter 12' --valid-from 2030-02-01",
)
@click.argument("paths", nargs=-1, required=True, metavar="FILES|FOLDER...", type=click.Path(path_type=Path))
@click.option("--check", is_flag=True, help="Tell what is wrong and what would be done; keep nothing.")
@click.option(
    "--marked",
    metavar="FILE.xlsx",
    type=click.Path(path_type=Path),
    help="With --check: where a copy with the problems marked goes; next to a workbook if not said.",
)
@click.option(
    "--starts",
    metavar="FILE.xlsx",
    type=click.Path(path_type=Path),
    help="With --check: write a copy in which jobs without a last doing have first dates, spread out.",
)
@click.option("--reason", metavar="TEXT", help="Why things loaded before are changed; needed if any is.")
@click.option("--valid-from", metavar="DATE", help="Ship's date from which changes act; today if not said.")
@request_option
@pass_here
def load(
    here: Here,
    paths: tuple[Path, ...],
    reason: str | None,
    valid_from: str | None,
    request: str | None,
    marked: Path | None,
    starts: Path | None,
    *,
    check: bool,
) -> None:
    """Bring in people, machines, counters, jobs, last doings, readings and parts from CSV files and workbooks (.xlsx).

    The same files again add nothing. Empty files to fill in: pmsched init --templates DIR
    """
    for option, target in (("--marked", marked), ("--starts", starts)):
        _check_target(option, target, check=check)
    if starts is not None and propose_starts(here, paths, starts):
        return
    acts_from: date | None = read_option(read_date, valid_from)
    with open_register(here) as register, Progress("loading") as progress:
        result = load_files(
            register,
            paths,
            # A check keeps nothing, so nobody needs to sign it.
            Signer(here.by, moment(), here.acting, request) if check else signer(here, request),
            check=check,
            reason=reason,
            valid_from=acts_from,
            progress=progress.about,
        )
    copies = _mark(result, marked) if result.problems else []
    if here.as_json:
        document(load_shape(result, copies))
        if result.problems:
            raise click.exceptions.Exit(_PROBLEMS)
        return
    if result.problems:
        found = ProblemsFound(result.problems, result.notes)
        found.hint += "".join(f"\nThey are marked in {path}." for path in copies)
        if any(problem.code == NO_LAST_DOING for problem in result.problems):
            found.hint += "\nFirst dates for jobs without a last doing: add --starts FILE.xlsx"
        raise found
    for said in result.notes:
        note(said)
    for line in load_lines(result, terminal_width()):
        out(line)
    _say_what_next(result, check=check, reason=reason)


def _check_target(option: str, target: Path | None, *, check: bool) -> None:
    if target is None:
        return
    if not check:
        raise click.UsageError(f"{option} goes with --check.")
    from pmsched.exchange.marked import check_target  # noqa: PLC0415 - only where a copy is asked for

    check_target(target)


def _mark(result: LoadResult, marked: Path | None) -> list[Path]:
    """Writes the marked copies. Where they cannot be written, the problems are told all the same."""
    from pmsched.exchange.marked import write_marked_copies  # noqa: PLC0415 - only where something is wrong

    try:
        return write_marked_copies(result.sources, result.problems, marked)
    except Refusal as refusal:
        note(f"No marked copy was made: {refusal}")
        return []


def load_lines(result: LoadResult, width: int) -> Iterator[str]:
    """What a load did as text: how many rows of each file, every change, what is held, and the receipt."""
    changed = {kind: sum(one.kind == kind for one in result.revised) for kind in INPUT_FILES}
    cells = [
        (kind, str(result.added.get(kind, 0)), str(changed[kind]), str(result.unchanged.get(kind, 0)))
        for kind in INPUT_FILES
        if result.added.get(kind) or changed[kind] or result.unchanged.get(kind)
    ]
    if cells:
        yield from table(_COLUMNS, cells, width)
    for one in result.revised:
        yield from wrapped(f"changed: {one}", width)
    for held in result.held:
        number = f"reading {held.number} " if held.number else ""
        yield from wrapped(f"held: {number}{held.counter} ({held.file}, row {held.row}): {held.message}", width)
    for total in result.recounted:
        before, after = format_amount(total.before, total.counted), format_amount(total.after, total.counted)
        yield f"worked out again: {named(total.job, total.unit)} done {total.done_on}: {before} -> {after}"
    if result.receipt is not None:
        yield f"Loaded; {entered(result.receipt)}."


def _say_what_next(result: LoadResult, *, check: bool, reason: str | None) -> None:
    if check:
        note("Checked: nothing is wrong, and nothing was kept. To keep it, leave out --check.")
        if result.revised and not reason:
            note("Changes need a reason: add --reason TEXT.")
    elif result.receipt is None:
        note("Nothing new: everything is there already.")
    elif result.held:
        note(f"{some(len(result.held), 'reading')} held: not used until settled. See: pmsched settle")
