"""What people write in their reports: who, how the machine was found, and a few words that no other job has.

Templates stand in ``files/remarks.csv``: ``{a|b}`` is one of several words, ``{3-9}`` or ``{0.2-0.5}`` a figure
between two. All figures are illustrative.
"""

from __future__ import annotations

import re
from fnmatch import fnmatchcase
from functools import cache
from random import Random
from typing import NamedTuple

from seeds_demo.catalogue import Job, first_of
from seeds_demo.csv_files import rows
from seeds_demo.events import Condition

_SLOT = re.compile(r"\{([^{}]*)\}")
_RANGE = re.compile(r"(\d+(?:\.\d+)?)-(\d+(?:\.\d+)?)")
_CONDITIONS: tuple[Condition, ...] = (
    "as new",
    "fair wear, will last",
    "worn, watch",
    "worn, renewed",
    "damaged, not repaired",
)
_LOOKED_AT = (12, 84, 3, 0.6, 0.4)
_OPENED_UP = (14, 58, 15, 12, 1)
_ONLY_LOOKED_AT = {"Test", "Check", "Record", "Run", "Sample", "Drain"}
_FROM_THE_COMMON_STOCK = 0.2
_WITH_TAIL = 0.3
_STAND_IN = 0.08
_RARELY_LOG_IN = {"Fitter", "Motorman"}
_OFFICERS = {
    "engine": ("Second engineer", "Third engineer", "Fourth engineer"),
    "electrical": ("Electrician", "Second engineer"),
    "deck": ("Chief mate", "Second mate"),
}


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
        while True:
            text = fill(rng.choice(_fitting(job, condition, rng)), rng)
            if rng.random() < _WITH_TAIL:
                text += " " + fill(rng.choice(_meant_for("tail")), rng)
            if self._said_by.setdefault(text, job.code) == job.code:
                return text


@cache
def _templates() -> tuple[_Template, ...]:
    return tuple(_Template(row["for"], row["condition"], row["text"]) for row in rows("remarks.csv"))


@cache
def _meant_for(wanted: str, condition: str = "") -> tuple[str, ...]:
    return tuple(t.text for t in _templates() if (t.meant_for, t.condition) == (wanted, condition))


@cache
def _about(code: str) -> tuple[str, ...]:
    """Templates that name the job by its code, or by a pattern of codes."""
    return tuple(t.text for t in _templates() if not t.condition and fnmatchcase(code, t.meant_for))


def _fitting(job: Job, condition: Condition, rng: Random) -> tuple[str, ...]:
    if of_condition := _meant_for(_kind_of(job), condition):
        return of_condition
    named, common = _about(job.code), _meant_for(verb_of(job))
    return common if common and (not named or rng.random() < _FROM_THE_COMMON_STOCK) else named


def fill(template: str, rng: Random) -> str:
    """The template with every slot filled, inner ones first."""
    while _SLOT.search(template):
        template = _SLOT.sub(lambda slot: _choice(slot[1], rng), template)
    return template


def verb_of(job: Job) -> str:
    """The first word of the title, which says what kind of work it is."""
    return job.title.split()[0]


def _kind_of(job: Job) -> str:
    if job.department == "electrical":
        return job.department
    return "looked at" if _is_only_looked_at(job) else "opened up"


def _is_only_looked_at(job: Job) -> bool:
    return verb_of(job) in _ONLY_LOOKED_AT or job.rank == "Motorman"


def condition_found(job: Job, rng: Random) -> Condition:
    """How the machine was found: mostly as it should be."""
    return rng.choices(_CONDITIONS, _LOOKED_AT if _is_only_looked_at(job) else _OPENED_UP)[0]


def reporter(job: Job, rng: Random) -> str:
    """Code of the person who reports: the rank that does the job, or an officer for those who rarely log in."""
    rank = job.rank
    if rank in _RARELY_LOG_IN or rng.random() < _STAND_IN:
        rank = rng.choice(_OFFICERS[job.department])
    return first_of(rank).code


def _choice(slot: str, rng: Random) -> str:
    found = _RANGE.fullmatch(slot)
    if not found:
        return rng.choice(slot.split("|"))
    decimals = len(found[2].partition(".")[2])
    low, high = (round(float(end) * 10**decimals) for end in found.groups())
    value = rng.randint(low, high)
    return f"{value / 10**decimals:.{decimals}f}" if decimals else str(value)
