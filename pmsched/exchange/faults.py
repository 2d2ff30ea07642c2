"""Where the readers of one file tell what is wrong with it, so that all of it is heard."""

from __future__ import annotations

from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem


class Faults:
    """Adds the problems of one file to a list.

    Args:
        file: name of the file, as given.
        problems: the list that takes them.
    """

    def __init__(self, file: str, problems: list[Problem]) -> None:
        self.file = file
        self._problems = problems
        self._before = len(problems)

    @property
    def any_told(self) -> bool:
        """True once something was told."""
        return len(self._problems) > self._before

    def tell(self, code: str, message: str, hint: str, *, row: int = 0, column: str = "", cell: str = "") -> None:
        """Adds one problem; without a row it is about the whole file, without a column about the whole row.

        A cell is named only where its column has no name.
        """
        self._problems.append(Problem(code, self.file, row, column, message, hint, cell=cell))

    def refuse(self, refusal: Refusal, row: int, column: str) -> None:
        """Adds a refusal of one cell as a problem."""
        self.tell(refusal.code, refusal.message, refusal.hint, row=row, column=column)
