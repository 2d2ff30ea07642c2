"""Verify names what was altered, whatever it is, when nothing but the chain can tell."""

# ruff: noqa: S608 - the names in the statements are our own

from __future__ import annotations

import sqlite3
import threading
from collections.abc import Callable
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import small_register
from sqlalchemy import Boolean, Column, Date, Integer, Text, select

from pmsched.store import verify as module
from pmsched.store.book import Work
from pmsched.store.flaws import Flaw
from pmsched.store.opening import open_next_book
from pmsched.store.register import Register
from pmsched.store.tables import ENTRY, FACTS, MACHINE, PERSON_REVISION, READING, SETTING
from pmsched.store.verify import verify

FIRST_READING = "(SELECT min(id) FROM reading)"


def flaws_of(path: Path) -> list[Flaw]:
    """What verify finds in a closed register."""
    with Register(str(path)) as register:
        return verify(register)


def named(flaws: list[Flaw]) -> list[tuple[str, str, str, str]]:
    """Code, entry, table and column of each flaw."""
    return [(flaw.code, flaw.entry.removeprefix("book 2048 "), flaw.table, flaw.column) for flaw in flaws]


def after(path: Path, *statements: str) -> list[tuple[str, str, str, str]]:
    """What verify names after the statements were executed behind the register's back."""
    with small_register.behind_its_back(path) as connection:
        for statement in statements:
            assert connection.execute(statement).rowcount != 0, "the statement must change something"
    return named(flaws_of(path))


@pytest.mark.parametrize("count", [0, 1, 2])
def test_sound_register_has_no_flaws(register: Register, count: int) -> None:
    """Nothing is wrong with a register, whoever searches; nor with one of several books."""
    assert verify(register, helpers=count) == []
    open_next_book(register, "test", small_register.signature(register))
    open_next_book(register, "test", small_register.signature(register), minimum_opening=9)
    small_register.read_round(register, small_register.START, {})
    assert verify(register, helpers=count) == []


def test_new_register_has_no_flaws(tmp_path: Path) -> None:
    """Nor is anything wrong with one that is not set up, or just set up."""
    with Register(str(tmp_path / "empty.db"), create=True) as register:
        assert verify(register) == []
    with small_register.new_register(tmp_path / "new.db") as register:
        assert verify(register) == []


def another_value(column: Column[Any]) -> str:
    """An SQL expression for a value that the column does not have."""
    if isinstance(column.type, Boolean):
        return f"1 - {column.name}"
    if isinstance(column.type, Date):
        return f"coalesce(date({column.name}, '+1 day'), '2030-01-01')"
    if isinstance(column.type, Text):
        return f"coalesce({column.name} || '.', '')"
    return f"coalesce({column.name} + 1, 1)"


def same_bytes(column: Column[Any]) -> str:
    """An SQL expression for a value that reads the same, or for one that reads like nothing, stored as bytes."""
    return f"coalesce(CAST(CAST({column.name} AS TEXT) AS BLOB), x'')"


@pytest.mark.parametrize("altered", [another_value, same_bytes])
@pytest.mark.parametrize("table", FACTS)
def test_changed_value_is_named(path: Path, table: str, altered: Callable[[Column[Any]], str]) -> None:
    """One value changed in one old row, in any column of any table: entry, row and column are named, and no other."""
    columns = [column for column in FACTS[table].columns if column.name not in {"id", "entry_id"}]
    named_flaws: dict[str, list[tuple[str, str, int | None, str]]] = {}
    with small_register.behind_its_back(path) as connection:
        connection.execute("COMMIT")
        row_id = connection.execute(f"SELECT min(id) FROM {table}").fetchone()[0]
        with Register(str(path)) as register:
            for column in columns:
                old = connection.execute(f"SELECT {column.name} FROM {table} WHERE id = {row_id}").fetchone()
                connection.execute(f"UPDATE {table} SET {column.name} = {altered(column)} WHERE id = {row_id}")
                named_flaws[column.name] = [
                    (flaw.what, flaw.table, flaw.row_id, flaw.column)
                    for flaw in verify(register)
                    if flaw.code == "row-changed" and flaw.entry.startswith("book 2048 entry ")
                ]
                connection.execute(f"UPDATE {table} SET {column.name} = ? WHERE id = {row_id}", old)
        connection.execute("BEGIN")
    assert named_flaws == {column.name: [("row", table, row_id, column.name)] for column in columns}
    assert flaws_of(path) == []


