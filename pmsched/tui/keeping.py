"""What a form keeps of what is typed: the newest values, saved in any thread, and nothing once the deed is signed."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from threading import Lock
from typing import TYPE_CHECKING

from pmsched.domain.errors import Refusal

if TYPE_CHECKING:
    from pmsched.tui.drafts import Draft


class Keeper:
    """Keeps the draft of one form.

    Args:
        draft: where it lies; None for a form that keeps none.
    """

    def __init__(self, draft: Draft | None = None) -> None:
        self._draft = draft
        self._lock = Lock()
        self._signed = False
        self._newest: dict[str, str] = {}
        self.typed: Mapping[str, str] = {}

    def load(self) -> Keeper:
        """Bring back what was typed before; itself again."""
        if self._draft is not None:
            self.typed = {name: value for name, value in self._draft.load().items() if isinstance(value, str)}
        return self

    def note(self, typed: Mapping[str, str]) -> None:
        """These are the values now: those that differ from what stood in the form at first."""
        self._newest = dict(typed)

    def save(self) -> None:
        """Put the newest values on the disk. Raises Refusal if they cannot be kept."""
        with self._lock:
            if self._draft is None or self._signed:
                return
            if self._newest:
                self._draft.save(self._newest)
            else:
                self._draft.clear()

    def save_if_possible(self) -> None:
        """As ``save``; a full disk must not keep a deed from being signed."""
        with suppress(Refusal):
            self.save()

    def signed(self) -> None:
        """The deed is kept: forget the draft, and whatever another thread would still save."""
        with self._lock:
            self._signed = True
            if self._draft is not None:
                self._draft.clear()
