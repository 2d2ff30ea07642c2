"""Bringing a register to this program's form: migrations run by themselves, after a copy of the file.

The quick answer is one SELECT; alembic is loaded only when there is work to do. A register newer than the program is
refused. Column changes to fact tables are nullable and without default; nothing is ever filled in afterwards.
"""

from __future__ import annotations

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, inspect, text

from pmsched.domain.errors import RegisterUnusable
from pmsched.store.engine import BEGIN

HEAD = "0003"
_ADVISORY_LOCK = 725_301
# alembic keeps state of its own between calls.
_one_at_a_time = threading.Lock()


def migrations_dir() -> Path:
    """The folder of migrations: the wheel's copy, or the checkout's."""
    package = Path(__file__).resolve().parents[1]
    for folder in (package / "_migrations", package.parent / "migrations"):
        if (folder / "env.py").is_file():
            return folder
    raise RegisterUnusable("migrations-missing", "This installation lacks its migrations.", "Install pmsched again.")


def revision_of(connection: Connection) -> str | None:
    """The form a register is in; None for an empty database."""
    if not inspect(connection).has_table("alembic_version"):
        return None
    return connection.execute(text("SELECT version_num FROM alembic_version")).scalar_one_or_none()


def ensure_schema(engine: Engine, *, create: bool) -> Path | None:
    """Bring the register to HEAD; the path of the copy made before, if one was.

    Args:
        engine: the register.
        create: an empty database becomes a register; otherwise it is refused.

    Raises:
        RegisterUnusable: no register there, or one written by a newer program.
    """
    with engine.connect() as connection:
        found = revision_of(connection)
        if found == HEAD:
            return None
        if found is None and not create:
            raise RegisterUnusable("no-register", "There is no register in this database.", "Run: pmsched init.")
        if found is None and inspect(connection).get_table_names():
            raise RegisterUnusable(
                "not-a-register", "This database belongs to another program.", "Choose another with --register."
            )
        if found is not None and found > HEAD:
            raise RegisterUnusable(
                "register-newer",
                f"This register is in form {found}; this program knows forms up to {HEAD}.",
                "Use the newer program that wrote it; nothing was changed.",
            )
    copy = _copy_before(engine, found) if found else None
    _upgrade(engine)
    return copy


def _copy_before(engine: Engine, found: str) -> Path | None:
    if engine.dialect.name != "sqlite" or not engine.url.database:
        return None
    copy = Path(f"{engine.url.database}.before-{found}-to-{HEAD}")
    if not copy.exists():
        with engine.connect() as connection:
            raw = connection.connection.dbapi_connection
            raw.execute("VACUUM INTO ?", (str(copy),))  # type: ignore[union-attr]  # a live connection has one
    return copy


def _upgrade(engine: Engine) -> None:
    from alembic import command  # noqa: PLC0415 - a quarter of a second, only when there is work to do
    from alembic.config import Config  # noqa: PLC0415

    config = Config()
    config.set_main_option("script_location", str(migrations_dir()).replace("%", "%%"))
    config.set_main_option("path_separator", "os")
    with _one_at_a_time, engine.connect() as connection, _without_foreign_keys(connection):
        if connection.dialect.name != "sqlite":
            connection.execute(text(f"SELECT pg_advisory_xact_lock({_ADVISORY_LOCK})"))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")
        if connection.dialect.name == "sqlite" and connection.exec_driver_sql("PRAGMA foreign_key_check").first():
            raise RegisterUnusable("references-broken", "The register has broken references.", "Restore a back-up.")


@contextmanager
def _without_foreign_keys(connection: Connection) -> Iterator[None]:
    """A transaction in which a table may be remade: with foreign keys on, SQLite would empty its children."""
    if connection.dialect.name != "sqlite":
        with connection.begin():
            yield
        return
    connection = connection.execution_options(**{BEGIN: "IMMEDIATE"})
    raw = connection.connection.dbapi_connection
    raw.execute("PRAGMA foreign_keys=OFF")  # type: ignore[union-attr]  # no effect inside a transaction: first
    try:
        with connection.begin():
            yield
    finally:
        raw.execute("PRAGMA foreign_keys=ON")  # type: ignore[union-attr]
