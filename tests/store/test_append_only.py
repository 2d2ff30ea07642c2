"""The database itself refuses to change, remove or overwrite a fact, on any connection."""

from __future__ import annotations

import sqlite3
from pathlib import Path
from typing import Any

import pytest
import small_register

from pmsched.store.tables import APPEND_ONLY, FACTS
from pmsched.store.triggers import unique_keys

TABLES = sorted(APPEND_ONLY)
REFUSED = "facts are only ever added"


def one_row(connection: sqlite3.Connection, table: str, where: str = "1") -> dict[str, Any]:
    """A row of the table."""
    connection.row_factory = sqlite3.Row
    return dict(connection.execute(f"SELECT * FROM {table} WHERE {where} ORDER BY id DESC").fetchone())  # noqa: S608 - our own names


def count(connection: sqlite3.Connection, table: str) -> int:
    """How many rows there are."""
    return int(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])  # noqa: S608 - our own names


def insert(verb: str, table: str, row: dict[str, Any]) -> str:
    """An insert of the row, written with the given verb."""
    return f"{verb} INTO {table} ({', '.join(row)}) VALUES ({', '.join(':' + name for name in row)})"


@pytest.mark.parametrize("table", TABLES)
def test_every_table_has_a_row(path: Path, table: str) -> None:
    """The tests below try to change something that is there."""
    with small_register.plain(path) as connection:
        assert count(connection, table) > 0


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize(
    "statement",
    [
        pytest.param("UPDATE {table} SET id = id", id="update-to-the-same"),
        pytest.param("UPDATE OR REPLACE {table} SET id = id + 1", id="update-or-replace"),
        pytest.param("DELETE FROM {table}", id="delete-all"),
        pytest.param("DELETE FROM {table} WHERE id = (SELECT max(id) FROM {table})", id="delete-one"),
    ],
)
def test_change_is_refused(path: Path, table: str, statement: str) -> None:
    """UPDATE and DELETE fail on a connection without any of our settings."""
    with small_register.plain(path) as connection:
        before = count(connection, table)
        with pytest.raises(sqlite3.IntegrityError, match=f"{table}: {REFUSED}"):
            connection.execute(statement.format(table=table))
        assert count(connection, table) == before


@pytest.mark.parametrize("table", TABLES)
@pytest.mark.parametrize("verb", ["INSERT OR REPLACE", "REPLACE", "INSERT OR IGNORE", "INSERT"])
def test_overwriting_is_refused(path: Path, table: str, verb: str) -> None:
    """An INSERT over an existing row fails, and leaves the row as it was."""
    with small_register.plain(path) as connection:
        row = one_row(connection, table)
        with pytest.raises(sqlite3.IntegrityError, match=f"{table}: {REFUSED}"):
            connection.execute(insert(verb, table, row), row)
        assert one_row(connection, table) == row


OTHER_KEYS = [(name, key) for name in TABLES for key in unique_keys(APPEND_ONLY[name])[1:]]


@pytest.mark.parametrize(("table", "key"), OTHER_KEYS, ids=[f"{name}-{'-'.join(key)}" for name, key in OTHER_KEYS])
def test_overwriting_by_another_key_is_refused(path: Path, table: str, key: tuple[str, ...]) -> None:
    """INSERT OR REPLACE with a new id that collides on another unique key removes nothing."""
    with small_register.plain(path) as connection:
        if key == ("replaces_id",) and table != "reading":
            # Only readings have later versions in the small register: a replaced one is made, as another program would.
            first = one_row(connection, table)
            later = {**first, "id": first["id"] + 500, "replaces_id": first["id"], "reason": "again"} | changed(table)
            connection.execute(insert("INSERT", table, later), later)
        row = one_row(connection, table, f"{key[0]} IS NOT NULL")
        before = count(connection, table)
        with pytest.raises(sqlite3.IntegrityError, match=f"{table}: {REFUSED}"):
            connection.execute(insert("INSERT OR REPLACE", table, row), {**row, "id": row["id"] + 1000})
        assert count(connection, table) == before


def changed(table: str) -> dict[str, Any]:
    """New values for the natural keys of a table, so that a further row collides on nothing."""
    names = {column for key in unique_keys(FACTS[table])[1:] for column in key} - {"site_id", "replaces_id"}
    return {name: 99 if name == "number" else "new" for name in names}


def test_upsert_is_refused(path: Path) -> None:
    """INSERT ... ON CONFLICT DO UPDATE fails before it updates."""
    with small_register.plain(path) as connection:
        row = one_row(connection, "reading")
        with pytest.raises(sqlite3.IntegrityError, match=REFUSED):
            connection.execute(insert("INSERT", "reading", row) + " ON CONFLICT (id) DO UPDATE SET dial = 1", row)


def test_new_row_is_accepted(path: Path) -> None:
    """The triggers refuse only what collides."""
    with small_register.plain(path) as connection:
        row = one_row(connection, "setting")
        row |= {"id": row["id"] + 1000, "fact_id": row["id"] + 1000}
        connection.execute(insert("INSERT", "setting", row), row)
        assert one_row(connection, "setting") == row
