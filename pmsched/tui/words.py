"""Few words for narrow columns, the same in every list: states, dates, and what is said of a chosen job.

Knows values and their words; no widget.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from pmsched.domain.words import named

if TYPE_CHECKING:
    from pmsched.usecases.ask_due import DueRow

LOOKS = {"overdue": "overdue", "past due by estimate": "overdue", "due": "due", "may be done": "soon", "upcoming": ""}
"""How a line in a state looks; any other state is quiet."""
NO_CAUTION = "No caution is written here; see the maker's manual."
NOTHING_FITS = "Esc shows all lines | no line has all of these words"
STATE_WIDTH, LEFT_WIDTH, DAY_WIDTH = 10, 17, 11
_SHORT_STATES = {"past due by estimate": "past est.", "may be done": "may be"}


def short_state(state: str) -> str:
    """A state's word, in nine characters at most: there is room for a tick before it."""
    return _SHORT_STATES.get(state, state)


def when(row: DueRow, width: int) -> str:
    """What is left and the day, '~' before one that comes from use, in so many characters at most."""
    day = "" if row.due_on is None else f"{'~' if row.expected else ''}{row.due_on:%m-%d}"
    texts = (f"{row.left} {day}", f"{row.left.replace('overdue', 'over')} {day}", row.left)
    # Half a date would be read as another date, so the day is whole or left out.
    return next((text for text in texts if len(text) <= width), row.left[:width])


def need(row: DueRow) -> str:
    """What a job needs of the machine, in four characters: empty if nothing is said, 'ISOL' if it must not be started."""
    if "isolated" in row.marks:
        return "ISOL"
    text = row.needs.lower()
    shorts = (("stopped", "stop"), ("port", "port"), ("running", "run"))
    return next((short for word, short in shorts if word in text), "")


def entitled(job: str, unit: str, title: str) -> str:
    """A job in a list: code, unit and title."""
    return f"{named(job, unit)} {title}"


def explained(row: DueRow) -> str:
    """What is said below a list of the chosen job: its whole name, cautions, then why it is due then, and what it needs."""
    cautions = f"CAUTION: {'; '.join(row.cautions.splitlines())}" if row.cautions else NO_CAUTION
    name = listed((entitled(row.job, row.unit, row.title), f"{row.machine} {row.machine_name}"))
    marks = f"[{', '.join(row.marks)}] " if row.marks else ""
    return f"{name}\n{cautions}\n{marks}{row.sentence}\nNeeds: {row.needs or '-'}"


def listed(parts: Iterable[str], between: str = " | ") -> str:
    """The parts that say something, on one line."""
    return between.join(part for part in parts if part)


def matching(words: str, texts: str) -> bool:
    """Whether every word typed occurs somewhere in the texts."""
    return all(word in texts.lower() for word in words.lower().split())
