"""A machine's card: its counters, what it counts on, how its jobs stand, its parts, and what was done last."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.list_paper import list_paper
from pmsched.tui.safe_text import shown
from pmsched.tui.screens.base import HouseScreen
from pmsched.tui.screens.card_lines import CardLine, card_lines
from pmsched.tui.screens.readings import ReadingsScreen
from pmsched.tui.widgets.lines import Column, Lines
from pmsched.tui.words import listed

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal
    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.ask_machines import MachineCard

_CODE_WIDTH, _LEFT_WIDTH, _MARK_WIDTH = 12, 17, 12
_TAKEN = _CODE_WIDTH + _LEFT_WIDTH + _MARK_WIDTH + 5
LAST_DOINGS = 8


class MachineCardScreen(HouseScreen):
    """One machine's card.

    Args:
        code: the machine's code.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("machine")]
    places = ("everywhere", "lists", "machine")
    pages = ("machines", "why")
    about = """\
A machine's card: everything the register knows of one machine.
Counters: the running total, what the dial shows, how old the reading is, and
the use per day. Counts on: the counters of other machines it counts on.
Jobs: how each stands, most urgent first. Parts: what is fitted now.
Last doings: the newest first; Records (c) has them all.
Below the list: more of the chosen line, for a job why it is due then.
Enter opens the job of the chosen line. d reports the chosen job done.
r lists the readings of the chosen counter, or of the first one.
i: the machine must not be started; on the line of an isolation: back in use."""

    def __init__(self, code: str) -> None:
        super().__init__()
        self.code = code
        self.path = f"Machinery > {code}"
        self.words = ""
        self._lines: tuple[CardLine, ...] = ()
        self._title = ""
        self._machine = ""
        self._seal = ""

    def body(self) -> ComposeResult:
        """All of the card in one list, and below it what is said of the chosen line."""
        yield Lines(_columns(0), id="card")
        yield Static(id="detail", markup=False)

    def load(self) -> None:
        """Ask for the card and for what was done last."""
        self.ask("card", self._question(), lambda answer: self.show(*answer), refused=self.failed)

    def _question(self) -> Callable[[], tuple[MachineCard, tuple[HistoryRow, ...]]]:
        gateway, code = self.house.gateway, self.code

        def question() -> tuple[MachineCard, tuple[HistoryRow, ...]]:
            from pmsched.usecases.ask_history import HistoryFilter  # noqa: PLC0415 - loads the database; in a thread

            card = gateway.machine(code)
            return card, gateway.history(HistoryFilter(machine=card.machine.code)).rows[: -LAST_DOINGS - 1 : -1]

        return question

    def show(self, card: MachineCard, doings: tuple[HistoryRow, ...]) -> None:
        """Show what was answered."""
        row = card.machine
        self.house.know(card.header.site, card.header.offset_minutes, self.house.oldest_days)
        self.show_top()
        self._seal = card.header.seal
        self._machine = f"{row.code} {row.name}"
        self._title = listed((
            f"{row.code} {row.name}", "critical" if row.critical else "", row.department,
            "" if row.active else "not in use",
        ))  # fmt: skip
        self._lines = tuple(card_lines(card, doings))
        self._fill()

    def failed(self, refusal: Refusal) -> None:
        """A question was refused; nothing old is left standing."""
        self._lines = ()
        self.query_one("#card", Lines).show([])
        super().failed(refusal)

    def filtered(self, words: str) -> None:
        """Narrow the card to lines with these words."""
        self.words = words
        self._fill()

    def on_resize(self) -> None:
        """Other columns fit another width."""
        super().on_resize()
        self._fill()

    def _fill(self) -> None:
        kept = [one.line for one in self._lines if one.line.band or one.matches(self.words)]
        # A heading whose lines are all narrowed away says nothing.
        lines = [
            line
            for line, after in pairwise([*kept, None])
            if line and not (line.band and (after is None or after.band))
        ]
        self.query_one("#card", Lines).show(lines, _columns(self.size.width))
        if self._title:
            self.say(self._title if self._lines else f"{self._title} | no counters, jobs or parts yet: pmsched load")

    def paper(self) -> Paper | None:
        """The whole card."""
        details = {one.line.key: one.detail for one in self._lines}
        lines = [one.line for one in self._lines]
        return list_paper(
            self.code.lower(), self._title, _columns(0), lines, self._seal, lambda line: details[line.key]
        )

    @on(Lines.Chosen, "#card")
    def _explain(self) -> None:
        chosen = self._chosen()
        self.query_one("#detail", Static).update(shown(chosen.detail if chosen else "", line_breaks=True))

    @on(Lines.Opened, "#card")
    def _open(self) -> None:
        chosen = self._chosen()
        if chosen is not None and chosen.isolation:
            self.action_isolate()
        elif chosen is not None and chosen.job:
            flows.open_job(self.house, chosen.job)
        elif chosen is not None and chosen.counter:
            self._open_readings(chosen.counter)

    def action_report(self) -> None:
        """Report the chosen job done."""
        chosen = self._chosen()
        if chosen is not None and chosen.row is not None:
            flows.report_job(self.house, chosen.row)
        else:
            self.app.notify("Choose a line under JOBS first.", markup=False)

    def action_isolate(self) -> None:
        """This machine must not be started; on the line of an isolation, that one is back in use."""
        chosen = self._chosen()
        if chosen is not None and (one := chosen.isolation):
            said = f"{one.kind} since {one.begun_on}: {one.said}"
            flows.end_isolation(self.house, one.machine, f"{one.machine} {one.machine_name}", one.number, said)
        elif self._machine:
            flows.isolate(self.house, self.code, self._machine)

    def action_readings(self) -> None:
        """The readings of the chosen counter, or of the first one."""
        chosen = self._chosen()
        first = next((one.counter for one in self._lines if one.counter), "")
        counter = (chosen.counter if chosen else "") or first
        if counter:
            self._open_readings(counter)
        else:
            self.app.notify("This machine has no counter and counts on none.", markup=False)

    def _open_readings(self, counter: str) -> None:
        self.app.push_screen(ReadingsScreen(counter, self.path))

    def _chosen(self) -> CardLine | None:
        line = self.query_one("#card", Lines).chosen
        return next((one for one in self._lines if line is not None and one.line.key == line.key), None)


def _columns(width: int) -> tuple[Column, ...]:
    return (
        Column("state / code", _CODE_WIDTH), Column("what", max(33, width - _TAKEN)),
        Column("left / read", _LEFT_WIDTH), Column("due / use", _MARK_WIDTH),
    )  # fmt: skip
