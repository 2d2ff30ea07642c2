"""Headings in the words of the trade: short forms made whole, the unit in brackets, and other names of our own columns.

Only names that can mean one thing in their sheet are taken; they are common practice, no source. Knows headings, no cells.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import NamedTuple

from pmsched.exchange.columns import FileKind

_SAME: dict[str, str] = {
    "hrs": "hours", "hr": "hours", "hour": "hours", "h": "hours", "rh": "running hours", "rhs": "running hours",
    "rhrs": "running hours", "run": "running", "equip": "equipment", "eqpt": "equipment", "freq": "frequency",
    "desc": "description", "descr": "description", "no": "number", "nr": "number", "num": "number", "dept": "department",
    "resp": "responsible", "maint": "maintenance", "ref": "reference", "curr": "current", "crit": "critical", "o": "over", "mth": "months",
    "mths": "months", "month": "months", "mo": "months", "wk": "weeks", "wks": "weeks", "week": "weeks", "yr": "years",
    "yrs": "years", "year": "years", "day": "days", "jobs": "job", "tasks": "task",
}  # fmt: skip
UNITS: Mapping[str, str] = {
    "hours": "h",
    "running hours": "h",
    "months": "months",
    "weeks": "weeks",
    "years": "years",
    "days": "days",
}
"""Units of plain numbers, as headings name them."""
_BRACKETS = re.compile(r"\(([^()]*)\)|\[([^\[\]]*)\]")
_WORD = re.compile(r"[^\W_]+")

_NUMBER_OF = "code|number|id"
_OTHER_NAMES: dict[FileKind, dict[str, str]] = {
    "people": {"name": "full name|person", "rank": "trade|position", "department": "department"},
    "machines": {
        "code": f"(?:equipment|machine|asset|tag) (?:{_NUMBER_OF})|tag",
        "name": "(?:equipment|machine|asset) (?:name|description)|description",
        "parent": "belongs to|part of",
    },
    "counters": {
        "code": f"(?:counter|meter) (?:{_NUMBER_OF})",
        "machine": f"equipment|(?:equipment|machine) (?:{_NUMBER_OF})",
    },
    "jobs": {
        "code": f"(?:job|task) (?:{_NUMBER_OF})",
        "machine": f"equipment|(?:equipment|machine) (?:{_NUMBER_OF})",
        "title": "(?:job|task|work) (?:description|title|name)|description",
        "interval": "frequency|periodicity|period",
        "rank": "responsible|responsible (?:rank|person)",
        "cautions": "precautions?|safety precautions?|hazards?|warnings?",
        "steps": "procedure|work steps",
    },
    "last_done": {
        "job": f"(?:job|task) (?:{_NUMBER_OF})",
        "done_on": "last done|last done (?:date|on)|date last done|date done|date",
        "count": "(?:running )?hours|(?:running )?hours (?:at|when) (?:last )?done|(?:last )?done (?:at )?(?:running )?hours",
        "by": "(?:done|carried out) by",
        "remarks": "remark|comments?|notes?",
    },
    "readings": {
        "counter": f"(?:counter|meter) (?:{_NUMBER_OF})|meter",
        "read_on": "date|(?:reading|read) date|date (?:read|of reading)",
        "value": "reading|(?:meter|counter) reading|(?:running )?hours",
        "note": "remarks?|comments?|notes",
    },
    "parts": {"serial": "serial number", "name": "part|part name|description", "machine": "equipment|fitted to"},
}
_PATTERNS = {
    kind: {column: re.compile(names) for column, names in columns.items()} for kind, columns in _OTHER_NAMES.items()
}
_HOURS = re.compile(r"\bhours\b")


class OtherName(NamedTuple):
    """The column that a heading means, and the unit of its plain numbers, if it names one."""

    column: str
    unit: str = ""


def other_name(kind: FileKind, heading: str) -> OtherName | None:
    """The column of that sheet that a heading means in other words than ours; None if it is none, or not clear."""
    words, _, unit = heading_words(heading)
    for column, names in _PATTERNS[kind].items():
        if names.fullmatch(words):
            return OtherName(column, unit or ("h" if _HOURS.search(words) else ""))
    return None


def unit_in(heading: str) -> str:
    """The unit in the brackets of a heading, as intervals name it: ``h``, ``months``; empty if there is none."""
    return heading_words(heading)[2]


def heading_words(heading: str) -> tuple[str, list[str], str]:
    """A heading in small letters and whole words, what stands in brackets, and the unit in them."""
    bare = _words(_BRACKETS.sub(" ", heading))
    inside = [_words(found[1] or found[2] or "") for found in _BRACKETS.finditer(heading)]
    unit = next((UNITS[words] for words in inside if words in UNITS), "")
    return (bare, inside, unit) if bare or not inside else (inside[0], [], unit)


def _words(text: str) -> str:
    words = " ".join(_SAME.get(word, word) for word in _WORD.findall(text.casefold()))
    return re.sub(r"\b(?:r|running running) hours\b", "running hours", words)
