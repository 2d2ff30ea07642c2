"""Engines: how a register is connected to. SQLite durable and strict, with transactions begun by us.

A reading transaction begins DEFERRED, a writing one IMMEDIATE: an upgrade from reading to writing would fail at once
instead of waiting its turn.
"""

from __future__ import annotations

import gc
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, create_engine, event
from sqlalchemy.engine import make_url

BEGIN = "begin"
_PRAGMAS = (
    "journal_mode=WAL",
    "synchronous=FULL",
    "foreign_keys=ON",
    "recursive_triggers=ON",
    "busy_timeout=5000",
    "cache_size=-65536",
)
_GC_THRESHOLD = (50_000, 20, 100)


def engine_url(target: str) -> str:
    """A database URL from a file name or a URL."""
    return target if "://" in target else f"sqlite:///{target}"


def sqlite_file(target: str) -> Path | None:
    """The file of an SQLite register; None for another database."""
    if "://" not in target:
        return Path(target)
    url = make_url(target)
    return Path(url.database) if url.get_backend_name() == "sqlite" and url.database else None


def connect(target: str) -> Engine:
    """An engine for a register, its connections set up; nothing is opened yet."""
    engine = create_engine(engine_url(target))
    if engine.dialect.name == "sqlite":
        event.listen(engine, "connect", _set_up_sqlite)
        event.listen(engine, "begin", _begin_sqlite)
    _spare_collector()
    return engine


def _spare_collector() -> None:
    """Collect garbage seldom: the default scans long lists of rows again and again (half as slow at a million rows)."""
    # What is loaded before the first register is opened is the program itself and stays: it need never be looked through.
    if not gc.get_freeze_count():
        gc.freeze()
    gc.set_threshold(*_GC_THRESHOLD)


def _set_up_sqlite(connection: Any, _record: Any) -> None:
    connection.isolation_level = None
    for pragma in _PRAGMAS:
        connection.execute(f"PRAGMA {pragma}")


def _begin_sqlite(connection: Connection) -> None:
    connection.exec_driver_sql(f"BEGIN {connection.get_execution_options().get(BEGIN, 'DEFERRED')}")