def test_both_values_are_told(path: Path) -> None:
    """The message gives the stored value and the signed one, so that the error can be judged."""
    with small_register.behind_its_back(path) as connection:
        row_id = connection.execute(f"SELECT {FIRST_READING}").fetchone()[0]
        connection.execute(f"UPDATE reading SET dial = 360001, note = 'x' WHERE id = {row_id}")
    assert [str(flaw) for flaw in flaws_of(path)] == [
        f"Book 2048 entry 4: reading row {row_id} has 360001 in dial; signed was 360000.",
        f"Book 2048 entry 4: reading row {row_id} has 'x' in note; signed was nothing.",
    ]


ROWS = [
    pytest.param(
        f"UPDATE reading SET entry_id = entry_id - 1 WHERE id = {FIRST_READING}",
        [("row-changed", "entry 4", "reading", "entry_id")],
        id="given-to-no-entry",
    ),
    pytest.param(
        f"UPDATE reading SET entry_id = (SELECT id FROM entry WHERE no = 2) WHERE id = {FIRST_READING}",
        [("row-changed", "entry 4", "reading", "entry_id")],
        id="given-to-another-entry",
    ),
    pytest.param("DELETE FROM alias", [("row-missing", "entry 2", "alias", "")], id="deleted"),
    pytest.param(
        "INSERT INTO setting SELECT id + 500, entry_id, id + 500, NULL, 0, NULL, name, valid_from, value FROM setting",
        [("row-unknown", "", "setting", "")],
        id="added-after-the-last",
    ),
    pytest.param(
        "INSERT INTO setting SELECT -1, entry_id, -1, NULL, 0, NULL, name, valid_from, value FROM setting",
        [("row-unknown", "", "setting", "")],
        id="added-before-the-first",
    ),
    pytest.param(
        "INSERT INTO setting SELECT e.id, e.id, e.id, NULL, 0, NULL, name, valid_from, value FROM setting, entry e"
        " WHERE no = 4",
        [("row-unknown", "entry 4", "setting", "")],
        id="added-with-the-id-of-an-entry",
    ),
    pytest.param(
        "INSERT INTO setting SELECT e.id, (SELECT id FROM entry WHERE no = 2), e.id, NULL, 0, NULL, name, valid_from, value"
        " FROM setting, entry e WHERE no = 4",
        [("row-unknown", "entry 4", "setting", "")],
        id="added-for-another-entry",
    ),
    pytest.param(
        "UPDATE alias SET id = id + 500",
        [("row-unknown", "", "alias", ""), ("row-missing", "entry 2", "alias", "")],
        id="moved",
    ),
    pytest.param(
        "UPDATE reading SET note = CAST(x'ff' AS TEXT) WHERE note IS NULL AND replaces_id IS NULL AND status = 'held'",
        [("row-changed", "entry 4", "reading", "note")],
        id="text-that-is-no-text",
    ),
    pytest.param(
        "UPDATE reading SET dial = dial + 0.5 WHERE status = 'held' AND replaces_id IS NULL",
        [("row-changed", "entry 4", "reading", "dial")],
        id="half-a-second",
    ),
    pytest.param(
        """UPDATE reading SET held_for = 'goes","id":"backwards' WHERE status = 'held' AND replaces_id IS NULL""",
        [("row-changed", "entry 4", "reading", "held_for")],
        id="text-that-looks-like-json",
    ),
]


