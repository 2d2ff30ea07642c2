"""Which entries need a close look: each is rebuilt from its rows, by SQLite, and compared byte by byte with its body.

Standard library only, because it is also run as a program (see ``helpers``) and should start at once. It passes no
judgement: an entry that is not exactly what it should be is named, and ``flaws`` says why. So it may doubt too much
and must never doubt too little. Form 1 only.
"""

from __future__ import annotations

import json
import sqlite3
import sys
from collections.abc import Iterator, Mapping
from hashlib import sha256
from json.encoder import encode_basestring
from pathlib import Path
from typing import Any, NamedTuple

FORM = 1
_ENTRIES = (
    "SELECT id, book, no, recorded_at, offset_minutes, deed, person_id, rank, request_id, last_id, form,"
    " prev_hash, hash, body FROM entry"
)


class _Entry(NamedTuple):
    id: int
    book: int
    no: int
    recorded_at: int
    offset_minutes: int
    deed: str
    person_id: int
    rank: str
    request_id: str | None
    last_id: int
    form: int
    prev_hash: bytes
    hash: bytes
    body: bytes


def open_reading(file: str) -> sqlite3.Connection:
    """A connection that only reads, with raw values; text that is no UTF-8 is given with stand-ins, not refused."""
    connection = sqlite3.connect(f"{Path(file).absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
    connection.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    connection.execute("PRAGMA busy_timeout=5000")
    return connection


def suspects(connection: sqlite3.Connection, texts: Mapping[str, str], low: int, high: int) -> list[int]:
    """The ids of the entries in [low, high) that are not exactly what their rows and the chain make them.

    Args:
        connection: from ``open_reading``.
        texts: from ``row_text.entry_texts``.
        low: the id of an entry.
        high: where the next entry begins; ids of rows from ``low`` on belong to the entries here.
    """
    connection.execute("BEGIN")
    try:
        return list(_suspects(connection, texts, low, high))
    finally:
        connection.execute("COMMIT")


def _suspects(connection: sqlite3.Connection, texts: Mapping[str, str], low: int, high: int) -> Iterator[int]:
    persons = {person for (person,) in connection.execute("SELECT id FROM person WHERE fact_id = id")}
    streams = [_Rows(connection, name, text, low, high) for name, text in texts.items()]
    streams = [rows for rows in streams if rows.next_id < high]
    before = connection.execute(f"{_ENTRIES} WHERE id < ? ORDER BY id DESC LIMIT 1", (low,)).fetchone()
    previous = before and _Entry(*before)
    found = connection.execute(f"{_ENTRIES} WHERE id >= ? AND id < ? ORDER BY id", (low, high))
    entry = _next(found)
    while entry:
        following = _next(found)
        until = following.id if following else high
        facts, count = _facts(streams, entry.id, until)
        try:
            sound = (
                facts is not None
                and count == entry.last_id - entry.id
                and entry.form == FORM
                and entry.person_id in persons
                and _follows(previous, entry)
                and _hash(entry) == entry.hash
                and _is_body(entry, facts)
            )
        except (TypeError, ValueError, OverflowError):
            sound = False
        if not sound:
            yield entry.id
        previous, entry = entry, following


class _Rows:
    """The rows of one table as canonical text, read once from front to back; ``next_id`` is the id of the next one."""

    def __init__(self, connection: sqlite3.Connection, name: str, statement: str, low: int, high: int) -> None:
        self._connection, self._name, self._statement, self._high = connection, name, statement, high
        self._label = b'"%b":[' % name.encode()
        self._cursor: sqlite3.Cursor | None = None
        self._row: Any = None
        self.next_id = low - 1
        self._step()

    def take(self, entry_id: int, until: int) -> tuple[bytes | None, int]:
        """The rows before ``until`` as they stand in a body, and how many; None if one cannot be as written."""
        found: list[bytes] = []
        sound = True
        count = 0
        while self.next_id < until:
            _, owner, text = self._row
            count += 1
            if owner == entry_id and text is not None:
                found.append(text)
            else:
                sound = False
            self._step()
        return (b"%b%b]" % (self._label, b",".join(found)) if sound else None), count

    def _step(self) -> None:
        try:
            if self._cursor is None:
                self._cursor = self._connection.execute(self._statement, (self.next_id + 1, self._high))
            self._row = next(self._cursor, None)
        except sqlite3.Error:
            # A row of which no text can be made: it is passed over, without text, and the reading goes on behind it.
            self._cursor = None
            following = f"SELECT min(id) FROM {self._name} WHERE id > ? AND id < ?"  # noqa: S608 - our own names
            (row_id,) = self._connection.execute(following, (self.next_id, self._high)).fetchone()
            self._row = row_id and (row_id, None, None)
        self.next_id = self._row[0] if self._row else sys.maxsize


def _facts(streams: list[_Rows], entry_id: int, until: int) -> tuple[bytes | None, int]:
    """The facts before ``until`` as they stand in a body, and how many; None if one cannot be as written."""
    parts, count, sound = [], 0, True
    for rows in streams:
        if rows.next_id < until:
            text, taken = rows.take(entry_id, until)
            count += taken
            if text is None:
                sound = False
            else:
                parts.append(text)
    return (b",".join(parts) if sound else None), count


def _next(found: Iterator[Any]) -> _Entry | None:
    row = next(found, None)
    return row and _Entry(*row)


def _follows(previous: _Entry | None, entry: _Entry) -> bool:
    """Whether the entry goes on from the one before; the first of a book always gets a close look."""
    return (
        previous is not None
        and previous.book == entry.book
        and previous.no + 1 == entry.no
        and previous.last_id + 1 == entry.id
        and previous.hash == entry.prev_hash
    )


def _hash(entry: _Entry) -> bytes:
    """As ``canonical.entry_hash``, without copying the body."""
    digest = sha256(b"\x00" + entry.prev_hash + entry.book.to_bytes(8, "big") + entry.no.to_bytes(8, "big"))
    digest.update(entry.body)
    return digest.digest()


def _is_body(entry: _Entry, facts: bytes) -> bool:
    head = f'"book":"{entry.book}","deed":{encode_basestring(entry.deed)},"facts":{{'
    request = "" if entry.request_id is None else f',"request_id":{encode_basestring(entry.request_id)}'
    tail = (
        f'}},"form":{entry.form},"id":"{entry.id}","last_id":"{entry.last_id}","no":{entry.no}'
        f',"offset_minutes":{entry.offset_minutes},"person_id":"{entry.person_id}","rank":{encode_basestring(entry.rank)}'
        f',"recorded_at":{entry.recorded_at}{request}}}'
    )
    made = b"%b%b%b" % (head.encode(), facts, tail.encode())
    about = entry.body[: len(entry.body) - len(made)]
    return entry.body.endswith(made) and (about == b"{" or _is_about(about))


def _is_about(text: bytes) -> bool:
    """Whether the text is the beginning of a body that says what was asked, written in the one canonical way."""
    begins = b'{"about":'
    if not (text.startswith(begins) and text.endswith(b",")):
        return False
    asked = text[len(begins) : -1]
    value = json.loads(asked)
    written = json.dumps(value, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    return isinstance(value, dict) and bool(value) and written.encode() == asked


def _answer(connection: sqlite3.Connection, texts: Mapping[str, str], task: list[int]) -> dict[str, Any]:
    try:
        return {"suspects": suspects(connection, texts, *task)}
    except sqlite3.Error as error:
        return {"error": str(error)}


def serve() -> None:
    """Answer tasks from standard input: first a line with the file and the texts, then one line for each task."""
    file, texts = json.loads(sys.stdin.readline())
    connection = open_reading(file)
    for line in sys.stdin:
        sys.stdout.write(json.dumps(_answer(connection, texts, json.loads(line))) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    serve()
