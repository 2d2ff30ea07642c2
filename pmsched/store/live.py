"""Which rows count: live at N, in force on a day, latest by an instant. Written once, used by every question.

A row is live at N if it is known at N (its id is not greater), is not struck, and no row known at N replaces it.
Everything is an index seek per key: its cost follows the number of keys, never the length of the history. The conditions
are SQL text, the same on SQLite and PostgreSQL: building them from objects took a tenth of the time of every command.
"""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import BigInteger, BindParameter, Date, Table, TextClause, bindparam, text
from sqlalchemy.sql.selectable import NamedFromClause

EVERYTHING = (1 << 63) - 1
KNOWN: BindParameter[int] = bindparam("known", type_=BigInteger)
UNTIL: BindParameter[int] = bindparam("until", type_=BigInteger)
DAY: BindParameter[date] = bindparam("day", type_=Date)


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


def live(source: NamedFromClause, *, by_id: bool = True) -> TextClause:
    """The condition that a row of a fact table (or a named alias of one) is live at KNOWN.

    Without ``by_id`` the planner cannot use the bound on ids, where a narrower index must serve.
    """
    # An alias carries its table as ``element``.
    return _text(_live(source.name, getattr(source, "element", source).name, by_id=by_id))


def latest(table: Table, condition: str, order: str) -> TextClause:
    """The id of one live row: the first that meets the condition, in that order.

    Args:
        table: a fact table; condition and order call its rows ``seek``, and may name rows of the question around it.
        condition: SQL, which may use the parameters known, until and day.
        order: SQL.
    """
    return _text(_latest(table, condition, order))


def in_force(revision: Table, of: str) -> TextClause:
    """The id of the revision in force on DAY of the owner whose id is ``of``: greatest (valid_from, id) not after it."""
    owner = revision.name.removesuffix("_revision")
    condition = f"seek.{owner}_id = {of} AND seek.valid_from <= :day"
    return latest(revision, condition, "seek.valid_from DESC, seek.id DESC")


def _latest(table: Table, condition: str, order: str) -> str:
    return (
        f"(SELECT seek.id FROM {table.name} AS seek WHERE {condition} AND {_live('seek', table.name)}"  # noqa: S608 - ours
        f" ORDER BY {order} LIMIT 1)"
    )


def _live(row: str, table: str, *, by_id: bool = True) -> str:
    own_id = f"{row}.id" if by_id else f"{row}.id + 0"
    newer = f"SELECT 1 FROM {table} AS newer WHERE newer.replaces_id = {row}.id AND newer.id <= :known"  # noqa: S608 - ours
    return f"{own_id} <= :known AND NOT {row}.struck AND NOT EXISTS ({newer})"


def _text(sql: str) -> TextClause:
    return text(sql).bindparams(*(known for known in (KNOWN, UNTIL, DAY) if f":{known.key}" in sql))
