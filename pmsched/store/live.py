"""Which rows count: live at N, in force on a day, latest by an instant. Written once, used by every question.

A row is live at N if it is known at N (its id is not greater), is not struck, and no row known at N replaces it.
Everything is an index seek per key: its cost follows the number of keys, never the length of the history.
"""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import BindParameter, ColumnElement, ScalarSelect, bindparam, exists, select
from sqlalchemy.sql.selectable import NamedFromClause

from pmsched.store.tables import FACTS

EVERYTHING = (1 << 63) - 1
KNOWN: BindParameter[Any] = bindparam("known")
UNTIL: BindParameter[Any] = bindparam("until")
DAY: BindParameter[Any] = bindparam("day")


class View(NamedTuple):
    """What a question sees.

    Attributes:
        known: the greatest id known (``EVERYTHING`` for all that is known now).
        until: facts whose own time is later than this UTC instant are left out.
        day: the ship's date of that instant; revisions act from their ``valid_from`` on.
    """

    known: int
    until: int
    day: date

    def binds(self) -> dict[str, Any]:
        """The values of the parameters KNOWN, UNTIL and DAY."""
        return {"known": self.known, "until": self.until, "day": self.day}


def live(table: NamedFromClause, *, by_id: bool = True) -> ColumnElement[bool]:
    """The condition that a row of a fact table (or an alias of one) is live at KNOWN.

    Without ``by_id`` the planner cannot use the bound on ids, where a narrower index must serve.
    """
    newer = FACTS[_name(table)].alias()
    replaced = exists().where(newer.c.replaces_id == table.c.id, newer.c.id <= KNOWN)
    own_id = table.c.id if by_id else table.c.id + 0
    return (own_id <= KNOWN) & ~table.c.struck & ~replaced


def in_force(table: NamedFromClause, owner: ColumnElement[Any], *, correlate: NamedFromClause) -> ScalarSelect[Any]:
    """The id of the revision in force on DAY: the live one with the greatest (valid_from, id) not after it."""
    owner_column = table.c[f"{_name(table).removesuffix('_revision')}_id"]
    return (
        select(table.c.id)
        .where(owner_column == owner, table.c.valid_from <= DAY, live(table))
        .order_by(table.c.valid_from.desc(), table.c.id.desc())
        .limit(1)
        .correlate(correlate)
        .scalar_subquery()
    )


def _name(source: NamedFromClause) -> str:
    # An alias carries its table as ``element``.
    return str(getattr(source, "element", source).name)
