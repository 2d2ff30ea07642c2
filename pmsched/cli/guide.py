"""The guide through the first load: people, a file, what is wrong with it, where jobs begin, what will be due; then one entry.

Thin: it asks, and use cases do. Whatever was answered stays when the person stops: the register as it is set up, the files
as they are written, and which of them was being worked on.
"""

from __future__ import annotations

import shlex
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

import click

from pmsched.cli.access import asked, open_register, ship_clock_of, signer
from pmsched.cli.asking import StopHere, agree_usually, ask_or_stop, choose, say
from pmsched.cli.context import SIGNER_VARIABLE, Here, moment
from pmsched.cli.due import due_lines
from pmsched.cli.guide_check import show_problems
from pmsched.cli.guide_file import ask_file
from pmsched.cli.guide_list import bring_in_list
from pmsched.cli.guide_outlook import show_outlook
from pmsched.cli.guide_people import ask_people
from pmsched.cli.guide_starts import ask_readings, ask_starts
from pmsched.cli.guide_state import GuideState
from pmsched.cli.house import SAFETY
from pmsched.cli.load import load_lines
from pmsched.cli.printing import out
from pmsched.cli.tables import terminal_width
from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem
from pmsched.exchange.list_read import find_lists
from pmsched.store.register import Register
from pmsched.usecases.ask_due import due_list
from pmsched.usecases.ask_people import people_list
from pmsched.usecases.load_outlook import Outlook, outlook
from pmsched.usecases.load_register import load
from pmsched.usecases.signing import Signer

_GO_ON = "To go on: pmsched init"


def guide(here: Here, *, people: bool) -> None:
    """Leads from a register without machines to its first due list.

    Args:
        here: for whom.
        people: ask for further people first.

    Raises:
        click.Abort: the input has ended, or the person broke off.
    """
    with open_register(here) as register, _stopped_well(GuideState(here.target)) as state:
        _name_signer(here, register)
        if people:
            ask_people(register, here.by)
        walk = _Walk(here, register, state)
        while not walk.loaded:
            walk.step()


@contextmanager
def _stopped_well(state: GuideState) -> Iterator[GuideState]:
    """Says what is kept when the person stops, in whatever way."""
    try:
        yield state
    except StopHere:
        _say_what_is_kept(state)
    except (KeyboardInterrupt, click.Abort):
        say()
        _say_what_is_kept(state)
        raise


def _say_what_is_kept(state: GuideState) -> None:
    if state.is_loaded:
        say("All of it is loaded. See: pmsched due")
        return
    kept = "The register stays as it is set up; no machines are loaded yet."
    if state.file is not None:
        kept += f" Your file is {state.file}."
    if state.readings:
        kept += " The readings you typed are kept."
    say(f"{kept}\n{_GO_ON}")


def _name_signer(here: Here, register: Register) -> None:
    """The one person on the books signs; of several, who is asked."""
    there = people_list(register, asked())[1]
    if not here.by and len(there) == 1:
        here.by = there[0].code
    while here.by.casefold() not in {person.code.casefold() for person in there}:
        if here.by:
            say(f"Nobody on the books has the code {here.by}.")
        here.by = ask_or_stop(f"Who signs ({', '.join(person.code for person in there)})")


