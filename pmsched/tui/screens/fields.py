"""A small form of typed fields: Enter goes to the next one, and the values come back read, or nothing.

What was typed stays in the dictionary given, so that a form left with Esc opens again as it was. Readers run in a thread
and may ask the register; what they refuse is said at the field and the form stays open.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple, cast

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, Vertical
from textual.screen import ModalScreen
from textual.widgets import Input, Static

from pmsched.domain.errors import Refusal
from pmsched.tui.actions import bindings_named, bindings_of
from pmsched.tui.asking import Asking
from pmsched.tui.safe_text import shown

if TYPE_CHECKING:
    from collections.abc import MutableMapping

    from pmsched.tui.app import PmschedApp


class Field(NamedTuple):
    """One field: name, label, what may be typed, and how it is read.

    ``read`` takes what was typed, without blanks around it, and gives the value; it may raise Refusal. An empty field
    gives None, unless it is ``needed``.
    """

    name: str
    label: str
    hint: str = ""
    read: Callable[[str], Any] = str
    needed: bool = False


class FieldsForm(Asking, ModalScreen[Mapping[str, Any] | None]):
    """The form. It returns the values read by the names of their fields; None if it was left.

    Args:
        title: what the form is for.
        fields: one or more.
        typed: what stands in the fields, by name; kept up to date while typing.
        doing: what Ctrl+S does, as a word.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("forms"), *bindings_named("help")]
    path = "Form"
    places: tuple[str, ...] = ("forms",)
    pages: tuple[str, ...] = ()
    about = """\
A few fields that say what to show, or where to write it. Nothing is signed.
Enter goes to the next field, and on the last one finishes; the arrows go up
and down. Ctrl+S finishes from any field. What may be typed in a field is said
below while the keyboard is in it; what cannot be read is said there too.
Esc goes back; what was typed is there again when the form is opened."""

    def __init__(
        self, title: str, fields: Sequence[Field], typed: MutableMapping[str, str], doing: str = "search"
    ) -> None:
        super().__init__()
        self._title = title
        self._fields = tuple(fields)
        self._typed = typed
        self._doing = doing
        self._wrong = ""

    def compose(self) -> ComposeResult:
        """Title, a line for each field, what may be typed, what is wrong, and the keys."""
        with Vertical(classes="form"):
            yield Static(shown(self._title), markup=False)
            for field in self._fields:
                with Horizontal(classes="row"):
                    yield Static(shown(field.label), classes="label", markup=False)
                    yield Input(self._typed.get(field.name, ""), id=field.name)
            yield Static(id="hint", classes="note", markup=False)
            yield Static(id="fault", classes="fault", markup=False)
            enter = f"Enter next field | Ctrl+S {self._doing}" if len(self._fields) > 1 else f"Enter {self._doing}"
            keys = f"{enter} | Esc back, what was typed is kept"
            yield Static(shown(keys), classes="note", markup=False)

    def on_mount(self) -> None:
        """Begin at the first field."""
        self._input(self._fields[0]).focus()

    @on(Input.Changed)
    def _keep(self, event: Input.Changed) -> None:
        self._typed[event.input.id or ""] = event.value

    @on(Input.Submitted)
    def _next(self, event: Input.Submitted) -> None:
        if event.input.id == self._fields[-1].name:
            self.action_submit()
        else:
            self.focus_next(Input)

    def on_descendant_focus(self) -> None:
        """Say what may be typed in the field that has the keyboard."""
        named = self.focused.id if self.focused else ""
        hint = next((field.hint for field in self._fields if field.name == named), "")
        self.query_one("#hint", Static).update(shown(hint))

    def action_next_field(self, step: int) -> None:
        """To the next field, or (-1) the one before."""
        if step > 0:
            self.focus_next(Input)
        else:
            self.focus_previous(Input)

    def action_submit(self) -> None:
        """Read the fields; the form closes if every one of them can be read."""
        values = {field.name: self._input(field).value.strip() for field in self._fields}
        self._say("")
        self.ask("fields", lambda: self._read(values), self._close, refused=self._refuse)

    def action_back(self) -> None:
        """Leave the form; what was typed is kept."""
        self.dismiss(None)

    def action_help(self) -> None:
        """Explain the form."""
        cast("PmschedApp", self.app).action_help()

    def _read(self, values: Mapping[str, str]) -> Mapping[str, Any]:
        read: dict[str, Any] = {}
        for field in self._fields:
            self._wrong = field.name
            text = values[field.name]
            if field.needed and not text:
                raise Refusal("needed", f"{field.label} is needed.", field.hint)
            read[field.name] = field.read(text) if text else None
        return read

    def _close(self, read: Mapping[str, Any]) -> None:
        self.dismiss(read)

    def _refuse(self, refusal: Refusal) -> None:
        self.query_one(f"#{self._wrong}", Input).focus()
        self._say(str(refusal))

    def _say(self, fault: str) -> None:
        self.query_one("#fault", Static).update(shown(fault))

    def _input(self, field: Field) -> Input:
        return self.query_one(f"#{field.name}", Input)
