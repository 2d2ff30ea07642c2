"""The guide's last look: what will stand overdue and due, and why, before anything is signed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from pmsched.cli.printing import note
from pmsched.cli.tables import terminal_width, wrapped
from pmsched.cli.words import named, some
from pmsched.domain.aims import DoingKind
from pmsched.usecases.ask_due import DueRow
from pmsched.usecases.load_outlook import Outlook, doubtful_totals

_MOST_SHOWN = 10
_NEVER, _LONG_AGO, _HOURS = "Never done: due at once", "Done too long ago", "Hours or starts passed"


def show_outlook(seen: Outlook) -> None:
    """Tells what the due list will say."""
    for line in outlook_lines(seen, terminal_width()):
        note(line)


def outlook_lines(seen: Outlook, width: int) -> Iterator[str]:
    """How many lines stand how, then those that are due or overdue, by what made them so, and what may be a slip."""
    states = Counter(row.standing.state for row in seen.pressing)
    counted = [f"{states[state]} {state.word}" for state in sorted(states, reverse=True)]
    counted.append(f"{len(seen.rows) - len(seen.pressing)} not yet")
    yield ""
    yield "What the due list will say once this is loaded:"
    yield f"{some(len(seen.rows), 'line')}: {', '.join(counted)}."
    for heading in (_NEVER, _LONG_AGO, _HOURS):
        rows = [row for row in seen.pressing if _why(row) == heading]
        if rows:
            yield f"\n{heading} ({len(rows)}):"
            yield from _group(rows, width, explained=heading != _NEVER)
    yield from _slips(seen, width)


def _why(row: DueRow) -> str:
    because = row.because
    if because.since_kind in (None, DoingKind.DUE_AT_ONCE) or not 0 <= because.governing < len(because.limbs):
        return _NEVER
    return _HOURS if because.limbs[because.governing].kind == "count" else _LONG_AGO


def _group(rows: Sequence[DueRow], width: int, *, explained: bool) -> Iterator[str]:
    for row in rows[:_MOST_SHOWN]:
        left = f": {row.left}" if explained else ""
        yield from wrapped(f"{named(row.job, row.unit)}  {row.title} ({row.machine_name}){left}", width, "  ")
        if explained:
            yield from wrapped(row.sentence, width, "      ")
    if (more := len(rows) - _MOST_SHOWN) > 0:
        yield f"  and {more} more"


def _slips(seen: Outlook, width: int) -> Iterator[str]:
    doubtful = [*doubtful_totals(seen.rows), *(f"Held: {one.counter}, {one.message}." for one in seen.held)]
    if doubtful:
        yield "\nLook twice, something may be misread:"
    for said in doubtful[:_MOST_SHOWN]:
        yield from wrapped(said, width, "  ")
    if (more := len(doubtful) - _MOST_SHOWN) > 0:
        yield f"  and {more} more"
