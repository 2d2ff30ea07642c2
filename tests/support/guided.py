"""A person at the guide: answers one after the other, between which files may be changed."""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from openpyxl import load_workbook

Answer = str | Callable[[], object]
"""A line that is typed; or something that is done before the next line is."""


class Answers(io.BufferedIOBase):
    """What is typed, each line read only when it is asked for; then the input ends."""

    def __init__(self, answers: Sequence[Answer]) -> None:
        self._left = list(answers)

    def readable(self) -> bool:
        """It is read."""
        return True

    def read(self, size: int | None = -1, /) -> bytes:
        """The next line."""
        return self.read1(-1 if size is None else size)

    def read1(self, size: int = -1, /) -> bytes:
        """The next line, after what is done before it."""
        if size == 0:
            return b""
        while self._left:
            answer = self._left.pop(0)
            if isinstance(answer, str):
                return f"{answer}\n".encode()
            answer()
        return b""


def change(path: Path, sheet: str, **cells: Any) -> Callable[[], object]:
    """Writes into cells of a workbook and saves it, when the turn comes."""

    def mend() -> None:
        book = load_workbook(path)
        for place, value in cells.items():
            book[sheet][place] = value
        book.save(path)

    return mend
