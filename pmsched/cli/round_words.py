"""What became of a round, as text: its lines, what is held and why, and what moved on the due list."""

from __future__ import annotations

from collections.abc import Iterator

from pmsched.cli.printing import note, out
from pmsched.cli.tables import Column, table, terminal_width, wrapped
from pmsched.cli.words import dial_text, entered, some
from pmsched.usecases.record_round import LineResult, RoundResult
from pmsched.usecases.touched_words import moved_lines

_COLUMNS = (Column("counter"), Column("value", right=True), Column("judged", cut=True))


def show_round(result: RoundResult, *, checked_only: bool) -> None:
    """Prints a round as data: the lines and what moved, and the receipt if it was kept."""
    for line in round_lines(result, terminal_width()):
        out(line)
    if result.receipt is None:
        note("Nothing new: every value is there already.")
    elif not checked_only:
        show_receipt(result)


def show_receipt(result: RoundResult) -> None:
    """Prints what a kept round left behind, and what has to be settled."""
    if result.receipt is not None:
        new = sum(not line.judgement.duplicate for line in result.lines)
        what = "The round is" if result.receipt.repeated else some(new, "meter")
        out(f"{what} {entered(result.receipt)}.")
    if held := sum(not line.judgement.accepted for line in result.lines):
        note(f"{some(held, 'reading')} held: not used until settled. See: pmsched settle")


def round_lines(result: RoundResult, width: int) -> Iterator[str]:
    """The lines of a round with what is said of them, then what moves on the due list."""
    if result.lines:
        cells = [(line.counter, dial_text(line.dial, line.meter), _judged(line)) for line in result.lines]
        yield from table(_COLUMNS, cells, width)
    for line in result.lines:
        if not line.judgement.accepted:
            yield from wrapped(f"{line.counter}: {line.judgement.message}", width)
            for suggestion in line.judgement.suggestions:
                yield from wrapped(suggestion.text, width, "  ")
    if result.moved:
        yield f"On the due list {some(len(result.moved), 'line changes', 'lines change')}:"
        for moved in moved_lines(result.moved):
            yield from wrapped(moved, width, "  ")


def _judged(line: LineResult) -> str:
    if line.judgement.duplicate:
        return "already entered"
    return "accepted" if line.judgement.accepted else "held"
