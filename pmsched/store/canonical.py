"""The canonical bytes of an entry and its place in the hash chain.

A body is RFC 8785 canonical JSON: ids as strings, nulls left out, the column names of the tables as names, and the
number of the ``form`` it was written in. The hash of an entry is SHA-256 over the byte 0 and (previous hash, book, no,
body); the leading byte marks a leaf as in RFC 6962, so that books can later be proved in a tree.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from datetime import date
from functools import cache
from typing import Any

from sqlalchemy import Boolean, Column, Date, ForeignKey, Table

FORM = 1
NO_HASH = bytes(32)
_SEAL_LENGTH = 12
_NOT_IN_BODY = "entry_id"
# Beyond this JSON numbers are not exact everywhere (RFC 8785 section 3.2.2.3); ids are strings for that reason.
_EXACT = 2**53 - 1


def is_id(column: Column[Any]) -> bool:
    """Whether a column holds an id, which JSON carries as a string."""
    return (
        column.primary_key
        or column.name in {"fact_id", "replaces_id"}
        or any(isinstance(key, ForeignKey) for key in column.foreign_keys)
    )


@cache
def body_columns(table: Table) -> tuple[Column[Any], ...]:
    """The columns of a fact that stand in the body, in canonical (alphabetical) order."""
    return tuple(sorted((c for c in table.columns if c.name != _NOT_IN_BODY), key=lambda c: c.name))


def fact_to_body(table: Table, row: Mapping[str, Any]) -> dict[str, Any]:
    """A fact row as it stands in a body."""
    found: dict[str, Any] = {}
    for name, as_id in _names(table):
        value = row.get(name)
        if value is None:
            continue
        if as_id:
            value = str(value)
        elif isinstance(value, date):
            value = value.isoformat()
        found[name] = value
    return found


@cache
def _names(table: Table) -> tuple[tuple[str, bool], ...]:
    """Names of the columns in a body, and whether each holds an id."""
    return tuple((column.name, is_id(column)) for column in body_columns(table))


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
    """RFC 8785 canonical JSON of objects, lists, strings, integers and booleans with ASCII names.

    For these the standard library's encoder writes the very bytes of RFC 8785 (numbers with decimals and names beyond
    ASCII would differ); the tests hold it against a library written for the purpose. Raises TypeError for anything else.
    """
    _check_plain(value)
    return json.dumps(value, sort_keys=True, separators=(",", ":"), ensure_ascii=False).encode()


def _check_plain(value: object) -> None:
    """Refuse, as a bug, what the two encoders could write differently."""
    if isinstance(value, Mapping):
        for name, inner in value.items():
            if not (isinstance(name, str) and name.isascii()):
                raise TypeError(name)
            _check_plain(inner)
    elif isinstance(value, list):
        for inner in value:
            _check_plain(inner)
    elif not isinstance(value, str | int) or (isinstance(value, int) and abs(value) > _EXACT):
        raise TypeError(value)


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
