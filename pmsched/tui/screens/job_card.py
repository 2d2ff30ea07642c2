"""A job's card: how do I do this safely, why is it due then, and what was done last?"""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.job_text import UNIT_KEY, card_text, told_of
from pmsched.tui.screens.texts import TextScreen
from pmsched.tui.widgets.lines import Lines

if TYPE_CHECKING:
    from pmsched.usecases.ask_job import JobCard


class JobCardScreen(TextScreen):
    """Everything about one job on one screen, cautions first.

    Args:
        job: its code.
        under: the path of the screen it was opened from.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("job")]
    places = ("everywhere", "lists", "job")
    pages = ("why", "report", "states", "safety", "machinery")
    about = """\
This card tells everything about one job: first its cautions, then why it is
due then, with the sum of every limit, what it needs, its steps, its units and
what was done last, late or on time.
Read the cautions before anything else. pmsched advises; you decide.
d reports the job done. On the line of a unit, d reports that unit, and Enter
tells why that unit is due then.
p writes the card as a page for the bench. / narrows the text as you type.
A date with ~ is expected from use; a date without is fixed.
Esc goes back to the list, to the same line."""

    def __init__(self, job: str, under: str) -> None:
        super().__init__()
        self.job = job
        self.path = f"{under} > {job}"
        self.unit = ""
        self._card: JobCard | None = None

    def load(self) -> None:
        """Ask for the card."""
        self.ask("job", lambda: self.house.gateway.job_card(self.job), self.show, refused=self.failed)

    def show(self, card: JobCard) -> None:
        """Show what was answered."""
        self._card = card
        row = told_of(card.units, self.unit)
        self.write(f"{row.job} {row.title}", tuple(card_text(card, self.unit)), card.header.seal)
        self.say(" | ".join((row.state, row.left, *row.marks, "d reports it done, Esc goes back")))

    @on(Lines.Opened, "#text")
    def _tell_of_unit(self, event: Lines.Opened) -> None:
        unit = self._unit_of(self.opened_key(event.line))
        if unit and self._card:
            self.unit = unit
            self.show(self._card)

    def action_report(self) -> None:
        """Report the job done, or the unit on whose line the cursor stands."""
        if self._card is None:
            return
        line = self.query_one("#text", Lines).chosen
        unit = self._unit_of(self.opened_key(line)) if line else ""
        row = told_of(self._card.units, unit)
        flows.report_job(self.house, row if unit else row._replace(unit=""))

    def _unit_of(self, key: str) -> str:
        return key.removeprefix(UNIT_KEY) if key.startswith(UNIT_KEY) else ""
