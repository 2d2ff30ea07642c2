"""Readings that are held: what is wrong with each, what was perhaps meant, and what is to become of it."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on

from pmsched.domain.counts import Meter, format_count
from pmsched.domain.words import some
from pmsched.tui import flows
from pmsched.tui.folding import folded, row
from pmsched.tui.keeping import Keeper
from pmsched.tui.page import WIDTH, Paper
from pmsched.tui.screens.amend_form import AmendForm, Deed
from pmsched.tui.screens.form import Entry
from pmsched.tui.screens.listing import ListScreen
from pmsched.tui.typed_values import numbered, one_of, shown_time
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import NOTHING_FITS, matching

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pmsched.usecases.amend_reading import AmendReading, HeldReading

_COLUMNS = (Column("reading", 8, right=True), Column("counter", 14), Column("read at", 17), Column("value", 14, right=True))  # fmt: skip
_VALUE, _CONFIRM, _STRIKE = "the true value is typed below", "it is true as it stands", "strike it: it is worthless"
HELD_CHOICES = (_VALUE, _CONFIRM, _STRIKE)
ACCEPTED_CHOICES = (_VALUE, _STRIKE)


class SettleScreen(ListScreen["tuple[HeldReading, ...]"]):
    """The readings that wait to be settled, oldest first.

    Args:
        above: the path this was opened from.
    """

    pages = ("settle", "readings", "round")
    list_id = "held"
    on_enter = "Settle"
    about = """\
These readings cannot be true beside the others. They are kept, but not used:
the dates of the jobs that count on them stand still until they are settled.
Below the list: what is wrong, and what was perhaps meant.
Go to the meter if you can. Then Enter, and say what is true: another value,
the value as it stands, or nothing (strike it). A reason is always needed.
Which of two readings is wrong is for you to say; pmsched never decides.
Before it is signed, all that it touches is listed."""

    def __init__(self, above: str) -> None:
        super().__init__()
        self.path = f"{above} > Held readings"

    def load(self) -> None:
        """Ask for the held readings."""
        self.ask("held", self.house.gateway.held, self.show, refused=self.failed)

    def columns(self, width: int) -> Sequence[Column]:
        """What is wrong takes the room that is left."""
        return (*_COLUMNS, Column("what is wrong", max(22, width - 58)))

    def lines(self, found: tuple[HeldReading, ...], width: int) -> Sequence[Line]:  # noqa: ARG002 - the same in any
        """The readings with the words in them."""
        return [line for line in map(_line, found) if matching(self.words, " ".join(line.cells))]

    def told(self, found: tuple[HeldReading, ...], shown: Sequence[Line]) -> str:
        """How many there are."""
        if not found:
            return "No reading is held. Esc goes back."
        if not shown:
            return NOTHING_FITS
        return f"{some(len(shown), 'reading')} held | Enter settles the chosen one"

    def detail(self, key: str) -> str:
        """What is wrong, and what was perhaps meant."""
        held = self._held(key)
        return "\n".join((f"{held.counter}, {_read(held)}", *said_of(held))) if held else ""

    def paper(self) -> Paper | None:
        """Every line with what is said of it."""
        widths = (8, 14, 17, 14, 21)
        blocks = tuple(
            (*row(_line(held).cells, widths), *folded("    " + "; ".join(said_of(held)), WIDTH, "    "))
            for held in self.found or ()
            if matching(self.words, " ".join(_line(held).cells))
        )
        heads = " ".join(f"{column.name:<{width}}" for column, width in zip(self.columns(0), widths, strict=True))
        return Paper("held-readings", "Readings that are held", heads, blocks) if blocks else None

    @on(Lines.Opened, "#held")
    def _settle(self, event: Lines.Opened) -> None:
        if held := self._held(event.line.key):
            flows.settle_reading(self.house, held)

    def _held(self, key: str) -> HeldReading | None:
        return next((held for held in self.found or () if held.number == key), None)


def _line(held: HeldReading) -> Line:
    value = f"{format_count(held.dial, held.meter)} {held.meter.unit}"
    said = held.judgement.message or "can be true now"
    read_at = shown_time(held.read_at, held.offset_minutes)
    return Line(held.number, (held.number, held.counter, read_at, value, said), "held")


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


def _read(held: HeldReading) -> str:
    return reading_text(held.read_at, held.offset_minutes, held.dial, held.meter)
