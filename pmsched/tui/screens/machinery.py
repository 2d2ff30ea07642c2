"""Machinery: which machine is it, and how does it stand? The tree, found by any of its names."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from pmsched.domain.words import some
from pmsched.tui.actions import bindings_of
from pmsched.tui.list_paper import list_paper
from pmsched.tui.screens.listing import ListScreen
from pmsched.tui.screens.machine_card import MachineCardScreen
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import LOOKS, NOTHING_FITS, STATE_WIDTH, listed, matching, short_state

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_machines import MachineList, MachineRow

_WIDE_FROM = 100
_MACHINE_WIDTH, _NAMES_WIDTH = 42, 30
_TAKEN = 38  # by the other columns, the gaps and the scroll bar


class MachineryScreen(ListScreen["MachineList"]):
    """The machines in walking order, set in under the machine they belong to."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("machinery")]
    path = "Machinery"
    places = ("everywhere", "lists", "machinery")
    pages = ("machinery", "machines", "screens")
    list_id = "machines"
    about = """\
This list answers: which machine is it, and how does it stand?
The machines stand in walking order, each under the machine it belongs to.
/ finds a machine as you type: by its code, its name, or any other name people
have for it. Enter keeps what was found, Esc shows the whole tree again.
The state is that of its most urgent job. Jobs counts job units.
Enter opens the machine's card: its counters, jobs, parts and last doings.
A machine that is not in use stays in the list and is marked."""

    def load(self) -> None:
        """Ask for the whole tree; it is narrowed here, as it is typed."""
        self.ask("machines", lambda: self.house.gateway.machines(""), self.show, refused=self.failed)

    def show(self, found: MachineList) -> None:
        """Show what was answered."""
        self.know(found.header)
        super().show(found)

    def columns(self, width: int) -> Sequence[Column]:
        """On a wide screen with every other name."""
        wide = width >= _WIDE_FROM
        machine = width - _TAKEN - _NAMES_WIDTH - 1 if wide else _MACHINE_WIDTH
        columns = (
            Column("machine", machine), Column("state", STATE_WIDTH), Column("jobs", 4, right=True), Column("critical", 8),
            Column("department", 10),
        )  # fmt: skip
        return (*columns, Column("also called", _NAMES_WIDTH)) if wide else columns

    def lines(self, found: MachineList, width: int) -> Sequence[Line]:
        """The machines with the words in their code or any name."""
        rows = [row for row in found.rows if matching(self.words, _names(row))]
        return [
            Line(row.code, self._cells(row, wide=width >= _WIDE_FROM), LOOKS.get(row.state, "quiet")) for row in rows
        ]

    def told(self, found: MachineList, shown: Sequence[Line]) -> str:
        """How many there are."""
        if not found.rows:
            return "First load machines: pmsched load machines.csv (see: pmsched help files)"
        if not shown:
            return NOTHING_FITS
        return f"{len(shown)} of {some(found.looked_at, 'machine')} | / finds by any name | Enter opens the card"

    def detail(self, key: str) -> str:
        """All of its names, and where it belongs."""
        return next((_detail(row) for row in self.found.rows if row.code == key), "") if self.found else ""

    def paper(self) -> Paper | None:
        """The machines shown."""
        if self.found is None:
            return None
        lines = self.lines(self.found, 0)
        return list_paper("machines", "Machinery", self.columns(0), lines, self.found.header.seal)

    def _cells(self, row: MachineRow, *, wide: bool) -> tuple[str, ...]:
        # A part of the tree has no depths: parents are missing in it.
        called = f"  ({_alias(row, self.words)})" if self.words else ""
        machine = f"{'' if self.words else '  ' * row.depth}{row.code} {row.name}{called if called != '  ()' else ''}"
        cells = [
            machine, short_state(row.state), str(row.jobs or ""), "critical" if row.critical else "",
            row.department if row.active else "not in use",
        ]  # fmt: skip
        return (*cells, "; ".join(row.other_names)) if wide else tuple(cells)

    @on(Lines.Opened, "#machines")
    def _open(self, event: Lines.Opened) -> None:
        self.app.push_screen(MachineCardScreen(event.line.key))


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
