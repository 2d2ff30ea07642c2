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
from pmsched.tui.widgets.filter_line import FilterLine
from pmsched.tui.widgets.keys_line import KeysLine
from pmsched.tui.widgets.lines import Lines
from pmsched.tui.words import matching as matching  # noqa: PLC0414 - screens take it from here

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal
    from pmsched.tui.app import PmschedApp
    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_due import Header


class HouseScreen(Asking, Screen[None]):
    """A screen of pmsched.

    Class attributes: ``path`` (where it is), ``about`` (what F1 says), ``places`` (of actions), ``pages`` (of the manual
    that belong to it), ``on_enter`` (what Enter does on a line, in a word; empty for nothing).
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("everywhere", "lists")]
    path: str = ""
    about: str = ""
    places: tuple[str, ...] = ("everywhere", "lists")
    pages: tuple[str, ...] = ()
    on_enter: ClassVar[str] = "Open"
    words: str = ""
    """What the filter narrows to; empty for everything."""
    _width = 0

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
        yield FilterLine(id="filter")
        yield KeysLine()

    def body(self) -> ComposeResult:
        """The screen's own widgets."""
        yield from ()

    def on_mount(self) -> None:
        """Show that something is coming; it is asked for once the screen is in front."""
        self.query_one(FilterLine).display = False
        self.show_top()
        self.say("Reading the register ...")

    def on_screen_resume(self) -> None:
        """In front for the first time, or again: somebody else may have entered something meanwhile."""
        self.show_top()
        if self.house.knows_signer:
            self.load()
        else:
            # What is shown depends on the signer's department: it is loaded once that is known.
            flows.know_signer(self.house)

    def load(self) -> None:
        """Ask the register for what this screen shows."""

    def fill(self) -> None:
        """Lay out what was answered: as wide as the screen is now, narrowed by ``words``."""

    def know(self, header: Header) -> None:
        """Show whose register it is and its date, as an answer names them."""
        self.house.know(header.site, header.offset_minutes, self.house.oldest_days)
        self.show_top()

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
        """Another width has room for other columns; textual tells of it more than once."""
        if self.size.width != self._width:
            self._width = self.size.width
            self.show_top()
            self.fill()

    def action_reload(self) -> None:
        """Read the register again."""
        self.load()

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:  # noqa: ARG002 - textual's
        """There is a way back only from a filter, or from a screen opened from another one."""
        return action != "back" or self.app.screen_stack[0] is not self or self.query_one(FilterLine).display

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
        entry = self.query_one(FilterLine)
        entry.display = True
        entry.focus()

    def filtered(self, words: str) -> None:
        """Narrow the list to lines with these words."""
        self.words = words
        self.fill()

    @on(Input.Changed, "#filter")
    def _narrow(self, event: Input.Changed) -> None:
        event.stop()
        self.filtered(event.value)
        # What was meant is the first that fits, wherever the cursor stood before.
        self.query(Lines).first().action_go(0)

    @on(FilterLine.Left)
    def _keep_filter(self, event: FilterLine.Left) -> None:
        lines = self.query(Lines).first()
        if self.focused is lines and event.enters:
            # Enter was pressed twice before the keyboard had moved: the second one was meant for the list.
            lines.action_open()
        entry = self.query_one(FilterLine)
        entry.display = bool(entry.value)
        self.focus_list()

    def focus_list(self) -> None:
        """Give the keyboard back to the list."""
        self.set_focus(self.query(Lines).first())

    def action_back(self) -> None:
        """Clear the filter if it is open, else go back."""
        entry = self.query_one(FilterLine)
        if entry.display:
            entry.value = ""
            entry.display = False
            self.focus_list()
        elif len(self.app.screen_stack) > 1:
            self.dismiss()
