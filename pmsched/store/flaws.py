"""Naming what is wrong with an entry: its place in the chain, its body, its columns, its rows; value against value.

This is the judge of ``verify``: slow and exact, on any database. It reads through a ``Fetch``, which gives raw values,
because a value that was tampered with may not be of its column's type any more. Knows bodies of form 1.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Boolean, Column, Table

from pmsched.store.book import entry_body, first_id
from pmsched.store.canonical import FORM, NO_HASH, body_columns, canonical, entry_hash, is_id
from pmsched.store.tables import ENTRY, FACTS

Fetch = Callable[[str, Mapping[str, Any]], Iterable[Sequence[Any]]]
Row = Mapping[str, Any]
_NOT_IN_BODY = {"body", "prev_hash", "hash"}
_NOT_IN_COLUMNS = {"facts", "about"}


class Flaw(NamedTuple):
    """One thing that is not as it was signed.

    Attributes:
        code: stable short name, such as ``row-changed``.
        entry: the entry it was found in, such as "book 2048 entry 17"; empty when no entry is meant.
        what: file, table, trigger, chain, entry, body, row or reference.
        table: the table meant, or empty.
        row_id: the row meant, or None.
        column: the column meant, or empty.
        message: all of this in one sentence.
    """

    code: str
    entry: str
    what: str
    table: str
    row_id: int | None
    column: str
    message: str

    def __str__(self) -> str:
        return self.message


def label(entry: Row) -> str:
    """An entry as people name it."""
    return f"book {entry['book']} entry {entry['no']}"


def read_entries(fetch: Fetch, condition: str, binds: Mapping[str, Any]) -> Iterator[Row]:
    """Entries with their raw values, in the order of their ids; ``condition`` follows WHERE."""
    names = ENTRY.columns.keys()
    for row in fetch(f"SELECT {', '.join(names)} FROM entry WHERE {condition}", binds):  # noqa: S608 - our own names
        yield dict(zip(names, row, strict=True))


def entry_flaws(fetch: Fetch, entry: Row, previous: Row | None, until: int) -> Iterator[Flaw]:
    """What is wrong with an entry; nothing for one that is as it was signed.

    Args:
        fetch: where to read.
        entry: from ``read_entries``.
        previous: the entry with the next lower id, if there is one.
        until: the id of the next entry: rows between are this one's.
    """
    try:
        yield from _chain(entry, previous)
        yield from _signer(fetch, entry)
        body = json.loads(entry["body"])
        if entry["form"] != FORM or body["form"] != FORM:
            yield _of_entry("form-unknown", entry, "form", f"is in form {body['form']}, unknown to this program")
            return
        found = [*_header(entry, body), *_rows(fetch, entry, body["facts"], until), *_ids(entry, body["facts"])]
        if previous is None or previous["book"] != entry["book"]:
            found += _opening(fetch, entry, body["facts"])
        # What follows from the rest and yet is not the same: names unknown here, another way of writing.
        if not found and canonical({**body, **_made(entry)}) != entry["body"]:
            found = [_of_body(entry, "is not written as this program writes it")]
        yield from found
    except (TypeError, ValueError, KeyError, AttributeError, OverflowError) as error:
        yield _of_body(entry, f"cannot be read ({error})")


def _chain(entry: Row, previous: Row | None) -> Iterator[Flaw]:
    if _computed(entry) != entry["hash"]:
        yield _of_entry("hash-wrong", entry, "hash", "has another hash than it was signed with: it was altered")
    if previous is None or previous["book"] != entry["book"]:
        return
    if entry["no"] != previous["no"] + 1:
        yield _of_entry("entry-missing", entry, "no", f"follows entry {previous['no']}: there are entries missing")
    if entry["id"] != previous["last_id"] + 1:
        yield _of_entry(
            "ids-gap", entry, "id", f"begins at id {entry['id']}, the one before ends at {previous['last_id']}"
        )
    # Where only the hash of the one before was altered, its body still proves this link.
    if entry["prev_hash"] not in (previous["hash"], _computed(previous)):
        yield _of_entry("chain-broken", entry, "prev_hash", "does not go on from the entry before it")


def _computed(entry: Row) -> bytes:
    return entry_hash(entry["prev_hash"], entry["book"], entry["no"], entry["body"])


def _signer(fetch: Fetch, entry: Row) -> Iterator[Flaw]:
    person = {"person": entry["person_id"]}
    if not list(fetch("SELECT id FROM person WHERE id = :person AND fact_id = id", person)):
        yield _of_entry("signer-unknown", entry, "person_id", f"is signed by nobody known (id {entry['person_id']})")


def _opening(fetch: Fetch, entry: Row, facts: Mapping[str, Any]) -> Iterator[Flaw]:
    """What is wrong with the first entry of a book, as such."""
    if entry["no"] != 1 or entry["id"] != first_id(entry["book"]):
        yield _of_entry(
            "entry-missing", entry, "no", "is the first one here of its book: entries before it are missing"
        )
        return
    opened = [fact for fact in facts.get("book", []) if fact["number"] == entry["book"]]
    if len(opened) != 1:
        yield _of_entry("book-not-opened", entry, "book", "does not open the book it begins")
        return
    if entry["prev_hash"] != _goes_on_from(fetch, opened[0]):
        yield _of_entry("chain-broken", entry, "prev_hash", "does not go on from where its book says")


def _goes_on_from(fetch: Fetch, opened: Row) -> bytes | None:
    """The hash a book goes on from, if the entry it names is here."""
    if "continues_hash" not in opened:
        return NO_HASH
    told = bytes.fromhex(opened["continues_hash"])
    place = {"book": opened["continues_book"], "no": opened["continues_no"]}
    for entry in read_entries(fetch, "book = :book AND no = :no", place):
        if told in (entry["hash"], _computed(entry)):
            return told
    return None


def _header(entry: Row, body: Row) -> Iterator[Flaw]:
    """The columns of the entry that its body contradicts, and what stands in the body alone."""
    made = _made(entry)
    for name in sorted((made.keys() | body.keys()) - _NOT_IN_COLUMNS):
        if not _same(made.get(name), body.get(name)):
            told = f"says {_shown(made.get(name))}, its body says {_shown(body.get(name))}"
            yield _of_entry("entry-changed", entry, name, f"{told} ({name})")


def _made(entry: Row) -> dict[str, Any]:
    header = entry_body({name: entry[name] for name in set(ENTRY.columns.keys()) - _NOT_IN_BODY}, {}, {})
    return {name: value for name, value in header.items() if name != "facts"}


def _rows(fetch: Fetch, entry: Row, facts: Mapping[str, Any], until: int) -> Iterator[Flaw]:
    """Rows that are not as the body tells, are missing, or are unknown to it."""
    for name in facts.keys() - FACTS.keys():
        yield _of_body(entry, f"has facts for a table {name} that is unknown")
    for name, table in FACTS.items():
        told = {int(fact["id"]): fact for fact in facts.get(name, [])}
        stored = {row["id"]: row for row in _stored(fetch, table, entry["id"], until)}
        for row_id in sorted(told.keys() | stored.keys()):
            yield from _row(entry, table, row_id, stored.get(row_id), told.get(row_id))


def _stored(fetch: Fetch, table: Table, low: int, until: int) -> Iterator[Row]:
    names = table.columns.keys()
    statement = f"SELECT {', '.join(names)} FROM {table.name} WHERE id >= :low AND id < :until"  # noqa: S608 - our names
    for row in fetch(statement, {"low": low, "until": until}):
        yield dict(zip(names, row, strict=True))


def _row(entry: Row, table: Table, row_id: int, stored: Row | None, told: Row | None) -> Iterator[Flaw]:
    def flaw(code: str, column: str, message: str) -> Flaw:
        message = f"{label(entry)}: {table.name} row {row_id} {message}."
        return Flaw(code, label(entry), "row", table.name, row_id, column, message[0].upper() + message[1:])

    if stored is None:
        yield flaw("row-missing", "", "is missing")
        return
    if told is None:
        yield flaw("row-unknown", "", "is in no entry")
        return
    if stored["entry_id"] != entry["id"]:
        yield flaw("row-changed", "entry_id", f"says it is of entry id {_shown(stored['entry_id'])}, not {entry['id']}")
    columns = {column.name: column for column in body_columns(table)}
    for name in sorted(columns.keys() | told.keys()):
        is_stored = _as_in_body(columns[name], stored[name]) if name in columns else None
        if not _same(is_stored, told.get(name)):
            said = f"has {_shown(is_stored)} in {name}; signed was {_shown(told.get(name))}"
            yield flaw("row-changed", name, said)


def _as_in_body(column: Column[Any], value: Any) -> Any:
    """A stored value as a body says it; one that cannot be is given as it is, and so differs."""
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(column.type, Boolean) and value in (0, 1):
        return bool(value)
    return str(value) if is_id(column) and isinstance(value, int) else value


def _ids(entry: Row, facts: Mapping[str, Any]) -> Iterator[Flaw]:
    """The facts of a body have the ids after the entry's own, each once, in each table in order."""
    lists = [[int(fact["id"]) for fact in listed] for listed in facts.values()]
    ids = sorted(fact_id for listed in lists for fact_id in listed)
    if ids != list(range(entry["id"] + 1, entry["last_id"] + 1)) or any(sorted(one) != one for one in lists):
        yield _of_entry(
            "ids-gap", entry, "last_id", "holds facts whose ids do not follow one another up to its last id"
        )


def _same(one: Any, other: Any) -> bool:
    return type(one) is type(other) and bool(one == other)


def _shown(value: Any) -> str:
    return "nothing" if value is None else repr(value)


def _of_entry(code: str, entry: Row, column: str, message: str) -> Flaw:
    return Flaw(code, label(entry), "entry", "entry", entry["id"], column, f"{label(entry).capitalize()} {message}.")


def _of_body(entry: Row, message: str) -> Flaw:
    sentence = f"The body of {label(entry)} {message}."
    return Flaw("body-unreadable", label(entry), "body", "entry", entry["id"], "body", sentence)
