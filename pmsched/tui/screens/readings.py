"""The readings of one counter, every version of them: accepted, held, corrected, struck; who, when, why."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual.binding import BindingType

from pmsched.domain.clocks import to_utc
from pmsched.domain.counts import format_amount, format_count
from pmsched.domain.words import some
from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.list_paper import list_paper
from pmsched.tui.screens.listing import ListScreen
from pmsched.tui.typed_values import shown_time
from pmsched.tui.widgets.lines import Column, Line
from pmsched.tui.words import NOTHING_FITS, listed, matching

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_records import ReadingHistory, ReadingRow

_LOOKS = {"held": "held", "corrected": "quiet", "struck": "quiet"}
_NARROWEST, _TAKEN = 12, 67


class ReadingsScreen(ListScreen["ReadingHistory"]):
    """The readings of a counter, newest first.

    Args:
        counter: the counter's code.
        above: the path this was opened from.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("readings")]
    places = ("everywhere", "lists", "readings")
    pages = ("readings", "correct")
    list_id = "readings"
    on_enter = ""
    more = "… p prints all of it"
    about = """\
Every reading of one counter, newest first, with every version of it.
accepted: it counts. held: it cannot be true and is not used until somebody
settles it. corrected: a later version replaced it. struck: it is void.
The dial is what the meter showed; the total is the running total of the
machine, and goes on when a meter is changed or begins again at 0.
Below the list: who signed the chosen version, when, and why.
v corrects or strikes the chosen reading; the old value stays readable."""

    def __init__(self, counter: str, above: str) -> None:
        super().__init__()
        self.counter = counter
        self.path = f"{above} > {counter}"
        self._rows: dict[str, ReadingRow] = {}

    def load(self) -> None:
        """Ask for every version."""
        self.ask("readings", lambda: self.house.gateway.readings(self.counter), self.show, refused=self.failed)

    def show(self, found: ReadingHistory) -> None:
        """Show what was answered."""
        self._rows = {f"{row.number}/{row.entry_no}": row for row in reversed(found.rows)}
        self.know(found.header)
        super().show(found)

    def columns(self, width: int) -> Sequence[Column]:
        """Why it is so takes the room that is left."""
        return (
            Column("read at", 16), Column("version", 9), Column("dial", 13, right=True), Column("total", 14, right=True),
            Column("signed", 8), Column("why", max(_NARROWEST, width - _TAKEN)),
        )  # fmt: skip

    def lines(self, found: ReadingHistory, width: int) -> Sequence[Line]:  # noqa: ARG002 - the same in any width
        """The versions with the words in them."""
        every = [Line(key, self._cells(row, found), _LOOKS.get(row.version, "")) for key, row in self._rows.items()]
        return [line for line in every if matching(self.words, " ".join(line.cells))]

    def told(self, found: ReadingHistory, shown: Sequence[Line]) -> str:
        """How many lines there are, and how many of them do not count."""
        if not found.rows:
            return f"First enter it in the Round (F3) | {self.counter} was never read"
        if not shown:
            return NOTHING_FITS
        counted = [f"{sum(row.version == version for row in found.rows)} {version}" for version in _LOOKS]
        return listed((some(len(shown), "line"), *(text for text in counted if not text.startswith("0 "))))

    def detail(self, key: str) -> str:
        """Who signed it, when, and why."""
        return _detail(self._rows[key]) if key in self._rows else ""

    def paper(self) -> Paper | None:
        """Every version shown."""
        if self.found is None:
            return None
        title = f"Readings of {self.counter}, newest first, every version of them"
        name = f"readings-{self.counter.lower()}"
        return list_paper(name, title, self.columns(0), self.lines(self.found, 0), self.found.header.seal)

    def action_correct(self) -> None:
        """Correct or strike the chosen reading."""
        if row := self._rows.get(self.chosen_key):
            flows.correct_reading(self.house, row.number, self.counter)

    def _cells(self, row: ReadingRow, found: ReadingHistory) -> tuple[str, ...]:
        total = "" if row.total is None else format_amount(row.total, found.meter.unit)
        why = listed((row.held_for, row.reason, row.note), "; ")
        return (
            shown_time(row.read_at, row.offset_minutes), row.version, format_count(row.dial, found.meter), total,
            row.signer, why,
        )  # fmt: skip


def _detail(row: ReadingRow) -> str:
    recorded = to_utc(row.recorded_at)
    signed = f"Signed by {row.signer} as {row.signed_as}, {recorded:%Y-%m-%d %H:%M} UTC, entry {row.entry_no}"
    said = [f"Held: {row.held_for}" if row.held_for else "", f"Reason: {row.reason}" if row.reason else "", row.note]
    return listed((f"Reading {row.number}, {row.version.upper()}", signed, listed(said)), "\n")
