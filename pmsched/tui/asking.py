"""Asking the register from a screen: in a thread, newest question wins, and a crash becomes a message.

``exclusive`` only marks an older thread as not wanted: its answer is still dropped here by the turn it was asked in.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from textual.message import Message
from textual.worker import get_current_worker

from pmsched.domain.errors import Refusal

if TYPE_CHECKING:
    from textual.dom import DOMNode

    _Node = DOMNode
else:
    _Node = object


class Answered(Message):
    """A question was answered; ``then`` takes the answer."""

    def __init__(self, group: str, turn: int, then: Callable[[Any], None], answer: Any) -> None:
        super().__init__()
        self.group = group
        self.turn = turn
        self.then = then
        self.answer = answer


class Refused(Message):
    """A rule said no; ``refusal`` says which and what to do. ``unless`` may take it instead of a notice."""

    def __init__(self, group: str, refusal: Refusal, unless: Callable[[Refusal], None] | None) -> None:
        super().__init__()
        self.group = group
        self.refusal = refusal
        self.unless = unless


class Crashed(Message):
    """Something broke that should not; it goes up to the app, which says so and where the record lies."""

    bubble = True

    def __init__(self, report: str) -> None:
        super().__init__()
        self.report = report


class Asking(_Node):
    """For screens and widgets that ask the register."""

    _turns: dict[str, int]

    def ask(
        self,
        group: str,
        question: Callable[[], Any],
        then: Callable[[Any], None],
        *,
        refused: Callable[[Refusal], None] | None = None,
        deed: bool = False,
    ) -> None:
        """Ask in a thread and take the answer here.

        Args:
            group: questions of one group replace each other.
            question: calls the gateway; runs in the thread, touches no widget.
            then: takes the answer, on the screen's own loop.
            refused: takes a refusal; by default it is shown as a notice.
            deed: a deed is never dropped and never replaced.
        """
        turns = self.__dict__.setdefault("_turns", {})
        turn = turns[group] = turns.get(group, 0) + 1

        def work() -> None:
            worker = get_current_worker()
            try:
                answer = question()
            except Refusal as refusal:
                self.post_message(Refused(group, refusal, refused))
            except Exception:  # noqa: BLE001 - whatever it was becomes a message, never silence
                self.post_message(Crashed(traceback.format_exc()))
            else:
                if deed or not worker.is_cancelled:
                    self.post_message(Answered(group, turn, then, answer))

        self.run_worker(work, thread=True, exclusive=not deed, group=group, exit_on_error=False)

    def on_answered(self, message: Answered) -> None:
        """Hand the answer over, unless a newer question was asked since."""
        message.stop()
        if self.__dict__["_turns"][message.group] == message.turn:
            message.then(message.answer)

    def on_refused(self, message: Refused) -> None:
        """Hand the refusal over, or show it."""
        message.stop()
        if message.unless is not None:
            message.unless(message.refusal)
        else:
            self.app.notify(str(message.refusal), severity="warning", markup=False, timeout=8)
