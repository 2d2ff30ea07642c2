"""The frame of a register: its tables, triggers and references, and the file itself.

What is checked here does not depend on what the entries say; ``verify`` puts it together with that.
"""

from __future__ import annotations

from collections.abc import Iterator

from pmsched.store.flaws import Fetch, Flaw
from pmsched.store.tables import APPEND_ONLY, FACTS, LOCAL
from pmsched.store.triggers import trigger_sql, unique_keys


def missing_tables(dialect: str, fetch: Fetch) -> Iterator[Flaw]:
    """Tables and columns that are gone."""
    for name, table in {**APPEND_ONLY, LOCAL.name: LOCAL}.items():
        here = _columns(dialect, fetch, name)
        if not here:
            yield Flaw("table-missing", "", "table", name, None, "", f"The table {name} is missing.")
        for column in [column.name for column in table.columns if here and column.name not in here]:
            yield Flaw("column-missing", "", "table", name, None, column, f"The column {name}.{column} is missing.")


def _columns(dialect: str, fetch: Fetch, name: str) -> set[str]:
    if dialect == "sqlite":
        return {column for _, column, *_ in fetch(f"PRAGMA table_info({name})", {})}
    asked = "SELECT column_name FROM information_schema.columns WHERE table_name = :name AND table_schema = current_schema()"
    return {column for (column,) in fetch(asked, {"name": name})}


def wrong_triggers(dialect: str, fetch: Fetch) -> Iterator[Flaw]:
    """Triggers that are gone, changed, or were never ours."""
    expected = _expected_triggers(dialect)
    found = dict(_triggers_here(dialect, fetch))
    for name in sorted(expected.keys() | found.keys()):
        table, statement = expected.get(name, (found.get(name, ("", ""))[0], ""))
        if name not in found:
            code, message = "trigger-missing", "is missing"
        elif name not in expected:
            code, message = "trigger-unknown", "is none of this program's"
        elif found[name] != (table, statement):
            code, message = "trigger-changed", "is not as it should be"
        else:
            continue
        yield Flaw(code, "", "trigger", table, None, "", f"The trigger {name} on {table} {message}.")


def _expected_triggers(dialect: str) -> dict[str, tuple[str, str]]:
    """Table and text of each trigger; the text is compared on SQLite, which keeps it as it was given."""
    made = {}
    for table_name, table in APPEND_ONLY.items():
        for name, statements in trigger_sql(table_name, unique_keys(table), dialect).items():
            made[name] = (table_name, statements[-1] if dialect == "sqlite" else "O")
    return made


def _triggers_here(dialect: str, fetch: Fetch) -> Iterator[tuple[str, tuple[str, str]]]:
    asked = "SELECT name, tbl_name, sql FROM sqlite_master WHERE type = 'trigger'"
    if dialect != "sqlite":
        # "O" is a trigger that is switched on.
        asked = (
            "SELECT tgname, relname, CAST(tgenabled AS text) FROM pg_trigger JOIN pg_class ON pg_class.oid = tgrelid"
            " WHERE NOT tgisinternal AND relnamespace = current_schema()::regnamespace"
        )
    for name, table, statement in fetch(asked, {}):
        yield name, (table, statement)


def damages(fetch: Fetch) -> Iterator[Flaw]:
    """SQLite's own check of its file. It need not weigh the rows: they are compared with what was signed."""
    list(fetch("PRAGMA ignore_check_constraints = ON", {}))
    for (finding,) in fetch("PRAGMA integrity_check", {}):
        if finding != "ok":
            yield damage(finding)


def broken_references(fetch: Fetch) -> Iterator[Flaw]:
    """References to rows that are not there, and versions that replace a row of another fact.

    That a row belongs to the entry it names is not looked at here: the entry is compared with its rows.
    """
    for name, table in FACTS.items():
        for key in (key for column in table.columns for key in column.foreign_keys if column.name != "entry_id"):
            column, target = key.parent.name, key.column.table.name
            for (row_id,) in fetch(f"SELECT id FROM {name} WHERE {column} NOT IN (SELECT id FROM {target})", {}):  # noqa: S608 - our own names
                yield of_row("reference-broken", "reference", name, row_id, column, f"refers to no row of {target}")
        replaced = f"SELECT 1 FROM {name} o WHERE o.id = v.replaces_id AND o.fact_id = v.fact_id"  # noqa: S608 - our own names
        versions = f"SELECT id FROM {name} v WHERE replaces_id IS NOT NULL AND NOT EXISTS ({replaced})"  # noqa: S608 - our own names
        for (row_id,) in fetch(versions, {}):
            yield of_row(
                "reference-broken", "reference", name, row_id, "replaces_id", "replaces no version of its fact"
            )


def damage(finding: str) -> Flaw:
    """The file, or a part of it, cannot be read as it should."""
    return Flaw("file-damaged", "", "file", "", None, "", f"The file is damaged: {finding}.")


def of_row(code: str, what: str, table: str, row_id: int, column: str, message: str) -> Flaw:
    """A flaw of a row that is not found through an entry."""
    named = f"{table} row {row_id}" + (f" ({column})" if column else "")
    return Flaw(code, "", what, table, row_id, column, f"{named.capitalize()} {message}.")
