"""Machinery: which machine is it, and how does it stand? The tree, found by any of its names."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from pmsched.domain.words import some
from pmsched.tui.actions import bindings_of
from pmsched.tui.list_paper import list_paper
from pmsched.tui.safe_text import shown
from pmsched.tui.screens.base import HouseScreen, matching
from pmsched.tui.screens.machine_card import MachineCardScreen
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import LOOKS, STATE_WIDTH, listed, short_state

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal
    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_machines import MachineList, MachineRow

_WIDE_FROM = 100
_MACHINE_WIDTH, _NAMES_WIDTH = 42, 30
_TAKEN = 38  # by the other columns, the gaps and the scroll bar


class MachineryScreen(HouseScreen):
    """The machines in walking order, set in under the machine they belong to."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("machinery")]
    path = "Machinery"
    places = ("everywhere", "lists", "machinery")
    pages = ("machines",)
    about = """\
This list answers: which machine is it, and how does it stand?
The machines stand in walking order, each under the machine it belongs to.
/ finds a machine as you type: by its code, its name, or any other name people
have for it. Enter keeps what was found, Esc shows the whole tree again.
The state is that of its most urgent job. Jobs counts job units.
Enter opens the machine's card: its counters, jobs, parts and last doings.
A machine that is not in use stays in the list and is marked."""

    def __init__(self) -> None:
        super().__init__()
        self.words = ""
        self._found: MachineList | None = None
        self._rows: dict[str, MachineRow] = {}

    def body(self) -> ComposeResult:
        """The tree, and below it what is said of the chosen machine."""
        yield Lines(_columns(0), id="machines")
        yield Static(id="detail", markup=False)

    def load(self) -> None:
        """Ask for the whole tree; it is narrowed here, as it is typed."""
        self.ask("machines", lambda: self.house.gateway.machines(""), self.show, refused=self.failed)

    def show(self, found: MachineList) -> None:
        """Show what was answered."""
        self._found = found
        self._rows = {row.code: row for row in found.rows}
        self.house.know(found.header.site, found.header.offset_minutes, self.house.oldest_days)
        self.show_top()
        self._fill()

    def failed(self, refusal: Refusal) -> None:
        """A question was refused; nothing old is left standing."""
        self._found, self._rows = None, {}
        self.query_one("#machines", Lines).show([])
        super().failed(refusal)

    def filtered(self, words: str) -> None:
        """Narrow the tree to machines with these words in their code or any name."""
        self.words = words
        self._fill()

    def on_resize(self) -> None:
        """Other columns fit another width."""
        super().on_resize()
        self._fill()

    def _fill(self) -> None:
        if self._found is None:
            return
        rows = self._shown(self._found)
        wide = self.size.width >= _WIDE_FROM
        lines = [Line(row.code, self._cells(row, wide=wide), LOOKS.get(row.state, "quiet")) for row in rows]
        self.query_one("#machines", Lines).show(lines, _columns(self.size.width))
        self.say(self._summary(self._found, len(rows)))

    def paper(self) -> Paper | None:
        """The machines shown."""
        if self._found is None:
            return None
        lines = [Line(row.code, self._cells(row, wide=False)) for row in self._shown(self._found)]
        return list_paper("machines", "Machinery", _columns(0), lines, self._found.header.seal)

    def _shown(self, found: MachineList) -> list[MachineRow]:
        return [row for row in found.rows if matching(self.words, _names(row))]

    def _cells(self, row: MachineRow, *, wide: bool) -> tuple[str, ...]:
        # A part of the tree has no depths: parents are missing in it.
        called = f"  ({_alias(row, self.words)})" if self.words else ""
        machine = f"{'' if self.words else '  ' * row.depth}{row.code} {row.name}{called if called != '  ()' else ''}"
        cells = [
            machine, short_state(row.state), str(row.jobs or ""), "critical" if row.critical else "",
            row.department if row.active else "not in use",
        ]  # fmt: skip
        return (*cells, "; ".join(row.other_names)) if wide else tuple(cells)

    def _summary(self, found: MachineList, count: int) -> str:
        if not found.rows:
            return "No machines yet. Bring them in with: pmsched load machines.csv (pmsched help files)"
        if not count:
            return "No machine has all of these words in its code or a name. Esc shows them all."
        return f"{count} of {some(found.looked_at, 'machine')} | / finds by any name | Enter opens the card"

    @on(Lines.Chosen, "#machines")
    def _explain(self, event: Lines.Chosen) -> None:
        row = event.line and self._rows.get(event.line.key)
        self.query_one("#detail", Static).update(shown(_detail(row) if row else "", line_breaks=True))

    @on(Lines.Opened, "#machines")
    def _open(self, event: Lines.Opened) -> None:
        self.app.push_screen(MachineCardScreen(event.line.key))


def _columns(width: int) -> tuple[Column, ...]:
    wide = width >= _WIDE_FROM
    machine = width - _TAKEN - _NAMES_WIDTH - 1 if wide else _MACHINE_WIDTH
    columns = (
        Column("machine", machine), Column("state", STATE_WIDTH), Column("jobs", 4, right=True), Column("critical", 8),
        Column("department", 10),
    )  # fmt: skip
    return (*columns, Column("also called", _NAMES_WIDTH)) if wide else columns


def _names(row: MachineRow) -> str:
    return "\n".join((row.code, row.name, *row.other_names))


def _alias(row: MachineRow, words: str) -> str:
    """The other name a machine was found by, where code and name do not hold the words."""
    if matching(words, f"{row.code}\n{row.name}"):
        return ""
    return next((name for name in row.other_names if any(word in name.lower() for word in words.lower().split())), "")


def _detail(row: MachineRow) -> str:
    marks = ("critical" if row.critical else "", row.department, "" if row.active else "not in use", row.state)
    lines = (
        f"{row.code} {row.name}",
        listed(marks),
        f"Also called: {'; '.join(row.other_names)}" if row.other_names else "",
        f"Belongs to: {row.parent}" if row.parent else "",
    )
    return listed(lines, "\n")
