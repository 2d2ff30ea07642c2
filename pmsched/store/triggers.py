"""Triggers by which the database itself refuses to change, remove or overwrite a fact.

A tripwire against mistakes and other programs; what shows deliberate tampering is the chain of entries (``verify``).
INSERT OR REPLACE is caught before it removes anything, on any connection, by a check of every unique key.
"""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import Table, UniqueConstraint

_ACTIONS = ("update", "delete", "insert")


def unique_keys(table: Table) -> list[tuple[str, ...]]:
    """Every unique key of a table, the primary key first, as column names."""
    primary = tuple(column.name for column in table.primary_key)
    constraints = [c.columns for c in table.constraints if isinstance(c, UniqueConstraint)]
    indexes = [index.columns for index in table.indexes if index.unique]
    return [primary, *sorted(tuple(column.name for column in columns) for columns in (*constraints, *indexes))]


def trigger_sql(name: str, keys: Sequence[Sequence[str]], dialect: str) -> dict[str, list[str]]:
    """The statements that make a table append-only, by trigger name."""
    return _sqlite(name, keys) if dialect == "sqlite" else _postgresql(name, keys)


def _clash(name: str, keys: Sequence[Sequence[str]]) -> str:
    matches = (" AND ".join(f"{column} = NEW.{column}" for column in key) for key in keys)
    return " OR ".join(f"EXISTS (SELECT 1 FROM {name} WHERE {match})" for match in matches)  # noqa: S608 - our own names


def _sqlite(name: str, keys: Sequence[Sequence[str]]) -> dict[str, list[str]]:
    refuse = f"BEGIN SELECT RAISE(ABORT, '{name}: facts are only ever added'); END"
    when = {"insert": f" WHEN {_clash(name, keys)}"}
    return {
        f"{name}_no_{action}": [
            f"CREATE TRIGGER {name}_no_{action} BEFORE {action.upper()} ON {name}{when.get(action, '')} {refuse}"
        ]
        for action in _ACTIONS
    }


def _postgresql(name: str, keys: Sequence[Sequence[str]]) -> dict[str, list[str]]:
    refuse = f"RAISE EXCEPTION '{name}: facts are only ever added'"
    insert = f"IF {_clash(name, keys)} THEN {refuse}; END IF; RETURN NEW;"
    bodies = {"update": f"{refuse};", "delete": f"{refuse};", "truncate": f"{refuse};", "insert": insert}
    made = {}
    for action, body in bodies.items():
        trigger = f"{name}_no_{action}"
        each = "STATEMENT" if action == "truncate" else "ROW"
        made[trigger] = [
            f"CREATE FUNCTION {trigger}() RETURNS trigger LANGUAGE plpgsql AS $$ BEGIN {body} END $$",
            f"CREATE TRIGGER {trigger} BEFORE {action.upper()} ON {name} FOR EACH {each} EXECUTE FUNCTION {trigger}()",
        ]
    return made
