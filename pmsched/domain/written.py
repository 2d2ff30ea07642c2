"""Rules in words, on one line: "12 months or 4000 h; from the aim; opens 30 days before; closes 200 h after".

The interval stands first, then clauses, each after a ``;``. Every rule has one written form, which reads back to the
same rule. Knows no jobs and no dates but those written in the rule.
"""

from __future__ import annotations

import re
from datetime import date
from typing import NamedTuple

from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.intervals import parse_interval, parse_margins, read_each, write_interval, write_margins
from pmsched.domain.limbs import put_back, read_amount, tidy, write_amount
from pmsched.domain.rule_checks import build_rule
from pmsched.domain.rules import CountsFrom, Margin, Rule

__all__ = [
    "build_rule",
    "parse_interval",
    "parse_margins",
    "read_rule",
    "write_interval",
    "write_margins",
    "write_rule",
]

_START = re.compile(
    r"from the last doing|(from the aim)(?: starting (.+))?|(on the grid)(?: from (.+))?", re.IGNORECASE
)
_MARGIN = re.compile(r"(opens|closes|tolerance) (.+?)(?: (before|after))?", re.IGNORECASE)
_SIDES = {"opens": " before", "closes": " after", "tolerance": ""}
_STARTS: dict[CountsFrom, tuple[str, str]] = {
    "done": ("", ""),
    "aim": ("from the aim", " starting "),
    "grid": ("on the grid", " from "),
}
_DATE_LIKE = re.compile(r"[0-9]{1,4}[-/.][0-9]{1,2}[-/.][0-9]")
_CLAUSES = (
    "from the last doing; from the aim; on the grid from 2025-01-31; on the grid from 10000 h; "
    "opens 30 days before; closes 3 months after; tolerance 10 %"
)


class _Start(NamedTuple):
    counts_from: CountsFrom = "done"
    on: date | None = None
    counts: tuple[tuple[str, int], ...] = ()


class _Window(NamedTuple):
    sides: tuple[str, ...]
    margins: tuple[Margin, ...]


def read_rule(text: str) -> Rule:
    """The rule that the line means: the interval, then clauses in any order; "from the last doing" is the default.

    Raises:
        Ambiguous: words can mean more than one thing; each choice is the whole line with them made clear.
        Refusal: a clause is not known or stands twice, or the parts make no rule (as ``build_rule`` says).
    """
    interval, *clauses = [clause.strip() for clause in tidy(text).split(";")]
    clauses = [clause for clause in clauses if clause]
    try:
        limbs = parse_interval(interval)
    except Ambiguous as refusal:
        raise put_back(refusal, "", "".join(f"; {clause}" for clause in clauses)) from None
    try:
        start, opens, closes = _gather(clauses)
    except Ambiguous as refusal:
        raise put_back(refusal, f"{interval}; ", "") from None
    return build_rule(limbs, *start, opens, closes)


def write_rule(rule: Rule) -> str:
    """The rule in its one written form; ``read_rule`` gives it back."""
    marks = [rule.anchor_on.isoformat()] if rule.anchor_on else []
    marks += [write_amount(amount, unit) for unit, amount in rule.anchor_counts]
    start, link = _STARTS[rule.counts_from]
    clauses = [write_interval(rule.limbs), start + (link + " and ".join(marks) if marks else "")]
    if rule.opens and rule.opens == rule.closes:
        clauses.append(f"tolerance {write_margins(rule.opens)}")
    else:
        clauses.append(f"opens {write_margins(rule.opens)} before" if rule.opens else "")
        clauses.append(f"closes {write_margins(rule.closes)} after" if rule.closes else "")
    return "; ".join(filter(None, clauses))


def _gather(clauses: list[str]) -> tuple[_Start, tuple[Margin, ...], tuple[Margin, ...]]:
    start: _Start | None = None
    margins: dict[str, tuple[Margin, ...]] = {}
    for clause, said in zip(clauses, read_each(clauses, _read_clause, "; "), strict=True):
        if start is not None if isinstance(said, _Start) else margins.keys() & said.sides:
            raise _said_twice(clause)
        if isinstance(said, _Start):
            start = said
        else:
            margins |= dict.fromkeys(said.sides, said.margins)
    return start or _Start(), margins.get("opens", ()), margins.get("closes", ())


def _read_clause(clause: str) -> _Start | _Window:
    if found := _START.fullmatch(clause):
        return _read_start(found)
    if found := _MARGIN.fullmatch(clause):
        return _read_window(found)
    raise Refusal("unknown-clause", f"'{clause}' is not a part of a rule.", f"Write one of: {_CLAUSES}.")


def _read_start(clause: re.Match[str]) -> _Start:
    aim, aim_marks, grid, grid_marks = clause.groups()
    counts_from: CountsFrom = "aim" if aim else "grid" if grid else "done"
    marks = aim_marks or grid_marks
    if not marks:
        return _Start(counts_from)
    try:
        read = read_each(marks.split(" and "), _read_mark, " and ")
    except Ambiguous as refusal:
        raise put_back(refusal, "".join(_STARTS[counts_from]), "") from None
    days = [mark for mark in read if isinstance(mark, date)]
    if len(days) > 1:
        raise _said_twice(days[1].isoformat())
    return _Start(counts_from, days[0] if days else None, tuple(mark for mark in read if not isinstance(mark, date)))


def _read_mark(mark: str) -> date | tuple[str, int]:
    if not _DATE_LIKE.match(mark):
        amount, unit = read_amount(mark)
        return unit, amount
    try:
        return date.fromisoformat(mark)
    except ValueError:
        raise Refusal("not-a-date", f"'{mark}' is not a date.", "Write year-month-day, such as 2025-01-31.") from None


def _read_window(clause: re.Match[str]) -> _Window:
    name = clause[1].lower()
    side = _SIDES[name]
    try:
        margins = parse_margins(clause[2])
    except Ambiguous as refusal:
        raise put_back(refusal, f"{name} ", side) from None
    if (clause[3] or "").lower() != side.strip():
        message = f"'{clause[0]}' does not say '{side.strip()}'." if side else f"'{clause[0]}' holds on both sides."
        raise Ambiguous("side-of-the-aim", message, [f"{name} {write_margins(margins)}{side}"])
    return _Window(("opens", "closes") if name == "tolerance" else (name,), margins)


def _said_twice(words: str) -> Refusal:
    return Refusal("said-twice", f"'{words}' says again what the rule says before.", "Keep one of them.")
