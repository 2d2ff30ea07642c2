"""The sheet of a round: what is typed goes to the draft and is judged at once.

What is in the draft is not in the register; ``round`` ends the round.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import partial
from typing import TYPE_CHECKING

from textual import on
from textual.app import ComposeResult

from pmsched.domain.errors import Refusal
from pmsched.tui.round_lines import WAITING, Entry, columns
from pmsched.tui.round_state import RoundState, Sheet
from pmsched.tui.screens.base import HouseScreen, matching
from pmsched.tui.widgets.detail import Detail
from pmsched.tui.widgets.lines import Lines
from pmsched.tui.widgets.round_sheet import RoundSheet, Typed
from pmsched.usecases.round_draft import RoundDraft

if TYPE_CHECKING:
    from pmsched.usecases.ask_round import SheetLine
    from pmsched.usecases.record_round import LineResult


class RoundEntryScreen(HouseScreen):
    """The entry sheet: counters in walking order; below them what is known of the chosen one and said of its value."""

    on_enter = ""

    def __init__(self) -> None:
        super().__init__()
        self.round: RoundState | None = None

    def body(self) -> ComposeResult:
        """The sheet, and below it what is said of the chosen line."""
        yield RoundSheet(columns(0), id="sheet")
        yield Detail("… e shows all of it")

    @property
    def sheet(self) -> RoundSheet:
        """The list in which is typed."""
        return self.query_one("#sheet", RoundSheet)

    @property
    def chosen(self) -> str:
        """The code of the counter in the chosen line; empty below the last one."""
        return self.sheet.chosen.key if self.sheet.chosen else ""

    def load(self) -> None:
        """Ask for the counters; the first time also for what was typed before."""
        self.ask("sheet", self._read, self.show, refused=self.failed)

    def _read(self) -> Sheet:
        gateway = self.house.gateway
        draft = self.round.draft if self.round else RoundDraft(gateway.target)
        return Sheet(gateway.round_sheet(draft.at), gateway.ship_clock(), draft)

    def show(self, sheet: Sheet) -> None:
        """Show what was answered; what was typed before is gone on with."""
        if self.round is not None:
            self.round.renew(sheet)
            self.fill()
            return
        self.round = RoundState(sheet)
        self.fill()
        self.sheet.choose(self.round.where_left())
        self.judge(self.round.waiting(), "all")
        if gone := self.round.gone:
            left_out = ", ".join(f"{code} ({value})" for code, value in gone.items())
            self.warn(f"Not on the round any more, left out: {left_out}")

    def fill(self) -> None:
        """Show every line, narrowed by the filter."""
        if self.round is None:
            return
        now = self.house.gateway.now()
        found = [code for code, line in self.round.lines.items() if matching(self.words, _texts(line))]
        lines = [self.round.line(code, now) for code in found]
        self.sheet.show([*lines, self.round.end()] if self.round.lines else [], columns(self.size.width))
        self.say(self.round.told())

    @on(Lines.Chosen, "#sheet")
    def _explain(self) -> None:
        if self.round is not None and self.round.lines:
            said = self.round.said(self.chosen, self.house.gateway.now())
            self.query_one(Detail).tell(said)

    @on(RoundSheet.Entered)
    def _entered(self, event: RoundSheet.Entered) -> None:
        self.enter(event.typed)

    def enter(self, typed: Typed) -> None:
        """A line was typed and left; an empty one is taken back."""
        if self.round is None or typed.key not in self.round.lines:
            return
        if typed.text:
            entry = self.round.enter(typed.key, typed.text, self.house.gateway.now())
            self.judge({typed.key: entry}, typed.key)
        else:
            self.round.take_back(typed.key)
        self.changed(typed.key)

    def changed(self, *counters: str) -> None:
        """Bring what was typed to the disk, and show these lines anew."""
        if self.round is not None:
            self.ask("keep", self.round.draft.keep, self._kept, refused=self.not_kept, deed=True)
            self._show(counters)

    def _show(self, counters: Sequence[str]) -> None:
        if self.round is not None:
            for counter in counters:
                self.sheet.put(self.round.line(counter, self.house.gateway.now()))
            self.sheet.put(self.round.end())
            self.say(self.round.told())
            self._explain()

    def _kept(self, count: int) -> None:
        if self.round is not None:
            self.round.kept, self.round.not_kept = count, ""
            self.say(self.round.told())

    def not_kept(self, refusal: Refusal) -> None:
        """The disk does not take the draft: it is said until it does."""
        if self.round is not None:
            self.round.not_kept = refusal.message
            self.say(self.round.told())
        self.warn(str(refusal))

    def judge(self, entries: Mapping[str, Entry], group: str) -> None:
        """Have these entries judged, all in one go."""
        readable = {code: entry for code, entry in entries.items() if entry.word == WAITING}
        judge = self.house.gateway.judge

        def question() -> dict[str, LineResult]:
            return {code: judge(code, entry.text, entry.read_at) for code, entry in readable.items()}

        if readable:
            self.ask(f"judge {group}", question, partial(self.judged, readable))

    def judged(self, asked: Mapping[str, Entry], results: Mapping[str, LineResult]) -> None:
        """Take what is said of entries, unless others were typed meanwhile."""
        if self.round is not None:
            self._show([code for code, result in results.items() if self.round.judge(code, asked[code], result)])

    def action_undo_line(self) -> None:
        """Empty the chosen line."""
        typed = self.sheet.take_out()
        if self.round is not None and (self.round.take_back(self.chosen) or typed):
            self.changed(*filter(None, (self.chosen,)))
        else:
            self.say("Nothing is typed in this line.")

    def action_take_suggestion(self) -> None:
        """Take what was probably meant in the line that is explained below the list."""
        taken = self.round and self.round.take_other(self.chosen)
        if taken:
            self.judge(dict([taken]), taken[0])
            self.changed(taken[0])
        else:
            self.say("Nothing is suggested here.")

    def action_leave(self) -> None:
        """Leave the program; what stands in the box is kept first."""
        if typed := self.sheet.take_out():
            self.enter(typed)
        try:
            if typed and self.round is not None:
                # Here, since a worker may not live to do it.
                self.round.draft.keep()
        except Refusal as refusal:
            self.not_kept(refusal)
        else:
            self.house.action_leave()

    def warn(self, text: str) -> None:
        """Say something that must not be overlooked."""
        self.app.notify(text, severity="warning", markup=False, timeout=15)


def _texts(line: SheetLine) -> str:
    return f"{line.counter} {line.name} {line.machine} {line.machine_name}"