@pytest.mark.parametrize(("statement", "expected"), ROWS)
def test_altered_row_is_named(path: Path, statement: str, expected: list[tuple[str, str, str, str]]) -> None:
    """Rows added, removed, moved, or given what no column holds."""
    assert after(path, statement) == expected


def test_text_cannot_pose_as_another_column(path: Path) -> None:
    """Text with quotes in one column does not make up for what is missing in the next."""
    with small_register.behind_its_back(path) as connection:
        connection.execute(
            'UPDATE reading SET reason = reason || \'","replaces_id":"\' || replaces_id, replaces_id = NULL'
            " WHERE reason = 'misread'"
        )
    assert named(flaws_of(path)) == [
        ("row-changed", "entry 6", "reading", "reason"),
        ("row-changed", "entry 6", "reading", "replaces_id"),
    ]


HASH_4 = ("hash-wrong", "entry 4", "entry", "hash")
ENTRIES = [
    pytest.param("deed", "'record rounds'", [("entry-changed", "entry 4", "entry", "deed")], id="deed"),
    pytest.param("recorded_at", "recorded_at + 1", [("entry-changed", "entry 4", "entry", "recorded_at")], id="time"),
    pytest.param("offset_minutes", "0", [("entry-changed", "entry 4", "entry", "offset_minutes")], id="offset"),
    pytest.param("rank", "'Master'", [("entry-changed", "entry 4", "entry", "rank")], id="rank"),
    pytest.param("request_id", "NULL", [("entry-changed", "entry 4", "entry", "request_id")], id="request"),
    pytest.param(
        "person_id",
        "(SELECT max(id) FROM person)",
        [("entry-changed", "entry 4", "entry", "person_id")],
        id="another-signer",
    ),
    pytest.param(
        "person_id",
        "7",
        [("signer-unknown", "entry 4", "entry", "person_id"), ("entry-changed", "entry 4", "entry", "person_id")],
        id="unknown-signer",
    ),
    pytest.param("form", "2", [("form-unknown", "entry 4", "entry", "form")], id="form"),
    pytest.param("hash", "randomblob(32)", [HASH_4], id="hash"),
    pytest.param(
        "prev_hash", "zeroblob(32)", [HASH_4, ("chain-broken", "entry 4", "entry", "prev_hash")], id="previous-hash"
    ),
    pytest.param(
        "last_id",
        "last_id + 1",
        [
            ("entry-changed", "entry 4", "entry", "last_id"),
            ("ids-gap", "entry 4", "entry", "last_id"),
            ("ids-gap", "entry 5", "entry", "id"),
        ],
        id="last-id",
    ),
]


@pytest.mark.parametrize(("column", "value", "expected"), ENTRIES)
def test_altered_entry_is_named(path: Path, column: str, value: str, expected: list[tuple[str, str, str, str]]) -> None:
    """Every column of an entry's row is held against its body or the chain."""
    assert after(path, f"UPDATE entry SET {column} = {value} WHERE no = 4") == expected


@pytest.mark.parametrize("column", sorted({str(case.values[0]) for case in ENTRIES} - {"hash", "prev_hash"}))
def test_entry_value_of_another_type_is_named(path: Path, column: str) -> None:
    """A value that reads the same and is stored as bytes is not the value that was signed."""
    flaws = after(path, f"UPDATE entry SET {column} = CAST(CAST({column} AS TEXT) AS BLOB) WHERE no = 4")
    assert {entry for _, entry, _, _ in flaws} <= {"entry 4", "entry 5"}
    assert any(entry == "entry 4" and name in {column, "body"} for _, entry, _, name in flaws)


def test_every_entry_column_is_tried() -> None:
    """The cases above and below leave no column out."""
    tried = {case.values[0] for case in ENTRIES} | {"id", "book", "no", "body"}
    assert tried == set(ENTRY.columns.keys())


