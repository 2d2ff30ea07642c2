"""Round: the month's hours in five minutes. Digits, Enter, next; judged as typed, signed as one entry.

This is the end of a round and what is asked of it as a whole; the sheet itself is in ``round_entry``.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, ClassVar

from textual import on
from textual.binding import BindingType

from pmsched.domain.errors import Refusal
from pmsched.domain.words import some
from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.flows_signing import signed
from pmsched.tui.round_paper import round_paper
from pmsched.tui.screens.fields import Field, FieldsForm
from pmsched.tui.screens.round_entry import RoundEntryScreen
from pmsched.tui.screens.round_sign import RoundSigned, SignRound, ThrowAway, outcome_rows, outcome_words, typed_rows
from pmsched.tui.widgets.round_sheet import RoundSheet

if TYPE_CHECKING:
    from pmsched.tui.page import Paper
    from pmsched.usecases.record_round import RoundLine, RoundResult


class RoundScreen(RoundEntryScreen):
    """The round as a whole: when it was walked, begun afresh, ended and signed."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("round")]
    path = "Round"
    places = ("everywhere", "lists", "round")
    pages = ("round", "readings", "round-file", "screens")
    about = """\
Type what the dial shows; Enter goes to the next counter. Enter alone skips it.
Digits and . , : always go into the box; Backspace erases. A digit on a value
entered begins anew. What is entered is kept at once, also over a power cut.
ok: it can be true. same: as last time. held: it cannot be true; the likely
slip is named below. = takes what was meant. unread: it is no number.
- takes the line back. i says when the round was walked, if it was not now.
e, or Enter below the last counter, shows what the round moves on the due list
and asks for the signature. Until then nothing is in the register.
~ is what the dial should show by the usual use of it: an estimate.
p prints the sheet to walk with."""

    def paper(self) -> Paper | None:
        """The sheet to walk with."""
        if self.round is None:
            return None
        now = self.house.gateway.now()
        return round_paper([self.round.line(code, now) for code in self.round.lines], self.round.entries)

    def action_read_at(self) -> None:
        """Say when the round was walked."""
        if self.round is None:
            return
        shown_now = self.round.clock.ship_time(self.round.at(self.house.gateway.now()))
        field = Field("at", "Read at", "Ship's date and time, such as 2030-01-15 10:00. Empty: now.", self._read_at)
        typed = {"at": f"{shown_now:%Y-%m-%d %H:%M}"}
        self.app.push_screen(FieldsForm("When was this round walked?", [field], typed, "take it"), self._walked_at)

    def _read_at(self, text: str) -> int:
        from pmsched.exchange.dates import read_date_time  # noqa: PLC0415 - seldom needed

        at = self.round.clock.instant_of(*read_date_time(text)) if self.round else 0
        if at > self.house.gateway.now():
            raise Refusal("reading-in-future", f"{text} lies ahead of the ship's time.", "Check the date and time.")
        return at

    def _walked_at(self, values: Mapping[str, int | None] | None) -> None:
        if self.round is not None and values is not None:
            self.round.walked_at(values["at"], self.house.gateway.now())
            self.judge(self.round.waiting(), "all")
            self.changed()
            self.load()

    def action_afresh(self) -> None:
        """Ask whether to throw away what is typed."""
        if self.round is None or not self.round.entries:
            self.say("Nothing is typed yet.")
            return
        rows = typed_rows([(code, self.round.lines[code].name, e.text) for code, e in self.round.entries.items()])
        title = f"{some(len(rows), 'line')} typed and not signed"
        self.app.push_screen(ThrowAway(title, rows, "Throw them away? y yes | Esc no, keep them"), self._thrown_away)

    def _thrown_away(self, agreed: bool | None) -> None:
        if self.round is not None and agreed:
            self.round.thrown_away()
            self.changed()
            self.fill()
            self.sheet.action_go(0)

    @on(RoundSheet.Ended)
    def action_sign_round(self) -> None:
        """Show what the round moves, and ask for the signature."""
        if typed := self.sheet.take_out():
            self.enter(typed)
        if self.round is None or not self.round.entries:
            self.say("Nothing is typed yet.")
        elif unread := self.round.unread():
            self.sheet.choose(unread)
            self.say(f"{unread} cannot be read: type it again, or take it back with -.")
        else:
            signed(self.house, self._look)

    def _look(self) -> None:
        """Ask what the round would move."""
        if self.round is not None:
            lines, request = self.round.draft.lines(self.round.lines), self.round.draft.request_id()
            rehearse = partial(self.house.gateway.record_round, lines, request, rehearse=True)
            self.ask("look", rehearse, partial(self._ask_signature, lines, request))

    def _ask_signature(self, lines: list[RoundLine], request: str, result: RoundResult) -> None:
        if self.round is None or not self.is_current:
            return
        if result.receipt is not None and result.receipt.repeated:
            # Signed before, and the program was killed before it could forget the draft.
            self._signed(lines, result)
            return
        # Only here the lines are seen together, and with them values that stand in each other's place.
        self.judged(dict(self.round.entries), {line.counter: line for line in result.lines})
        name = self.house.signer_name or self.house.gateway.signer
        asks = f"Sign as {name}?\nCtrl+S or . signs | Esc back to the lines"
        form = SignRound(outcome_words(result), outcome_rows(result), asks)
        self.app.push_screen(form, lambda agreed: self._sign(lines, request) if agreed else None)

    def _sign(self, lines: list[RoundLine], request: str) -> None:
        record = partial(self.house.gateway.record_round, lines, request)
        self.ask("sign", record, partial(self._signed, lines), deed=True)

    def _signed(self, lines: list[RoundLine], result: RoundResult) -> None:
        """The round is in the register: forget the draft, and show what moved."""
        from pmsched.usecases.touched_words import entered  # noqa: PLC0415 - the database is loaded by now

        if self.round is None:
            return
        self.round.signed(lines)
        self.changed()
        self.load()
        title = "Every value was there already."
        if result.receipt is not None:
            new = sum(not line.judgement.duplicate for line in result.lines) or len(lines)
            stays = "" if result.moved or result.receipt.repeated else " The due list stays as it is."
            title = f"{some(new, 'meter')} {entered(result.receipt)}.{stays}"
        held = sum(not line.judgement.accepted for line in result.lines)
        settle = f"h settles {some(held, 'reading')} held | " if held else ""
        if self.is_current:
            self.sheet.action_go(0)
            form = RoundSigned(title, outcome_rows(result), f"{settle}Enter or Esc back to the round")
            self.app.push_screen(form, lambda agreed: self.action_settle() if agreed else None)
        else:
            self.app.notify(title, markup=False)

    def action_settle(self) -> None:
        """Settle held readings."""
        flows.settle(self.house)
