"""What was typed on a round and is not signed yet: kept after each Enter, so that a kill loses nothing.

A draft is no fact; it lies in the user's state folder, one file for each register, and is removed once signed.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from pathlib import Path
from typing import NamedTuple

import platformdirs

from pmsched.cli.context import PROGRAM
from pmsched.domain.errors import Refusal
from pmsched.usecases.record_round import RoundLine


class TypedValue(NamedTuple):
    """A value as typed for a counter, and the instant for which it counts (UTC epoch seconds)."""

    value: str
    read_at: int


class Draft:
    """The values typed so far by counter code; ``put`` and ``take`` write them to the file at once."""

    def __init__(self, target: str) -> None:
        self.path = draft_path(target)
        self.typed: dict[str, TypedValue] = _read(self.path)

    def put(self, counter: str, typed: TypedValue) -> None:
        """Keeps a value. Raises Refusal if the file cannot be written."""
        self.typed[counter] = typed
        self._write()

    def take(self, counter: str) -> None:
        """Forgets a value. Raises Refusal if the file cannot be written."""
        if self.typed.pop(counter, None) is not None:
            self._write()

    def remove(self) -> None:
        """Forgets everything: the round is signed, or thrown away on purpose."""
        self.typed = {}
        self.path.unlink(missing_ok=True)

    def lines(self, order: Iterable[str]) -> list[RoundLine]:
        """The lines to record, in the order of these counters."""
        return [RoundLine(code, *self.typed[code]) for code in order if code in self.typed]

    def request_id(self) -> str:
        """Names this very round, so that signing it again after a kill adds nothing; other values name another."""
        said = json.dumps(sorted(self.typed.items())).encode()
        return f"round-{hashlib.sha256(said).hexdigest()[:24]}"

    def _write(self) -> None:
        try:
            self.path.parent.mkdir(parents=True, exist_ok=True)
            beside = self.path.with_suffix(".new")
            with beside.open("w", encoding="utf-8") as stream:
                json.dump(self.typed, stream)
                stream.flush()
                os.fsync(stream.fileno())
            beside.replace(self.path)
        except OSError as error:
            raise Refusal(
                "draft-not-kept",
                f"What is typed cannot be kept in {self.path} ({error.strerror}).",
                "Make room there; or write the round to a file, and give the file's name.",
            ) from error


def draft_path(target: str) -> Path:
    """The draft file of the register at a file name or URL."""
    place = target if "://" in target else str(Path(target).resolve())
    name = hashlib.sha256(place.encode()).hexdigest()[:16]
    return platformdirs.user_state_path(PROGRAM, appauthor=False) / f"round-{name}.json"


def _read(path: Path) -> dict[str, TypedValue]:
    try:
        text = path.read_text(encoding="utf-8")
    except OSError:
        return {}
    try:
        kept = json.loads(text)
        return {str(code): TypedValue(str(value), int(read_at)) for code, (value, read_at) in kept.items()}
    except (ValueError, AttributeError, TypeError):
        # Not one of our drafts any more; it is put aside, not thrown away.
        path.replace(path.with_suffix(".unreadable"))
        return {}
