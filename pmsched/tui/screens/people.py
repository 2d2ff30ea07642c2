"""Who signs from now on, and in which rank?"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, NamedTuple

from textual import on
from textual.app import ComposeResult

from pmsched.domain.plain import check_text
from pmsched.tui.screens.form import DeedForm, Entry
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import listed

if TYPE_CHECKING:
    from pmsched.usecases.ask_people import PersonRow

_COLUMNS = (Column("code", 8), Column("name", 30), Column("rank", 20), Column("department", 11))


class Signs(NamedTuple):
    """Who signs from now on, and the rank they act in (None: their own)."""

    person: PersonRow
    acting: str | None


class PeopleForm(DeedForm):
    """The people who may sign; it returns ``Signs``.

    Args:
        people: everybody on the books.
        last: code of whoever signed last here; the cursor begins there.
    """

    path = "Who signs"
    places = ("forms", "moves")
    pages = ("people",)
    doing = "Sign as this person from now on"
    keys = "Enter chooses | Tab to the rank | Esc close | F1 help"
    about = """\
Everything entered is signed by a person. Choose yourself and press Enter.
Whoever signed last on this computer is chosen already: look before Enter.
If you act in another rank, Tab to the field below and type that rank first;
it is written beside your own: Second engineer acting Chief engineer.
The Watch then shows the jobs of your department; a shows all of them.
Whoever comes next presses s and chooses their own name."""

    def __init__(self, people: Sequence[PersonRow], last: str = "") -> None:
        self.people = {person.code: person for person in people if person.active}
        self.last = last
        acting = Entry("acting", "Acting as", "", "your own rank", "The rank you act in, such as Chief engineer.")
        super().__init__("Who signs from now on?", [acting], lambda signs: signs)

    def above(self) -> ComposeResult:
        """The people."""
        yield Lines(_COLUMNS, id="people")

    def begin(self) -> None:
        """The keyboard is in the list, on whoever signed last."""
        lines = self.query_one(Lines)
        lines.show([Line(p.code, (p.code, p.name, p.rank, p.department)) for p in self.people.values()])
        lines.choose(self.last)
        lines.focus()

    def hint(self, name: str) -> str:
        """Of the list: the whole of the chosen person."""
        chosen = self.query_one(Lines).chosen
        person = self.people[chosen.key] if chosen else None
        if name != "people" or person is None:
            return super().hint(name)
        return listed((f"{person.code} {person.name}", person.rank, person.department))

    @on(Lines.Chosen, "#people")
    def _tell(self) -> None:
        self.show_hint()

    def read(self) -> Signs | None:
        """The person chosen."""
        chosen = self.query_one(Lines).chosen
        acting = self.value("acting", check_text)
        return Signs(self.people[chosen.key], acting) if chosen else None

    def run_deed(self, command: Any) -> None:
        """Nothing is signed yet: only close."""
        self.dismiss(command)

    @on(Lines.Opened, "#people")
    def _choose(self) -> None:
        self.action_submit()
