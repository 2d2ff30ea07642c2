"""A round while it is typed: the counters, what was entered for them, and the draft it is kept in.

Knows the sheet and the draft; no widget, and it asks the register nothing.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from typing import TYPE_CHECKING, NamedTuple

from pmsched.domain.words import some
from pmsched.tui import round_lines as words
from pmsched.tui.round_lines import END, HELD, UNREAD, WAITING, Entry
from pmsched.tui.words import listed
from pmsched.usecases.round_draft import RoundDraft, TypedValue

if TYPE_CHECKING:
    from datetime import date

    from pmsched.domain.clocks import ShipClock
    from pmsched.tui.widgets.lines import Line
    from pmsched.usecases.ask_round import SheetLine
    from pmsched.usecases.record_round import LineResult, RoundLine


class Sheet(NamedTuple):
    """What was read: the counters in walking order, the ship's clock, and the draft."""

    lines: tuple[SheetLine, ...]
    clock: ShipClock
    draft: RoundDraft


class RoundState:
    """The round. Every change is made in the draft too; bringing the draft to the disk is the caller's.

    Attributes:
        lines: the counters in walking order, by code.
        entries: what was entered, by code of the counter.
        draft: what is typed, as it is kept.
        kept: how many lines are on the disk.
        not_kept: why the disk does not take them; empty when it does.
        gone: what was typed for counters that are not on the round any more.
    """

    def __init__(self, sheet: Sheet) -> None:
        self.draft = sheet.draft
        self.entries: dict[str, Entry] = {}
        self.renew(sheet)
        self.kept = len(self.draft.typed)
        self.not_kept = ""
        self.gone = {code: value.value for code, value in self.draft.typed.items() if code not in self.lines}
        self._found = self._from_before()
        self._newest = ""
        self.enter_again()

    def renew(self, sheet: Sheet) -> None:
        """The register was read again."""
        self.clock = sheet.clock
        self.lines = {line.counter: line for line in sheet.lines}
        self.entries = {code: entry for code, entry in self.entries.items() if code in self.lines}

    def enter_again(self) -> None:
        """Make every entry anew from the draft; all of them wait to be judged."""
        typed = self.draft.typed
        self.entries = {
            code: words.entered(*typed[code], self.lines[code].meter) for code in self.lines if code in typed
        }

    def at(self, now: int) -> int:
        """The instant for which a value counts that is entered now."""
        return now if self.draft.at is None else self.draft.at

    def today(self, now: int) -> date:
        """The ship's date on which a value counts that is entered now."""
        return self.clock.ship_date(self.at(now))

    def walked_at(self, at: int | None, now: int) -> None:
        """The round was walked at this instant (None: now); that counts for every line, also those entered before."""
        self.draft.at = at
        when = now if at is None else at
        self.draft.typed = {code: TypedValue(typed.value, when) for code, typed in self.draft.typed.items()}
        self.enter_again()

    def enter(self, counter: str, text: str, now: int) -> Entry:
        """Put a value into a line."""
        return self._put(counter, words.entered(text, self.at(now), self.lines[counter].meter))

    def take_back(self, counter: str) -> bool:
        """Empty a line; False if nothing was entered there."""
        self._found = ""
        self.draft.typed.pop(counter, None)
        return self.entries.pop(counter, None) is not None

    def take_other(self, chosen: str) -> tuple[str, Entry] | None:
        """Put what was probably meant into the line in question; None if nothing is offered there."""
        counter = self.in_question(chosen)
        if not counter or not self.entries[counter].offers:
            return None
        return counter, self._put(counter, words.other_taken(self.entries[counter], self.lines[counter].meter))

    def judge(self, counter: str, asked: Entry, result: LineResult) -> bool:
        """Take what is said of an entry; False if another value was entered meanwhile."""
        if counter not in self.lines or self.entries.get(counter) != asked:
            return False
        self.entries[counter] = words.judged(asked, self.lines[counter], result)
        return True

    def waiting(self) -> Mapping[str, Entry]:
        """The entries that are not judged yet."""
        return {code: entry for code, entry in self.entries.items() if entry.word == WAITING}

    def unread(self) -> str:
        """The first counter whose value cannot be read; empty for none."""
        return next((code for code in self.lines if code in self.entries and self.entries[code].word == UNREAD), "")

    def signed(self, lines: list[RoundLine]) -> None:
        """These lines are in the register now."""
        self.draft.forget(lines)
        self._newest, self._found = "", ""
        self.entries = {code: entry for code, entry in self.entries.items() if code in self.draft.typed}

    def thrown_away(self) -> None:
        """Nothing is typed any more."""
        self.draft.empty()
        self.entries, self._newest, self._found = {}, "", ""

    def where_left(self) -> str:
        """The key of the line behind the last one that was entered."""
        order = [*self.lines, END]
        return order[self.draft.where_left(order)]

    def in_question(self, chosen: str) -> str:
        """The counter whose value is explained: the chosen line's, or else the one entered last; empty for none."""
        return next((code for code in (chosen, self._newest) if code in self.entries), "")

    def line(self, counter: str, now: int) -> Line:
        """The line of a counter."""
        return words.sheet_line(self.lines[counter], self.entries.get(counter), self.today(now))

    def end(self) -> Line:
        """The line below the last counter."""
        return words.end_line(len(self.entries), len(self.lines))

    def told(self) -> str:
        """When the round was walked, and how far it is: one line."""
        if not self.lines:
            return "First load counters: pmsched load counters.csv (see: pmsched help files)"
        if self.not_kept:
            return f"NOT KEPT: {self.not_kept}"
        at = self.draft.at
        read = f"Read at {'now' if at is None else f'{self.clock.ship_time(at):%Y-%m-%d %H:%M}'}"
        if self._found:
            return listed((read, f"{self._found}; go on, or n starts afresh"))
        counts = Counter(entry.word for entry in self.entries.values())
        waits = listed((f"{counts[word]} {word}" for word in (HELD, UNREAD) if counts[word]), ", ")
        typed = len(self.entries)
        saved = "" if not typed or not self.kept else " and saved" if self.kept >= typed else f", {self.kept} saved"
        return listed((read, f"{typed} of {len(self.lines)} typed{saved}", waits))

    def said(self, chosen: str, now: int) -> str:
        """What is known of the chosen line's counter, and what is said of the value in question: up to four lines."""
        lines = ["Enter here, or e: see what the round moves, then sign it.", ""]
        if line := self.lines.get(chosen):
            place = [*self.lines].index(chosen) + 1
            lines = words.known(line, f"{place}/{len(self.lines)}", self.today(now))
        if counter := self.in_question(chosen):
            lines.append(words.explained(self.lines[counter], self.entries[counter]))
        return "\n".join(lines)

    def _put(self, counter: str, entry: Entry) -> Entry:
        self._newest, self._found = counter, ""
        self.draft.typed[counter] = TypedValue(entry.text, entry.read_at)
        self.entries[counter] = entry
        return entry

    def _from_before(self) -> str:
        """What a draft found on opening holds: '39 lines from 2030-01-15 21:40 are kept'; empty for nothing."""
        typed = self.draft.typed
        if not typed:
            return ""
        latest = self.clock.ship_time(max(value.read_at for value in typed.values()))
        return f"{some(len(typed), 'line')} from {latest:%m-%d %H:%M} {'is' if len(typed) == 1 else 'are'} kept"
