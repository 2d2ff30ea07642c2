"""Opening books: the first of a register, and the next of a copy."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import Any

import pytest
import small_register
from sqlalchemy import Table, select

from pmsched.domain.errors import NotAllowed, RegisterUnusable
from pmsched.store.book import Signature, first_id, writing_book
from pmsched.store.opening import BEGINNING, newest_opening, open_first_book, open_next_book
from pmsched.store.register import Register
from pmsched.store.tables import BOOK, CLOCK_CHANGE, ENTRY, PERSON, PERSON_REVISION, SITE, SITE_REVISION
from pmsched.store.verify import verify


def rows(register: Register, table: Table) -> list[dict[str, Any]]:
    """All rows of a table without the columns that every fact has."""
    common = {"id", "entry_id", "fact_id", "replaces_id", "struck", "reason"}
    with register.reading() as connection:
        found = connection.execute(select(table).order_by(table.c.id)).mappings()
        return [{name: value for name, value in row.items() if name not in common} for row in found]


def test_first_book(tmp_path: Path) -> None:
    """The first entry brings the book, the site, the clock and the person who signs it."""
    with small_register.new_register(tmp_path / "new.db") as register:
        with register.reading() as connection:
            entry = connection.execute(select(ENTRY)).one()
            signer = connection.execute(select(PERSON.c.id)).scalar_one()
            assert writing_book(connection) == 2048
        assert (entry.id, entry.book, entry.no, entry.deed) == (first_id(2048), 2048, 1, "set up")
        assert (entry.person_id, entry.rank) == (signer, "Chief engineer")
        assert (entry.recorded_at, entry.offset_minutes) == (small_register.START, 120)
        assert rows(register, BOOK) == [
            {
                "number": 2048, "site_number": 1, "opening": 0, "uid": "0" * 32, "why": "first",
                "continues_book": None, "continues_no": None, "continues_hash": None,
            }
        ]  # fmt: skip
        site, person = entry.id + 2, signer
        assert rows(register, SITE) == [{"number": 1}]
        assert rows(register, SITE_REVISION) == [{"site_id": site, "valid_from": BEGINNING, "name": "MV Invented"}]
        assert rows(register, CLOCK_CHANGE) == [{"site_id": site, "at": 0, "offset_minutes": 120}]
        assert rows(register, PERSON) == [{"site_id": site, "code": "CE"}]
        assert rows(register, PERSON_REVISION) == [
            {
                "person_id": person, "valid_from": date(1900, 1, 1), "name": "A. Ardmore", "rank": "Chief engineer",
                "department": "engine", "active": True,
            }
        ]  # fmt: skip
        assert verify(register) == []


def test_first_book_is_opened_once(register: Register) -> None:
    """A register that is set up stays as it is."""
    before = rows(register, ENTRY)
    with pytest.raises(NotAllowed) as caught:
        open_first_book(register, "MV Other", small_register.CHIEF, small_register.START, 0)
    assert caught.value.code == "already-set-up"
    assert rows(register, ENTRY) == before


def test_books_differ_by_uid(tmp_path: Path) -> None:
    """Two registers set up alike can be told apart."""
    found = []
    for name in ("one.db", "other.db"):
        with Register(str(tmp_path / name), create=True) as register:
            open_first_book(register, "MV Invented", small_register.CHIEF, small_register.START, 0)
            found.append(rows(register, BOOK)[0]["uid"])
    assert len(found[0]) == 32
    assert found[0] != found[1]


def test_next_book_goes_on_from_the_last(register: Register) -> None:
    """Its first entry continues the chain, its ids begin anew, and it is written in from now on."""
    with register.reading() as connection:
        last = connection.execute(select(ENTRY).order_by(ENTRY.c.id.desc()).limit(1)).one()
    receipt = open_next_book(register, " restored ", small_register.signature(register), uid="1" * 32)
    with register.reading() as connection:
        first = connection.execute(select(ENTRY).where(ENTRY.c.id == receipt.entry_id)).one()
        assert writing_book(connection) == 2049
    assert (receipt.entry_id, receipt.book, receipt.no) == (first_id(2049), 2049, 1)
    assert first.prev_hash == last.hash
    assert rows(register, BOOK)[-1] == {
        "number": 2049, "site_number": 1, "opening": 1, "uid": "1" * 32, "why": "restored",
        "continues_book": 2048, "continues_no": last.no, "continues_hash": last.hash.hex(),
    }  # fmt: skip
    following = small_register.read_round(register, small_register.START, {})
    assert (following.book, following.no) == (2049, 2)
    assert verify(register) == []


@pytest.mark.parametrize(
    ("minimum", "opening"),
    [
        pytest.param(0, 1, id="above-the-known"),
        pytest.param(1, 1, id="equal"),
        pytest.param(7, 7, id="given"),
        pytest.param(2047, 2047, id="last"),
    ],
)
def test_opening_of_the_next_book(register: Register, minimum: int, opening: int) -> None:
    """One above all known, or the given minimum if that is greater."""
    receipt = open_next_book(register, "test", small_register.signature(register), minimum_opening=minimum)
    assert receipt.book == 2048 + opening
    with register.reading() as connection:
        assert newest_opening(connection, 1) == opening
        assert newest_opening(connection, 2) == -1


def test_openings_run_out(register: Register) -> None:
    """After the last opening there is a refusal, and nothing is left behind."""
    signed = small_register.signature(register)
    open_next_book(register, "test", signed, minimum_opening=2047)
    before = rows(register, ENTRY)
    with pytest.raises(RegisterUnusable) as caught:
        open_next_book(register, "test", signed)
    assert caught.value.code == "no-book-left"
    assert rows(register, ENTRY) == before


@pytest.mark.parametrize("why", ["", "  "])
def test_next_book_needs_a_reason(register: Register, why: str) -> None:
    """Why a book was opened is part of it."""
    with pytest.raises(NotAllowed) as caught:
        open_next_book(register, why, small_register.signature(register))
    assert caught.value.code == "reason-missing"


def test_next_book_needs_a_book_before(tmp_path: Path) -> None:
    """A register that is not set up has nothing to go on from."""
    with Register(str(tmp_path / "new.db"), create=True) as register, pytest.raises(RegisterUnusable) as caught:
        open_next_book(register, "test", Signature(1, "", 0, 0))
    assert caught.value.code == "not-set-up"
