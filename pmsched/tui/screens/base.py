"""What every screen has: two lines on top that are always in sight, a footer, filtering, and plain failure."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import Screen
from textual.widgets import Input, Static

from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.asking import Asking, Crashed
from pmsched.tui.safe_text import shown
from pmsched.tui.widgets.keys_line import KeysLine
from pmsched.tui.widgets.lines import Lines
from pmsched.tui.words import matching as matching  # noqa: PLC0414 - screens take it from here

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal
    from pmsched.tui.app import PmschedApp
    from pmsched.tui.page import Paper


class HouseScreen(Asking, Screen[None]):
    """A screen of pmsched.

    Class attributes: ``path`` (where it is), ``about`` (what F1 says), ``places`` (of actions), ``pages`` (of the manual
    that belong to it).
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("everywhere", "lists")]
    path: str = ""
    about: str = ""
    places: tuple[str, ...] = ("everywhere", "lists")
    pages: tuple[str, ...] = ()

    @property
    def house(self) -> PmschedApp:
        """The app, by its own type."""
        return cast("PmschedApp", self.app)

    def compose(self) -> ComposeResult:
        """The lines that are always in sight around the screen's own body."""
        yield Static(id="top", markup=False)
        yield Static(id="state", markup=False)
        with Vertical(id="body"):
            yield from self.body()
        yield Input(placeholder="type to narrow the list; Enter keeps it, Esc clears it", id="filter")
        yield KeysLine()

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        yield from ()

    def on_mount(self) -> None:
        """Show that something is coming; it is asked for once the screen is in front."""
        self.query_one("#filter", Input).display = False
        self.show_top()
        self.say("Reading the register ...")

    def on_screen_resume(self) -> None:
        """In front for the first time, or again: somebody else may have entered something meanwhile."""
        self.show_top()
        self.load()

    def load(self) -> None:
        """Ask the register for what this screen shows."""

    def show_top(self) -> None:
        """The line with site and place, date and offset, signer and age of the readings."""
        self.query_one("#top", Static).update(shown(self.house.top_line(self.path, self.size.width)))

    def say(self, text: str) -> None:
        """The line under the top: loading, empty (and what to do), failed, or counts."""
        self.query_one("#state", Static).update(shown(text))

    def failed(self, refusal: Refusal) -> None:
        """A question was refused: say so where the list would be."""
        self.say(f"Cannot show this: {refusal}")

    def on_crashed(self, _message: Crashed) -> None:
        """Something broke: the app says where the record lies; here stands how to go on."""
        self.say("Something broke in pmsched. u reads the register again.")

    def on_resize(self) -> None:
        """The top line fits the width."""
        self.show_top()

    def action_reload(self) -> None:
        """Read the register again."""
        self.load()

    def ready(self, action: str) -> bool:  # noqa: ARG002 - for screens that know better
        """Whether an action (by its id) can do something now."""
        return True

    def paper(self) -> Paper | None:
        """What is shown, complete, for printing; None where there is nothing to print."""
        return None

    def action_print_page(self) -> None:
        """Write what is shown as a page of text."""
        flows.print_page(self.house, self.paper())

    def action_sort(self) -> None:
        """Order the list by the next column, after the last as it came."""
        if lists := self.query(Lines):
            name = lists.first().next_order()
            self.app.notify(f"Ordered by {name}." if name else "In the usual order.", markup=False, timeout=3)

    def action_filter(self) -> None:
        """Open the filter line."""
        entry = self.query_one("#filter", Input)
        entry.display = True
        entry.focus()

    def filtered(self, words: str) -> None:
        """Narrow the list to lines with these words."""

    @on(Input.Changed, "#filter")
    def _narrow(self, event: Input.Changed) -> None:
        event.stop()
        self.filtered(event.value)
        # What was meant is the first that fits, wherever the cursor stood before.
        self.query(Lines).first().action_go(0)

    @on(Input.Submitted, "#filter")
    def _keep_filter(self, event: Input.Submitted) -> None:
        event.stop()
        event.input.display = bool(event.value)
        self.focus_list()

    def focus_list(self) -> None:
        """Give the keyboard back to the list."""
        self.query(Lines).first().focus()

    def action_back(self) -> None:
        """Clear the filter if it is open, else go back."""
        entry = self.query_one("#filter", Input)
        if entry.display:
            entry.value = ""
            entry.display = False
            self.focus_list()
        elif len(self.app.screen_stack) > 1:
            self.dismiss()
