"""The unit of work: facts gathered under the write lock, signed as one entry, chained to the one before.

The entry is the truth and the tables are its typed index: rows are captured into the canonical body here and nowhere
else. Ids come from one sequence per book over all tables, taken under the lock, so "known at N" compares ids.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, NamedTuple

from sqlalchemy import BigInteger, Connection, Table, bindparam, cast, insert, select

from pmsched.domain.errors import NotAllowed, RegisterUnusable
from pmsched.store.canonical import FORM, NO_HASH, canonical, entry_hash, fact_to_body, seal
from pmsched.store.tables import ENTRY, FACTS, LOCAL

SEQUENCE_BITS = 40
OPENING_BITS = 11
WRITING_BOOK = "writing_book"


class Signature(NamedTuple):
    """Who signs a deed, and when.

    Attributes:
        person_id: the person; ``rank`` is what they sign as ("Second engineer acting Chief engineer").
        at: UTC epoch seconds; ``offset_minutes`` is the ship's offset then.
        request_id: names the attempt, so that a repeated one adds nothing.
        name: their name, for what is said of the work; not kept in the entry, which names the person.
    """

    person_id: int
    rank: str
    at: int
    offset_minutes: int
    request_id: str | None = None
    name: str = ""


class Receipt(NamedTuple):
    """What a deed left behind: the entry's id, book and number, its seal, and whether it was there already."""

    entry_id: int
    book: int
    no: int
    seal: str
    repeated: bool = False


def book_number(site: int, opening: int) -> int:
    """The number of a book: site (1-4095) x 2^11 + opening (0-2047)."""
    if not (0 < site < 1 << 12 and 0 <= opening < 1 << OPENING_BITS):
        raise RegisterUnusable("no-book-left", f"Book {opening} of site {site} cannot be opened.", "Ask for help.")
    return (site << OPENING_BITS) + opening


def first_id(book: int) -> int:
    """The first id of a book."""
    return (book << SEQUENCE_BITS) + 1


def label_of(fact_id: int) -> str:
    """A fact's id as people write it: its number in the book, and the book's opening where it is not the first."""
    opening = (fact_id >> SEQUENCE_BITS) & ((1 << OPENING_BITS) - 1)
    number = fact_id & ((1 << SEQUENCE_BITS) - 1)
    return f"{number}.{opening}" if opening else str(number)


def id_of(label: str, book: int) -> int | None:
    """The id written as ``label`` by people of the site that keeps ``book``; None if it is not one."""
    number, _, opening = label.strip().lstrip("#").partition(".")
    if not (number.isdecimal() and (not opening or opening.isdecimal())):
        return None
    if int(number) >> SEQUENCE_BITS or int(opening or 0) >> OPENING_BITS:
        return None
    home = (book >> OPENING_BITS << OPENING_BITS) + int(opening or 0)
    return (home << SEQUENCE_BITS) + int(number)


class Work:
    """One deed being written. Facts are gathered, then entered and committed together, or not at all."""

    def __init__(self, connection: Connection, signature: Signature, book: int | None = None) -> None:
        self.connection = connection
        self.signature = signature
        self.book, self._no, self._previous, self.entry_id = _next_in(connection, book)
        self._next = self.entry_id + 1
        self._facts: dict[str, list[dict[str, Any]]] = {}
        self._written: dict[str, int] = {}

    def earlier(self, *deeds: str, about: Mapping[str, Any] | None = None) -> Receipt | None:
        """The receipt of an earlier attempt at this deed (by any of its names) with the same request id, if any.

        With ``about``, what is asked now, the earlier entry must have been about the very same.

        Raises:
            NotAllowed: the request id was used for another deed, which must not be lost by it.
        """
        if not self.signature.request_id:
            return None
        row = self.connection.execute(_BY_REQUEST, {"request": self.signature.request_id}).one_or_none()
        if row is not None and (row.deed not in deeds or not _is_about(row.body, about)):
            raise NotAllowed(
                "request-used",
                f"This request id was used for another deed (entry {row.no}).",
                "Give each deed its own.",
            )
        return row and Receipt(row.id, row.book, row.no, seal(row.hash), repeated=True)

    def add(self, table: Table, **columns: Any) -> int:
        """Add a fact; its id is also its fact id, to which references point."""
        return self._put(table, None, {**columns, "struck": False, "reason": None})

    def replace(self, table: Table, row: Mapping[str, Any], reason: str, **changes: Any) -> int:
        """Add a version that replaces ``row`` with some columns changed. Raises NotAllowed without a reason."""
        return self._put(table, row, {**changes, "struck": False, "reason": _stated(reason)})

    def strike(self, table: Table, row: Mapping[str, Any], reason: str) -> int:
        """Add a version that ends the fact. Raises NotAllowed without a reason."""
        return self._put(table, row, {"struck": True, "reason": _stated(reason)})

    def added(self, table: Table) -> list[dict[str, Any]]:
        """The rows this deed has added to a table so far, later versions among them."""
        return list(self._facts.get(table.name, ()))

    @property
    def empty(self) -> bool:
        """Whether no fact was added."""
        return not self._facts

    def flush(self) -> None:
        """Write the facts gathered so far, so that questions asked in this deed see them."""
        # In the order of the tables, as each refers only to those before it.
        for name in (table for table in FACTS if table in self._facts):
            rows, done = self._facts[name], self._written.get(name, 0)
            if done < len(rows):
                self.connection.execute(_INSERT[name], rows[done:])
                self._written[name] = len(rows)

    def enter(self, deed: str, about: Mapping[str, Any] | None = None, continues: bytes | None = None) -> Receipt:
        """Write the entry and its facts; the caller commits.

        Args:
            deed: its name, such as "record round".
            about: what was asked, for the record (plain JSON values).
            continues: for the first entry of a book that continues another: the hash it goes on from.
        """
        previous = self._previous if continues is None else continues
        entry = {
            "id": self.entry_id, "book": self.book, "no": self._no, "recorded_at": self.signature.at,
            "offset_minutes": self.signature.offset_minutes, "deed": deed, "person_id": self.signature.person_id,
            "rank": self.signature.rank, "request_id": self.signature.request_id, "last_id": self._next - 1,
            "form": FORM,
        }  # fmt: skip
        body = canonical(entry_body(entry, self._facts, about or {}))
        digest = entry_hash(previous, self.book, self._no, body)
        self.connection.execute(_INSERT_ENTRY, {**entry, "body": body, "prev_hash": previous, "hash": digest})
        self.flush()
        return Receipt(self.entry_id, self.book, self._no, seal(digest))

    def _put(self, table: Table, before: Mapping[str, Any] | None, columns: dict[str, Any]) -> int:
        new_id = self._next
        self._next += 1
        row = dict(before) if before else dict.fromkeys(table.columns.keys())
        row |= columns
        row |= {"id": new_id, "entry_id": self.entry_id, "replaces_id": before and before["id"]}
        row["fact_id"] = before["fact_id"] if before else new_id
        self._facts.setdefault(table.name, []).append(row)
        return new_id


