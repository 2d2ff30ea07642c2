"""The text of a job's card: cautions first, then why it is due then, needs, steps, its units, and what was done last.

Values in, paragraphs out; knows no widget.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from pmsched.domain.counts import format_amount
from pmsched.domain.file_names import attached_text
from pmsched.domain.sums import sum_lines
from pmsched.domain.words import SAFETY, done_by, due_text, some
from pmsched.tui.screens.texts import Said
from pmsched.tui.words import NO_CAUTION

if TYPE_CHECKING:
    from pmsched.usecases.ask_due import DueRow
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.ask_job import JobCard

_MOST_DOINGS = 12
UNIT_KEY = "unit "
"""Begins the key of a unit's line; its name follows."""


def card_text(card: JobCard, chosen: str = "") -> Iterator[Said]:
    """The card; ``why`` tells of the unit chosen, or of the most urgent one."""
    row = told_of(card.units, chosen)
    yield from caution_text(row.cautions)
    yield Said(SAFETY, look="quiet")
    yield Said("")
    yield Said("; ".join(part for part in (f"{row.machine} {row.machine_name}", row.department, row.rank) if part))
    yield from _why(row, several=len(card.units) > 1)
    yield Said(f"NEEDS: {row.needs or 'nothing written here'}")
    yield from _steps(card.steps)
    yield from _units(card.units)
    yield from _doings(card.doings)


def told_of(units: Sequence[DueRow], chosen: str = "") -> DueRow:
    """The line of the unit chosen, or of the most urgent one."""
    from pmsched.usecases.ask_due import urgency  # noqa: PLC0415 - loads the database, which answered already

    return next((row for row in units if row.unit and row.unit == chosen), min(units, key=urgency))


def caution_text(cautions: str) -> Iterator[Said]:
    """Each caution with its word before it."""
    yield from (Said(f"CAUTION: {caution}", look="overdue") for caution in cautions.splitlines())
    if not cautions:
        yield Said(NO_CAUTION)


def _why(row: DueRow, *, several: bool) -> Iterator[Said]:
    due = due_text(row.due_on, expected=row.expected) or "no date"
    unit = f"unit {row.unit}: " if several else ""
    yield Said(f"{unit}{'; '.join((row.state, *row.marks))}; due {due}; {row.left}")
    yield Said("")
    yield Said(f"WHY: {row.sentence}")
    yield from (Said(line.strip(), 2 + len(line) - len(line.lstrip())) for line in sum_lines(row.because))
    yield Said("")


def _steps(steps: str) -> Iterator[Said]:
    yield Said("")
    yield Said("STEPS" if steps else "STEPS: none are written here; see the maker's manual")
    for number, step in enumerate(steps.splitlines(), 1):
        yield Said(f"{number}. {step}", 2)


def _units(units: Sequence[DueRow]) -> Iterator[Said]:
    if len(units) < 2:  # noqa: PLR2004 - a job without units has one line, and it was told above
        return
    yield Said("")
    yield Said(f"UNITS: {len(units)}, each with its own date; Enter tells why")
    width = max(len(row.unit) for row in units)
    for row in units:
        due = due_text(row.due_on, expected=row.expected) or "no date"
        since = f"; last {row.because.since}" if row.because.since else ""
        yield Said(f"{row.unit:<{width}}  {row.state}; {row.left}; {due}{since}", 2, key=f"{UNIT_KEY}{row.unit}")


def _doings(doings: Sequence[HistoryRow]) -> Iterator[Said]:
    yield Said("")
    if not doings:
        yield Said("LAST DONE: never reported")
        return
    left_out = f"; {some(len(doings) - _MOST_DOINGS, 'line')} more in Records" if len(doings) > _MOST_DOINGS else ""
    yield Said(f"LAST DONE{left_out}")
    for row in doings[:_MOST_DOINGS]:
        yield from _doing(row)


def _doing(row: HistoryRow) -> Iterator[Said]:
    from pmsched.usecases.lateness import judged  # noqa: PLC0415 - as above

    parts = [f"{row.done_on} unit {row.unit}" if row.unit else f"{row.done_on}", judged(row)]
    parts += [f"{format_amount(count.total, count.unit)} ({count.basis})" for count in row.counts]
    parts += [row.condition, done_by(row.done_by), f"signed {row.signer} as {row.signed_as}"]
    yield Said("; ".join(part for part in parts if part), 2, look="quiet" if row.version != "in force" else "")
    attached = "; ".join(attached_text(file.name, file.number, file.size) for file in row.attachments)
    reason, files = f"reason: {row.reason}" if row.reason else "", f"attached: {attached}" if attached else ""
    for said in (row.remarks, files, reason):
        if said:
            yield Said(said, 6)
