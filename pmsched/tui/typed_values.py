"""What people type into forms, read: a ship's date, a grade of condition, units of a job, a running total, yes.

Pure functions of text; each raises a Refusal that says what to type instead. ``shown_time`` writes a time as forms show it.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime, timedelta, timezone

from pmsched.domain.counts import HOURS, Meter, parse_count
from pmsched.domain.errors import Refusal
from pmsched.exchange.dates import read_date

_DAYS_AGO = re.compile(r"-(\d{1,3})")
_FINEST = {HOURS: Meter(HOURS, "h:min")}


def day(text: str, today: date) -> date:
    """A date as in files, or -1 for yesterday, -2 for the day before. Raises Refusal."""
    found = _DAYS_AGO.fullmatch(text.strip())
    return today - timedelta(days=int(found[1])) if found else read_date(text)


def one_of(text: str, choices: Sequence[str]) -> str:
    """The choice meant by its number from 1 on, its first letters, or the whole of it (any case). Raises Refusal."""
    said = text.strip().lower()
    if said.isdecimal():
        found = [choices[int(said) - 1]] if 0 < int(said) <= len(choices) else []
    else:
        found = [choice for choice in choices if choice == said] or [c for c in choices if c.startswith(said)]
    if len(found) != 1:
        raise Refusal("unknown-choice", f"'{text}' is none of the choices.", f"Type its number: {numbered(choices)}.")
    return found[0]


def numbered(choices: Sequence[str]) -> str:
    """The choices with their numbers: '1 as new; 2 fair wear, will last'."""
    return "; ".join(f"{number} {choice}" for number, choice in enumerate(choices, 1))


def units(text: str, known: Sequence[str]) -> tuple[str, ...]:
    """The units named, as the register writes them; blanks part them where no name has one. Raises Refusal."""
    between = r"[;,]" if any(" " in unit for unit in known) else r"[;,\s]"
    named = [part.strip() for part in re.split(between, text) if part.strip()]
    by_name = {unit.lower(): unit for unit in known}
    for name in named:
        if name.lower() not in by_name:
            raise Refusal("unknown-unit", f"There is no unit {name}.", f"The units are: {'; '.join(known)}.")
    return tuple(by_name[name.lower()] for name in named)


def count(text: str, unit: str) -> str:
    """A running total that can be read as one, as typed. Raises Refusal."""
    parse_count(text, _FINEST.get(unit, Meter(unit)))
    return text


def is_yes(text: str) -> bool:
    """Whether yes was typed."""
    return text.strip().lower() in {"y", "yes"}


def shown_time(instant: int, offset_minutes: int) -> str:
    """A ship's date and time to the minute, by the ship's offset of then: '2030-01-15 10:00'."""
    then = datetime.fromtimestamp(instant, UTC).astimezone(timezone(timedelta(minutes=offset_minutes)))
    return f"{then:%Y-%m-%d %H:%M}"
