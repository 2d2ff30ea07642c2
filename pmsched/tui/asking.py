"""Asking the register from a screen: in a thread, newest question wins, and a crash becomes a message.

``exclusive`` only marks an older thread as not wanted: its answer is still dropped here by the turn it was asked in.
"""

from __future__ import annotations

import traceback
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from textual.message import Message
from textual.worker import Worker, WorkerState, get_current_worker

from pmsched.domain.errors import Refusal

if TYPE_CHECKING:
    from textual.dom import DOMNode

    _Node = DOMNode
else:
    _Node = object


class Answered(Message):
    """A question was answered; ``then`` takes the answer. A deed has no turn: it is always handed over."""

    def __init__(self, group: str, turn: int | None, then: Callable[[Any], None], answer: Any) -> None:
        super().__init__()
        self.group = group
        self.turn = turn
        self.then = then
        self.answer = answer


class Refused(Message):
    """A rule said no; ``refusal`` says which and what to do. ``unless`` may take it instead of a notice."""

    def __init__(
        self, group: str, turn: int | None, refusal: Refusal, unless: Callable[[Refusal], None] | None
    ) -> None:
        super().__init__()
        self.group = group
        self.turn = turn
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
        app = self.app
        turn = None if deed else self._next_turn(group)

        def work() -> None:
            worker = get_current_worker()
            try:
                answer = question()
            except Refusal as refusal:
                self.post_message(Refused(group, turn, refusal, refused))
            except Exception:  # noqa: BLE001 - whatever it was becomes a message, never silence
                crashed = Crashed(traceback.format_exc())
                # A screen that was left meanwhile takes no message any more.
                if not self.post_message(crashed):
                    app.post_message(crashed)
            else:
                if deed or not worker.is_cancelled:
                    self.post_message(Answered(group, turn, then, answer))

        self.run_worker(work, thread=True, exclusive=not deed, group=group, exit_on_error=False)

    def on_answered(self, message: Answered) -> None:
        """Hand the answer over, unless a newer question was asked since."""
        message.stop()
        if self._is_newest(message.group, message.turn):
            self._hand_over(message.then, message.answer)

    def on_refused(self, message: Refused) -> None:
        """Hand the refusal over, or show it; unless a newer question was asked since."""
        message.stop()
        if not self._is_newest(message.group, message.turn):
            return
        if message.unless is not None:
            self._hand_over(message.unless, message.refusal)
        else:
            self.app.notify(str(message.refusal), severity="warning", markup=False, timeout=8)

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A worker that died without a word is a bug too; textual tells only the one who started it."""
        if event.state is WorkerState.ERROR:
            self.post_message(Crashed("".join(traceback.format_exception(event.worker.error))))

    def _next_turn(self, group: str) -> int:
        turns = self.__dict__.setdefault("_turns", {})
        turn: int = turns.get(group, 0) + 1
        turns[group] = turn
        return turn

    def _is_newest(self, group: str, turn: int | None) -> bool:
        return turn is None or self.__dict__["_turns"][group] == turn

    def _hand_over(self, take: Callable[[Any], None], what: Any) -> None:
        """Give it to whoever asked; if that breaks it is told as a bug, and the screens stay open."""
        try:
            take(what)
        except Exception:  # noqa: BLE001 - see above
            self.post_message(Crashed(traceback.format_exc()))
