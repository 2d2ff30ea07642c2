"""A screen of one list, with what is said of its chosen line below it. Most screens are one."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Sequence
from typing import TYPE_CHECKING, ClassVar, Generic, TypeVar

from textual import on
from textual.app import ComposeResult

from pmsched.tui.screens.base import HouseScreen
from pmsched.tui.widgets.detail import MORE, Detail
from pmsched.tui.widgets.lines import Column, Line, Lines

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal

Found = TypeVar("Found")


class ListScreen(HouseScreen, Generic[Found]):
    """Shows an answer, ``found``, as a list. Subclasses ask for it in ``load``, with ``show`` and ``failed``.

    Class attributes: ``list_id`` (name of the list), ``more`` (how to read what has no room below it).
    """

    list_id: ClassVar[str]
    more: ClassVar[str] = MORE
    found: Found | None = None

    def body(self) -> ComposeResult:
        """The list, and below it what is said of the chosen line."""
        yield Lines(self.columns(0), id=self.list_id)
        yield Detail(self.more)

    @abstractmethod
    def columns(self, width: int) -> Sequence[Column]:
        """The columns that fit a screen of this width; 0 for paper."""

    @abstractmethod
    def lines(self, found: Found, width: int) -> Sequence[Line]:
        """What was answered, narrowed by ``words``."""

    @abstractmethod
    def told(self, found: Found, shown: Sequence[Line]) -> str:
        """The line above the list: how much there is; of an empty list what to do."""

    @abstractmethod
    def detail(self, key: str) -> str:
        """What is said of a line, by its key; empty for an unknown one."""

    def show(self, found: Found) -> None:
        """Show what was answered."""
        self.found = found
        self.fill()

    def failed(self, refusal: Refusal) -> None:
        """The question was refused; nothing old is left standing."""
        self.found = None
        self.listing.show([])
        super().failed(refusal)

    def fill(self) -> None:
        """Lay the answer out."""
        if self.found is not None:
            lines = self.lines(self.found, self.size.width)
            self.listing.show(lines, self.columns(self.size.width))
            self.say(self.told(self.found, lines))

    @property
    def listing(self) -> Lines:
        """The list."""
        return self.query_one(f"#{self.list_id}", Lines)

    @property
    def chosen_key(self) -> str:
        """Key of the chosen line; empty in an empty list."""
        return self.listing.chosen.key if self.listing.chosen else ""

    @on(Lines.Chosen)
    def _explain(self) -> None:
        text = self.detail(self.chosen_key) if self.found is not None else ""
        self.query_one(Detail).tell(text)
