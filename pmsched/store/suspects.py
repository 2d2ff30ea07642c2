"""Which entries need a close look: each is rebuilt from its rows, by SQLite, and compared byte by byte with its body.

Standard library only, because it is also run as a program (see ``helpers``) and should start at once. It passes no
judgement: an entry that is not exactly what it should be is named, and ``flaws`` says why. So it may doubt too much
and must never doubt too little. Form 1 only.
"""

from __future__ import annotations

import json
import sqlite3
import struct
import sys
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any

FORM = 1
ENTRY = "entry"
_PLACE = struct.Struct(">QQ")


def open_reading(file: str) -> sqlite3.Connection:
    """A connection that only reads, with raw values; text that is no UTF-8 is given with stand-ins, not refused."""
    connection = sqlite3.connect(f"{Path(file).absolute().as_uri()}?mode=ro", uri=True, isolation_level=None)
    connection.text_factory = lambda text: text.decode("utf-8", "surrogateescape")
    connection.execute("PRAGMA busy_timeout=5000")
    return connection


def suspects(connection: sqlite3.Connection, texts: Mapping[str, str], low: int, high: int) -> list[int]:
    """The ids of the entries in [low, high) that are not exactly what their rows and the chain make them.

    The texts of all rows in the range are held in memory at once. Where they cannot be made, every entry is named.

    Args:
        connection: from ``open_reading``.
        texts: from ``row_text.texts``.
        low: the id of an entry.
        high: where the next entry begins; rows with ids from ``low`` on belong to the entries here.
    """
    connection.execute("BEGIN")
    try:
        return _suspects(connection, texts, low, high)
    except sqlite3.Error:
        return [entry for (entry,) in connection.execute("SELECT id FROM entry WHERE id >= ? AND id < ?", (low, high))]
    finally:
        connection.execute("COMMIT")


def _suspects(connection: sqlite3.Connection, texts: Mapping[str, str], low: int, high: int) -> list[int]:
    persons = {person for (person,) in connection.execute("SELECT id FROM person WHERE fact_id = id")}
    asked = {name: partial(connection.execute, text, (low, high)) for name, text in texts.items()}
    tables = [rows for rows in (_Rows(name, ask) for name, ask in asked.items() if name != ENTRY) if rows.of_entry]
    last = connection.execute(
        "SELECT id, book, no, last_id, hash FROM entry WHERE id < ? ORDER BY id DESC LIMIT 1", (low,)
    )
    previous = last.fetchone() or (0, 0, 0, 0, b"")
    entries: list[int] = []
    found: set[int] = set()
    for entry in asked[ENTRY]():
        if not _is_sound(entry, previous, persons, tables):
            found.add(entry[0])
        entries.append(entry[0])
        previous = entry
    for table in tables:
        # Rows left over say that they are of an entry elsewhere; rows of an entry that was doubted may lie elsewhere.
        odd = found | table.of_entry.keys()
        found |= table.holders(odd, entries) if odd else odd
    return sorted(found)


class _Rows:
    """The texts of a table's rows, by the entry that they say they are of; what was compared is taken out."""

    def __init__(self, name: str, ask: Callable[[], Iterable[Any]]) -> None:
        self.label = b'"%b":[' % name.encode()
        self.of_entry: defaultdict[Any, list[bytes]] = defaultdict(list)
        self._ask = ask
        for _, owner, text in ask():
            self.of_entry[owner].append(text)

    def holders(self, owners: set[Any], entries: list[int]) -> set[int]:
        """The entries among whose ids those rows lie that say they are of one of the owners."""
        return {entries[bisect_right(entries, row_id) - 1] for row_id, owner, _ in self._ask() if owner in owners}


def _is_sound(entry: Any, previous: Any, persons: set[int], tables: list[_Rows]) -> bool:
    """Whether the entry goes on from the one before, and is what its columns and rows make of it."""
    own, book, no, last_id, own_hash, previous_hash, person, form, head, tail, body = entry
    _, previous_book, previous_no, previous_last, hash_before, *_ = previous
    try:
        return (
            # The first entry of a book always gets a close look.
            book == previous_book
            and no == previous_no + 1
            and own == previous_last + 1
            and previous_hash == hash_before
            and form == FORM
            and person in persons
            and sha256(b"\x00%b%b%b" % (previous_hash, _PLACE.pack(book, no), body)).digest() == own_hash
            and _is_body(body, b"%b%b%b" % (head, _facts(tables, own, last_id), tail))
        )
    except (TypeError, ValueError, struct.error):
        return False


def _facts(tables: list[_Rows], entry_id: int, last_id: int) -> bytes:
    """The facts of an entry as they stand in a body. Raises TypeError or ValueError if they cannot be as written."""
    facts, count = [], 0
    for table in tables:
        rows = table.of_entry.pop(entry_id, None)
        if rows:
            facts.append(b"%b%b]" % (table.label, b",".join(rows)))
            count += len(rows)
    if count != last_id - entry_id:
        raise ValueError(count)
    return b",".join(facts)


def _is_body(body: bytes, made: bytes) -> bool:
    about = body[: len(body) - len(made)]
    return body.endswith(made) and (about == b"{" or _is_about(about))


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
