"""What the auditor's desk shows: the history found by a search, or the due list. Each knows its lines, words and rows.

What stands above a list, on paper and in a file's name comes from the answer itself, never from what is being asked for
meanwhile: a list must not carry the heading of another.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Protocol

from pmsched.tui.screens.records_asked import search_text
from pmsched.tui.screens.records_lines import Sheet, due_rows, due_sheet, history_rows, history_sheet, narrowed, told
from pmsched.tui.words import NOTHING_FITS, explained

if TYPE_CHECKING:
    from datetime import date

    from pmsched.usecases.ask_due import DueList, Header
    from pmsched.usecases.ask_history import History, HistoryRow


class Shown(Protocol):
    """One of the two lists, as answered.

    Attributes:
        what: its short name, for files.
        is_due: it is the due list.
        above: what stands on the line above the list.
    """

    what: str
    is_due: bool
    above: str

    @property
    def found(self) -> History | DueList:
        """The answer, as it is exported."""

    @property
    def header(self) -> Header:
        """The heading of the answer."""

    @property
    def narrowed(self) -> Mapping[str, Any]:
        """What the answer was narrowed by, for the header of a file."""

    @property
    def empty(self) -> str:
        """What is said, and what to do, where the list is empty."""

    @property
    def title(self) -> str:
        """The list's title on paper."""

    @property
    def days(self) -> tuple[date, date] | None:
        """The days it is about; None for a list of one moment."""

    def sheet(self, width: int) -> Sheet:
        """Columns, lines and counts for a screen so wide."""

    def job(self, key: str) -> str:
        """The job of a line."""

    def detail(self, key: str) -> str:
        """What is said of a line below the list; empty for an unknown key."""

    def below(self, key: str) -> str:
        """What is said of a line on paper."""

    def report(self, key: str) -> HistoryRow | None:
        """The version of a report that a line stands for."""


class ShownHistory:
    """The history found by a search."""

    what = "history"
    is_due = False

    def __init__(self, wanted: Mapping[str, Any], found: History) -> None:
        self.wanted = wanted
        self.found = found
        self.header = found.header
        self.above = f"{search_text(wanted)} | / or Enter here searches"
        self._rows = history_rows(found)

    @property
    def narrowed(self) -> Mapping[str, Any]:
        """The search."""
        return {name: value for name, value in self.wanted.items() if value is not None}

    @property
    def empty(self) -> str:
        """Nothing fits."""
        if self.header.known_on:
            return "k takes another day, / searches again | nothing that fits was known then"
        return "/ searches again | w, then d reports a job | past work: pmsched load"

    @property
    def title(self) -> str:
        """With the search."""
        return f"History{_known(self.header)}: {search_text(self.wanted)}"

    @property
    def days(self) -> tuple[date, date] | None:
        """From the first day searched, or found, to the last."""
        first = self.wanted.get("first") or next((row.done_on for row in self.found.rows), None)
        return (first, self.wanted.get("last") or self.header.today) if first else None

    def sheet(self, width: int) -> Sheet:
        """The newest on top."""
        return history_sheet(self._rows, width)

    def job(self, key: str) -> str:
        """The job that was done."""
        return self._rows[key].job

    def detail(self, key: str) -> str:
        """Everything."""
        return told(self._rows[key]) if key in self._rows else ""

    def below(self, key: str) -> str:
        """Everything but what stands in the line."""
        return "\n".join(told(self._rows[key]).splitlines()[1:])

    def report(self, key: str) -> HistoryRow | None:
        """The version of that line."""
        return self._rows.get(key)


class ShownDue:
    """The due list, or the lines of it that have the words."""

    what = "due"
    is_due = True
    above = "the due list, most urgent first | / narrows it, l goes back to the history"
    days = None

    def __init__(self, found: DueList, words: str) -> None:
        self.words = words
        self.found = narrowed(found, words)
        self.header = found.header
        self._rows = due_rows(self.found)

    @property
    def narrowed(self) -> Mapping[str, Any]:
        """The words."""
        return {"words": self.words} if self.words else {}

    @property
    def empty(self) -> str:
        """Nothing fits, or there is nothing."""
        return NOTHING_FITS if self.words else "First load jobs: pmsched load jobs.csv (see: pmsched help files)"

    @property
    def title(self) -> str:
        """With the words it is narrowed by."""
        return f"Due list{_known(self.header)}{f', narrowed to: {self.words}' if self.words else ''}"

    def sheet(self, width: int) -> Sheet:
        """The most urgent on top."""
        return due_sheet(self._rows, width, self.found.looked_at)

    def job(self, key: str) -> str:
        """The job that is due."""
        return self._rows[key].job

    def detail(self, key: str) -> str:
        """Why it was due then, cautions and needs."""
        return explained(self._rows[key]) if key in self._rows else ""

    def below(self, key: str) -> str:
        """Why it was due then."""
        return self._rows[key].sentence

    def report(self, key: str) -> HistoryRow | None:  # noqa: ARG002 - there are none
        """None: these are jobs."""
        return None


def _known(header: Header) -> str:
    return f", known on {header.known_on}" if header.known_on else ""
