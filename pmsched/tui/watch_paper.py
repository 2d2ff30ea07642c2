"""The Watch in its parts, and on paper: every job with why it is due then, cautions, needs, and a box to tick by hand.

Values in, values out; knows no widget.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from pmsched.domain.words import due_text, named
from pmsched.tui.folding import folded, row
from pmsched.tui.page import WIDTH, Block, Paper
from pmsched.tui.words import matching

if TYPE_CHECKING:
    from pmsched.usecases.ask_due import DueRow
    from pmsched.usecases.ask_open import OpenLine
    from pmsched.usecases.ask_watch import Watch

_WIDTHS = (3, 11, 24, 16, 20)
_HEADS = ("", "state", "job", "machine", "left / date")
_INDENT = "    "
_WATCH_BANDS = ("overdue", "today", "before the watch ends")


class Section(NamedTuple):
    """A part of the Watch: its name, and jobs, or what is open now."""

    name: str
    rows: tuple[DueRow, ...] = ()
    opened: tuple[OpenLine, ...] = ()

    @property
    def title(self) -> str:
        """Its name with how much is in it: 'OVERDUE (3)'."""
        return f"{self.name.upper()} ({len(self.rows) + len(self.opened)})"


def sections(watch: Watch, words: str) -> Iterator[Section]:
    """The parts in which something matches the words.

    What must not be started and what is open now come before what falls due after the watch.
    """
    opened = [one for one in watch.open if matching(words, f"{one.kind} {one.code} {one.machine} {one.said}")]
    found = [
        Section(band.name, tuple(row for row in band.rows if matching(words, _texts(row)))) for band in watch.bands
    ]
    after = next((n for n, section in enumerate(found) if section.name not in _WATCH_BANDS), len(found))
    found[after:after] = [
        Section("not to be started", (), tuple(one for one in opened if one.not_to_start)),
        Section("open now", (), tuple(one for one in opened if not one.not_to_start)),
    ]
    return (section for section in found if section.rows or section.opened)


def watch_paper(watch: Watch, words: str, reach: str, who: str) -> Paper | None:
    """The page; None if there is nothing on it.

    Args:
        watch: the answer it comes from.
        words: the filter; empty for none.
        reach: how far ahead it looks.
        who: whose jobs it shows, in words.
    """
    blocks: list[Block] = []
    for section in sections(watch, words):
        lines = [*(_job(one) for one in section.rows), *(_open(one) for one in section.opened)]
        # A band's name stays with its first line.
        blocks += [("", section.title, *lines[0]), *lines[1:]]
    if not blocks:
        return None
    until = {"watch": f"until {watch.ends_on} {watch.ends_at:%H:%M}", "week": "for seven days", "all": "everything"}
    narrowed = f", only lines with '{words}'" if words else ""
    title = f"Watch: what is due, {until[reach]}, {who}{narrowed}"
    return Paper("watch", title, next(row(_HEADS, _WIDTHS)), tuple(blocks), watch.header.seal)


def open_text(one: OpenLine) -> str:
    """What is said of something open, below the list."""
    if one.not_to_start:
        return f"DO NOT START {one.machine}: {one.kind} since {one.since}\n{one.said}\nEnter or i: it is back in use."
    next_step = "Enter or h settles it." if one.kind == "held" else "Enter opens the job."
    return f"{one.machine}\n{one.code}: {one.said}, since {one.since}\n{next_step}"


def _job(one: DueRow) -> Block:
    due = due_text(one.due_on, expected=one.expected) or "no date"
    cells = (
        "[ ]",
        one.state,
        f"{named(one.job, one.unit)} {one.title}",
        f"{one.machine} {one.machine_name}",
        f"{one.left}, {due}",
    )
    marks = f"{', '.join(one.marks).upper()}: " if one.marks else ""
    return (
        *row(cells, _WIDTHS),
        *folded(f"{_INDENT}{marks}{one.sentence}", WIDTH, ""),
        *(line for said in one.cautions.splitlines() for line in folded(f"{_INDENT}! CAUTION: {said}", WIDTH, "  ")),
        *(folded(f"{_INDENT}Needs: {one.needs}", WIDTH, "") if one.needs else ()),
    )


def _open(one: OpenLine) -> Block:
    return tuple(row(("", one.kind, one.said, one.machine, f"since {one.since}"), _WIDTHS))


def _texts(one: DueRow) -> str:
    return f"{one.job} {one.title} {one.machine} {one.machine_name} {one.state} {' '.join(one.marks)} {one.rank}"