@pytest.mark.parametrize(("column", "value"), [("id", "id + 1"), ("book", "2049"), ("no", "17")])
def test_entry_out_of_place_is_named(path: Path, column: str, value: str) -> None:
    """An entry that was moved is named by what it is called now, as not what its body says."""
    flaws = after(path, f"UPDATE entry SET {column} = {value} WHERE no = 4")
    assert ("entry-changed", column) in {(code, name) for code, _, _, name in flaws}


def test_changed_byte_of_a_body_is_named(path: Path) -> None:
    """Any byte changed in an old body: its entry is named."""
    with small_register.behind_its_back(path) as connection:
        body = connection.execute("SELECT body FROM entry WHERE no = 4").fetchone()[0]
    for place in range(0, len(body), 23):
        changed = body[:place] + bytes([body[place] ^ 1]) + body[place + 1 :]
        with small_register.behind_its_back(path) as connection:
            connection.execute("UPDATE entry SET body = ? WHERE no = 4", (changed,))
        flaws = flaws_of(path)
        assert HASH_4 in named(flaws)
        assert {flaw.entry for flaw in flaws} == {"book 2048 entry 4"}


@pytest.mark.parametrize(
    ("old", "new", "expected"),
    [
        pytest.param('"dial":360000', '"dial":360001', ("row-changed", "entry 4", "reading", "dial"), id="value"),
        pytest.param('"dial":360000,', "", ("row-changed", "entry 4", "reading", "dial"), id="value-gone"),
        pytest.param('"status"', '"mood"', ("row-changed", "entry 4", "reading", "mood"), id="unknown-column"),
        pytest.param('"reading"', '"weather"', ("row-unknown", "entry 4", "reading", ""), id="unknown-table"),
        pytest.param('"form":1', '"form":9', ("form-unknown", "entry 4", "entry", "form"), id="form"),
        pytest.param('{"book"', '{"about":[],"book"', None, id="about-is-a-list"),
        pytest.param('{"book"', '{"a":1,"book"', ("entry-changed", "entry 4", "entry", "a"), id="unknown-name"),
        pytest.param('{"book"', '{ "book"', ("body-unreadable", "entry 4", "entry", "body"), id="another-spelling"),
        pytest.param("}", "", ("body-unreadable", "entry 4", "entry", "body"), id="no-json"),
    ],
)
def test_altered_body_is_named(path: Path, old: str, new: str, expected: tuple[str, str, str, str] | None) -> None:
    """A body that was altered is named by its hash, and by what its rows show of it."""
    with small_register.behind_its_back(path) as connection:
        replace = "UPDATE entry SET body = CAST(replace(CAST(body AS TEXT), ?, ?) AS BLOB) WHERE no = 4"
        connection.execute(replace, (old, new))
    flaws = named(flaws_of(path))
    assert flaws[0] == HASH_4
    assert expected is None or expected in flaws


def test_body_that_is_text_is_named(path: Path) -> None:
    """A body stored as text is not the bytes that were signed."""
    flaws = after(path, "UPDATE entry SET body = CAST(body AS TEXT) WHERE no = 4")
    assert flaws == [("body-unreadable", "entry 4", "entry", "body")]


def swap(connection: sqlite3.Connection, columns: list[str]) -> None:
    """Exchange columns of the entries 4 and 6."""
    for column in columns:
        four, six = (connection.execute(f"SELECT {column} FROM entry WHERE no = {no}").fetchone()[0] for no in (4, 6))
        connection.execute(f"UPDATE entry SET {column} = ? WHERE no = 4", (six,))
        connection.execute(f"UPDATE entry SET {column} = ? WHERE no = 6", (four,))


