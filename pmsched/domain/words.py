"""A few words that every face uses alike: numbers of things, a job with its unit, a due date.

Knows no screens and no commands; the sentence behind a date is in ``because``, its steps are in ``sums``.
"""

from __future__ import annotations

from datetime import date

SAFETY = (
    "pmsched advises. The maker's manual, class and flag rules, the permit system and the licensed engineer decide."
)
"""The standing notice."""


def some(count: int, what: str, plural: str = "") -> str:
    """A number of things: '1 job', '12 jobs'."""
    return f"{count} {what if count == 1 else plural or what + 's'}"


def due_text(due_on: date | None, *, expected: bool) -> str:
    """A due date; '~' before one that comes from use, empty without one."""
    return "" if due_on is None else f"{'~' if expected else ''}{due_on}"


def named(job: str, unit: str) -> str:
    """A job with its unit: 'AE2-EXV 3'."""
    return f"{job} {unit}" if unit else job


BEFORE_REGISTER = "before this register"
"""Stands for who did work of which nobody said who did it, brought in from earlier records."""


def done_by(who: str) -> str:
    """Who did the work: 'done by B. Bødal', 'done before this register'; empty where nobody is named."""
    return f"done {'' if who == BEFORE_REGISTER else 'by '}{who}" if who else ""
