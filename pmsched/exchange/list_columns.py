"""What the columns of a list of jobs hold, by the words of the trade in their headings: equipment, frequency, last done.

A heading that can mean more than one thing gives all of its meanings; which is meant is asked, never guessed. The names are
common practice, no source. Knows headings, no cells.
"""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from pmsched.exchange.trade_names import UNITS, heading_words

Role = Literal[
    "machine", "machine_code", "component", "job", "title", "interval", "interval_unit", "last_on", "last_count",
    "count_now", "read_on", "department", "rank", "by", "remarks", "critical", "class_item", "cautions",
]  # fmt: skip

HELD: dict[Role, str] = {
    "last_on": "the date when the job was last done",
    "last_count": "the hours when the job was last done",
    "count_now": "the hours of the machine now",
    "read_on": "the date on which the hours were read",
}
"""What a column of that role holds, where it has to be asked."""


class Meaning(NamedTuple):
    """What a heading may mean.

    Attributes:
        roles: the roles it may have, the likeliest first; none if it says nothing to us.
        unit: the unit of its numbers, if it names one: ``h``, ``months``.
        sure: it need not be asked when only one role is left.
        reckoned: it holds what pmsched works out by itself, such as the next date, or only numbers the rows.
    """

    roles: tuple[Role, ...] = ()
    unit: str = ""
    sure: bool = True
    reckoned: bool = False


_NAMES: dict[Role, str] = {
    "machine": "equipment|machine|machinery|asset|plant item|equipment machine|machine equipment|(?:equipment|machine|machinery|asset) (?:name|description)"
    "|name of (?:the )?(?:equipment|machine)",
    "machine_code": "(?:equipment|machine|machinery|asset|plant|tag) (?:code|number|id|tag)|tag",
    "component": "component|sub component|subcomponent|assembly|sub assembly|sub equipment|sub system",
    "job": "(?:job|task|work|maintenance|plan) (?:code|number|id|reference)",
    "title": "(?:job|task|work|maintenance|activity) (?:description|title|name|task|work|to do|details)"
    "|description of (?:the )?(?:job|task|work|maintenance)|work to be done|what to do|what is done"
    "|maintenance|activity|action|work|service|description|title|operation",
    "interval": "(?:(?:maintenance|service|job|overhaul|inspection|calendar) )?"
    "(?:interval|frequency|period|periodicity)|every|how often",
    "interval_unit": "unit|unit of measure|(?:interval|frequency|period) (?:unit|units|type)",
    "department": "department",
    "rank": "rank|trade|discipline|responsible|responsibility|responsible (?:rank|person)|assigned to|person in charge|pic|who",
    "by": "(?:last )?(?:done|carried out|performed|completed) by",
    "remarks": "remarks?|comments?|notes?|observations?",
    "critical": "critical|safety critical|critical (?:equipment|job|item)",
    "class_item": "class|class (?:item|job|survey)",
    "cautions": "cautions?|precautions?|safety precautions?|safety|hazards?|warnings?",
}
_BY_NAME = {role: re.compile(names) for role, names in _NAMES.items()}
# These hold a code or a name; what stands in them tells.
_EITHER: dict[str, tuple[Role, ...]] = {
    "job": ("title", "job"),
    "task": ("title", "job"),
    "code": ("job", "machine_code"),
    "id": ("job", "machine_code"),
    "reference": ("job", "machine_code"),
}
_NUMBERING = re.compile(r"|number|item|item number|s n|s number|sr n|sr number|serial|row|line|position")
_RECKONED = re.compile(r"\b(?:next|due|remaining|left|overdue|balance|status|hours since|days since|to go)\b")
_LAST = re.compile(r"\b(?:last|previous|latest|done|completed|carried out)\b")
_NOW = re.compile(r"\b(?:current|present|now|actual|today|total|to date|as of|latest)\b")
_COUNT = re.compile(r"\b(?:hours|counter|meter|reading)\b")
_PLAIN_COUNT = re.compile(r"(?:running )?hours|hours running|counter|meter|reading")
_READ_ON = re.compile(
    r"(?:date of )?(?:last )?(?:reading|counter|hours) date|date of (?:last )?reading|read on|date read|(?:hours )?as of"
)


def meaning_of(heading: str) -> Meaning:
    """What a heading may mean; capitals, marks and short forms make no difference."""
    bare, inside, unit = heading_words(heading)
    if _NUMBERING.fullmatch(bare):
        return Meaning(reckoned=True)
    if roles := _EITHER.get(bare):
        return Meaning(roles)
    for name, of_name in _with_unit(bare, unit):
        for role, names in _BY_NAME.items():
            if names.fullmatch(name):
                return Meaning((role,), of_name)
    return _of_doing(" ".join([bare, *inside]), unit)


def _of_doing(words: str, unit: str) -> Meaning:
    """The meaning of a heading about dates and hours."""
    last, now, count = (found.search(words) is not None for found in (_LAST, _NOW, _COUNT))
    meter = words in {"hours meter", "hours counter", "meter reading", "counter reading", "last reading"}
    trials = (
        (_READ_ON.fullmatch(words), Meaning(("read_on",))),
        (_RECKONED.search(words), Meaning(reckoned=True)),
        (count and last and "reading" not in words, Meaning(("last_count",), "h")),
        (count and (now or meter), Meaning(("count_now",), "h")),
        (_PLAIN_COUNT.fullmatch(words), Meaning(("count_now", "last_count"), unit or "h")),
        (last and not count and not now, Meaning(("last_on",))),
        (words == "date", Meaning(("last_on", "read_on"), sure=False)),
    )
    return next((meaning for holds, meaning in trials if holds), Meaning())


def _with_unit(words: str, unit: str) -> list[tuple[str, str]]:
    """The heading as it is, and without a unit that stands before or behind it: ``interval hours``."""
    found = [
        (without, short)
        for written, short in UNITS.items()
        for without in (words.removesuffix(f" {written}"), words.removeprefix(f"{written} "))
        if without != words
    ]
    return [*found, (words, unit)]