@pytest.mark.parametrize(
    "columns",
    [
        pytest.param(["body"], id="bodies"),
        pytest.param(["body", "hash", "prev_hash"], id="bodies-and-hashes"),
        pytest.param(["hash"], id="hashes"),
        pytest.param(["recorded_at", "deed", "body", "hash", "prev_hash"], id="all-but-place"),
    ],
)
def test_swapped_entries_are_named(path: Path, columns: list[str]) -> None:
    """Entries that changed places are both named, however much of them was exchanged."""
    with small_register.behind_its_back(path) as connection:
        swap(connection, columns)
    assert {flaw.entry for flaw in flaws_of(path)} >= {"book 2048 entry 4", "book 2048 entry 6"}


def test_swapped_numbers_are_named(path: Path) -> None:
    """Two entries that only exchanged their numbers are both named."""
    flaws = after(
        path,
        "UPDATE entry SET no = 99 WHERE no = 4",
        "UPDATE entry SET no = 4 WHERE no = 6",
        "UPDATE entry SET no = 6 WHERE no = 99",
    )
    assert {entry for code, entry, _, _ in flaws if code == "hash-wrong"} == {"entry 4", "entry 6"}


def remove(path: Path, condition: str) -> list[tuple[str, str, str, str]]:
    """What is named after entries and all their rows were removed."""
    with small_register.behind_its_back(path) as connection:
        for name in FACTS:
            connection.execute(f"DELETE FROM {name} WHERE entry_id IN (SELECT id FROM entry WHERE {condition})")
        connection.execute(f"DELETE FROM entry WHERE {condition}")
    return named(flaws_of(path))


def test_removed_entry_is_named_by_the_next(path: Path) -> None:
    """An entry removed with its rows leaves a gap in numbers, ids and hashes."""
    flaws = remove(path, "no = 6")
    assert flaws[:3] == [
        ("reference-broken", "", "reading", "replaces_id"),
        ("entry-missing", "entry 7", "entry", "no"),
        ("ids-gap", "entry 7", "entry", "id"),
    ]
    assert flaws[3:] == [("chain-broken", "entry 7", "entry", "prev_hash")]


def test_removed_entry_row_is_named_by_its_facts(path: Path) -> None:
    """If only the entry is removed, its facts are rows of no entry."""
    flaws = after(path, "DELETE FROM entry WHERE no = 4")
    assert ("entry-missing", "entry 5", "entry", "no") in flaws
    assert flaws.count(("row-unknown", "entry 3", "reading", "")) == 2


def test_removed_first_entry_is_named(path: Path) -> None:
    """A book begins with its first entry."""
    flaws = remove(path, "no = 1")
    assert ("entry-missing", "entry 2", "entry", "no") in flaws


def test_removed_book_is_named(path: Path) -> None:
    """The newest book, removed with all its rows, is missed by this copy, which writes in it."""
    with Register(str(path)) as register:
        open_next_book(register, "test", small_register.signature(register))
    assert remove(path, "book = 2049") == [("book-missing", "", "local", "value")]


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        pytest.param("UPDATE book SET number = 2050", "row-changed", id="number"),
        pytest.param("UPDATE entry SET prev_hash = zeroblob(32)", "chain-broken", id="previous-hash"),
        pytest.param("UPDATE book SET continues_hash = NULL", "row-changed", id="hash-told"),
    ],
)
def test_altered_link_of_books_is_named(path: Path, statement: str, expected: str) -> None:
    """The first entry of a book goes on from the entry its book names."""
    with Register(str(path)) as register:
        open_next_book(register, "test", small_register.signature(register))
    flaws = after(path, f"{statement} WHERE id >= (SELECT max(id) FROM entry)")
    assert (expected, "book 2049 entry 1") in {(code, entry) for code, entry, _, _ in flaws}


def test_book_without_the_entry_it_continues_is_named(path: Path) -> None:
    """If the last entry of the book before is removed, the next book shows it."""
    with Register(str(path)) as register:
        open_next_book(register, "test", small_register.signature(register))
    flaws = remove(path, "book = 2048 AND no = 7")
    assert flaws == [("chain-broken", "book 2049 entry 1", "entry", "prev_hash")]


