"""The canonical bytes of an entry and its place in the hash chain.

A body is RFC 8785 canonical JSON: ids as strings, nulls left out, the column names of the tables as names, and the
number of the ``form`` it was written in. The hash of an entry is SHA-256 over the byte 0 and (previous hash, book, no,
body); the leading byte marks a leaf as in RFC 6962, so that books can later be proved in a tree.
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from datetime import date
from typing import Any

from sqlalchemy import Boolean, Column, Date, ForeignKey, Table

FORM = 1
NO_HASH = bytes(32)
_SEAL_LENGTH = 12
_NOT_IN_BODY = "entry_id"


def is_id(column: Column[Any]) -> bool:
    """Whether a column holds an id, which JSON carries as a string."""
    return (
        column.primary_key
        or column.name in {"fact_id", "replaces_id"}
        or any(isinstance(key, ForeignKey) for key in column.foreign_keys)
    )


def body_columns(table: Table) -> list[Column[Any]]:
    """The columns of a fact that stand in the body, in canonical (alphabetical) order."""
    return sorted((c for c in table.columns if c.name != _NOT_IN_BODY), key=lambda c: c.name)


def fact_to_body(table: Table, row: Mapping[str, Any]) -> dict[str, Any]:
    """A fact row as it stands in a body."""
    found: dict[str, Any] = {}
    for column in body_columns(table):
        value = row.get(column.name)
        if value is None:
            continue
        if isinstance(value, date):
            value = value.isoformat()
        elif is_id(column):
            value = str(value)
        found[column.name] = value
    return found


def fact_from_body(table: Table, fact: Mapping[str, Any], entry_id: int) -> dict[str, Any]:
    """The row of a fact, from its body (form 1)."""
    row: dict[str, Any] = {column.name: None for column in table.columns}
    row["entry_id"] = entry_id
    for name, value in fact.items():
        column = table.columns[name]
        if is_id(column):
            row[name] = int(value)
        elif isinstance(column.type, Date):
            row[name] = date.fromisoformat(value)
        elif isinstance(column.type, Boolean):
            row[name] = bool(value)
        else:
            row[name] = value
    return row


def canonical(value: Mapping[str, Any]) -> bytes:
    """RFC 8785 canonical JSON."""
    import rfc8785  # noqa: PLC0415 - only deeds need it; questions start faster without

    return rfc8785.dumps(value)


def leaf_hash(data: bytes) -> bytes:
    """SHA-256 of the byte 0 and the data: the leaf hash of RFC 6962 section 2.1."""
    return hashlib.sha256(b"\x00" + data).digest()


def entry_hash(previous: bytes, book: int, no: int, body: bytes) -> bytes:
    """The hash that chains an entry to the one before it in its book."""
    return leaf_hash(previous + book.to_bytes(8, "big") + no.to_bytes(8, "big") + body)


def seal(last_hash: bytes) -> str:
    """The short form of a book's last hash, as printed: three groups of four hexadecimal digits."""
    digits = last_hash.hex()[:_SEAL_LENGTH]
    return "-".join(digits[i : i + 4] for i in range(0, _SEAL_LENGTH, 4))
