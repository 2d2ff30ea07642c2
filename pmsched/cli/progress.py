"""A progress bar for what takes longer than a second; only where a terminal shows it, on standard error."""

from __future__ import annotations

import sys
import time
from types import TracebackType
from typing import Self

_PATIENCE_SECONDS = 1.0
_BETWEEN_SECONDS = 0.1
_WIDTH = 30


class Progress:
    """Told how far something is, draws a bar once it has taken a second. Use as a context manager.

    Args:
        what: what is being done, in a word or two.
    """

    def __init__(self, what: str) -> None:
        self._what = what
        self._shown = sys.stderr.isatty()
        self._next = time.monotonic() + _PATIENCE_SECONDS
        self._drawn = 0

    def __call__(self, done: int, total: int) -> None:
        """``done`` of ``total`` steps are done; a total of 0 means that it is not known."""
        self.about(self._what, done, total)

    def about(self, what: str, done: int, total: int) -> None:
        """The same, saying what is being done at present."""
        if not self._shown or time.monotonic() < self._next:
            return
        self._next = time.monotonic() + _BETWEEN_SECONDS
        self._draw(_bar(what, done, total))

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, _kind: type[BaseException] | None, _error: BaseException | None, _trace: TracebackType | None
    ) -> None:
        if self._drawn:
            self._draw("")

    def _draw(self, text: str) -> None:
        sys.stderr.write(f"\r{text:<{self._drawn}}" + ("" if text else "\r"))
        sys.stderr.flush()
        self._drawn = len(text)


def _bar(what: str, done: int, total: int) -> str:
    if not total:
        return f"{what}: {done}"
    filled = min(_WIDTH, _WIDTH * done // total)
    return f"{what} [{'#' * filled}{'.' * (_WIDTH - filled)}] {100 * done // total} %"
