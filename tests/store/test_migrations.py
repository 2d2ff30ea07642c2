"""Migrations: one line of them, ending in the form this program knows, with the very tables and triggers of the models."""

from __future__ import annotations

import sqlite3
import threading
from pathlib import Path

import pytest
import small_register
from alembic.autogenerate import compare_metadata
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from pmsched.domain.errors import RegisterUnusable
from pmsched.store import migrate
from pmsched.store.migrate import HEAD, migrations_dir, revision_of
from pmsched.store.register import Register
from pmsched.store.tables import APPEND_ONLY, metadata
from pmsched.store.triggers import trigger_sql, unique_keys
from pmsched.store.verify import verify


def script() -> ScriptDirectory:
    """The migrations of this checkout."""
    config = Config()
    config.set_main_option("script_location", str(migrations_dir()))
    config.set_main_option("path_separator", "os")
    return ScriptDirectory.from_config(config)


def test_there_is_one_head() -> None:
    """The migrations form one line, and the constant that is compared at start names its end."""
    assert script().get_heads() == [HEAD]


def test_register_is_made_in_this_form(register: Register) -> None:
    """A new register is at once in the newest form, and no copy was made before."""
    with register.reading() as connection:
        assert revision_of(connection) == HEAD
    assert register.copy_before_upgrade is None


def test_migrated_tables_are_the_models(register: Register) -> None:
    """Columns, types, indexes and constraints that the migrations make are those of the models."""
    with register.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert compare_metadata(context, metadata) == []


def test_migrated_checks_are_the_models(register: Register) -> None:
    """CHECK constraints too, which the comparison above does not see."""
    with register.reading() as connection:
        for table in APPEND_ONLY.values():
            made = connection.execute(
                text("SELECT sql FROM sqlite_master WHERE type = 'table' AND name = :name"), {"name": table.name}
            ).scalar_one()
            checks = {str(c.sqltext) for c in table.constraints if hasattr(c, "sqltext")}
            assert made.count("CHECK (") == len(checks)
            assert all(f"CHECK ({check})" in made for check in checks)


def test_migrated_triggers_are_the_models(register: Register) -> None:
    """Every append-only table has its triggers, made for the unique keys it has."""
    expected: dict[str, str] = {}
    for name, table in APPEND_ONLY.items():
        expected |= {trigger: sql[0] for trigger, sql in trigger_sql(name, unique_keys(table), "sqlite").items()}
    with register.reading() as connection:
        found = connection.execute(text("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'"))
        assert {row.name: row.sql for row in found} == expected
    assert len(expected) == 3 * len(APPEND_ONLY)


def test_unique_keys_are_the_indexes(register: Register) -> None:
    """The keys the triggers look at are all the unique keys the database has."""
    with register.reading() as connection:
        for name, table in APPEND_ONLY.items():
            ask = connection.exec_driver_sql
            unique = [row[1] for row in ask(f"PRAGMA index_list({name})") if row[2]]
            found = {tuple(row[2] for row in ask(f"PRAGMA index_info({index})")) for index in unique}
            assert found == set(unique_keys(table)) - {("id",)}


def test_failed_migration_leaves_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A migration that fails half-way leaves no table behind, and can be tried again."""
    path = tmp_path / "register.db"

    def no_triggers(*_arguments: object) -> dict[str, list[str]]:
        return {"wrong": ["CREATE TRIGGER wrong"]}

    with monkeypatch.context() as patched:
        patched.setattr("pmsched.store.triggers.trigger_sql", no_triggers)
        with pytest.raises(RegisterUnusable, match="incomplete input"):
            Register(str(path), create=True)
    with small_register.plain(path) as connection:
        assert connection.execute("SELECT name FROM sqlite_master").fetchall() == []
    Register(str(path), create=True).close()


def test_registers_made_at_the_same_time(tmp_path: Path) -> None:
    """Programs that start at once on an empty place make one register."""
    failures: list[BaseException] = []

    def start() -> None:
        try:
            with Register(str(tmp_path / "register.db"), create=True) as register:
                assert verify(register) == []
        except BaseException as error:  # noqa: BLE001 - told below, where pytest sees it
            failures.append(error)

    threads = [threading.Thread(target=start) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert failures == []


def test_copy_is_made_before_an_upgrade(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The file as it was stays beside the upgraded one, named by both forms."""
    monkeypatch.setattr(migrate, "HEAD", "9999")
    monkeypatch.setattr(migrate, "_upgrade", lambda _engine: None)
    with Register(str(path)) as register:
        copy = register.copy_before_upgrade
    assert copy == path.with_name(f"register.db.before-{HEAD}-to-9999")
    with sqlite3.connect(copy) as connection:
        assert connection.execute("SELECT count(*) FROM entry").fetchone() == (7,)
    connection.close()


def test_installation_without_migrations_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A broken installation is named as such."""
    monkeypatch.setattr(migrate, "__file__", str(tmp_path / "pmsched" / "store" / "migrate.py"))
    with pytest.raises(RegisterUnusable) as caught:
        migrations_dir()
    assert caught.value.code == "migrations-missing"


def test_downgrade_is_refused(register: Register) -> None:
    """Facts are never removed, so there is no way back but the copy made before."""
    for revision in script().walk_revisions():
        with pytest.raises(NotImplementedError):
            revision.module.downgrade()
    assert verify(register) == []