class _Walk:
    """One walk through the guide; ``loaded`` once all is in the register.

    Args:
        here: for whom.
        register: the open register.
        state: what is remembered.
    """

    def __init__(self, here: Here, register: Register, state: GuideState) -> None:
        self._here = here
        self._register = register
        self._state = state
        self._told: tuple[Problem, ...] = ()
        self._notes: set[str] = set()
        self._skipped: frozenset[str] = frozenset()
        self._file: Path | None = None
        self.loaded = False

    def step(self) -> None:
        """The next step, by how the file stands."""
        if self._file is None:
            self._work_on(ask_file(self._state.file))
        try:
            self._file = self._look(self._chosen)
        except Refusal as refusal:
            say(str(refusal))
            self._file = None

    @property
    def _chosen(self) -> Path:
        if self._file is None:
            raise AssertionError("a file is chosen first")
        return self._file

    def _work_on(self, file: Path) -> None:
        self._file = file
        self._state.work_on(file)

    def _look(self, file: Path) -> Path | None:
        """What has to be done about the file; the file to go on with, None to ask for it."""
        if (lists := find_lists(file)) is not None:
            made = bring_in_list(lists, self._ship_time())
            self._work_on(made)
            return made
        seen = outlook(self._register, [file], Signer(self._here.by, moment()))
        self._say_notes(seen)
        if seen.problems:
            show_problems(file, seen, self._told)
            self._told = seen.problems
            say("Put them right, save, then Enter. Or type the name of another file, such as the marked copy.")
            return None
        if not seen.added.get("jobs"):
            say(f"\n{file.name} has no jobs yet. Fill it in and save it, then Enter.")
            return None
        return self._look_ahead(file, seen)

    def _look_ahead(self, file: Path, seen: Outlook) -> Path | None:
        unread = frozenset(one.counter for one in seen.never_read)
        if unread - self._skipped:
            self._skipped = unread
            made = ask_readings(self._register, self._state, seen)
            if made is not None:
                self._state.written(made)
            return made or file
        if seen.unstarted:
            made = ask_starts(file, seen)
            if made is not None:
                self._work_on(made)
            return made
        show_outlook(seen)
        say(f"\nIs that true? y: load it, signed by {self._here.by}. n: no, I mend {file.name} first. s: stop here.")
        if choose("y or n", ("y", "yes", "n", "no")) in {"n", "no"}:
            say(f"Mend {file.name}, save it, then Enter.")
            return None
        self._load(file, seen)
        return file

    def _load(self, file: Path, seen: Outlook) -> None:
        reason = None
        if seen.revised:
            say("This changes what is in the register already:")
            for one in seen.revised:
                say(f"{one}", "  ")
            reason = ask_or_stop("Why")
        result = load(self._register, [file], signer(self._here), reason=reason)
        self.loaded = True
        self._state.forget()
        width = terminal_width()
        for line in load_lines(result, width):
            out(line)
        out()
        for line in due_lines(due_list(self._register, asked()), width):
            out(line)
        _say_what_next(self._here, file)

    def _say_notes(self, seen: Outlook) -> None:
        """What was passed over, each time something new."""
        for said in seen.notes:
            if said not in self._notes:
                say(said)
        self._notes |= set(seen.notes)

    def _ship_time(self) -> datetime:
        return ship_clock_of(self._register).ship_time(moment())


def _say_what_next(here: Here, file: Path) -> None:
    at = f" --register {shlex.quote(here.register)}" if here.register else ""
    say(f"\nKeep {file.name}: what changes, change there, and load it again. What to type next:")
    lines = (
        (f"pmsched{at}", "the screens: what is due, and why"),
        (f"pmsched round{at} --by {here.by}", "the meters, after your next walk"),
        (f"pmsched backup FILE{at}", "a copy of the register on another disk"),
    )
    for typed, what in lines:
        say(f"{typed}: {what}", "  ")
    say(f"With {SIGNER_VARIABLE}={here.by} set you need not type --by. Everything else: pmsched help")
    say(SAFETY)


def offer(site: str) -> bool:
    """Whether a person at a terminal wants to go on with a register that is set up but empty. Raises as ``ask``."""
    try:
        return agree_usually(f"The register of {site} is set up; it has no machines yet. Bring them in now?")
    except StopHere:
        return False


def offer_now() -> bool:
    """Whether the person wants to bring in machines right after setting up. Raises as ``ask``."""
    try:
        return agree_usually("Bring in your machinery now?")
    except StopHere:
        return False
    except (KeyboardInterrupt, click.Abort):
        say(f"\nThe register stays as it is set up. {_GO_ON}")
        raise
