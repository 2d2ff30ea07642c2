"""The readings of one counter, every version of them: accepted, held, corrected, struck; who, when, why."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from pmsched.domain.clocks import to_utc
from pmsched.domain.counts import format_amount, format_count
from pmsched.domain.words import some
from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.list_paper import list_paper
from pmsched.tui.safe_text import shown
from pmsched.tui.screens.base import HouseScreen, matching
from pmsched.tui.typed_values import shown_time
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import listed

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal
    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_records import ReadingHistory, ReadingRow

_LOOKS = {"held": "held", "corrected": "quiet", "struck": "quiet"}
_NARROWEST, _TAKEN = 12, 67


class ReadingsScreen(HouseScreen):
    """The readings of a counter, newest first.

    Args:
        counter: the counter's code.
        above: the path this was opened from.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("readings")]
    places = ("everywhere", "lists", "readings")
    pages = ("readings", "correct")
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
        self.words = ""
        self._found: ReadingHistory | None = None
        self._rows: dict[str, ReadingRow] = {}

    def body(self) -> ComposeResult:
        """The list, and below it what is said of the chosen version."""
        yield Lines(_columns(0), id="readings")
        yield Static(id="detail", markup=False)

    def load(self) -> None:
        """Ask for every version."""
        self.ask("readings", lambda: self.house.gateway.readings(self.counter), self.show, refused=self.failed)

    def show(self, found: ReadingHistory) -> None:
        """Show what was answered."""
        self._found = found
        self._rows = {f"{row.number}/{row.entry_no}": row for row in reversed(found.rows)}
        self.house.know(found.header.site, found.header.offset_minutes, self.house.oldest_days)
        self.show_top()
        self._fill()

    def failed(self, refusal: Refusal) -> None:
        """A question was refused; nothing old is left standing."""
        self._found, self._rows = None, {}
        self.query_one("#readings", Lines).show([])
        super().failed(refusal)

    def filtered(self, words: str) -> None:
        """Narrow the list to lines with these words."""
        self.words = words
        self._fill()

    def on_resize(self) -> None:
        """Other columns fit another width."""
        super().on_resize()
        self._fill()

    def _fill(self) -> None:
        if self._found is None:
            return
        every = [
            Line(key, self._cells(row, self._found), _LOOKS.get(row.version, "")) for key, row in self._rows.items()
        ]
        lines = [line for line in every if matching(self.words, " ".join(line.cells))]
        self.query_one("#readings", Lines).show(lines, _columns(self.size.width))
        counted = [f"{sum(r.version == version for r in self._rows.values())} {version}" for version in _LOOKS]
        told = [some(len(lines), "line"), *(text for text in counted if not text.startswith("0 "))]
        self.say(listed(told) if every else f"{self.counter} was never read. Enter it in the Round (F3).")

    def paper(self) -> Paper | None:
        """Every version shown."""
        if self._found is None:
            return None
        lines = self.query_one("#readings", Lines).lines
        title = f"Readings of {self.counter}, newest first, every version of them"
        return list_paper(f"readings-{self.counter.lower()}", title, _columns(0), lines, self._found.header.seal)

    def _cells(self, row: ReadingRow, found: ReadingHistory) -> tuple[str, ...]:
        total = "" if row.total is None else format_amount(row.total, found.meter.unit)
        why = listed((row.held_for, row.reason, row.note), "; ")
        return (
            shown_time(row.read_at, row.offset_minutes),
            row.version,
            format_count(row.dial, found.meter),
            total,
            row.signer,
            why,
        )

    @on(Lines.Chosen, "#readings")
    def _explain(self, event: Lines.Chosen) -> None:
        row = event.line and self._rows.get(event.line.key)
        self.query_one("#detail", Static).update(shown(_detail(row) if row else "", line_breaks=True))

    def action_correct(self) -> None:
        """Correct or strike the chosen reading."""
        line = self.query_one("#readings", Lines).chosen
        if row := line and self._rows.get(line.key):
            flows.correct_reading(self.house, row.number, self.counter)


def _columns(width: int) -> tuple[Column, ...]:
    return (
        Column("read at", 16), Column("version", 9), Column("dial", 13, right=True), Column("total", 14, right=True),
        Column("signed", 8), Column("why", max(_NARROWEST, width - _TAKEN)),
    )  # fmt: skip


def _detail(row: ReadingRow) -> str:
    recorded = to_utc(row.recorded_at)
    signed = f"Signed by {row.signer} as {row.signed_as}, {recorded:%Y-%m-%d %H:%M} UTC, entry {row.entry_no}"
    said = [f"Held: {row.held_for}" if row.held_for else "", f"Reason: {row.reason}" if row.reason else "", row.note]
    return listed((f"Reading {row.number}, {row.version.upper()}", signed, listed(said)), "\n")
