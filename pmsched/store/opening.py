"""Opening books: the first entry of a new register, and the first entry of a book that continues another.

A book is opened by the entry that brings its BOOK fact. Which book this copy of the register writes in stands in LOCAL,
and is set in the same transaction. Why a book is opened is the caller's to say.
"""

from __future__ import annotations

import uuid
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection, delete, func, insert, select

from pmsched.domain.errors import NotAllowed, RegisterUnusable
from pmsched.store.book import OPENING_BITS, WRITING_BOOK, Receipt, Signature, Work, book_number, first_id
from pmsched.store.register import Register
from pmsched.store.tables import (
    BOOK,
    CLOCK_CHANGE,
    ENTRY,
    LOCAL,
    PERSON,
    PERSON_REVISION,
    SITE,
    SITE_REVISION,
)

BEGINNING = date(1900, 1, 1)
FIRST_SITE = 1
# BOOK, SITE and SITE_REVISION come before the first person, who signs the entry that brings them.
_FACTS_BEFORE_SIGNER = 3
_ALL_TIME = 0


class FirstPerson(NamedTuple):
    """The person who sets a register up, and signs its first entry."""

    code: str
    name: str
    rank: str
    department: str


def open_first_book(
    register: Register, site_name: str, person: FirstPerson, at: int, offset_minutes: int, uid: str | None = None
) -> Receipt:
    """Open the first book of a new register, with its site, the ship's clock and the person who signs.

    Args:
        register: a register without entries.
        site_name: the name of the vessel or plant.
        person: who signs.
        at: UTC epoch seconds of the act.
        offset_minutes: the ship's offset then, taken as true for all time before it.
        uid: tells this book from those of other registers; a random one by default.

    Raises:
        NotAllowed: the register has a book already.
    """
    book = book_number(FIRST_SITE, 0)
    signer = first_id(book) + _FACTS_BEFORE_SIGNER + 1
    with register.writing(Signature(signer, person.rank, at, offset_minutes), book=book) as work:
        if work.connection.execute(select(ENTRY.c.id).limit(1)).first():
            raise NotAllowed("already-set-up", "This register is set up already.", "Nothing was changed.")
        _add_book(work, FIRST_SITE, 0, uid, "first")
        site = work.add(SITE, number=FIRST_SITE)
        work.add(SITE_REVISION, site_id=site, valid_from=BEGINNING, name=site_name)
        _add_signer(work, site, person)
        work.add(CLOCK_CHANGE, site_id=site, at=_ALL_TIME, offset_minutes=offset_minutes)
        receipt = work.enter("set up", {"site": site_name})
        _write_in(work.connection, book)
    return receipt


def open_next_book(
    register: Register, why: str, signature: Signature, *, minimum_opening: int = 0, uid: str | None = None
) -> Receipt:
    """Open a book that goes on from the one this copy wrote in, and write in it from now on.

    Its opening is one above every opening of the site known here, and at least ``minimum_opening``. A copy that writes
    in no book goes on from the newest one.

    Raises:
        NotAllowed: no reason is given.
        RegisterUnusable: there is no book to go on from, or no number left.
    """
    if not why.strip():
        raise NotAllowed("reason-missing", "A new book needs a reason.", "Say why, for example 'restored'.")
    # Book 0 is never written: the number of the new one can only be known under the lock.
    with register.writing(signature, book=0) as lock:
        tip = last_written(lock.connection)
        site = _site_of(lock.connection, tip.book)
        opening = max(minimum_opening, newest_opening(lock.connection, site) + 1)
        work = Work(lock.connection, signature, book_number(site, opening))
        _add_book(
            work, site, opening, uid, why.strip(),
            continues_book=tip.book, continues_no=tip.no, continues_hash=tip.hash.hex(),
        )  # fmt: skip
        receipt = work.enter("open book", {"why": why.strip()}, continues=tip.hash)
        _write_in(work.connection, work.book)
    return receipt


def last_written(connection: Connection) -> Any:
    """The last entry of the book this copy writes in, or of the newest book where it writes in none: book, no, hash.

    Raises:
        RegisterUnusable: there is no entry.
    """
    written = select(LOCAL.c.value).where(LOCAL.c.name == WRITING_BOOK)
    newest = select(func.max(ENTRY.c.book))
    book = connection.execute(written).scalar_one_or_none() or connection.execute(newest).scalar_one_or_none()
    tip = select(ENTRY.c.book, ENTRY.c.no, ENTRY.c.hash).where(ENTRY.c.book == int(book or 0))
    row = connection.execute(tip.order_by(ENTRY.c.no.desc()).limit(1)).one_or_none()
    if row is None:
        raise RegisterUnusable("not-set-up", "This register has not been set up.", "Run: pmsched init.")
    return row


def newest_opening(connection: Connection, site: int) -> int:
    """The greatest opening of a site that any entry or BOOK fact knows; -1 for none."""
    low = book_number(site, 0)
    high = low + (1 << OPENING_BITS)
    known = connection.execute(
        select(
            select(func.max(ENTRY.c.book)).where(ENTRY.c.book >= low, ENTRY.c.book < high).scalar_subquery(),
            select(func.max(BOOK.c.number)).where(BOOK.c.number >= low, BOOK.c.number < high).scalar_subquery(),
        )
    ).one()
    return max((number - low for number in known if number is not None), default=-1)


def _add_book(work: Work, site: int, opening: int, uid: str | None, why: str, **continues: Any) -> None:
    uid = uuid.uuid4().hex if uid is None else uid
    work.add(BOOK, number=work.book, site_number=site, opening=opening, uid=uid, why=why, **continues)


def _add_signer(work: Work, site: int, person: FirstPerson) -> None:
    added = work.add(PERSON, site_id=site, code=person.code)
    if added != work.signature.person_id:
        raise AssertionError("the first entry must be signed by the person it brings")
    work.add(
        PERSON_REVISION, person_id=added, valid_from=BEGINNING, name=person.name, rank=person.rank,
        department=person.department, active=True,
    )  # fmt: skip


def _site_of(connection: Connection, book: int) -> int:
    return int(connection.execute(select(BOOK.c.site_number).where(BOOK.c.number == book)).scalar_one())


def _write_in(connection: Connection, book: int) -> None:
    connection.execute(delete(LOCAL).where(LOCAL.c.name == WRITING_BOOK))
    connection.execute(insert(LOCAL), {"name": WRITING_BOOK, "value": str(book)})
