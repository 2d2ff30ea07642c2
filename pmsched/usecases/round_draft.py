"""A round that is typed and not signed yet: its lines by counter, when it was walked, and the name of the attempt.

The command line and the screens keep the same draft, so a round begun on one goes on with the other. Knows the draft's
file, not the register.
"""

from __future__ import annotations

import hashlib
import json
import uuid
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from pmsched.store.drafts import draft_for

if TYPE_CHECKING:
    from pmsched.usecases.record_round import RoundLine


class TypedValue(NamedTuple):
    """A value as typed for a counter, and the instant for which it counts (UTC epoch seconds)."""

    value: str
    read_at: int


class RoundDraft:
    """The lines typed so far; ``put`` and ``take`` keep them on the disk at once.

    Attributes:
        typed: values by counter code.
        at: the instant for which the whole round counts; None: each line counts when it is typed.

    Args:
        target: file or URL of the register.
    """

    def __init__(self, target: str) -> None:
        self._draft = draft_for(target, "round")
        self.path = self._draft.path
        self.typed: dict[str, TypedValue] = {}
        self.at: int | None = None
        self._round = _new_name()
        self._read()

    def put(self, counter: str, typed: TypedValue) -> None:
        """Keep a value. Raises Refusal if the file cannot be written."""
        self.typed[counter] = typed
        self.keep()

    def take(self, counter: str) -> None:
        """Forget a value. Raises Refusal if the file cannot be written."""
        if self.typed.pop(counter, None) is not None:
            self.keep()

    def keep(self) -> int:
        """Write what is typed now to the disk; how many lines that were. Raises Refusal if that cannot be done."""
        typed = dict(self.typed)
        if not typed and self.at is None:
            self._draft.clear()
            return 0
        self._draft.save({"round": self._round, "at": self.at, "typed": typed})
        return len(typed)

    def forget(self, lines: Iterable[RoundLine]) -> None:
        """These lines are signed. What was typed since then stays; ``keep`` brings it to the disk."""
        for line in lines:
            if self.typed.get(line.counter) == (line.value, line.read_at):
                del self.typed[line.counter]
        if not self.typed:
            self.empty()

    def empty(self) -> None:
        """Forget everything, also the name of the round; ``keep`` brings it to the disk."""
        self.typed, self.at, self._round = {}, None, _new_name()

    def remove(self) -> None:
        """Forget everything, also on the disk: the round is signed, or thrown away on purpose."""
        self.empty()
        self._draft.clear()

    def lines(self, order: Iterable[str]) -> list[RoundLine]:
        """The lines to record, in the order of these counters."""
        # Loads the database, which a screen that only shows the draft does not need yet.
        from pmsched.usecases.record_round import RoundLine  # noqa: PLC0415

        return [RoundLine(code, *self.typed[code]) for code in order if code in self.typed]

    def request_id(self) -> str:
        """Names this round with these values: signing it again after a kill adds nothing; other values name another.

        Values added after such a kill are therefore entered, and those already entered are known by value and instant.
        """
        said = json.dumps([self._round, *sorted(self.typed.items())]).encode()
        return f"round-{hashlib.sha256(said).hexdigest()[:24]}"

    def where_left(self, order: Sequence[str]) -> int:
        """The place after the last line with a typed value; 0 when nothing is typed."""
        return max((place for place, code in enumerate(order, 1) if code in self.typed), default=0)

    def _read(self) -> None:
        kept = self._draft.load()
        if not kept:
            return
        try:
            self.typed, self.at, self._round = _lines_of(kept["typed"]), kept["at"], str(kept["round"])
        except (KeyError, ValueError, AttributeError, TypeError):
            self._draft.put_aside()


def _new_name() -> str:
    return uuid.uuid4().hex


def _lines_of(typed: Any) -> dict[str, TypedValue]:
    return {str(code): TypedValue(str(value), int(read_at)) for code, (value, read_at) in typed.items()}
