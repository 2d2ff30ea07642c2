"""Help: what the screen in front is for, the keys that work on it, and the pages of the manual."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path
from typing import TYPE_CHECKING

from textual import on
from textual.screen import Screen

import pmsched
from pmsched.tui.actions import ACTIONS, Action
from pmsched.tui.key_names import keys_now
from pmsched.tui.palette import target_of
from pmsched.tui.screens.texts import Said, TextScreen
from pmsched.tui.widgets.lines import Lines

if TYPE_CHECKING:
    from typing import Any

    from pmsched.tui.app import PmschedApp

MANUAL = Path(pmsched.__file__).parent / "manual"
_KEYS_WIDTH = 18


class HelpScreen(TextScreen):
    """Help on one screen.

    Args:
        place: the path of the screen explained.
        about: what it is for.
        keys: keys and what they do.
        pages: names of the pages of the manual that belong to it; the others come after them.
    """

    about = """\
This is the help. The arrows move through it, / narrows it as you type: type a
word to find the key you need.
Enter on a line that begins with 'more' opens that page of the manual.
Esc goes back to where you were; everything typed there is still there."""

    def __init__(self, place: str, about: str, keys: Iterable[Said], pages: tuple[str, ...]) -> None:
        super().__init__()
        self.path = f"{place} > Help"
        self._about = about
        self._keys = tuple(keys)
        self._pages = pages

    @classmethod
    def of(cls, app: PmschedApp) -> HelpScreen:
        """Help on the screen in front."""
        screen = app.screen
        known = keys_now(screen)
        keys = [key_line(known[a.id], a) for a in ACTIONS if a.id in known and _works(screen, a)]
        about = getattr(screen, "about", "") or "This list has no help of its own yet."
        return cls(getattr(screen, "path", ""), about, keys, tuple(getattr(screen, "pages", ())))

    def load(self) -> None:
        """Ask for the pages of the manual."""
        self.ask("pages", manual_titles, self.show, refused=self.failed)

    def show(self, titles: dict[str, str]) -> None:
        """Show what was answered."""
        said = [Said(line) for line in self._about.splitlines()]
        said += [Said(""), Said("KEYS"), *self._keys, Said(""), Said("MANUAL  Enter opens a page")]
        named = [name for name in self._pages if name in titles]
        for name in (*named, *(name for name in titles if name not in named)):
            said.append(Said(f"more: {name:<14} {titles[name]}", key=name))
        self.write(f"Help: {self.path.removesuffix(' > Help')}", said)
        self.say("Esc goes back | / narrows | Enter on 'more' opens a page of the manual")

    @on(Lines.Opened, "#text")
    def _open(self, event: Lines.Opened) -> None:
        if name := self.opened_key(event.line):
            self.app.push_screen(ManualScreen(name))


class ManualScreen(TextScreen):
    """One page of the manual."""

    about = """\
A page of the manual. The arrows and PgDn move through it; / narrows it to the
lines with a word; p writes it as a page of text.
The commands in it are for a command line; the screens do the same."""

    def __init__(self, name: str) -> None:
        super().__init__()
        self.path = f"Manual > {name}"
        self._page = name

    def load(self) -> None:
        """Ask for the page."""
        self.ask("page", lambda: manual_page(self._page), self.show, refused=self.failed)

    def show(self, text: str) -> None:
        """Show what was answered."""
        title, _, rest = text.partition("\n")
        self.write(title.lstrip("# "), [Said(line) for line in rest.strip("\n").splitlines()])
        self.say("Esc goes back to the help")


def _works(screen: Screen[Any], action: Action) -> bool:
    """Whether anything on the screen answers to the action; the list or the filter line in it answers some."""
    return action.where in {"moves", "filter"} or target_of(screen, action) is not None


def manual_titles() -> dict[str, str]:
    """The pages of the manual: their titles by name, in the order of their names."""
    return {path.stem: manual_page(path.stem).partition("\n")[0].lstrip("# ") for path in sorted(MANUAL.glob("*.md"))}


def manual_page(name: str) -> str:
    """A page of the manual by the name ``manual_titles`` gives."""
    return (MANUAL / f"{name}.md").read_text(encoding="utf-8")


def key_line(keys: str, action: Action) -> Said:
    """One line of the list of keys."""
    return Said(f"{keys:<{_KEYS_WIDTH}} {action.title}: {action.help}")
