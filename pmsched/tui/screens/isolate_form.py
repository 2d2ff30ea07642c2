"""The forms that say that a machine must not be started, and that it is back in use."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.widgets import Static

from pmsched.domain.clocks import ShipClock
from pmsched.domain.plain import check_text
from pmsched.exchange.dates import read_date_time
from pmsched.tui import typed_values
from pmsched.tui.safe_text import shown
from pmsched.tui.screens.form import DeedForm, Entry

if TYPE_CHECKING:
    from pmsched.tui.keeping import Keeper
    from pmsched.usecases.isolating import EndIsolation, Isolate

NOTICE = "This tells the next watch. It locks nothing: tags, locks and the permit to work do that."
_WHEN = Entry("when", "When", "", "now", "Ship's date and time, such as 2030-01-15 14:30, if it was not now.")


class IsolateForm(DeedForm):
    """A machine is isolated, opened up, or for another reason not to be started.

    Args:
        machine: its code and name.
        code: its code alone.
        kinds: what it may be.
        today: the ship's date.
        clock: the ship's clock.
        deed: keeps an ``Isolate``.
        keeper: keeps the draft.
    """

    FAULTS: ClassVar[Mapping[str, str]] = {
        "why-missing": "why", "lies-ahead": "when", "isolated-already": "tag", "back-before": "back_on",
    }  # fmt: skip
    pages = ("isolate", "safety")

    def __init__(
        self, machine: str, code: str, kinds: Sequence[str], today: date, clock: ShipClock,
        deed: Callable[[Any], Any], keeper: Keeper | None = None,
    ) -> None:  # fmt: skip
        self.code, self.kinds, self.today, self.clock = code, tuple(kinds), today, clock
        entries = [
            Entry("kind", "It is", kinds[0], kinds[0], typed_values.numbered(kinds)),
            Entry("why", "Why", "", "always needed", "The work or the fault: the next watch reads it."),
            Entry("tag", "Tag or permit", "", "none", "Number of the tag or of the permit to work."),
            Entry("back_on", "Back by", "", "not known", "Ship's date on which it is expected back in use."),
            _WHEN,
        ]
        super().__init__(f"Not to be started: {machine}", entries, deed, keeper)

    def above(self) -> ComposeResult:
        """What the form does, and what it does not."""
        yield Static(shown(NOTICE), classes="note", markup=False)

    def entered(self, name: str) -> None:
        """A choice made by its number is written out."""
        if name == "kind" and (said := self.value("kind", self._kind)):
            self.field("kind").value = said

    def read(self) -> Isolate:
        """The isolation typed."""
        from pmsched.usecases.isolating import Isolate  # noqa: PLC0415 - the database answered already

        return Isolate(
            self.code, self.value("why", check_text) or "", self.value("kind", self._kind) or self.kinds[0],
            self.value("tag", check_text) or "", self.value("when", self._instant),
            self.value("back_on", lambda text: typed_values.day(text, self.today)),
        )  # fmt: skip

    def _kind(self, text: str) -> str:
        return typed_values.one_of(text, self.kinds)

    def _instant(self, text: str) -> int:
        return self.clock.instant_of(*read_date_time(text))


class BackForm(DeedForm):
    """A machine is back in use.

    Args:
        machine: its code and name.
        code, number: the machine's code, and which isolation of it ends.
        said: what is known of the isolation.
        clock: the ship's clock.
        deed: keeps an ``EndIsolation``.
        keeper: keeps the draft.
    """

    FAULTS: ClassVar[Mapping[str, str]] = {"not-tried": "tried", "lies-ahead": "when", "end-before": "when"}
    pages = ("isolate", "safety")

    def __init__(
        self, machine: str, code: str, number: str, said: str, clock: ShipClock,
        deed: Callable[[Any], Any], keeper: Keeper | None = None,
    ) -> None:  # fmt: skip
        self.code, self.number, self.said, self.clock = code, number, said, clock
        entries = [
            Entry("tried", "Tried", "", "needed if critical", "What was tried: run 10 min on load, no leak."),
            _WHEN,
        ]
        super().__init__(f"Back in use: {machine}", entries, deed, keeper)

    def above(self) -> ComposeResult:
        """What is known of the isolation, and what comes first."""
        yield Static(shown(self.said), classes="note", markup=False)
        yield Static(shown("First: all clear of it, covers on, tags off by those who put them on."), classes="note")

    def read(self) -> EndIsolation:
        """The end typed."""
        from pmsched.usecases.isolating import EndIsolation  # noqa: PLC0415

        when = self.value("when", lambda text: self.clock.instant_of(*read_date_time(text)))
        return EndIsolation(self.code, self.value("tried", check_text) or "", when, self.number)
