"""The canonical text of fact rows, as an SQL expression: SQLite writes what the bodies say, row by row.

It knows how ``fact_to_body`` and RFC 8785 write a fact, and says the same in SQL, because that is several times faster
than making rows into Python values. It is a filter only: where its text differs from a body, ``flaws`` looks closely.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import Boolean, Column, Date, Table, Text

from pmsched.store.canonical import body_columns, is_id
from pmsched.store.tables import FACTS


def texts() -> dict[str, str]:
    """The SELECTs that ``suspects`` asks, by table: of the entry table, and of each fact table in canonical order.

    Parameters: the ids from which and up to which (not included). Facts: id, entry_id, and the row as text; none for a
    row that cannot be as written. Entries: what stands in the chain, what comes before and after the facts, and the body.
    """
    return {"entry": _ENTRIES, **{name: _row_texts(FACTS[name]) for name in sorted(FACTS)}}


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
    """That nothing is stored as bytes: they would read the same, and some as JSON. SQLite sorts them after all else."""
    columns = [column for column in body_columns(table) if not isinstance(column.type, Boolean)]
    return f"max({', '.join(f'ifnull({c.name}, 0)' if c.nullable else c.name for c in columns)}) < x''"


# As ``entry_body`` writes it; what was asked ("about") comes first and is in no column.
_ENTRIES = """
SELECT id, book, no, last_id, hash, prev_hash, person_id, form,
    CAST(printf('"book":"%s","deed":%s,"facts":{', book, json_quote(deed)) AS BLOB),
    CASE WHEN max(id, book, no, recorded_at, offset_minutes, deed, person_id, rank, ifnull(request_id, 0), last_id, form)
        < x'' THEN CAST(printf(
        '},"form":%s,"id":"%s","last_id":"%s","no":%s,"offset_minutes":%s,"person_id":"%s","rank":%s,"recorded_at":%s%s}',
        form, id, last_id, no, offset_minutes, person_id, json_quote(rank), recorded_at,
        CASE WHEN request_id IS NOT NULL THEN ',"request_id":' || json_quote(request_id) END
    ) AS BLOB) END,
    body
FROM entry WHERE id >= ?1 AND id < ?2 ORDER BY id
"""
