"""Opening a register: its settings, and the registers that are refused."""

from __future__ import annotations

from pathlib import Path

import pytest
import small_register

from pmsched.domain.errors import RegisterUnusable
from pmsched.store import register as module
from pmsched.store.engine import engine_url, sqlite_file
from pmsched.store.register import Register, file_system_of


@pytest.mark.parametrize(
    ("pragma", "value"),
    [
        ("journal_mode", "wal"),
        pytest.param("synchronous", 2, id="synchronous-full"),
        ("foreign_keys", 1),
        ("recursive_triggers", 1),
        ("busy_timeout", 5000),
        ("cache_size", -65536),
        ("defer_foreign_keys", 0),
        ("ignore_check_constraints", 0),
    ],
)
def test_connections_are_set_up(register: Register, pragma: str, value: object) -> None:
    """The settings read back, on the connections that read and on those that write."""
    with register.reading() as connection:
        assert connection.exec_driver_sql(f"PRAGMA {pragma}").scalar_one() == value
    with register.writing(small_register.signature(register), rehearse=True) as work:
        assert work.connection.exec_driver_sql(f"PRAGMA {pragma}").scalar_one() == value


def test_missing_register_is_refused(tmp_path: Path) -> None:
    """A register is made only on request; nothing is left behind."""
    with pytest.raises(RegisterUnusable, match=r"There is no register at .*register\.db") as caught:
        Register(str(tmp_path / "register.db"))
    assert caught.value.code == "no-register"
    assert list(tmp_path.iterdir()) == []


def test_empty_file_is_no_register(tmp_path: Path) -> None:
    """An empty file is refused with the same code."""
    (tmp_path / "empty.db").touch()
    with pytest.raises(RegisterUnusable) as caught:
        Register(str(tmp_path / "empty.db"))
    assert caught.value.code == "no-register"


def test_register_is_made_with_its_folder(tmp_path: Path) -> None:
    """On request the folder is made too."""
    path = tmp_path / "ship" / "register.db"
    Register(str(path), create=True).close()
    assert path.is_file()


@pytest.mark.parametrize("create", [False, True])
def test_unreadable_file_is_refused(tmp_path: Path, *, create: bool) -> None:
    """A file that is no database is refused in a sentence, and left as it is."""
    path = tmp_path / "register.db"
    path.write_text("hours of the main engine\n" * 100)
    with pytest.raises(RegisterUnusable, match="cannot be used as a register: file is not a database") as caught:
        Register(str(path), create=create)
    assert caught.value.code == "register-unreadable"
    assert path.read_text() == "hours of the main engine\n" * 100


@pytest.mark.parametrize("create", [False, True])
def test_other_database_is_refused(tmp_path: Path, *, create: bool) -> None:
    """A database of another program does not become a register."""
    path = tmp_path / "other.db"
    with small_register.plain(path) as connection:
        connection.execute("CREATE TABLE cargo (id INTEGER PRIMARY KEY)")
    with pytest.raises(RegisterUnusable) as caught:
        Register(str(path), create=create)
    assert caught.value.code == ("not-a-register" if create else "no-register")
    with small_register.plain(path) as connection:
        assert connection.execute("SELECT name FROM sqlite_master").fetchall() == [("cargo",)]


def test_newer_register_is_refused(path: Path) -> None:
    """A register written by a newer program is refused with both forms named, and not changed."""
    with small_register.plain(path) as connection:
        connection.execute("UPDATE alembic_version SET version_num = '0999'")
    with pytest.raises(RegisterUnusable, match=r"in form 0999; this program knows forms up to 0003\.") as caught:
        Register(str(path))
    assert caught.value.code == "register-newer"
    assert caught.value.exit_code == 4
    with small_register.plain(path) as connection:
        assert connection.execute("SELECT version_num FROM alembic_version").fetchall() == [("0999",)]


@pytest.mark.parametrize("kind", ["nfs4", "cifs", "smb3", "fuse.sshfs"])
def test_network_folder_is_refused(path: Path, monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    """Write-ahead logs do not work over a network; the kind is named."""
    monkeypatch.setattr(module, "file_system_of", lambda _folder: kind)
    with pytest.raises(RegisterUnusable, match=rf"lies on a network folder \({kind}\)") as caught:
        Register(str(path))
    assert caught.value.code == "network-folder"


def test_local_folder_is_accepted(path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A disk of this computer, or a kind nobody names, is no obstacle."""
    for kind in ("ext4", ""):
        monkeypatch.setattr(module, "file_system_of", lambda _folder, kind=kind: kind)
        Register(str(path)).close()


def test_file_system_is_that_of_the_deepest_mount(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of all mount points above a folder the longest tells its kind; names that only begin alike do not count."""
    folder = tmp_path / "share" / "ship"
    folder.mkdir(parents=True)
    mounts = tmp_path / "mounts"
    mounts.write_text(
        f"a / ext4 rw 0 0\nb {tmp_path / 'share'} cifs rw 0 0\nc {tmp_path / 'share' / 'sh'} tmpfs rw 0 0\n"
    )
    monkeypatch.setattr(module, "Path", lambda name: mounts if name == "/proc/mounts" else Path(name))
    assert file_system_of(folder) == "cifs"
    assert file_system_of(tmp_path) == "ext4"


@pytest.mark.parametrize(
    ("target", "url", "file"),
    [
        pytest.param("a/register.db", "sqlite:///a/register.db", Path("a/register.db"), id="file"),
        pytest.param("sqlite:///a/r.db", "sqlite:///a/r.db", Path("a/r.db"), id="sqlite-url"),
        pytest.param("postgresql+psycopg://ship/r", "postgresql+psycopg://ship/r", None, id="other-database"),
    ],
)
def test_targets(target: str, url: str, file: Path | None) -> None:
    """A register is named by a file or by a URL."""
    assert engine_url(target) == url
    assert sqlite_file(target) == file


def test_readers_see_one_state(register: Register) -> None:
    """What is written while somebody reads is not seen by that reading."""
    with register.reading() as connection:
        question = "SELECT count(*) FROM entry"
        before = connection.exec_driver_sql(question).scalar_one()
        small_register.read_round(register, small_register.START, {})
        assert connection.exec_driver_sql(question).scalar_one() == before
    with register.reading() as connection:
        assert connection.exec_driver_sql(question).scalar_one() == before + 1
