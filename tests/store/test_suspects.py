"""The quick search agrees with the judge: what SQLite writes of a row is what the signed body says of it."""

# ruff: noqa: S608 - the names in the statements are our own

from __future__ import annotations

import json
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, suppress
from datetime import date
from pathlib import Path
from typing import Any

import pytest
import small_register
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import Boolean, Date, Text, select

from pmsched.store import suspects as program
from pmsched.store.canonical import canonical, fact_to_body, is_id
from pmsched.store.flaws import entry_flaws, read_entries
from pmsched.store.opening import open_next_book
from pmsched.store.register import Register
from pmsched.store.row_text import row_text, texts
from pmsched.store.suspects import open_reading, suspects
from pmsched.store.tables import FACTS, PART_MOVE, READING, REPORT, SETTING

# Quotes, backslashes, what looks like JSON or a format, other planes, line separators, and what JSON escapes.
ODD = [
    '"',
    "\\",
    '\\"',
    "'",
    "%s%d%",
    '","id":"7',
    "\U0001f602",
    "\u2028",
    "\u2029",
    "\ufb33",
    "\n\t\r\b\f",
    "\x00",
    "\x1f\x7f\x80",
    "A\u030a",
    "",
]
TEXTS = st.sampled_from(ODD) | st.text(st.characters(exclude_categories=["Cs"]))
NUMBERS = st.integers(-(2**53) + 1, 2**53 - 1)
MAYBE_TEXTS = st.none() | TEXTS
# Tables with every kind of column, and with columns that may be left out before, between and after the others.
ROWS = st.one_of(
    st.tuples(st.just(READING), st.fixed_dictionaries({"read_at": NUMBERS, "dial": NUMBERS, "note": MAYBE_TEXTS, "held_for": MAYBE_TEXTS})),
    st.tuples(
        st.just(REPORT),
        st.fixed_dictionaries(
            {"condition": MAYBE_TEXTS, "remarks": MAYBE_TEXTS, "done_by": TEXTS, "outcome": TEXTS, "done_on": st.dates(),
             "time_stated": st.booleans(), "done_at": NUMBERS}
        ),
    ),
    st.tuples(
        st.just(PART_MOVE),
        st.fixed_dictionaries(
            {"since_new": st.none() | NUMBERS, "since_overhaul": st.none() | NUMBERS, "note": MAYBE_TEXTS, "place": TEXTS,
             "moved_on": st.dates()}
        ),
    ),
    st.tuples(st.just(SETTING), st.fixed_dictionaries({"name": TEXTS, "valid_from": st.dates(), "value": NUMBERS})),
)  # fmt: skip


