"""What else is wrong with rows that did not read: the cells that did are checked as far as each can be alone.

Whoever mends a row once should not find the next problem in it only then. Gives problems as values.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any

from pmsched.domain.counts import parse_count
from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem
from pmsched.exchange.columns import FileKind
from pmsched.exchange.rows import Start, UnreadRow
from pmsched.store.opening import BEGINNING
from pmsched.usecases.load_checks import check_known, problem, too_early
from pmsched.usecases.load_given import GivenReadings
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.load_unread import Unread

_REFERENCES: dict[FileKind, dict[str, FileKind]] = {
    "machines": {"parent": "machines"},
    "counters": {"machine": "machines"},
    "jobs": {"machine": "machines"},
    "last_done": {"job": "jobs"},
    "readings": {"counter": "counters"},
    "parts": {"machine": "machines"},
}
"""The columns that hold the code of something else, and what that is."""
_DATES: dict[FileKind, str] = {"jobs": "starts", "last_done": "done_on", "readings": "read_on", "parts": "since"}
"""The column that holds a date, which cannot lie ahead."""


def check_unread(load: Loading, unread: Unread, given: GivenReadings) -> Iterator[Problem]:
    """The problems of all of them: codes that nothing has, dates that cannot be, values that the dial cannot show."""
    for row in load.bundle.unread:
        yield from _check_codes(load, unread, row)
        yield from _check_date(load, row)
        if row.kind == "readings":
            yield from _check_value(given, row)


def _check_codes(load: Loading, unread: Unread, row: UnreadRow) -> Iterator[Problem]:
    for column, kind in _REFERENCES.get(row.kind, {}).items():
        if code := row.values.get(column):
            yield from check_known(load, unread, kind, code, row, column)
    for follow in row.values.get("counts_on") or ():
        yield from check_known(load, unread, "counters", follow.counter, row, "counts_on")


def _check_date(load: Loading, row: UnreadRow) -> Iterator[Problem]:
    column = _DATES.get(row.kind, "")
    found: Any = row.values.get(column)
    day: date | None = found.from_on if isinstance(found, Start) else found
    if day is None:
        return
    if day > load.seen.today:
        message = f"{day} lies ahead of the ship's date {load.seen.today}."
        yield problem(row, column, "in-future", message, "Check the date.")
    elif day < BEGINNING:
        yield too_early(row, column, day)


def _check_value(given: GivenReadings, row: UnreadRow) -> Iterator[Problem]:
    meter = given.meter_of(key_of(row.values.get("counter") or ""))
    if meter is None or "value" not in row.values:
        return
    try:
        parse_count(row.values["value"], meter)
    except Refusal as refusal:
        yield problem(row, "value", refusal.code, refusal.message, refusal.hint)