def test_book_that_nobody_opened_is_named(path: Path) -> None:
    """A book begins with the fact that opens it."""
    with Register(str(path)) as register, register.writing(small_register.signature(register), book=2050) as work:
        work.add(SETTING, name="test", valid_from=date(2030, 1, 1), value=1)
        work.enter("test")
    assert named(flaws_of(path)) == [("book-not-opened", "book 2050 entry 1", "entry", "book")]


@pytest.mark.parametrize(
    ("statements", "code"),
    [
        pytest.param(["DROP TRIGGER reading_no_delete"], "trigger-missing", id="dropped"),
        pytest.param(
            [
                "DROP TRIGGER reading_no_delete",
                "CREATE TRIGGER reading_no_delete BEFORE DELETE ON reading BEGIN SELECT 1; END",
            ],
            "trigger-changed",
            id="changed",
        ),
        pytest.param(
            ["CREATE TRIGGER extra AFTER INSERT ON reading BEGIN SELECT 1; END"], "trigger-unknown", id="added"
        ),
    ],
)
def test_triggers_are_compared(path: Path, statements: list[str], code: str) -> None:
    """The triggers stand exactly as this program makes them."""
    with small_register.plain(path) as connection:
        for statement in statements:
            connection.execute(statement)
    (flaw,) = flaws_of(path)
    assert (flaw.code, flaw.what, flaw.table) == (code, "trigger", "reading")
    assert ("extra" if code == "trigger-unknown" else "reading_no_delete") in flaw.message


@pytest.mark.parametrize(
    ("statement", "code", "table", "column"),
    [
        pytest.param("DROP TABLE closing_count", "table-missing", "closing_count", "", id="table"),
        pytest.param("DROP TABLE local", "table-missing", "local", "", id="local"),
        pytest.param("ALTER TABLE reading DROP COLUMN note", "column-missing", "reading", "note", id="column"),
    ],
)
def test_missing_tables_are_named(path: Path, statement: str, code: str, table: str, column: str) -> None:
    """Where a table or column is gone, that is said, and nothing else is tried."""
    with small_register.plain(path) as connection:
        for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            connection.execute(f"DROP TRIGGER {name}")
        connection.execute(statement)
    (flaw,) = flaws_of(path)
    assert (flaw.code, flaw.what, flaw.table, flaw.column) == (code, "table", table, column)


def signed_without_checks(register: Register, act: Callable[[Work], object]) -> None:
    """A deed signed with foreign keys switched off, as a faulty program might."""
    with register.engine.connect() as connection:
        connection.connection.dbapi_connection.execute("PRAGMA foreign_keys = OFF")  # type: ignore[union-attr]
        with connection.begin():
            work = Work(connection, small_register.signature(register))
            act(work)
            work.enter("test")
        connection.invalidate()


def test_broken_reference_is_named(register: Register) -> None:
    """A reference to nothing is found even where it was signed."""
    signed_without_checks(register, lambda work: work.add(MACHINE, site_id=7, code="X"))
    (flaw,) = verify(register)
    assert (flaw.code, flaw.what, flaw.table, flaw.column) == ("reference-broken", "reference", "machine", "site_id")
    assert flaw.message.endswith("(site_id) refers to no row of site.")


def test_version_of_another_fact_is_named(register: Register) -> None:
    """A version that replaces a row of another fact is found even where it was signed."""
    with register.reading() as connection:
        row = connection.execute(select(PERSON_REVISION).order_by(PERSON_REVISION.c.id)).mappings().first()
    assert row is not None
    stray = {**row, "fact_id": row["fact_id"] + 1}
    signed_without_checks(register, lambda work: work.replace(PERSON_REVISION, stray, "test"))
    assert named(verify(register)) == [("reference-broken", "", "person_revision", "replaces_id")]


