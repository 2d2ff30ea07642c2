"""Verify: is the register still what was signed? Everything that is not is named.

Each entry is rebuilt from its rows and compared with its body, and the bodies are held together by the chain; what the
quick search doubts, ``flaws`` judges. What no chain can show is the removal of the newest entries together with their
rows: a seal on paper shows that. On other databases than SQLite every entry is judged.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import pairwise
from typing import NamedTuple

from sqlalchemy import Engine, text

from pmsched.store.book import WRITING_BOOK
from pmsched.store.flaws import Fetch, Flaw, entry_flaws, label, read_entries
from pmsched.store.frame import broken_references, damage, damages, missing_tables, of_row, wrong_triggers
from pmsched.store.helpers import Range, Search, processors
from pmsched.store.register import Register
from pmsched.store.row_text import texts
from pmsched.store.suspects import open_reading
from pmsched.store.tables import FACTS, LOCAL

Progress = Callable[[float], None]
# Below this size helper processes would take longer to start than they save.
_WORTH_HELPERS_BYTES = 32 << 20
_ROWS_A_RANGE = 4000


class _Database(NamedTuple):
    """What is verified: how to read it, its file if it is SQLite, the ids of its entries and the one after all."""

    fetch: Fetch
    file: str
    entries: list[int]
    end: int


def verify(register: Register, progress: Progress | None = None, *, helpers: int | None = None) -> list[Flaw]:
    """Everything that is wrong with a register; empty when it is sound.

    Args:
        register: it may be written to meanwhile; entries that are then added are not looked at.
        progress: told the share done, 0 to 1.
        helpers: how many processes search; by default as many as there are processors, none for a small register.
    """
    return verify_database(register.engine, progress, helpers=helpers)


def verify_database(engine: Engine, progress: Progress | None = None, *, helpers: int | None = None) -> list[Flaw]:
    """As ``verify``, for a database that is not opened as a register, such as a back-up on a network folder."""
    done = progress or (lambda _share: None)
    try:
        with _opened(engine) as (fetch, file):
            missing = [*missing_tables(engine.dialect.name, fetch)]
            if missing:
                return missing
            database = _bounded(fetch, file)
            flaws = [*wrong_triggers(engine.dialect.name, fetch), *_strays(database), *_writing_book(fetch)]
            flaws += _search(database, done, helpers) if file else _judge_all(database, done)
    except sqlite3.Error as error:
        return [damage(str(error))]
    done(1.0)
    return flaws


@contextmanager
def _opened(engine: Engine) -> Iterator[tuple[Fetch, str]]:
    """The database in one unchanging state: how to read it, and its file if it is SQLite."""
    if engine.dialect.name != "sqlite":
        with engine.execution_options(isolation_level="REPEATABLE READ").begin() as connection:
            yield lambda sql, binds: connection.execute(text(sql), binds), ""
        return
    file = str(engine.url.database)
    raw = open_reading(file)
    try:
        raw.execute("BEGIN")
        yield raw.execute, file
    finally:
        raw.close()


def _bounded(fetch: Fetch, file: str) -> _Database:
    entries = sorted(entry for (entry,) in fetch("SELECT id FROM entry", {}))
    last = next(iter(fetch("SELECT last_id FROM entry ORDER BY id DESC LIMIT 1", {})), (0,))
    return _Database(fetch, file, entries, max(entries[-1], last[0]) + 1 if entries else 0)


def _search(database: _Database, done: Progress, helpers: int | None) -> list[Flaw]:
    """Let SQLite check its file while the entries are searched; then judge what is suspected."""
    size = _one(database.fetch, "PRAGMA page_count") * _one(database.fetch, "PRAGMA page_size")
    if helpers is None:
        helpers = processors() if size > _WORTH_HELPERS_BYTES else 0
    ranges = _ranges(database)
    flaws: list[Flaw] = []
    doubted: list[int] = []
    with Search(database.file, texts(), ranges, helpers) as search:
        flaws += [*damages(database.fetch), *broken_references(database.fetch)]
        for number, found in enumerate(search.results(), 1):
            if isinstance(found, sqlite3.Error):
                flaws.append(damage(str(found)))
            else:
                doubted += found
            done(number / (len(ranges) + 1))
    for entry in sorted(doubted):
        flaws += _judge(database, entry)
    return flaws


def _ranges(database: _Database) -> list[Range]:
    """Ranges of whole entries; as ids follow one another, their span is the number of rows."""
    bounds: list[int] = []
    for entry in database.entries:
        if not bounds or entry - bounds[-1] >= _ROWS_A_RANGE:
            bounds.append(entry)
    return list(pairwise([*bounds, database.end]))


def _judge_all(database: _Database, done: Progress) -> list[Flaw]:
    flaws = [*broken_references(database.fetch)]
    for number, entry in enumerate(database.entries):
        flaws += _judge(database, entry)
        done(number / len(database.entries))
    return flaws


def _judge(database: _Database, entry_id: int) -> Iterator[Flaw]:
    at = {"entry": entry_id}
    entry = next(read_entries(database.fetch, "id = :entry", at))
    previous = next(read_entries(database.fetch, "id < :entry ORDER BY id DESC LIMIT 1", at), None)
    following = [i for (i,) in database.fetch("SELECT id FROM entry WHERE id > :entry ORDER BY id LIMIT 1", at)]
    try:
        yield from entry_flaws(database.fetch, entry, previous, following[0] if following else database.end)
    except sqlite3.Error as error:
        yield damage(f"{error} (at {label(entry)})")


def _strays(database: _Database) -> Iterator[Flaw]:
    """Rows with ids before the first entry or after the last one."""
    outside = {"first": database.entries[0] if database.entries else 0, "end": database.end}
    for name in FACTS:
        statement = f"SELECT id FROM {name} WHERE id < :first OR id >= :end"  # noqa: S608 - our own names
        for (row_id,) in database.fetch(statement, outside):
            yield of_row("row-unknown", "row", name, row_id, "", "is in no entry")


def _writing_book(fetch: Fetch) -> Iterator[Flaw]:
    """The newest book of this copy may have been taken away as a whole."""
    known = {str(number) for (number,) in fetch("SELECT number FROM book", {})}
    for (book,) in fetch("SELECT value FROM local WHERE name = :name", {"name": WRITING_BOOK}):
        if book not in known:
            message = f"This copy writes in book {book}, which is not here."
            yield Flaw("book-missing", "", "chain", LOCAL.name, None, "value", message)


def _one(fetch: Fetch, question: str) -> int:
    return int(next(iter(fetch(question, {})))[0])
