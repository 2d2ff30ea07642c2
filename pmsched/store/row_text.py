"""The canonical text of fact rows, as an SQL expression: SQLite writes what the bodies say, row by row.

It knows how ``fact_to_body`` and RFC 8785 write a fact, and says the same in SQL, because that is several times faster
than making rows into Python values. It is a filter only: where its text differs from a body, ``flaws`` looks closely.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Boolean, Column, Date, Table, Text

from pmsched.store.canonical import body_columns, is_id
from pmsched.store.tables import FACTS


def entry_texts() -> dict[str, str]:
    """For each fact table the SELECT of its rows as canonical text, by table name in canonical order.

    Parameters: the ids from which and up to which (not included). Columns: id, entry_id, and the text as bytes; none for
    a row that cannot be as written. In the order of ids.
    """
    return {name: _row_texts(FACTS[name]) for name in sorted(FACTS)}


def row_text(table: Table) -> str:
    """The SQL expression whose value is the canonical JSON text of a row of the table."""
    template, values = "", []
    columns = body_columns(table)
    # The commas of columns that may be left out stand on the side of the first one that never is.
    first = next(place for place, column in enumerate(columns) if not column.nullable)
    for place, column in enumerate(columns):
        label = f'"{column.name}":'
        if column.nullable:
            # ``printf`` writes nothing for a null.
            template += "%s"
            values.append(_if_given(column, "," * (place > first) + label, "," * (place < first)))
        else:
            template += "," * (place > first) + label + ('"%s"' if is_id(column) else "%s")
            values.append(_value(column))
    return f"printf('{{{template}}}', {', '.join(values)})"


def _row_texts(table: Table) -> str:
    text = f"CASE WHEN {_no_blob(table)} THEN CAST({row_text(table)} AS BLOB) END"
    return (
        f"SELECT id, entry_id, {text} "  # noqa: S608 - our own names
        f"FROM {table.name} WHERE id >= ?1 AND id < ?2 ORDER BY id"
    )


def _value(column: Column[Any]) -> str:
    if isinstance(column.type, Boolean):
        return f"CASE {column.name} WHEN 0 THEN 'false' WHEN 1 THEN 'true' END"
    if isinstance(column.type, Text | Date):
        return f"json_quote({column.name})"
    return str(column.name)


def _if_given(column: Column[Any], left: str, right: str) -> str:
    quote = '"' if is_id(column) else ""
    text = f"'{left}{quote}' || {_value(column)}" + (f" || '{quote}{right}'" if quote or right else "")
    # ``json_quote`` makes a null the text "null".
    return f"CASE WHEN {column.name} IS NOT NULL THEN {text} END" if isinstance(column.type, Text | Date) else text


def _no_blob(table: Table) -> str:
    """That no whole number is stored as bytes, which would read the same: SQLite sorts bytes after all else."""
    numbers = [c for c in body_columns(table) if not isinstance(c.type, Boolean | Text | Date)]
    return f"max({', '.join(f'ifnull({c.name}, 0)' if c.nullable else c.name for c in numbers)}) < x''"
