"""The walk past the meters, line by line: shows what is expected, takes what is typed, judges it at once.

Knows two text streams, the sheet and the draft; nothing of the register. A value that cannot be true is explained; the
person types it again or leaves it held.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import TextIO

from pmsched.cli.tables import wrapped
from pmsched.cli.words import dial_text, some
from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.plain import plain
from pmsched.usecases.ask_round import SheetLine
from pmsched.usecases.record_round import LineResult
from pmsched.usecases.round_draft import RoundDraft, TypedValue

Judge = Callable[[str, TypedValue], LineResult]
"""Judges a value typed for a counter. Raises Refusal for what is not a count."""

KEYS = "Type what the dial shows, then Enter. Enter alone: skip. b: back. -: take out what was typed. q: stop here."
_INDENT = "      "
_STOP, _BACK, _NEXT, _SAME = "stop", -1, 1, 0


class Walk:
    """One walk over a round sheet.

    Args:
        sheet: the counters in walking order.
        draft: what was typed so far; kept after each Enter.
        judge: judges a typed value.
        read_at: the instant for which a value typed now counts.
        today: the ship's date.
        answers: where the person types.
        screen: where questions appear.
        width: characters in a line of the screen.
    """

    def __init__(
        self,
        sheet: Sequence[SheetLine],
        draft: RoundDraft,
        judge: Judge,
        read_at: Callable[[], int],
        today: date,
        answers: TextIO,
        screen: TextIO,
        width: int = 80,
    ) -> None:
        self._sheet = sheet
        self._draft = draft
        self._judge = judge
        self._read_at = read_at
        self._today = today
        self._answers = answers
        self._screen = screen
        self._width = width

    def run(self, start: int = 0) -> bool:
        """Walk from the line at ``start``; True at the end of the sheet, False when the person stops before."""
        place = start
        self._say(KEYS)
        while place < len(self._sheet):
            self._show(place)
            step = self._take(self._sheet[place])
            if step == _STOP:
                return False
            place = max(0, place + int(step))
        return True

    def _show(self, place: int) -> None:
        line = self._sheet[place]
        self._say(f"\n{place + 1}/{len(self._sheet)}  {line.counter}  {line.name}")
        for text in _known(line, self._today):
            self._say(f"{_INDENT}{text}")
        typed = self._draft.typed.get(line.counter)
        if typed is not None:
            self._say(f"{_INDENT}typed: {typed.value} (Enter keeps it)")

    def _take(self, line: SheetLine) -> int | str:
        """What the person answers to a line, until it leads to another one."""
        step: int | str = _SAME
        question = f"{_INDENT}> "
        while step == _SAME:
            answer = self._ask(question)
            if answer in {None, "q", "Q"}:
                return _STOP
            step, question = self._answered(line, answer or "", question)
        return step

    def _answered(self, line: SheetLine, answer: str, question: str) -> tuple[int | str, str]:
        if answer in {"b", "B", "<"}:
            return _BACK, question
        if answer == "":
            return _NEXT, question
        if answer == "-":
            self._draft.take(line.counter)
            return _NEXT, question
        if answer == "?":
            self._say(f"{_INDENT}{KEYS}")
            return _SAME, question
        return self._typed(line, TypedValue(answer, self._read_at()), question)

    def _typed(self, line: SheetLine, typed: TypedValue, question: str) -> tuple[int | str, str]:
        try:
            found = self._judge(line.counter, typed)
        except Ambiguous as refusal:
            self._explain(refusal.either)
            return _SAME, question
        except Refusal as refusal:
            self._explain(str(refusal))
            return _SAME, question
        # Kept before it is explained: a value held and then left must not be lost.
        self._draft.put(line.counter, typed)
        if found.judgement.accepted:
            self._say(f"{_INDENT}{_accepted(line, found)}")
            return _NEXT, question
        self._explain(f"This cannot be true: {found.judgement.message}.")
        for suggestion in found.judgement.suggestions:
            self._explain(suggestion.text)
        return _SAME, f"{_INDENT}type it again, or Enter to keep it held > "

    def _explain(self, text: str) -> None:
        for line in wrapped(text, self._width, _INDENT):
            self._say(line)

    def _ask(self, question: str) -> str | None:
        self._screen.write(question)
        self._screen.flush()
        line = self._answers.readline()
        return line.strip() if line else None

    def _say(self, text: str) -> None:
        self._screen.write(plain(text, line_breaks=True) + "\n")


def _known(line: SheetLine, today: date) -> list[str]:
    """What is known of a counter, a line each: its last reading, use, what is expected, what is held."""
    if line.dial is None or line.read_on is None:
        found = ["never read"]
    else:
        ago = (today - line.read_on).days
        parts = [f"last {dial_text(line.dial, line.meter)} on {line.read_on} ({_ago(ago)})"]
        if line.rate is not None:
            parts.append(line.rate.per_day(line.meter.unit))
        if line.expected is not None:
            parts.append(f"about {dial_text(line.expected, line.meter)} now")
        found = ["; ".join(parts)]
    if line.held:
        found.append(f"held: reading {', '.join(line.held)} (pmsched settle)")
    return found


def _ago(days: int) -> str:
    return "today" if days <= 0 else f"{some(days, 'day')} ago"


def _accepted(line: SheetLine, found: LineResult) -> str:
    if found.judgement.duplicate:
        return "already entered"
    if line.dial is None or found.dial < line.dial:
        return "taken"
    return f"+{dial_text(found.dial - line.dial, line.meter)}"
