"""What the guide remembers between two runs: which file the person works on, and readings typed but not loaded yet.

It is kept at each answer, outside the register, and forgotten once the file is loaded.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

from pmsched.domain.errors import Refusal
from pmsched.store.drafts import Draft, draft_for


class Typed(NamedTuple):
    """A reading as typed, and when (UTC epoch seconds)."""

    value: str
    at: int


class GuideState:
    """The state of the guide for one register.

    Attributes:
        file: the file to be loaded; None while none is chosen.
        readings: readings typed so far, by counter.
        is_loaded: nothing is left to do.

    Args:
        target: file or URL of the register.
    """

    def __init__(self, target: str) -> None:
        self._draft: Draft = draft_for(target, "init")
        kept = self._draft.load()
        self.file: Path | None = Path(str(kept["file"])) if kept.get("file") else None
        self.is_loaded = False
        self.readings: dict[str, Typed] = _readings(kept.get("readings"))

    def work_on(self, file: Path) -> None:
        """The person works on this file from now on."""
        self.file = file.absolute()
        self._keep()

    def take(self, counter: str, typed: Typed) -> None:
        """A reading was typed."""
        self.readings[counter] = typed
        self._keep()

    def written(self, file: Path) -> None:
        """The readings stand in this file now, and it is worked on."""
        self.readings = {}
        self.work_on(file)

    def forget(self) -> None:
        """All of it is loaded."""
        self.is_loaded = True
        self._draft.clear()

    def _keep(self) -> None:
        # The guide goes on without: what it remembers only saves typing.
        try:
            self._draft.save({"file": str(self.file or ""), "readings": self.readings})
        except Refusal:
            return


def _readings(kept: Any) -> dict[str, Typed]:
    try:
        return {str(counter): Typed(str(value), int(at)) for counter, (value, at) in dict(kept or {}).items()}
    except (TypeError, ValueError):
        return {}
