"""Forms that correct what was signed: what is true, why, and before it is signed all that it touches."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple, cast

from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Vertical
from textual.screen import ModalScreen
from textual.widgets import Static

from pmsched.domain.plain import check_text
from pmsched.tui.actions import bindings_named, bindings_of
from pmsched.tui.folding import folded
from pmsched.tui.keeping import Keeper
from pmsched.tui.safe_text import shown
from pmsched.tui.screens.form import DeedForm, Entry
from pmsched.tui.widgets.lines import Column, Line, Lines

if TYPE_CHECKING:
    from pmsched.tui.app import PmschedApp

_WIDTH = 70
REASON = Entry("reason", "Reason", "", "always needed", "Why; it is kept for ever beside the old value.")


class Deed(NamedTuple):
    """A correction: what it would touch, in words, and doing it. Both run in a thread."""

    rehearse: Callable[[Any], Sequence[str]]
    keep: Callable[[Any], Any]


class AmendForm(DeedForm):
    """A form whose deed is looked at before it is signed.

    Args:
        title: what is corrected.
        said: what is known of it, a line each.
        entries: its fields; the reason comes last and is added here.
        deed: what it would touch, and doing it.
        keeper: keeps the draft.
    """

    path = "Correct"
    pages = ("correct", "settle")
    doing = "Look at all it touches"
    about = """\
Correct what was signed. The old value stays readable for ever; a reason is
always needed.
Enter goes to the next field. Ctrl+S shows all that the correction touches:
dates on the due list, running hours kept with reports. Nothing is changed yet.
Then Ctrl+S again signs it, and Esc goes back to the form.
Which of two readings is wrong is for a person to say, never for pmsched.
Esc closes the form; what was typed is there again the next time."""

    def __init__(
        self, title: str, said: Sequence[str], entries: Sequence[Entry], deed: Deed, keeper: Keeper | None = None
    ) -> None:
        super().__init__(title, [*entries, REASON], deed.keep, keeper)
        self.said = tuple(said)
        self.rehearse = deed.rehearse

    def above(self) -> ComposeResult:
        """What is known of it."""
        yield Static(shown("\n".join(self.said), line_breaks=True), classes="note", markup=False)

    def reason(self) -> str:
        """The reason typed; it is a fault to give none."""
        reason = self.value("reason", check_text)
        if not reason and "reason" not in self._wrong:
            self.fault("reason", "Say why; it is kept beside the old value.")
        return reason or ""

    def run_deed(self, command: Any) -> None:
        """First show what it would touch."""
        self._busy = True
        self.say("Working out what it touches ...")
        self.ask("deed", lambda: self.rehearse(command), lambda lines: self._look(command, lines), refused=self.refused)

    def _look(self, command: Any, lines: Sequence[str]) -> None:
        self._busy = False
        self.clear_faults()

        def agreed(answer: bool | None) -> None:
            if answer:
                super(AmendForm, self).run_deed(command)

        self.app.push_screen(TouchedForm(self.heading, lines), agreed)


class TouchedForm(ModalScreen[bool]):
    """All that a correction touches; it returns whether it is to be signed.

    Args:
        title: what is corrected.
        lines: what it touches.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("forms"), *bindings_named("help")]
    path = "What it touches"
    places: tuple[str, ...] = ("forms", "moves")
    pages: tuple[str, ...] = ("correct",)
    about = """\
This is all that the correction touches. Nothing is changed yet.
Ctrl+S or . signs it. Esc goes back to the form, where everything is still as
you typed it."""

    def __init__(self, title: str, lines: Sequence[str]) -> None:
        super().__init__()
        self.heading = title
        self.lines = tuple(lines)

    def compose(self) -> ComposeResult:
        """The lines, and the keys."""
        with Vertical(classes="form"):
            yield Static(shown(self.heading), classes="title", markup=False)
            yield Lines((Column("if signed", _WIDTH),), id="touched")
            yield Static(shown("Ctrl+S or . sign this correction | Esc back, nothing is changed"), markup=False)

    def on_mount(self) -> None:
        """Show the lines."""
        lines = self.query_one(Lines)
        parts = [part for line in self.lines for part in folded(line, _WIDTH, "    ")]
        lines.show([Line(str(n), (part,)) for n, part in enumerate(parts)])
        lines.focus()

    def action_help(self) -> None:
        """Explain this list."""
        cast("PmschedApp", self.app).action_help()

    def action_submit(self) -> None:
        """Sign it."""
        self.dismiss(True)

    def action_back(self) -> None:
        """Back to the form."""
        self.dismiss(False)
