"""``pmsched due``: the due list, most urgent first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TypeVar

import click

from pmsched.cli.access import asked, open_register
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import SAFETY, asked_options, command
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import due_list_shape
from pmsched.cli.tables import Column, table, terminal_width, wrapped
from pmsched.cli.words import due_text, heading, named, some
from pmsched.domain.due import State
from pmsched.usecases.ask_due import DueFilter, DueList, DueRow, due_list

STATES = tuple(state.word for state in reversed(State))
# In the column only; everywhere else the state's own words stand.
_SHORT_STATE = {State.PAST_DUE_BY_ESTIMATE.word: "est. past due"}
_SHORT_MARK = {"isolated": "isol", "critical": "crit", "extended": "ext", "estimated": "est", "held reading": "held"}
_COLUMNS = (
    Column("state"),
    Column("machine"),
    Column("job"),
    Column("title", cut=True),
    Column("left"),
    Column("due"),
    Column("marks", spare=True),
)
_MACHINE = 1
_INDENT = "    "

T = TypeVar("T")


@command("due", "pmsched due --within 14", "pmsched due --department engine --because")
@click.option("--within", type=click.IntRange(min=0), metavar="DAYS", help="Due within so many days; 30 if not said.")
@click.option("--all", "every", is_flag=True, help="Every job, whenever it is due.")
@click.option("--department", metavar="D", help="Only this department.")
@click.option("--machine", metavar="M", help="Only the machine of this code.")
@click.option(
    "--state",
    type=click.Choice(STATES, case_sensitive=False),
    metavar="STATE",
    help=f"Only lines in this state, whenever due: {', '.join(STATES)}.",
)
@click.option("--because", is_flag=True, help="Print under each line why it is due then.")
@asked_options
@pass_here
def due(
    here: Here,
    within: int | None,
    department: str | None,
    machine: str | None,
    state: str | None,
    as_of: str | None,
    known_on: str | None,
    *,
    every: bool,
    because: bool,
) -> None:
    """List what falls due, most urgent first.

    What may be done, is due or is overdue is always listed; the rest when it falls due within the days asked for.
    """
    if every and within is not None:
        raise click.UsageError("--within and --all contradict each other.")
    # A state asked for is looked for among all jobs, or "later" would find nothing.
    days = None if every or (state and within is None) else 30 if within is None else within
    with open_register(here) as register:
        found = due_list(register, asked(as_of, known_on), DueFilter(days, department, machine, state))
    if here.as_json:
        document(due_list_shape(found))
    else:
        for line in due_lines(found, terminal_width(), because=because):
            out(line)
        _explain_marks(found)
    note(SAFETY)


def due_lines(found: DueList, width: int, *, because: bool = False) -> Iterator[str]:
    """The due list as text: its heading, and a line for each job unit."""
    yield heading(found.header, f"{len(found.rows)} of {some(found.looked_at, 'line')}", width)
    yield from due_table(found.rows, width, because=because)


def due_table(rows: Sequence[DueRow], width: int, *, because: bool = False, machine: bool = True) -> Iterator[str]:
    """Due lines as a table; with ``because`` the sum in words under each, without ``machine`` that column left out."""
    if not rows:
        return
    part = tuple if machine else _without_machine
    lines = table(part(_COLUMNS), [part(_cells(row)) for row in rows], width)
    yield next(lines)
    for row, line in zip(rows, lines, strict=True):
        yield line
        if because:
            marks = f"[{', '.join(row.marks)}] " if row.marks else ""
            yield from wrapped(marks + row.sentence, width, _INDENT)


def _cells(row: DueRow) -> tuple[str, ...]:
    return (
        _SHORT_STATE.get(row.state, row.state),
        row.machine,
        named(row.job, row.unit),
        row.title,
        row.left,
        due_text(row.due_on, expected=row.expected),
        " ".join(_SHORT_MARK.get(mark, mark) for mark in row.marks),
    )


def _without_machine(parts: Sequence[T]) -> tuple[T, ...]:
    return (*parts[:_MACHINE], *parts[_MACHINE + 1 :])


def _explain_marks(found: DueList) -> None:
    if not found.rows:
        note("Nothing falls due in that time. To see every job: pmsched due --all")
    if any(row.expected for row in found.rows):
        note("~ expected from use, not a calendar date.")