@pytest.fixture(scope="module")
def shared(small_file: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """One register that all examples of a property add to: opening one for each would take most of the time."""
    path = tmp_path_factory.mktemp("shared") / "register.db"
    shutil.copyfile(small_file, path)
    with Register(str(path)) as register:
        yield register


def filled(work: Any, table: Any, drawn: dict[str, Any]) -> dict[str, Any]:
    """The drawn columns, and the others as in a row that is there."""
    row = work.connection.execute(select(table).order_by(table.c.id).limit(1)).mappings().one()
    common = {"id", "entry_id", "fact_id", "replaces_id", "struck", "reason"}
    return {name: value for name, value in row.items() if name not in common} | drawn


def doubted(register: Register, first: int = 0) -> list[int]:
    """What the quick search doubts from an id on."""
    with closing(open_reading(str(register.file))) as connection:
        high = connection.execute("SELECT max(last_id) FROM entry").fetchone()[0] + 1
        return suspects(connection, texts(), first, high)


def judged(register: Register, first: int = 0) -> list[int]:
    """The entries from an id on that the judge finds a flaw in."""
    found = []
    with closing(open_reading(str(register.file))) as connection:
        entries = list(read_entries(connection.execute, "id >= :first ORDER BY id", {"first": first}))
        before = list(read_entries(connection.execute, "id < :first ORDER BY id DESC LIMIT 1", {"first": first}))
        previous = before[0] if before else None
        for number, entry in enumerate(entries):
            until = entries[number + 1]["id"] if number + 1 < len(entries) else entry["last_id"] + 1
            if any(entry_flaws(connection.execute, entry, previous, until)):
                found.append(entry["id"])
            previous = entry
    return found


def first_entries(register: Register) -> list[int]:
    """The first entry of each book, which always gets a close look."""
    with register.reading() as connection:
        return list(connection.exec_driver_sql("SELECT id FROM entry WHERE no = 1 ORDER BY id").scalars())


def test_only_first_entries_are_doubted(register: Register) -> None:
    """In a sound register with several books the quick search doubts nothing else."""
    open_next_book(register, "test", small_register.signature(register))
    small_register.read_round(register, small_register.START, {})
    assert len(first_entries(register)) == 2
    assert doubted(register) == first_entries(register)
    assert judged(register) == []


def test_ranges_join(register: Register) -> None:
    """Searched in any pieces, the same is found."""
    with register.reading() as connection:
        entries = list(connection.exec_driver_sql("SELECT id FROM entry ORDER BY id").scalars())
        end = connection.exec_driver_sql("SELECT max(last_id) + 1 FROM entry").scalar_one()
    with closing(open_reading(str(register.file))) as connection:
        pieces = [suspects(connection, texts(), *one) for one in zip(entries, [*entries[1:], end], strict=True)]
    assert [entry for piece in pieces for entry in piece] == first_entries(register)


@given(
    rows=st.lists(ROWS, max_size=6),
    deed=TEXTS,
    rank=TEXTS,
    about=st.dictionaries(st.text('abc"\\', max_size=3), TEXTS, max_size=2),
)
def test_whatever_is_signed_is_as_its_rows(
    shared: Register, rows: Any, deed: str, rank: str, about: dict[str, str]
) -> None:
    """No text, number, date or null makes the quick search doubt an entry, and the judge finds no flaw in it."""
    signed = small_register.signature(shared)._replace(rank=rank, offset_minutes=-150)
    with shared.writing(signed) as work:
        for table, drawn in rows:
            work.add(table, **filled(work, table, drawn))
        receipt = work.enter(deed, about)
    assert doubted(shared, receipt.entry_id) == []
    assert judged(shared, receipt.entry_id) == []


@given(TEXTS)
def test_sqlite_quotes_as_rfc_8785(text: str) -> None:
    """SQLite's json_quote writes a string exactly as the canonical bodies do."""
    with closing(sqlite3.connect(":memory:")) as connection:
        written = connection.execute("SELECT CAST(json_quote(?) AS BLOB)", (text,)).fetchone()[0]
    assert b'{"":' + written + b"}" == canonical({"": text})


@settings(max_examples=200)
@given(data=st.data())
def test_row_text_is_the_body(data: st.DataObject) -> None:
    """For rows of every table, the text that SQLite writes is the canonical text of the fact."""
    table = data.draw(st.sampled_from(list(FACTS.values())))
    row = {column.name: data.draw(values_of(column)) for column in table.columns}
    names = ", ".join(row)
    holders = ", ".join(f":{name}" for name in row)
    with closing(sqlite3.connect(":memory:")) as connection:
        types = ", ".join(f"{column.name} {column.type.compile()}" for column in table.columns)
        connection.execute(f"CREATE TABLE {table.name} ({types})")
        stored = {name: value.isoformat() if isinstance(value, date) else value for name, value in row.items()}
        connection.execute(f"INSERT INTO {table.name} ({names}) VALUES ({holders})", stored)
        written = connection.execute(f"SELECT CAST({row_text(table)} AS BLOB) FROM {table.name}").fetchone()[0]
    assert written == canonical(fact_to_body(table, row))


def values_of(column: Any) -> st.SearchStrategy[Any]:
    """What a column can hold."""
    if is_id(column) or column.name == "entry_id":
        values: st.SearchStrategy[Any] = st.integers(1, 2**63 - 1)
    elif isinstance(column.type, Boolean):
        values = st.booleans()
    elif isinstance(column.type, Date):
        values = st.dates()
    else:
        values = TEXTS if isinstance(column.type, Text) else NUMBERS
    return st.none() | values if column.nullable else values


ALTERATIONS = st.tuples(
    st.sampled_from(["reading", "report", "part_move", "setting", "machine_revision", "book"]),
    st.integers(0, 20),
    st.sampled_from(["NULL", "0", "1", "x'30'", "x''", "''", "'0'", "'true'", "1.5", "-1", "'2030-01-01'", "'a\"b'"]),
)


@settings(max_examples=60)
@given(alteration=ALTERATIONS)
def test_search_and_judge_agree(shared: Register, alteration: tuple[str, int, str]) -> None:
    """Whatever a value is changed to, the quick search doubts the entries that the judge finds a flaw in, and no other."""
    table, place, value = alteration
    columns = [column.name for column in FACTS[table].columns if column.name != "id"]
    name = columns[place % len(columns)]
    with closing(sqlite3.connect(str(shared.file), isolation_level=None)) as connection:
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute(f"DROP TRIGGER IF EXISTS {table}_no_update")
        row_id, old = connection.execute(f"SELECT id, {name} FROM {table} ORDER BY id LIMIT 1").fetchone()
        with suppress(sqlite3.IntegrityError):  # no null, and no second of its kind, can be stored
            connection.execute(f"UPDATE {table} SET {name} = {value} WHERE id = {row_id}")
        try:
            found, flawed = set(doubted(shared)), set(judged(shared))
        finally:
            connection.execute(f"UPDATE {table} SET {name} = ? WHERE id = {row_id}", (old,))
    assert flawed - found == set()
    assert found - flawed - set(first_entries(shared)) == set()


def test_program_answers_tasks(register: Register) -> None:
    """Run as a program without installed packages, it answers each task in a line."""
    with register.reading() as connection:
        end = connection.exec_driver_sql("SELECT max(last_id) + 1 FROM entry").scalar_one()
    lines = [[str(register.file), texts()], [0, end], [0, 0]]
    done = subprocess.run(
        [sys.executable, "-I", "-S", program.__file__],
        input="".join(json.dumps(line) + "\n" for line in lines),
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert [json.loads(line) for line in done.stdout.splitlines()] == [
        {"suspects": first_entries(register)},
        {"suspects": []},
    ]
    assert done.stderr == ""


def test_reading_connection_cannot_write(register: Register) -> None:
    """What verifies cannot change anything."""
    with (
        closing(open_reading(str(register.file))) as connection,
        pytest.raises(sqlite3.OperationalError, match="readonly"),
    ):
        connection.execute("UPDATE local SET value = '1'")


@pytest.mark.parametrize("name", ["a b#c?d%20.db", "ünïcode.db"])
def test_odd_file_names(register: Register, tmp_path: Path, name: str) -> None:
    """A file is opened by its name, whatever characters it has."""
    assert register.file is not None
    shutil.copyfile(register.file, tmp_path / name)
    with closing(open_reading(str(tmp_path / name))) as connection:
        assert connection.execute("SELECT count(*) FROM machine").fetchone() == (1,)
