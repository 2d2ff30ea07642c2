"""The unit of work: entries that chain, ids that tile, reasons, repeated requests, and nothing half done."""

from __future__ import annotations

import threading
from datetime import date
from typing import Any

import pytest
import small_register
from sqlalchemy import func, insert, select
from sqlalchemy.exc import IntegrityError

from pmsched.domain.errors import NotAllowed, RegisterUnusable
from pmsched.store.book import Receipt, Signature, Work, book_number, first_id, writing_book
from pmsched.store.canonical import entry_hash, seal
from pmsched.store.register import Register
from pmsched.store.tables import APPEND_ONLY, ENTRY, FACTS, READING, SETTING
from pmsched.store.verify import verify


class FailedOnPurposeError(Exception):
    """Raised inside a deed."""


def counts(register: Register) -> dict[str, int]:
    """How many rows each table has."""
    with register.reading() as connection:
        ask = connection.execute
        return {name: ask(select(func.count()).select_from(table)).scalar_one() for name, table in APPEND_ONLY.items()}


def add_setting(work: Work, value: int = 1) -> int:
    """Gather one fact."""
    return work.add(SETTING, name="test", valid_from=date(2030, 1, 1), value=value)


def enter_setting(register: Register, signed: Signature | None = None, *, fails: bool = False) -> Receipt:
    """A deed with one fact; it may fail after it was entered."""
    with register.writing(signed or small_register.signature(register)) as work:
        add_setting(work)
        receipt = work.enter("test")
        if fails:
            raise FailedOnPurposeError
    return receipt


def correct(register: Register, way: str, reason: str) -> None:
    """Replace or strike a reading."""
    with register.writing(small_register.signature(register)) as work:
        row = work.connection.execute(select(READING).order_by(READING.c.id.desc()).limit(1)).mappings().one()
        getattr(work, way)(READING, row, reason)
        work.enter("test")


def entries(register: Register) -> list[Any]:
    """All entries, in order."""
    with register.reading() as connection:
        return list(connection.execute(select(ENTRY).order_by(ENTRY.c.book, ENTRY.c.no)))


def test_ids_tile(register: Register) -> None:
    """The ids of entries and facts of a book follow one another without a gap, from the book's first id on."""
    used = []
    with register.reading() as connection:
        for table in APPEND_ONLY.values():
            used += list(connection.execute(select(table.c.id)).scalars())
    found = entries(register)
    assert sorted(used) == list(range(first_id(2048), first_id(2048) + len(used)))
    assert found[0].id == first_id(2048)
    assert [entry.id for entry in found[1:]] == [entry.last_id + 1 for entry in found[:-1]]
    assert found[-1].last_id == max(used)


def test_facts_lie_in_their_entry(register: Register) -> None:
    """Each fact names the entry between whose ids its own lies."""
    range_of = {entry.id: range(entry.id + 1, entry.last_id + 1) for entry in entries(register)}
    with register.reading() as connection:
        for table in FACTS.values():
            for row_id, entry_id in connection.execute(select(table.c.id, table.c.entry_id)):
                assert row_id in range_of[entry_id]


def test_entries_chain(register: Register) -> None:
    """Each entry's hash covers the one before it, its book, its number and its body."""
    previous = bytes(32)
    for number, entry in enumerate(entries(register), 1):
        assert entry.no == number
        assert entry.prev_hash == previous
        assert entry.hash == entry_hash(previous, 2048, number, entry.body)
        previous = entry.hash


def test_receipt_names_the_entry(register: Register) -> None:
    """What a deed leaves behind is what stands in the register."""
    receipt = small_register.read_round(register, small_register.START, {})
    last = entries(register)[-1]
    assert receipt == (last.id, 2048, last.no, seal(last.hash), False)


def test_request_is_found_again(register: Register) -> None:
    """A repeated attempt gets the receipt of the first, marked as repeated; another request gets none."""
    signed = small_register.signature(register, request_id="request-7")
    with register.writing(signed) as work:
        assert work.earlier("test") is None
        add_setting(work)
        receipt = work.enter("test")
    with register.writing(signed) as work:
        assert work.earlier("test") == receipt._replace(repeated=True)
    for other in ("request-8", None):
        with register.writing(signed._replace(request_id=other)) as work:
            assert work.earlier("test") is None


def test_request_of_another_deed_is_refused(register: Register) -> None:
    """A script that uses one id for all would lose every deed after the first."""
    signed = small_register.signature(register, request_id="request-9")
    enter_setting(register, signed)
    with register.writing(signed) as work, pytest.raises(NotAllowed, match="another deed"):
        work.earlier("record round")


def test_request_cannot_be_entered_twice(register: Register) -> None:
    """Even a deed that forgets to ask adds nothing the second time."""
    signed = small_register.signature(register, request_id="request-7")
    enter_setting(register, signed)
    before = counts(register)
    with pytest.raises(IntegrityError, match=r"entry: facts are only ever added"):
        enter_setting(register, signed)
    assert counts(register) == before


@pytest.mark.parametrize("reason", ["", " ", "\n\t"])
@pytest.mark.parametrize("way", ["replace", "strike"])
def test_correction_needs_a_reason(register: Register, way: str, reason: str) -> None:
    """The unit of work refuses a later version without a reason."""
    with pytest.raises(NotAllowed, match="A correction needs a reason") as caught:
        correct(register, way, reason)
    assert caught.value.code == "reason-missing"


