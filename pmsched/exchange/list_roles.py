"""Which column of a list holds what: headings that can mean several things told apart by their cells, or asked about."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from pmsched.exchange.list_cells import Doubt, Doubts
from pmsched.exchange.list_columns import HELD, Role
from pmsched.exchange.list_read import ListColumn, ListTable, text_at

_LEAVE_OUT = "something else: leave it out"
_NONE = "-"
"""The answer that leaves a column out; an empty one would be no answer."""


_OF_HOURS: frozenset[Role] = frozenset({"machine", "machine_code", "count_now", "read_on"})
"""What a list of hours holds; its headings need not say more."""


class Layout(NamedTuple):
    """The columns of a list by what they hold.

    Attributes:
        one: the column of each role but the interval.
        intervals: the columns that state an interval, or a part of one.
        own: columns of our own sheet of jobs, by name.
        left: headings of the columns that are not taken over.
    """

    one: dict[Role, ListColumn]
    intervals: tuple[ListColumn, ...]
    own: dict[str, int]
    left: tuple[str, ...]


def layout_of(table: ListTable, doubts: Doubts) -> Layout:
    """The layout, as far as it is known by now; what is in doubt is noted."""
    one: dict[Role, ListColumn] = {}
    intervals = [column for column in table.columns if column.meaning.roles == ("interval",)]
    own = {column.own: column.at for column in table.columns if column.own}
    others = [column for column in table.columns if column not in intervals and not column.own]
    for column in _clear_first(others):
        role = _role_of(table, column, one, doubts)
        if role is not None and role not in one:
            one[role] = column
    if "machine" not in one and "component" in one:
        one["machine"] = one.pop("component")
    taken = set(one.values())
    left = tuple(
        column.heading
        for column in others
        if column not in taken and not column.meaning.reckoned and _holds_something(table, column)
    )
    return Layout(one, tuple(intervals), own, left)


def _clear_first(columns: Iterable[ListColumn]) -> list[ListColumn]:
    return sorted(columns, key=lambda column: (len(column.meaning.roles), not column.meaning.sure))


def _role_of(table: ListTable, column: ListColumn, taken: dict[Role, ListColumn], doubts: Doubts) -> Role | None:
    meaning = column.meaning
    roles = [role for role in meaning.roles if role not in taken and (table.of_jobs or role in _OF_HOURS)]
    if not roles or not _holds_something(table, column):
        return None
    if "job" in roles and len(meaning.roles) > 1:
        return _code_or_name(table, column, roles)
    if len(roles) == 1 and (meaning.sure or not table.of_jobs):
        return roles[0]
    asked = f"Column '{column.heading}': what does it hold?"
    choices = (*((str(role), HELD[role]) for role in roles), (_NONE, _LEAVE_OUT))
    answer = doubts.answer(Doubt(f"column {table.title} {column.heading}", asked, choices))
    return next((role for role in roles if role == answer), None)


def _code_or_name(table: ListTable, column: ListColumn, roles: list[Role]) -> Role | None:
    """A column that is called 'Job' or 'Code': a code of the job stands in one row only."""
    if "title" in roles:
        return "title"
    texts = [text for line in table.lines if len(line.filled) > 1 and (text := text_at(line, column.at))]
    unique = len({text.casefold() for text in texts}) == len(texts)
    if unique:
        return "job"
    return "machine_code" if "machine_code" in roles else None


def _holds_something(table: ListTable, column: ListColumn) -> bool:
    return any(text_at(line, column.at) for line in table.lines)
