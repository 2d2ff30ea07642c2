"""The codes of a register, offered to whoever types one: read at once, and without leaving a trace on the register.

The register is never made, brought to another form or written to, and no file is left beside it. This looks only for
help with typing: whatever goes wrong, there is nothing to offer, and the command itself says why when it is run.
"""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.plain import plain
from pmsched.store.files import beside
from pmsched.store.migrate import HEAD

_BUSY_SECONDS = 0.05


def _named(table: str, words: str) -> str:
    """The codes of a definition, each with the newest words said of it."""
    newest = (
        f"SELECT {words} FROM {table}_revision AS r WHERE r.{table}_id = {table}.id ORDER BY valid_from DESC, id DESC"  # noqa: S608 - ours
    )
    return f"SELECT code, ({newest} LIMIT 1) AS said, code AS place FROM {table}"  # noqa: S608 - ours


# Each gives code, words and place in the list. Codes stay for life, so nothing is asked about times and corrections.
KINDS = {
    "machine": _named("machine", "name"),
    "counter": _named("counter", "name"),
    "job": _named("job", "title"),
    "person": _named("person", "name"),
    "unit": """
        SELECT unit AS code, '' AS said, min(u.id) AS place FROM job_unit AS u JOIN job ON job.id = u.job_id
        WHERE NOT u.struck AND :of IN ('', lower(job.code)) GROUP BY unit
    """,
    "department": """
        SELECT department AS code, '' AS said, department AS place FROM machine_revision
        UNION SELECT department, '', department FROM job_revision
        UNION SELECT department, '', department FROM person_revision
    """,
    "rank": "SELECT DISTINCT rank AS code, '' AS said, rank AS place FROM person_revision",
}
_BEGINNING = r"SELECT code, said FROM ({kind}) WHERE code LIKE :beginning ESCAPE '\' ORDER BY place"


class Code(NamedTuple):
    """Something that can be typed, and what it stands for in a few words (empty where the code says it all)."""

    code: str
    said: str


def offered(file: Path, kind: str, beginning: str = "", of: str = "") -> list[Code]:
    """What can be typed for a kind, beginning (in any case) as typed; also what is no longer in use: it can be asked for.

    Args:
        file: the register's file.
        kind: one of ``KINDS``.
        beginning: what is typed already.
        of: the code of the job whose units are wanted; empty for those of all jobs.
    """
    try:
        with closing(_open(file)) as connection:
            if _form(connection) > HEAD:
                return []
            statement = _BEGINNING.format(kind=KINDS[kind])
            rows = connection.execute(
                statement, {"beginning": f"{_literally(beginning)}%", "of": of.lower()}
            ).fetchall()
    except (OSError, sqlite3.Error):
        return []
    codes = (Code(str(code), plain(str(said or ""))) for code, said in rows)
    # Hidden characters never come in; in a file that was tampered with they could act on the terminal.
    return [one for one in codes if one.code and plain(one.code) == one.code]


def _open(file: Path) -> sqlite3.Connection:
    """A connection that only reads. Raises OSError and sqlite3.Error."""
    address = f"{file.expanduser().resolve(strict=True).as_uri()}?mode=ro"
    # Whoever opens a register in a log's absence, even for reading only, makes log and index anew and leaves them there.
    if not all(beside(file.expanduser(), ending).exists() for ending in ("-wal", "-shm")):
        address += "&immutable=1"
    return sqlite3.connect(address, uri=True, timeout=_BUSY_SECONDS)


def _form(connection: sqlite3.Connection) -> str:
    return str(connection.execute("SELECT version_num FROM alembic_version").fetchone()[0])


def _literally(text: str) -> str:
    """The text with the signs that stand for any text in a pattern made plain."""
    return "".join(f"\\{sign}" if sign in "\\%_" else sign for sign in text)