def test_reason_is_kept_trimmed(register: Register) -> None:
    """Spaces around a reason are no part of it."""
    correct(register, "strike", "  misread ")
    with register.reading() as connection:
        newest = connection.execute(select(READING.c.reason).order_by(READING.c.id.desc()).limit(1))
        assert newest.scalar_one() == "misread"


@pytest.mark.parametrize(
    "wrong",
    [
        pytest.param({"reason": None}, id="later-version-without-reason"),
        pytest.param({"replaces_id": None}, id="first-version-of-another-fact"),
        pytest.param({"replaces_id": None, "fact_id": "own", "struck": True}, id="first-version-struck"),
    ],
)
def test_database_checks_versions(register: Register, wrong: dict[str, Any]) -> None:
    """The database itself refuses versions that cannot be, whoever writes them."""
    with register.reading() as connection:
        row = dict(connection.execute(select(READING).order_by(READING.c.id.desc()).limit(1)).mappings().one())
    new_id = row["id"] + 100
    later = {**row, "id": new_id, "replaces_id": row["id"], "reason": "misread", "struck": False, **wrong}
    if wrong.get("fact_id") == "own":
        later["fact_id"] = new_id
    with register.locked(rehearse=True) as connection, pytest.raises(IntegrityError, match="ck_reading_version"):
        connection.execute(insert(READING), later)


def test_fact_without_entry_is_refused(register: Register) -> None:
    """The database refuses, at the commit, a fact of an entry that is not there."""
    writing = register.writing(small_register.signature(register))
    work = writing.__enter__()
    add_setting(work)
    work.flush()
    with pytest.raises(IntegrityError, match="FOREIGN KEY"):
        writing.__exit__(None, None, None)


def test_failure_leaves_nothing(register: Register) -> None:
    """A deed that fails after it was entered leaves no row in any table, and the next one goes on from the last."""
    before = counts(register)
    with pytest.raises(FailedOnPurposeError):
        enter_setting(register, fails=True)
    assert counts(register) == before
    enter_setting(register)
    assert verify(register) == []


def test_rehearsal_leaves_nothing(register: Register) -> None:
    """A rehearsed deed sees its own facts, and is gone afterwards."""
    before = counts(register)
    with register.writing(small_register.signature(register), rehearse=True) as work:
        fact = add_setting(work)
        work.enter("test")
        assert work.connection.execute(select(SETTING.c.id).where(SETTING.c.id == fact)).scalar_one() == fact
    assert counts(register) == before


def test_deed_sees_its_own_facts(register: Register) -> None:
    """After a flush, questions asked in the deed see what it gathered; entering writes nothing twice."""
    with register.writing(small_register.signature(register)) as work:
        assert work.empty
        fact = add_setting(work)
        assert not work.empty
        asked = select(SETTING.c.id).where(SETTING.c.id == fact)
        assert work.connection.execute(asked).all() == []
        work.flush()
        assert work.connection.execute(asked).scalars().all() == [fact]
        work.enter("test")
        assert work.connection.execute(asked).scalars().all() == [fact]
    assert verify(register) == []


def test_two_writers_take_turns(register: Register) -> None:
    """200 deeds of two threads are all there, in one chain without a gap."""
    deeds, before = 100, counts(register)
    signed = small_register.signature(register)
    failures: list[BaseException] = []

    def write(value: int) -> None:
        try:
            for _ in range(deeds):
                with register.writing(signed) as work:
                    add_setting(work, value)
                    work.enter("test")
        except BaseException as error:  # noqa: BLE001 - told below, where pytest sees it
            failures.append(error)

    threads = [threading.Thread(target=write, args=(value,)) for value in (11, 22)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []
    assert counts(register) == before | {"entry": before["entry"] + 200, "setting": before["setting"] + 200}
    with register.reading() as connection:
        values = list(connection.execute(select(SETTING.c.value)).scalars())
    assert (values.count(11), values.count(22)) == (deeds, deeds)
    assert verify(register) == []


@pytest.mark.parametrize(
    ("site", "opening", "number"),
    [
        pytest.param(1, 0, 2048, id="first"),
        pytest.param(1, 1, 2049, id="next-opening"),
        pytest.param(2, 0, 4096, id="next-site"),
        pytest.param(4095, 2047, 2**23 - 1, id="last"),
    ],
)
def test_book_numbers(site: int, opening: int, number: int) -> None:
    """Site and opening make the number of a book, and its ids fit into 63 bits."""
    assert book_number(site, opening) == number
    assert first_id(number) == number * 2**40 + 1
    assert first_id(number) + 2**40 - 2 < 2**63


@pytest.mark.parametrize(("site", "opening"), [(0, 0), (4096, 0), (1, -1), (1, 2048)])
def test_impossible_books_are_refused(site: int, opening: int) -> None:
    """Sites run from 1 to 4095 and openings from 0 to 2047."""
    with pytest.raises(RegisterUnusable) as caught:
        book_number(site, opening)
    assert caught.value.code == "no-book-left"


def test_register_that_is_not_set_up_cannot_be_written_in(tmp_path: Any) -> None:
    """Without a book there is nothing to write in."""
    with Register(str(tmp_path / "new.db"), create=True) as register:
        with register.reading() as connection, pytest.raises(RegisterUnusable, match="has not been set up"):
            writing_book(connection)
        with pytest.raises(RegisterUnusable, match="has not been set up"), register.writing(Signature(1, "", 0, 0)):
            pass
