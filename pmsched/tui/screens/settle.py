"""Readings that are held: what is wrong with each, what was perhaps meant, and what is to become of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.widgets import Static

from pmsched.domain.counts import Meter, format_count
from pmsched.domain.words import some
from pmsched.tui import flows
from pmsched.tui.folding import folded, row
from pmsched.tui.keeping import Keeper
from pmsched.tui.page import WIDTH, Paper
from pmsched.tui.safe_text import shown
from pmsched.tui.screens.amend_form import AmendForm, Deed
from pmsched.tui.screens.base import HouseScreen, matching
from pmsched.tui.screens.form import Entry
from pmsched.tui.typed_values import numbered, one_of, shown_time
from pmsched.tui.widgets.lines import Column, Line, Lines

if TYPE_CHECKING:
    from pmsched.usecases.amend_reading import AmendReading, HeldReading

_COLUMNS = (Column("reading", 8, right=True), Column("counter", 14), Column("read at", 17), Column("value", 14, right=True))  # fmt: skip
_VALUE, _CONFIRM, _STRIKE = "the true value is typed below", "it is true as it stands", "strike it: it is worthless"
HELD_CHOICES = (_VALUE, _CONFIRM, _STRIKE)
ACCEPTED_CHOICES = (_VALUE, _STRIKE)


class SettleScreen(HouseScreen):
    """The readings that wait to be settled, oldest first."""

    path = "Watch > Held readings"
    pages = ("settle", "readings", "round")
    about = """\
These readings cannot be true beside the others. They are kept, but not used:
the dates of the jobs that count on them stand still until they are settled.
Below the list: what is wrong, and what was perhaps meant.
Go to the meter if you can. Then Enter, and say what is true: another value,
the value as it stands, or nothing (strike it). A reason is always needed.
Which of two readings is wrong is for you to say; pmsched never decides.
Before it is signed, all that it touches is listed."""

    def __init__(self) -> None:
        super().__init__()
        self.words = ""
        self._held: dict[str, HeldReading] = {}

    def body(self) -> ComposeResult:
        """The list, and what is said of the chosen line."""
        yield Lines(_columns(0), id="held")
        yield Static(id="detail", markup=False)

    def load(self) -> None:
        """Ask for the held readings."""
        self.ask("held", self.house.gateway.held, self.show, refused=self.failed)

    def show(self, held: tuple[HeldReading, ...]) -> None:
        """Show what was answered."""
        self._held = {reading.number: reading for reading in held}
        self._fill()

    def filtered(self, words: str) -> None:
        """Narrow the list to lines with these words."""
        self.words = words
        self._fill()

    def paper(self) -> Paper | None:
        """Every line with what is said of it."""
        widths = (8, 14, 17, 14, 21)
        blocks = tuple(
            (*row(line.cells, widths), *folded("    " + self._said(self._held[line.key]), WIDTH, "    "))
            for line in self.query_one("#held", Lines).lines
        )
        heads = " ".join(f"{column.name:<{width}}" for column, width in zip(_columns(0), widths, strict=True))
        return Paper("held-readings", "Readings that are held", heads, blocks) if blocks else None

    def _fill(self) -> None:
        lines = [self._line(held) for held in self._held.values()]
        found = [line for line in lines if matching(self.words, " ".join(line.cells))]
        self.query_one("#held", Lines).show(found, _columns(self.size.width))
        count = f"{some(len(found), 'reading')} held | Enter settles the chosen one"
        self.say(count if lines else "No reading is held. Esc goes back.")

    def _line(self, held: HeldReading) -> Line:
        value = f"{format_count(held.dial, held.meter)} {held.meter.unit}"
        said = held.judgement.message or "can be true now"
        return Line(
            held.number, (held.number, held.counter, shown_time(held.read_at, held.offset_minutes), value, said), "held"
        )

    def _said(self, held: HeldReading) -> str:
        return "; ".join(said_of(held))

    @on(Lines.Chosen, "#held")
    def _explain(self, event: Lines.Chosen) -> None:
        held = self._held.get(event.line.key) if event.line else None
        self.query_one("#detail", Static).update(shown("\n".join(said_of(held)) if held else "", line_breaks=True))

    @on(Lines.Opened, "#held")
    def _settle(self, event: Lines.Opened) -> None:
        flows.settle_reading(self.house, self._held[event.line.key])


class ReadingForm(AmendForm):
    """What is to become of one reading, held or accepted.

    Args:
        number, counter: which reading.
        said: what is known of it.
        value: what stands in the field of the true value at first.
        choices: what may become of it, ``HELD_CHOICES`` or ``ACCEPTED_CHOICES``.
        deed: what it would touch, and doing it.
        keeper: keeps the draft.
    """

    FAULTS: ClassVar[dict[str, str]] = dict.fromkeys(
        ("not-a-number", "negative-number", "ambiguous-number", "too-fine", "nothing-changes", "backwards", "above-later",
         "faster-than-clock", "later-too-fast", "differs-at-same-time"), "value",
    )  # fmt: skip

    def __init__(
        self, number: str, counter: str, said: tuple[str, ...], value: str, choices: tuple[str, ...], deed: Deed,
        keeper: Keeper | None = None,
    ) -> None:  # fmt: skip
        self.number = number
        self.choices = choices
        entries = (
            Entry("act", "What is so", choices[0], choices[0], numbered(choices)),
            Entry("value", "True value", value, "as the meter shows it", "As the meter shows it; only with choice 1."),
        )
        super().__init__(f"Reading {number} of {counter}", said, entries, deed, keeper)

    def entered(self, name: str) -> None:
        """A choice made by its number is written out."""
        if name == "act" and (said := self.value(name, self._choice)):
            self.field(name).value = said

    def _choice(self, text: str) -> str:
        return one_of(text, self.choices)

    def read(self) -> AmendReading:
        """The correction typed."""
        from pmsched.usecases.amend_reading import AmendReading  # noqa: PLC0415 - the database answered already

        choice = self.value("act", self._choice) or _VALUE
        value = self.typed("value")
        if choice == _VALUE and not value:
            self.fault("value", "Type the true value, or make another choice above.")
        act = {_CONFIRM: "confirm", _STRIKE: "strike"}.get(choice, "value")
        return AmendReading(self.number, act, self.reason(), value if choice == _VALUE else "")  # type: ignore[arg-type]


def reading_text(read_at: int, offset_minutes: int, dial: int, meter: Meter) -> str:
    """When it was read, and what the dial showed: 'read 2026-11-15 08:00: 31 609 h'."""
    return f"read {shown_time(read_at, offset_minutes)}: {format_count(dial, meter)} {meter.unit}"


def said_of(held: HeldReading) -> tuple[str, ...]:
    """What is wrong with a held reading, and what was perhaps meant, a line each."""
    message = held.judgement.message or "it can be true beside the readings as they are now; confirm it"
    return (message, *(suggestion.text for suggestion in held.judgement.suggestions))


def _columns(width: int) -> tuple[Column, ...]:
    """What is wrong takes the room that is left."""
    return (*_COLUMNS, Column("what is wrong", max(22, width - 58)))