def test_damaged_file_is_told(path: Path) -> None:
    """Where SQLite cannot read the file, that is the flaw, and not a crash."""
    with small_register.plain(path) as connection:
        page = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = 'reading'").fetchone()[0]
    with path.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\xff" * 4096)
    flaws = flaws_of(path)
    assert {flaw.code for flaw in flaws} >= {"file-damaged"}
    assert all(flaw.message for flaw in flaws)


def test_damaged_index_is_told(path: Path) -> None:
    """Pages that hold no facts are looked at too."""
    with small_register.plain(path) as connection:
        name = "ix_reading_counter_id_read_at_id"
        page = connection.execute("SELECT rootpage FROM sqlite_master WHERE name = ?", (name,)).fetchone()[0]
    with path.open("r+b") as file:
        file.seek((page - 1) * 4096)
        file.write(b"\xff" * 100)
    assert {flaw.code for flaw in flaws_of(path)} == {"file-damaged"}


def test_progress_is_told(register: Register, monkeypatch: pytest.MonkeyPatch) -> None:
    """The share done only grows, and ends at 1."""
    monkeypatch.setattr(module, "_ROWS_A_RANGE", 5)
    told: list[float] = []
    verify(register, told.append)
    assert told == sorted(told)
    assert told[-1] == 1.0
    assert len(told) > 3


def test_entries_may_be_added_meanwhile(register: Register) -> None:
    """What others write while a register is verified is no flaw."""
    stop = threading.Event()

    def write() -> None:
        while not stop.is_set():
            small_register.read_round(register, small_register.START, {})

    writer = threading.Thread(target=write)
    writer.start()
    try:
        found = [verify(register, helpers=count) for count in (0, 0, 0, 2)]
    finally:
        stop.set()
        writer.join()
    assert found == [[], [], [], []]


def test_helpers_find_the_same(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Helper processes that share the work find what is found without them."""
    monkeypatch.setattr(module, "_ROWS_A_RANGE", 5)
    with small_register.behind_its_back(path) as connection:
        connection.execute("UPDATE reading SET dial = dial + 1")
        connection.execute("UPDATE entry SET rank = 'Master' WHERE no = 7")
    with Register(str(path)) as register:
        alone = verify(register, helpers=0)
        assert len(alone) == 6
        assert verify(register, helpers=2) == alone


@pytest.mark.parametrize("broken", ["pmsched.store.suspects.__file__", "sys.executable"])
def test_work_of_failing_helpers_is_done_here(register: Register, monkeypatch: pytest.MonkeyPatch, broken: str) -> None:
    """If helper processes end at once, or cannot be started, nothing is passed over."""
    monkeypatch.setattr(broken, "no such program")
    assert verify(register, helpers=2) == []
    with register.locked() as connection:
        for name in ("update", "delete", "insert"):
            connection.exec_driver_sql(f"DROP TRIGGER reading_no_{name}")
        connection.exec_driver_sql("UPDATE reading SET dial = 1")
    assert {flaw.code for flaw in verify(register, helpers=2)} == {"trigger-missing", "row-changed"}


def test_database_without_quick_search_is_judged(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where SQLite cannot write the texts, every entry is judged instead, with the same findings."""
    monkeypatch.setattr(module, "texts", lambda: dict.fromkeys(sorted(FACTS), "SELECT no_such_thing"))
    assert flaws_of(path) == []
    with small_register.behind_its_back(path) as connection:
        connection.execute(f"UPDATE reading SET dial = dial + 1 WHERE id = {FIRST_READING}")
    assert named(flaws_of(path)) == [("row-changed", "entry 4", "reading", "dial")]


def test_kinds_of_columns_are_known() -> None:
    """The cases above treat every kind of column there is."""
    kinds = {type(column.type) for table in FACTS.values() for column in table.columns}
    assert {kind for kind in kinds if not issubclass(kind, Boolean | Date | Text | Integer)} == set()
    assert READING.c.dial.type.python_type is int
