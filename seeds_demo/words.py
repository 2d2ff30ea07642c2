"""What people write in their reports: how the machine was found, and a few words that no other job has.

Templates stand in ``files/remarks.csv``: ``{a|b}`` is one of several words, ``{3-9}`` or ``{0.2-0.5}`` a figure
between two. All figures are illustrative.
"""

from __future__ import annotations

import re
from functools import cache
from itertools import count
from random import Random
from typing import NamedTuple

from seeds_demo.csv_files import rows
from seeds_demo.events import Condition
from seeds_demo.jobs import Job

_SLOT = re.compile(r"\{([^{}]*)\}")
_RANGE = re.compile(r"(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?)")
_CONDITIONS: tuple[Condition, ...] = (
    "as new",
    "fair wear, will last",
    "worn, watch",
    "worn, renewed",
    "damaged, not repaired",
)
_NOTHING_WRONG = _CONDITIONS[:2]
_LOOKED_AT = (12, 84, 3, 0.6, 0.4)
_OPENED_UP = (14, 58, 15, 12, 1)
_TESTED = {"Test", "Try", "Work", "Run", "Launch", "Burn", "Weekly"}
_LOOKED = {
    "Check", "Record", "Sample", "Drain", "Look", "Count", "Read", "Compare", "Back", "Send", "Yearly", "Thorough",
    "Inspect",
}  # fmt: skip
_WORDLESS = {True: 0.35, False: 0.08}
_FROM_THE_COMMON_STOCK = 0.12
_WITH_TAIL = 0.25
_FEW_TRIES = 12


class _Template(NamedTuple):
    meant_for: str
    condition: str
    text: str


class Writer:
    """Writes remarks; remembers which job said what, so that no two jobs say the same."""

    def __init__(self) -> None:
        self._said_by: dict[str, str] = {}

    def remark(self, job: Job, condition: Condition, rng: Random) -> str:
        """A remark that no other job has."""
        for tries in count():
            text = fill(rng.choice(_fitting(job, condition, rng)), rng)
            # Where the words run out, what stands behind them makes the difference.
            if rng.random() < _WITH_TAIL or tries > _FEW_TRIES:
                text += " " + fill(rng.choice(_meant_for("tail")), rng)
            if self._said_by.setdefault(text, job.code) == job.code:
                break
        return text


@cache
def _templates() -> tuple[_Template, ...]:
    return tuple(_Template(row["for"], row["condition"], row["text"]) for row in rows("remarks.csv"))


@cache
def _meant_for(wanted: str, condition: str = "") -> tuple[str, ...]:
    return tuple(t.text for t in _templates() if (t.meant_for, t.condition) == (wanted, condition))


def _fitting(job: Job, condition: Condition, rng: Random) -> tuple[str, ...]:
    if of_condition := _meant_for(_kind_of(job), condition):
        return of_condition
    named, common = _meant_for(job.says), _meant_for(verb_of(job))
    return common if common and (not named or rng.random() < _FROM_THE_COMMON_STOCK) else named


def fill(template: str, rng: Random) -> str:
    """The template with every slot filled, inner ones first."""
    while _SLOT.search(template):
        template = _SLOT.sub(lambda slot: _choice(slot[1], rng), template)
    return template


def verb_of(job: Job) -> str:
    """The first word of the title, which says what kind of work it is."""
    return job.title.split()[0]


def is_wordless(job: Job, condition: Condition, rng: Random) -> bool:
    """Whether nothing was written: only where nothing was wrong, and more often after a look than after an overhaul."""
    return condition in _NOTHING_WRONG and rng.random() < _WORDLESS[_is_only_looked_at(job)]


def condition_found(job: Job, rng: Random) -> Condition:
    """How the machine was found: mostly as it should be."""
    return rng.choices(_CONDITIONS, _LOOKED_AT if _is_only_looked_at(job) else _OPENED_UP)[0]


def _kind_of(job: Job) -> str:
    if job.department == "electrical":
        return job.department
    if verb_of(job) in _TESTED:
        return "tested"
    return "looked at" if _is_only_looked_at(job) else "opened up"


def _is_only_looked_at(job: Job) -> bool:
    return verb_of(job) in _TESTED | _LOOKED or job.rank == "Motorman"


def _choice(slot: str, rng: Random) -> str:
    found = _RANGE.fullmatch(slot)
    if not found:
        return rng.choice(slot.split("|"))
    decimals = len(found[2].partition(".")[2])
    low, high = (round(float(end) * 10**decimals) for end in found.groups())
    value = rng.randint(low, high)
    return f"{value / 10**decimals:.{decimals}f}" if decimals else str(value)
