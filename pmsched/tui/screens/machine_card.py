"""A machine's card: its counters, what it counts on, how its jobs stand, its parts, and what was done last."""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar, NamedTuple

from textual import on
from textual.binding import BindingType

from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.list_paper import list_paper
from pmsched.tui.screens.card_lines import CardLine, card_lines
from pmsched.tui.screens.listing import ListScreen
from pmsched.tui.screens.readings import ReadingsScreen
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import NOTHING_FITS, listed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.ask_machines import MachineCard

_CODE_WIDTH, _LEFT_WIDTH, _MARK_WIDTH = 12, 17, 12
_TAKEN = _CODE_WIDTH + _LEFT_WIDTH + _MARK_WIDTH + 5
LAST_DOINGS = 8


class Card(NamedTuple):
    """A card as it is shown: the machine, what is said of it as a whole, the lines, and the seal."""

    machine: str
    title: str
    lines: tuple[CardLine, ...]
    seal: str


class MachineCardScreen(ListScreen[Card]):
    """One machine's card.

    Args:
        code: the machine's code.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("machine")]
    places = ("everywhere", "lists", "machine")
    pages = ("machinery", "machines", "why")
    list_id = "card"
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

    def load(self) -> None:
        """Ask for the card and for what was done last."""
        self.ask("card", self._question(), lambda answer: self.take(*answer), refused=self.failed)

    def _question(self) -> Callable[[], tuple[MachineCard, tuple[HistoryRow, ...]]]:
        gateway, code = self.house.gateway, self.code

        def question() -> tuple[MachineCard, tuple[HistoryRow, ...]]:
            from pmsched.usecases.ask_history import HistoryFilter  # noqa: PLC0415 - loads the database; in a thread

            card = gateway.machine(code)
            return card, gateway.history(HistoryFilter(machine=card.machine.code)).rows[: -LAST_DOINGS - 1 : -1]

        return question

    def take(self, card: MachineCard, doings: tuple[HistoryRow, ...]) -> None:
        """Show what was answered."""
        row = card.machine
        machine = f"{row.code} {row.name}"
        marks = ("critical" if row.critical else "", row.department, "" if row.active else "not in use")
        self.know(card.header)
        self.show(Card(machine, listed((machine, *marks)), tuple(card_lines(card, doings)), card.header.seal))

    def columns(self, width: int) -> Sequence[Column]:
        """What it is takes the room that is left."""
        return (
            Column("state / code", _CODE_WIDTH), Column("what", max(33, width - _TAKEN)),
            Column("left / read", _LEFT_WIDTH), Column("due / use", _MARK_WIDTH),
        )  # fmt: skip

    def lines(self, found: Card, width: int) -> Sequence[Line]:  # noqa: ARG002 - the same in any width
        """The lines with the words in them; a heading whose lines are all narrowed away says nothing."""
        kept = [one.line for one in found.lines if one.line.band or one.matches(self.words)]
        return [
            line
            for line, after in pairwise([*kept, None])
            if line and not (line.band and (after is None or after.band))
        ]

    def told(self, found: Card, shown: Sequence[Line]) -> str:
        """Which machine it is."""
        if not found.lines:
            return f"{found.title} | first load counters, jobs: pmsched load"
        return found.title if shown else NOTHING_FITS

    def detail(self, key: str) -> str:
        """More of the line."""
        chosen = self._line(key)
        return chosen.detail if chosen else ""

    def paper(self) -> Paper | None:
        """The whole card."""
        if self.found is None:
            return None
        lines = [one.line for one in self.found.lines]
        return list_paper(
            self.code.lower(), self.found.title, self.columns(0), lines, self.found.seal,
            lambda line: self.detail(line.key),
        )  # fmt: skip

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
        elif self.found is not None:
            flows.isolate(self.house, self.code, self.found.machine)

    def action_readings(self) -> None:
        """The readings of the chosen counter, or of the first one."""
        chosen = self._chosen()
        first = next((one.counter for one in self._every() if one.counter), "")
        counter = (chosen.counter if chosen else "") or first
        if counter:
            self._open_readings(counter)
        else:
            self.app.notify("This machine has no counter and counts on none.", markup=False)

    def _open_readings(self, counter: str) -> None:
        self.app.push_screen(ReadingsScreen(counter, self.path))

    def _chosen(self) -> CardLine | None:
        return self._line(self.chosen_key)

    def _line(self, key: str) -> CardLine | None:
        return next((one for one in self._every() if one.line.key == key), None)

    def _every(self) -> tuple[CardLine, ...]:
        return self.found.lines if self.found else ()