def _is_about(body: bytes, about: Mapping[str, Any] | None) -> bool:
    """Whether an entry is about what is asked; nothing asked agrees with every entry."""
    return about is None or canonical(json.loads(body).get("about", {})) == canonical(dict(about))


def entry_body(
    entry: Mapping[str, Any], facts: Mapping[str, list[dict[str, Any]]], about: Mapping[str, Any]
) -> dict[str, Any]:
    """An entry and its facts as they stand in the body (form 1)."""
    body = {name: value for name, value in entry.items() if value is not None}
    for name in ("id", "book", "person_id", "last_id"):
        body[name] = str(body[name])
    body["facts"] = {name: [fact_to_body(FACTS[name], row) for row in rows] for name, rows in facts.items()}
    if about:
        body["about"] = dict(about)
    return body


def writing_book(connection: Connection) -> int:
    """The book this copy of the register writes in. Raises RegisterUnusable when none is opened."""
    value = connection.execute(_LOCAL, {"name": WRITING_BOOK}).scalar_one_or_none()
    if value is None:
        raise RegisterUnusable("not-set-up", "This register has not been set up.", "Run: pmsched init.")
    return int(value)


def _next_in(connection: Connection, book: int | None) -> tuple[int, int, bytes, int]:
    """The book to write in, and the number, previous hash and id of its next entry."""
    tip = connection.execute(_TIP if book is None else _TIP_OF_BOOK, {"book": book}).first()
    if book is None:
        book = int(tip.value) if tip else writing_book(connection)
    if tip is None or tip.no is None:
        return book, 1, NO_HASH, first_id(book)
    return book, tip.no + 1, tip.hash, tip.last_id + 1


def _stated(reason: str) -> str:
    if not reason.strip():
        raise NotAllowed("reason-missing", "A correction needs a reason.", "Say why, for example --reason 'misread'.")
    return reason.strip()


_TIP_OF_BOOK = (
    select(ENTRY.c.no, ENTRY.c.hash, ENTRY.c.last_id)
    .where(ENTRY.c.book == bindparam("book"))
    .order_by(ENTRY.c.no.desc())
    .limit(1)
)
# One question instead of two: every deed asks it.
_TIP = (
    select(LOCAL.c.value, ENTRY.c.no, ENTRY.c.hash, ENTRY.c.last_id)
    .select_from(LOCAL.outerjoin(ENTRY, ENTRY.c.book == cast(LOCAL.c.value, BigInteger)))
    .where(LOCAL.c.name == WRITING_BOOK)
    .order_by(ENTRY.c.no.desc())
    .limit(1)
)
_BY_REQUEST = select(ENTRY.c.id, ENTRY.c.book, ENTRY.c.no, ENTRY.c.hash, ENTRY.c.deed, ENTRY.c.body).where(
    ENTRY.c.request_id == bindparam("request")
)
_LOCAL = select(LOCAL.c.value).where(LOCAL.c.name == bindparam("name"))
_INSERT_ENTRY = insert(ENTRY)
_INSERT = {name: insert(table) for name, table in FACTS.items()}
