"""A form for a deed: fields, what is wrong beside each of them, and a last line that signs.

The caller gives the deed and it runs in a thread; the form closes only when the deed is kept. Whatever was typed is a
draft: kept at each Enter and on Esc, brought back when the form opens again, removed once signed.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple, cast

from textual.actions import SkipAction
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from pmsched.domain.errors import Refusal
from pmsched.tui.actions import bindings_named, bindings_of
from pmsched.tui.asking import Asking, Crashed
from pmsched.tui.keeping import Keeper
from pmsched.tui.safe_text import shown

if TYPE_CHECKING:
    from pmsched.tui.app import PmschedApp


class Entry(NamedTuple):
    """One field: its name, its label, what stands in it, what is meant if it stays empty, and what may be typed."""

    name: str
    label: str
    value: str = ""
    empty: str = ""
    hint: str = ""


class SignLine(Static, can_focus=True):
    """The last line of a form; with the keyboard on it, Enter and . sign."""


class DeedForm(Asking, ModalScreen[Any]):
    """The form. It returns what the deed gave; None if it was closed.

    Subclasses say in ``read`` how the fields become a command, and in ``FAULTS`` at which field a refusal belongs.

    Args:
        title: what the form is for.
        entries: its fields.
        deed: keeps a command; runs in a thread.
        keeper: keeps the draft.
        cautions: what is to be read first, a caution a line.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("forms"), *bindings_named("help")]
    FAULTS: ClassVar[Mapping[str, str]] = {}
    """The field of a refusal, by its code."""

    path = "Form"
    places: tuple[str, ...] = ("forms",)
    pages: tuple[str, ...] = ()
    doing = "Sign and keep"
    keys = "Enter next | up back | Esc close, what was typed is kept | F1 help"
    about = """\
A form. Enter goes to the next field, the up arrow to the one before. What may
be typed in a field is said below while the keyboard is in it.
Ctrl+S signs and keeps it, from any field; so does Enter on the last line.
Esc closes the form. Nothing is lost: what was typed is there again when the
form is opened the next time.
What is wrong is said under its field; put it right and sign again."""

    def __init__(
        self,
        title: str,
        entries: Sequence[Entry],
        deed: Callable[[Any], Any],
        keeper: Keeper | None = None,
        cautions: str = "",
    ) -> None:
        super().__init__()
        self.heading = title
        self.entries = tuple(entries)
        self.deed = deed
        self.keeper = keeper or Keeper()
        self.cautions = cautions
        self._busy = False
        self._may_lose = False
        self._wrong: list[str] = []

    def compose(self) -> ComposeResult:
        """Title, cautions, fields with room for faults, what may be typed, and the keys."""
        with Vertical(classes="form"):
            yield Static(shown(self.heading), classes="title", markup=False)
            for caution in self.cautions.splitlines():
                yield Static(shown(f"CAUTION: {caution}"), classes="caution", markup=False)
            yield from self.above()
            for entry in self.entries:
                with Horizontal(classes="row", id=f"row-{entry.name}"):
                    yield Static(shown(entry.label), classes="label", markup=False)
                    value = self.keeper.typed.get(entry.name, entry.value)
                    yield Input(value, placeholder=entry.empty, id=entry.name)
                yield Static(id=f"fault-{entry.name}", classes="fault", markup=False)
            yield Static(id="hint", classes="note", markup=False)
            yield Static(id="said", classes="fault", markup=False)
            yield SignLine(shown(f"{self.doing}: Ctrl+S, or Enter on this line"), id="sign", markup=False)
            yield Static(shown(self.keys), classes="note", markup=False)

    def above(self) -> ComposeResult:
        """Widgets between the cautions and the fields."""
        yield from ()

    def on_mount(self) -> None:
        """Begin at the first field, and say so if something was brought back."""
        self.clear_faults()
        if self.keeper.typed:
            self.say("What was typed before is here again.")
        self.begin()

    def begin(self) -> None:
        """Give the keyboard to the first field."""
        self.field(self.entries[0].name).focus()

    def field(self, name: str) -> Input:
        """The input of a field."""
        return self.query_one(f"#{name}", Input)

    def typed(self, name: str) -> str:
        """What stands in a field, without blanks around it."""
        return self.field(name).value.strip()

    def changed(self) -> dict[str, str]:
        """What stands in the fields that differ from what the form began with, by name."""
        now = {entry.name: self.field(entry.name).value for entry in self.entries}
        return {entry.name: now[entry.name] for entry in self.entries if now[entry.name] != entry.value}

    def read(self) -> Any:
        """The command typed. What cannot be read is said with ``fault``, and the answer is then not used."""
        raise NotImplementedError

    def value(self, name: str, reader: Callable[[str], Any]) -> Any:
        """The value read from a field; None if it is empty, or wrong, which is said."""
        try:
            return reader(self.typed(name)) if self.typed(name) else None
        except Refusal as refusal:
            self.fault(name, str(refusal))

    def say(self, text: str) -> None:
        """The line above the keys: what is wrong with the whole form, or what goes on."""
        self._write("said", text)

    def fault(self, name: str, text: str) -> None:
        """What is wrong with a field, under it; the keyboard goes to the first such field."""
        self._write(f"fault-{name}", text)
        self._wrong.append(name)
        self.field(self._wrong[0]).focus()

    def clear_faults(self) -> None:
        """Nothing is wrong, as far as is known."""
        self._wrong = []
        for name in ("said", *(f"fault-{entry.name}" for entry in self.entries)):
            self._write(name, "")

    def _write(self, name: str, text: str) -> None:
        line = self.query_one(f"#{name}", Static)
        line.update(shown(text))
        line.display = bool(text)

    def action_submit(self) -> None:
        """Read the fields and do the deed."""
        if self._busy:
            return
        self.clear_faults()
        command = self.read()
        if not self._wrong:
            self.run_deed(command)

    def run_deed(self, command: Any) -> None:
        """Do the deed in a thread; the draft goes once it is kept."""
        self._busy = True
        self.say("Signing ...")
        self.keeper.note(self.changed())
        self.ask("deed", lambda: self._do(command), self.kept, refused=self.refused, deed=True)

    def kept(self, result: Any) -> None:
        """The deed is kept: close with what it gave."""
        self.dismiss(result)

    def _do(self, command: Any) -> Any:
        self.keeper.save_if_possible()
        result = self.deed(command)
        self.keeper.signed()
        return result

    def refused(self, refusal: Refusal) -> None:
        """The deed was refused: say why, at the field it belongs to; everything typed is still there."""
        self._busy = False
        self.clear_faults()
        name = self.FAULTS.get(refusal.code, "")
        if any(entry.name == name for entry in self.entries):
            self.fault(name, str(refusal))
        else:
            self.say(str(refusal))

    def on_crashed(self, _message: Crashed) -> None:
        """Something broke: the app says so, and the form can be signed again."""
        self._busy = False
        self.say("Not signed: something broke. What was typed is still here.")

    def action_back(self) -> None:
        """Close the form; what was typed is kept. While it is being signed it stays open, to tell what came of it."""
        if self._busy:
            return
        if self._may_lose:
            self.dismiss(None)
            return
        self.keeper.note(self.changed())
        self.ask("close", self.keeper.save, self._close, refused=self._not_kept, deed=True)

    def _close(self, _nothing: None) -> None:
        self.dismiss(None)

    def _not_kept(self, refusal: Refusal) -> None:
        self._may_lose = True
        self.say(f"{refusal} Esc once more closes the form all the same.")

    def keep_draft(self) -> None:
        """Save what is typed now."""
        self.keeper.note(self.changed())
        self.ask("draft", self.keeper.save, lambda _: None, deed=True)

    def entered(self, name: str) -> None:
        """Enter was pressed in a field: look at it already now, and say what is wrong with ``fault``."""

    def action_enter_field(self) -> None:
        """To the next field; on the last line, sign. A list keeps Enter for itself.

        The focus moves before another key is looked at; the field is read once it has taken the keys before this one.
        """
        left = self.focused
        if isinstance(left, SignLine):
            self.action_submit()
        elif isinstance(left, Input):
            self.focus_next()
            left.call_later(self._left, left.id or "")
        else:
            raise SkipAction

    def _left(self, name: str) -> None:
        self._wrong = []
        self._write(f"fault-{name}", "")
        self.entered(name)
        self.keep_draft()

    def action_next_field(self, step: int) -> None:
        """To the next field, or (-1) the one before."""
        if step > 0:
            self.focus_next()
        else:
            self.focus_previous()

    def on_descendant_focus(self) -> None:
        """Say what may be typed in the field that has the keyboard."""
        self.show_hint()

    def show_hint(self) -> None:
        """Say what belongs to the field, or the list, that has the keyboard."""
        self._write("hint", self.hint((self.focused.id if self.focused else "") or ""))

    def hint(self, name: str) -> str:
        """What may be typed in a field; of a list, by its name, the whole of the chosen line."""
        return next((entry.hint for entry in self.entries if entry.name == name), "")

    def action_help(self) -> None:
        """Explain the form; what was typed is kept first."""
        if not self._busy:
            self.keep_draft()
            cast("PmschedApp", self.app).action_help()
