"""Registers kept as earlier versions wrote them are opened, verified and rebuilt."""

from __future__ import annotations

import shutil
from pathlib import Path

import make_old_register
import pytest
from sqlalchemy import func, select

from pmsched.store.rebuild import rebuild, tables_equal
from pmsched.store.register import Register
from pmsched.store.tables import APPEND_ONLY
from pmsched.store.verify import verify

KEPT = Path(__file__).parent / "old_registers"
ROWS = {
    "form_0001.db": {
        "entry": 9, "book": 2, "site": 1, "site_revision": 1, "clock_change": 1, "setting": 1, "person": 2,
        "person_revision": 2, "machine": 1, "machine_revision": 1, "alias": 1, "counter": 1, "counter_revision": 1,
        "meter_period": 1, "counts_on": 1, "reading": 6, "job": 1, "job_revision": 1, "job_unit": 1, "report": 1,
        "closing": 1, "closing_count": 1, "part": 1, "part_revision": 1, "part_move": 1, "isolation": 0,
        "isolation_end": 0, "attachment": 0,
    },
    "form_0002.db": {
        "entry": 9, "book": 2, "site": 1, "site_revision": 1, "clock_change": 1, "setting": 1, "person": 2,
        "person_revision": 2, "machine": 1, "machine_revision": 1, "alias": 1, "counter": 1, "counter_revision": 1,
        "meter_period": 1, "counts_on": 1, "reading": 6, "job": 1, "job_revision": 1, "job_unit": 1, "report": 1,
        "closing": 1, "closing_count": 1, "part": 1, "part_revision": 1, "part_move": 1, "isolation": 1,
        "isolation_end": 1, "attachment": 0,
    },
    "form_0003.db": {
        "entry": 9, "book": 2, "site": 1, "site_revision": 1, "clock_change": 1, "setting": 1, "person": 2,
        "person_revision": 2, "machine": 1, "machine_revision": 1, "alias": 1, "counter": 1, "counter_revision": 1,
        "meter_period": 1, "counts_on": 1, "reading": 6, "job": 1, "job_revision": 1, "job_unit": 1, "report": 1,
        "closing": 1, "closing_count": 1, "part": 1, "part_revision": 1, "part_move": 1, "isolation": 1,
        "isolation_end": 1, "attachment": 1,
    },
}  # fmt: skip
LAST_SEALS = {"form_0001.db": "9579e1cef79f", "form_0002.db": "c92d638e636a", "form_0003.db": "1f9b0c955989"}


@pytest.fixture(params=ROWS)
def old(request: pytest.FixtureRequest, tmp_path: Path) -> Path:
    """A copy of a kept register."""
    copy = tmp_path / str(request.param)
    shutil.copyfile(KEPT / copy.name, copy)
    return copy


def rows(register: Register) -> dict[str, int]:
    """How many rows each table has."""
    with register.reading() as connection:
        ask = connection.execute
        return {name: ask(select(func.count()).select_from(table)).scalar_one() for name, table in APPEND_ONLY.items()}


def last_seal(register: Register) -> str:
    """The hash of the last entry, as far as a seal shows it."""
    with register.reading() as connection:
        asked = "SELECT lower(substr(hex(hash), 1, 12)) FROM entry ORDER BY id DESC LIMIT 1"
        return str(connection.exec_driver_sql(asked).scalar_one())


def test_every_kept_register_is_tried() -> None:
    """Each file of the folder has its row counts here, and none has files beside it."""
    assert sorted(path.name for path in KEPT.iterdir()) == sorted(ROWS)


def test_old_register_is_sound(old: Path) -> None:
    """It opens, has every row it had, ends with the seal it had, and has no flaw."""
    with Register(str(old)) as register:
        assert rows(register) == ROWS[old.name]
        assert last_seal(register) == LAST_SEALS[old.name]
        assert verify(register) == []


def test_old_register_is_rebuilt(old: Path, tmp_path: Path) -> None:
    """Its bodies are still read: tables made from them equal those that were kept."""
    with Register(str(old)) as register:
        rebuild(register, tmp_path / "rebuilt.db")
        with Register(str(tmp_path / "rebuilt.db")) as rebuilt:
            assert tables_equal(register, rebuilt) == []
            assert rows(rebuilt) == ROWS[old.name]
            assert verify(rebuilt) == []


def schema(register: Register) -> set[str]:
    """Every statement that made a table, an index or a trigger."""
    with register.reading() as connection:
        return set(connection.exec_driver_sql("SELECT sql FROM sqlite_master WHERE sql IS NOT NULL").scalars())


def test_this_version_writes_the_same(tmp_path: Path) -> None:
    """The newest kept register is what this program makes today: its tables, its rows, to the last seal."""
    newest = max(ROWS)
    shutil.copyfile(KEPT / newest, tmp_path / newest)
    make_old_register.make_old_register(tmp_path / "made.db")
    with Register(str(tmp_path / "made.db")) as made, Register(str(tmp_path / newest)) as kept:
        assert rows(made) == ROWS[newest]
        assert last_seal(made) == LAST_SEALS[newest]
        assert schema(made) == schema(kept)
