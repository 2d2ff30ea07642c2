"""What a round would move or has moved, and the three questions asked of it: sign, settle, throw away.

Each is a list with a question below it, and returns yes or no; the Round does what was said.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from pmsched.domain.counts import format_count
from pmsched.domain.words import named, some
from pmsched.tui.actions import bindings_named, bindings_of
from pmsched.tui.round_lines import sentences
from pmsched.tui.safe_text import shown
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import LOOKS, listed, short_state

if TYPE_CHECKING:
    from datetime import date

    from pmsched.usecases.changes import Moved
    from pmsched.usecases.record_round import LineResult, RoundResult

_COLUMNS = (Column("job or counter", 14), Column("", 23), Column("", 31))


class Row(NamedTuple):
    """A line of the list, and what is said below while it is chosen."""

    line: Line
    said: str = ""


class RoundList(ModalScreen[bool]):
    """The list with its question. Subclasses bind the key for yes.

    Args:
        title: what the list shows.
        rows: its lines.
        asks: the question, with its keys.
    """

    DEFAULT_CSS = """
    RoundList #said { height: 4; border-top: solid $panel; }
    RoundList #asks { text-style: bold; height: auto; }
    """
    path = "Round"
    places: tuple[str, ...] = ("forms",)
    pages: tuple[str, ...] = ("round",)
    about = ""

    def __init__(self, title: str, rows: Sequence[Row], asks: str) -> None:
        super().__init__()
        self._heading = title
        self._rows = {row.line.key: row for row in rows}
        self._asks = asks

    def compose(self) -> ComposeResult:
        """Title, list, what is said of the chosen line, and the question."""
        with Vertical(classes="form"):
            yield Static(shown(self._heading), classes="title", markup=False)
            yield Lines(_COLUMNS, id="rows")
            yield Static(id="said", markup=False)
            yield Static(shown(self._asks, line_breaks=True), id="asks", markup=False)

    def on_mount(self) -> None:
        """Show the list."""
        self.query_one(Lines).show([row.line for row in self._rows.values()])

    @on(Lines.Chosen)
    def _explain(self, event: Lines.Chosen) -> None:
        row = event.line and self._rows.get(event.line.key)
        self.query_one("#said", Static).update(shown(row.said if row else ""))

    def action_back(self) -> None:
        """No."""
        self.dismiss(False)


class SignRound(RoundList):
    """What would be kept, held and moved; asks once for the signature."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_named("submit", "leave-form", "help")]
    about = """\
What this round would leave behind. Nothing is kept yet.
Held: the value cannot be true. It is kept, not used, and waits to be settled.
Moves: what changes on the due list, from what it says now to what it will say.
Ctrl+S or . signs the round as one entry. Esc goes back to the lines, which are
all still there."""

    def action_submit(self) -> None:
        """Yes: sign."""
        self.dismiss(True)


class RoundSigned(RoundList):
    """What was kept and what moved; offers to settle what is held."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_named("settle-round", "leave-form", "help")]
    about = """\
The round is signed and kept as the entry named on top.
Moved: what changed on the due list by it. h settles readings that are held.
Enter or Esc goes back to the round."""

    @on(Lines.Opened)
    def _close(self) -> None:
        self.dismiss(False)

    def action_settle(self) -> None:
        """Yes: settle."""
        self.dismiss(True)


class ThrowAway(RoundList):
    """The lines that are typed and not signed; asks whether to throw them away."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("afresh"), *bindings_named("leave-form", "help")]
    about = """\
These lines are typed and not signed. y throws them away for good; Esc keeps
them, and the round goes on where it was left."""

    def action_throw_away(self) -> None:
        """Yes: throw away."""
        self.dismiss(True)


def outcome_rows(result: RoundResult) -> list[Row]:
    """What became of a round: what is held, what moves, and the readings themselves."""
    held = [line for line in result.lines if not line.judgement.accepted]
    kept = [line for line in result.lines if line.judgement.accepted]
    bands = (
        (f"HELD, NOT USED UNTIL SETTLED ({len(held)})", [_reading_row(line) for line in held]),
        (f"MOVES ON THE DUE LIST ({len(result.moved)})", [_moved_row(moved) for moved in result.moved]),
        (f"READINGS ({len(kept)})", [_reading_row(line) for line in kept]),
    )
    return [row for title, rows in bands if rows for row in (Row(Line(title, (title,), band=True)), *rows)]


def typed_rows(typed: Sequence[tuple[str, str, str]]) -> list[Row]:
    """Lines that are typed: counter, its name, and the text."""
    return [Row(Line(counter, (counter, name, text)), f"{counter} {name}: {text}") for counter, name, text in typed]


def outcome_words(result: RoundResult) -> str:
    """A round in a few words: '14 meters: 12 read, 1 already entered, 1 held; 9 lines of the due list move'."""
    held = sum(not line.judgement.accepted for line in result.lines)
    again = sum(line.judgement.duplicate for line in result.lines)
    counted = ((len(result.lines) - held - again, "read"), (again, "already entered"), (held, "held"))
    parts = listed((f"{count} {word}" for count, word in counted if count), ", ")
    moves = some(len(result.moved), "line of the due list moves", "lines of the due list move")
    return f"{some(len(result.lines), 'meter')}: {parts}; {moves if result.moved else 'the due list stays as it is'}"


def _reading_row(result: LineResult) -> Row:
    judgement = result.judgement
    value = f"{format_count(result.dial, result.meter)} {result.meter.unit}"
    word = "held" if not judgement.accepted else "already entered" if judgement.duplicate else "read"
    said = sentences((judgement.message, *(suggestion.text for suggestion in judgement.suggestions)))
    line = Line(f"reading {result.counter}", (result.counter, value, said or word), "held" if word == "held" else "")
    return Row(line, f"{result.counter} {value} {word}{': ' if said else ''}{said}")


def _moved_row(moved: Moved) -> Row:
    # The database is loaded by now; before the first answer it is not.
    from pmsched.usecases.touched_words import moved_lines  # noqa: PLC0415

    said = next(iter(moved_lines((moved,))))
    change = " -> ".join(_standing(moved))
    job = named(moved.job, moved.unit)
    return Row(Line(f"job {job}", (job, moved.title, change), LOOKS.get(moved.state_after, "quiet")), said)


def _standing(moved: Moved) -> Iterator[str]:
    """State and day before and after; what stays the same is said once."""
    before, after = _day(moved.due_before), _day(moved.due_after)
    yield f"{short_state(moved.state_before) or 'new'} {before}"
    same = moved.state_before == moved.state_after
    yield after if same else f"{short_state(moved.state_after)} {after}"


def _day(day: date | None) -> str:
    return "no date" if day is None else f"{day:%m-%d}"
