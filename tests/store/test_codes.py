"""Codes offered while somebody types: the right ones, at once, and the register is not touched by the looking."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from small_ship import build_ship

from pmsched.store.codes import KINDS, offered
from pmsched.store.register import Register

OLD = Path(__file__).parent / "old_registers"


@pytest.fixture(scope="module")
def ship(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small ship's register; nothing here writes to it."""
    return build_ship(tmp_path_factory.mktemp("codes"))


def codes(file: Path, kind: str, beginning: str = "", of: str = "") -> list[str]:
    """The codes alone."""
    return [one.code for one in offered(file, kind, beginning, of)]


def state_of(folder: Path) -> dict[str, tuple[bytes, int]]:
    """Every file of the folder, with its content and when it was last written."""
    return {path.name: (path.read_bytes(), path.stat().st_mtime_ns) for path in folder.iterdir()}


@pytest.mark.parametrize(
    ("kind", "beginning", "of", "wanted"),
    [
        pytest.param("machine", "", "", ["GE1", "GE1-PU", "ME"], id="machines"),
        pytest.param("machine", "ge1-", "", ["GE1-PU"], id="any-case"),
        pytest.param("machine", "%", "", [], id="percent-is-no-pattern"),
        pytest.param("machine", "G_1", "", [], id="underline-is-no-pattern"),
        pytest.param("machine", "\\", "", [], id="backslash-is-no-pattern"),
        pytest.param("counter", "GE", "", ["GE1-H", "GE1-S"], id="counters"),
        pytest.param("job", "", "", ["GE1-EXV", "GE1-NEW", "ME-LO", "PU-CHK"], id="jobs"),
        pytest.param("person", "", "", ["2E", "CE"], id="people"),
        pytest.param("unit", "", "ge1-exv", ["1", "2"], id="units-of-a-job"),
        pytest.param("unit", "", "ME-LO", [], id="job-without-units"),
        pytest.param("unit", "", "", ["1", "2"], id="units-of-all"),
        pytest.param("department", "e", "", ["electrical", "engine"], id="departments"),
        pytest.param("rank", "", "", ["Chief engineer", "Second engineer"], id="ranks"),
    ],
)
def test_what_begins_so_is_offered(ship: Path, kind: str, beginning: str, of: str, wanted: list[str]) -> None:
    """In the order of the codes, as they are written."""
    assert codes(ship, kind, beginning, of) == wanted


def test_codes_come_with_what_they_are_called(ship: Path) -> None:
    """So that a shell can show it beside them."""
    assert [one.said for one in offered(ship, "job", "ME")] == ["Change lube oil"]
    assert [one.said for one in offered(ship, "counter", "ME-H")] == ["Main engine hours"]


def test_nothing_is_left_beside_a_register_nobody_uses(ship: Path) -> None:
    """No log, no index, no new time of change."""
    before = state_of(ship.parent)
    for kind in KINDS:
        offered(ship, kind)
    assert state_of(ship.parent) == before


def test_what_another_program_entered_a_moment_ago_is_offered(tmp_path: Path) -> None:
    """While the register is open its newest entries lie in the log beside it."""
    ship = build_ship(tmp_path)
    with closing(sqlite3.connect(ship)) as other:
        other.execute("PRAGMA wal_autocheckpoint = 0")
        other.execute(
            "INSERT INTO machine SELECT id + 1000000, entry_id, id + 1000000, NULL, 0, NULL, site_id, 'NEW' "
            "FROM machine WHERE code = 'ME'"
        )
        other.commit()
        assert codes(ship, "machine", "N") == ["NEW"]


def test_a_register_of_an_older_form_is_not_brought_to_the_new_one(tmp_path: Path) -> None:
    """Its codes are offered; the upgrade waits for a command that needs it."""
    old = tmp_path / "old.db"
    old.write_bytes((OLD / "form_0001.db").read_bytes())
    before = state_of(tmp_path)
    assert codes(old, "machine")
    assert state_of(tmp_path) == before


@pytest.mark.parametrize("kind", ["missing", "folder", "letter", "empty", "newer"])
def test_nothing_is_offered_where_nothing_can_be_read(ship: Path, tmp_path: Path, kind: str) -> None:
    """And nothing is made or changed there."""
    file = tmp_path / "register.db"
    if kind == "folder":
        file.mkdir()
    elif kind in {"letter", "empty"}:
        file.write_bytes(b"not a database, but a letter to the owners" * (100 if kind == "letter" else 0))
    elif kind == "newer":
        file.write_bytes(ship.read_bytes())
        with closing(sqlite3.connect(file)) as newer:
            newer.execute("UPDATE alembic_version SET version_num = '9999'")
            newer.commit()
    before = sorted(tmp_path.iterdir())
    assert codes(file, "machine") == []
    assert sorted(tmp_path.iterdir()) == before


def test_hidden_characters_are_not_handed_to_the_terminal(tmp_path: Path) -> None:
    """They cannot come in; a file that was tampered with may hold them."""
    ship = build_ship(tmp_path)
    with closing(sqlite3.connect(ship)) as tampered:
        tampered.execute(
            "INSERT INTO machine SELECT id + 1000000, entry_id, id + 1000000, NULL, 0, NULL, site_id, 'ME\x1b[2J' "
            "FROM machine WHERE code = 'ME'"
        )
        tampered.commit()
    assert codes(ship, "machine", "ME") == ["ME"]


def test_the_register_is_sound_afterwards(ship: Path) -> None:
    """It opens as before."""
    offered(ship, "machine")
    with Register(str(ship)) as register:
        assert register.copy_before_upgrade is None
