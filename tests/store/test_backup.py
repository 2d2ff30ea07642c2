"""Back-ups are whole, sound and never overwritten; a restore loses nothing and issues no id twice."""

from __future__ import annotations

import os
import shutil
import sqlite3
import threading
from pathlib import Path

import attached
import pytest
import small_register

from pmsched.domain.errors import Ambiguous, RegisterUnusable
from pmsched.store import backup as module
from pmsched.store import files
from pmsched.store.attached_check import check_files
from pmsched.store.attached_files import BESIDE_BACKUPS
from pmsched.store.backup import backup, replaced_name, restore
from pmsched.store.book import first_id
from pmsched.store.opening import open_next_book
from pmsched.store.rebuild import rebuild, tables_equal
from pmsched.store.register import Register
from pmsched.store.verify import verify

AT = small_register.START
REPLACED = "register.db.replaced-20300115T080000Z"


@pytest.fixture
def kept(path: Path, tmp_path: Path) -> Path:
    """A back-up of the small register."""
    with Register(str(path)) as register:
        backup(register, tmp_path / "kept.db")
    return tmp_path / "kept.db"


def restored(kept: Path, path: Path, signer: str = "CE") -> module.RestoreReport:
    """Restore, signed at a fixed time."""
    return restore(kept, path, signer, AT, 120)


def names(folder: Path) -> list[str]:
    """All files in a folder."""
    return sorted(path.name for path in folder.iterdir())


def write(path: Path) -> int:
    """One more entry; the id of its first fact."""
    with Register(str(path)) as register, register.reading() as connection:
        counter = connection.exec_driver_sql("SELECT id FROM counter").scalar_one()
    with Register(str(path)) as register:
        return small_register.read_round(register, AT, {counter: 1}).entry_id + 1


def test_backup_is_the_register(register: Register, tmp_path: Path) -> None:
    """The copy has every row, is a sound register, and the report names its last entry and seal."""
    target = tmp_path / "kept.db"
    last = small_register.read_round(register, AT, {})
    report = backup(register, target)
    assert report[:5] == (target, target.stat().st_size, last.book, last.no, last.seal)
    with Register(str(target)) as copy:
        assert tables_equal(register, copy) == []
        assert verify(copy) == []


def test_backup_is_one_file(register: Register, tmp_path: Path) -> None:
    """It needs no files beside it, nothing is left over, and it can be read where nothing can be written."""
    folder = tmp_path / "stick"
    folder.mkdir()
    backup(register, folder / "kept.db")
    assert names(folder) == ["kept.db"]
    with sqlite3.connect(f"file:{folder / 'kept.db'}?immutable=1", uri=True) as connection:
        assert connection.execute("PRAGMA journal_mode").fetchone() == ("delete",)
        assert connection.execute("SELECT count(*) FROM entry").fetchone() == (7,)
    connection.close()


def test_backup_while_others_write(register: Register, tmp_path: Path) -> None:
    """A register in use is copied as it was at one moment, between two entries."""
    stop = threading.Event()
    small_register.many_readings(register, 3, 2000)

    def keep_writing() -> None:
        while not stop.is_set():
            small_register.read_round(register, AT, {})

    writer = threading.Thread(target=keep_writing)
    writer.start()
    try:
        reports = [backup(register, tmp_path / f"kept-{n}.db") for n in range(3)]
    finally:
        stop.set()
        writer.join()
    for report in reports:
        with Register(str(report.path)) as copy:
            assert verify(copy) == []


def test_backup_tells_its_progress(register: Register, tmp_path: Path) -> None:
    """The share done only grows, past the half for the copy and to 1."""
    told: list[float] = []
    backup(register, tmp_path / "kept.db", told.append)
    assert told == sorted(told)
    assert told[0] <= 0.5
    assert told[-1] == 1.0


def test_backup_overwrites_nothing(register: Register, tmp_path: Path) -> None:
    """A file of that name stays as it is."""
    (tmp_path / "kept.db").write_text("older")
    with pytest.raises(RegisterUnusable) as caught:
        backup(register, tmp_path / "kept.db")
    assert caught.value.code == "target-exists"
    assert (tmp_path / "kept.db").read_text() == "older"


def test_name_taken_meanwhile_is_kept(register: Register, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even a file that comes into being while the copy is made is not overwritten; nothing is left over."""
    folder = tmp_path / "stick"
    folder.mkdir()

    def sync_and_take(_path: Path) -> None:
        (folder / "kept.db").write_text("theirs")

    monkeypatch.setattr(module, "sync", sync_and_take)
    with pytest.raises(RegisterUnusable) as caught:
        backup(register, folder / "kept.db")
    assert caught.value.code == "target-exists"
    assert names(folder) == ["kept.db"]
    assert (folder / "kept.db").read_text() == "theirs"


def test_flawed_register_is_not_backed_up(path: Path, tmp_path: Path) -> None:
    """A copy that is not as it was signed gets no name; the first flaw is told."""
    folder = tmp_path / "stick"
    folder.mkdir()
    with small_register.behind_its_back(path) as connection:
        connection.execute("UPDATE alias SET name = 'AE'")
    with (
        Register(str(path)) as register,
        pytest.raises(RegisterUnusable, match=r"has 1 flaw, first: .*alias") as caught,
    ):
        backup(register, folder / "kept.db")
    assert caught.value.code == "register-flawed"
    assert names(folder) == []


def test_backup_needs_a_folder(register: Register, tmp_path: Path) -> None:
    """Where nothing can be written, that is said."""
    with pytest.raises(RegisterUnusable, match="No back-up was made") as caught:
        backup(register, tmp_path / "no" / "kept.db")
    assert caught.value.code == "not-written"


def test_register_without_entries_is_not_backed_up(tmp_path: Path) -> None:
    """There is nothing in it to come back to."""
    with Register(str(tmp_path / "new.db"), create=True) as register, pytest.raises(RegisterUnusable) as caught:
        backup(register, tmp_path / "kept.db")
    assert caught.value.code == "not-set-up"
    assert not (tmp_path / "kept.db").exists()


def test_restore_into_an_empty_place(kept: Path, tmp_path: Path) -> None:
    """The register is what the back-up was, and goes on in a new book."""
    path = tmp_path / "new ship" / "register.db"
    report = restored(kept, path)
    assert (report.path, report.replaced) == (path, None)
    assert (report.book, report.continues_book, report.continues_no) == (2049, 2048, 7)
    assert names(path.parent) == ["register.db"]
    with Register(str(path)) as register:
        assert verify(register) == []
        with register.reading() as connection:
            entry = connection.exec_driver_sql("SELECT book, no, deed, rank, recorded_at, offset_minutes FROM entry")
            assert entry.all()[-1] == (2049, 1, "open book", "Chief engineer", AT, 120)
        assert small_register.read_round(register, AT, {})[1:3] == (2049, 2)


def test_restore_keeps_the_register_in_the_way(kept: Path, path: Path) -> None:
    """It gets another name with the time in it, and has all that was in it, its latest entries included."""
    write(path)
    shutil.copyfile(path, path.with_name("before.db"))
    report = restored(kept, path)
    assert report.replaced == path.with_name(REPLACED)
    assert names(path.parent) == ["before.db", "kept.db", "register.db", REPLACED]
    with Register(str(report.replaced)) as replaced, Register(str(path.with_name("before.db"))) as before:
        assert tables_equal(replaced, before) == []
        assert verify(replaced) == []


def test_entries_in_the_log_are_kept(kept: Path, path: Path) -> None:
    """What a crash left in the write-ahead log belongs to the register that is kept."""
    with Register(str(path)) as register:
        small_register.read_round(register, AT, {})
        shutil.copyfile(path, path.with_name("crashed.db"))
        shutil.copyfile(files.beside(path, "-wal"), path.with_name("crashed.db-wal"))
    report = restored(kept, path.with_name("crashed.db"))
    assert report.replaced is not None
    assert not files.beside(report.replaced, "-wal").exists()
    with Register(str(report.replaced)) as replaced, replaced.reading() as connection:
        assert connection.exec_driver_sql("SELECT count(*) FROM entry").scalar_one() == 8


def test_restored_twice_at_one_time(kept: Path, path: Path) -> None:
    """Neither register that was in the way is overwritten by the other."""
    first, second = restored(kept, path), restored(kept, path)
    assert first.replaced == path.with_name(REPLACED)
    assert second.replaced == path.with_name(f"{REPLACED}-2")
    assert replaced_name(path, AT) == path.with_name(f"{REPLACED}-3")


def test_no_id_is_issued_twice(kept: Path, path: Path) -> None:
    """Ids used since the back-up, and since an earlier restore of it, are not used again."""
    used = [write(path)]
    for _ in range(3):
        restored(kept, path)
        used.append(write(path))
    assert len(set(used)) == 4
    assert [identity >> 40 for identity in used] == [2048, 2049, 2050, 2051]


def test_openings_of_the_register_in_the_way_count(kept: Path, path: Path) -> None:
    """The new book is above every one that the register in the way knows."""
    with Register(str(path)) as register:
        open_next_book(register, "test", small_register.signature(register), minimum_opening=30)
    assert restored(kept, path).book == 2048 + 31


def test_openings_of_replaced_registers_count(kept: Path, path: Path) -> None:
    """So do the books of registers that were replaced earlier; where the last one is gone, the new one leaps over it."""
    with Register(str(path)) as register:
        open_next_book(register, "test", small_register.signature(register), minimum_opening=30)
    restored(kept, path)
    path.unlink()
    assert restored(kept, path).book == 2048 + 30 + 64


@pytest.mark.parametrize("content", [pytest.param(b"\x00" * 9000, id="no-database"), pytest.param(b"", id="empty")])
def test_unreadable_register_in_the_way(kept: Path, path: Path, content: bytes) -> None:
    """It is kept as it is; its openings cannot be known, so the new one leaps over any it may have had."""
    path.write_bytes(content)
    report = restored(kept, path)
    assert report.replaced is not None
    assert report.replaced.read_bytes() == content
    assert report.book == 2048 + 64
    with Register(str(path)) as register:
        assert verify(register) == []


def test_damaged_register_in_the_way_keeps_its_log(kept: Path, path: Path) -> None:
    """A log that SQLite could not work in goes along with its file, and never meets the restored one."""
    path.write_bytes(b"damaged" * 1000)
    files.beside(path, "-wal").write_bytes(b"log" * 100)
    report = restored(kept, path)
    assert report.replaced is not None
    assert files.beside(report.replaced, "-wal").read_bytes() == b"log" * 100
    assert names(path.parent) == ["kept.db", "register.db", REPLACED, f"{REPLACED}-wal"]


def test_register_in_use_is_not_replaced(kept: Path, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A register that is open anywhere is left in peace."""
    monkeypatch.setattr(files, "_BUSY_SECONDS", 0.0)
    with Register(str(path)), pytest.raises(RegisterUnusable, match="is open in another program") as caught:
        restored(kept, path)
    assert caught.value.code == "register-in-use"
    assert names(path.parent) == ["kept.db", "register.db"]
    with Register(str(path)) as register:
        assert verify(register) == []


def test_unknown_signer_is_told_the_choices(kept: Path, path: Path) -> None:
    """Who signs must be known to the back-up; nothing is changed."""
    with pytest.raises(Ambiguous, match="Nobody in the back-up has the code XX") as caught:
        restored(kept, path, "XX")
    assert caught.value.choices == ("CE", "2E")
    assert names(path.parent) == ["kept.db", "register.db"]


def test_signer_in_any_case(kept: Path, path: Path) -> None:
    """A code may be typed in small letters."""
    assert restored(kept, path, "ce").book == 2049


def test_flawed_backup_is_refused(kept: Path, path: Path) -> None:
    """A back-up that is not as it was signed does not replace anything."""
    with small_register.behind_its_back(kept) as connection:
        connection.execute("UPDATE alias SET name = 'AE'")
    with pytest.raises(RegisterUnusable, match="The back-up has 1 flaw, first: ") as caught:
        restored(kept, path)
    assert caught.value.code == "backup-flawed"
    assert names(path.parent) == ["kept.db", "register.db"]


@pytest.mark.parametrize(
    ("content", "code"),
    [
        pytest.param(None, "no-backup", id="missing"),
        pytest.param(b"no database, but long enough to be read as one" * 20, "register-unreadable", id="no-database"),
        pytest.param(b"", "no-register", id="empty"),
    ],
)
def test_useless_backup_is_refused(path: Path, tmp_path: Path, content: bytes | None, code: str) -> None:
    """A back-up that cannot be read is named, and nothing is changed."""
    kept = tmp_path / "useless.db"
    if content is not None:
        kept.write_bytes(content)
    with pytest.raises(RegisterUnusable, match=r"useless\.db") as caught:
        restored(kept, path)
    assert caught.value.code == code
    assert "Try another back-up." in str(caught.value) or code == "no-backup"
    assert ".part" not in " ".join(names(tmp_path))


def test_backup_without_entries_is_refused(path: Path, tmp_path: Path) -> None:
    """There is nobody in it who could sign."""
    Register(str(tmp_path / "useless.db"), create=True).close()
    with pytest.raises(
        RegisterUnusable, match=r"useless\.db is of no use: This register has not been set up"
    ) as caught:
        restored(tmp_path / "useless.db", path)
    assert caught.value.code == "not-set-up"


def test_register_is_no_backup_of_itself(path: Path) -> None:
    """The register's own name is a mistake."""
    with pytest.raises(RegisterUnusable) as caught:
        restored(path, path)
    assert caught.value.code == "same-file"


def test_backup_is_not_changed(kept: Path, path: Path) -> None:
    """A restore only reads the back-up, and leaves nothing beside it."""
    before = kept.read_bytes()
    folder = path.parent / "stick"
    folder.mkdir()
    shutil.move(kept, folder / "kept.db")
    restored(folder / "kept.db", path)
    assert (folder / "kept.db").read_bytes() == before
    assert names(folder) == ["kept.db"]


def test_copy_made_by_hand_is_restored_with_its_log(path: Path, tmp_path: Path) -> None:
    """Whoever copied the files of a running register, log and all, loses nothing of it."""
    with Register(str(path)) as register:
        small_register.read_round(register, AT, {})
        for name in ("register.db", "register.db-wal"):
            shutil.copyfile(tmp_path / name, tmp_path / name.replace("register", "hand"))
    report = restored(tmp_path / "hand.db", tmp_path / "new.db")
    assert report.continues_no == 8


def test_rebuilt_register_is_restored(path: Path, tmp_path: Path) -> None:
    """A register rebuilt from its bodies is a back-up like any other."""
    with Register(str(path)) as register:
        rebuild(register, tmp_path / "rebuilt.db")
    assert restored(tmp_path / "rebuilt.db", path).book == 2049
    assert write(path) == first_id(2049) + 3


# --- attached files ---------------------------------------------------------------------------------------------------

A, B = b"first photo", b"second photo"


def attach(path: Path, *contents: bytes) -> None:
    """Attach files of these contents to the report, whose own photo is put in its place too."""
    with Register(str(path)) as register:
        (report,) = {row.report for row in attached.rows(register)}
        photos = enumerate((small_register.PHOTO, *contents))
        files = [attached.made(path.parent / "camera", f"{number}.jpg", content) for number, content in photos]
        attached.attached(register, report, *files)


def beside(folder: Path) -> list[str]:
    """The names of the files that the back-ups of a folder keep."""
    return sorted(path.name for path in (folder / BESIDE_BACKUPS).rglob("*") if path.is_file())


def test_attached_files_come_along(path: Path, tmp_path: Path) -> None:
    """Into one folder for all back-ups of a place; what is there already is not copied again."""
    stick = tmp_path / "stick"
    stick.mkdir()
    attach(path, A)
    with Register(str(path)) as register:
        assert backup(register, stick / "1.db").files == (2, ())
        before = {one: one.stat().st_ino for one in (stick / BESIDE_BACKUPS).rglob("*") if one.is_file()}
    attach(path, A, B)
    with Register(str(path)) as register:
        assert backup(register, stick / "2.db").files == (3, ())
    assert names(stick) == ["1.db", "2.db", BESIDE_BACKUPS]
    assert beside(stick) == attached.hashes(small_register.PHOTO, A, B)
    assert {one: one.stat().st_ino for one in before} == before


@pytest.mark.parametrize("altered", [A[:3], A[:-1] + b"!"], ids=["cut-off", "same-size"])
def test_altered_copy_beside_a_backup_is_copied_again(path: Path, tmp_path: Path, altered: bytes) -> None:
    """What is called verified was read, also where it was there already."""
    attach(path, A)
    with Register(str(path)) as register:
        backup(register, tmp_path / "1.db")
        (place,) = (one for one in (tmp_path / BESIDE_BACKUPS).rglob("*") if one.name == attached.hashes(A)[0])
        place.write_bytes(altered)
        backup(register, tmp_path / "2.db")
    assert place.read_bytes() == A


@pytest.mark.parametrize("lost", [True, False], ids=["lost", "altered"])
def test_lacking_file_does_not_keep_from_backing_up(path: Path, tmp_path: Path, *, lost: bool) -> None:
    """The back-up is made, is whole without it, and says which file is lacking, with its report."""
    stick = tmp_path / "stick"
    stick.mkdir()
    attach(path, A)
    place = attached.place_of(path, A)
    if lost:
        place.unlink()
    else:
        place.write_bytes(B)
    with Register(str(path)) as register:
        report = backup(register, stick / "kept.db")
        (row,) = {row.report for row in attached.rows(register)}
    assert report.files == (1, (f"1.jpg, attached to report {row}",))
    assert beside(stick) == attached.hashes(small_register.PHOTO)
    with Register(str(report.path)) as copy:
        assert verify(copy) == []


def test_no_backup_has_its_name_without_its_files(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where they cannot be written there is no back-up."""
    attach(path, A)

    def full(*_arguments: object, **_more: object) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr(module, "bring_files", full)
    with Register(str(path)) as register, pytest.raises(RegisterUnusable, match="No space left") as caught:
        backup(register, tmp_path / "kept.db")
    assert caught.value.code == "not-written"
    assert "kept.db" not in names(tmp_path)


def test_attached_files_come_back(path: Path, tmp_path: Path) -> None:
    """A restore brings them to the folder of the register, wherever it is."""
    attach(path, A)
    with Register(str(path)) as register:
        backup(register, tmp_path / "kept.db")
    new = tmp_path / "new ship" / "register.db"
    assert restored(tmp_path / "kept.db", new).files == (2, ())
    assert attached.kept(new) == attached.hashes(small_register.PHOTO, A)
    with Register(str(new)) as register:
        assert check_files(register).flaws == ()


def test_restore_puts_back_what_is_lost_or_altered(path: Path, tmp_path: Path) -> None:
    """In the place of the register; what was attached since stays for the register that is kept beside it."""
    attach(path, A)
    with Register(str(path)) as register:
        backup(register, tmp_path / "kept.db")
    attach(path, A, B)
    attached.place_of(path, small_register.PHOTO).unlink()
    attached.place_of(path, A).write_bytes(A[::-1])
    report = restored(tmp_path / "kept.db", path)
    assert report.files == (2, ())
    assert report.replaced is not None
    for one, read in ((path, 2), (report.replaced, 3)):
        with Register(str(one)) as register:
            found = check_files(register)
            assert (found.read, found.flaws) == (read, ())


def test_backup_without_its_folder_is_restored(path: Path, tmp_path: Path) -> None:
    """All but the files; it is told which are lacking."""
    attach(path, A)
    with Register(str(path)) as register:
        backup(register, tmp_path / "kept.db")
    (tmp_path / BESIDE_BACKUPS).rename(tmp_path / "left ashore")
    new = tmp_path / "new ship" / "register.db"
    report = restored(tmp_path / "kept.db", new)
    assert report.files.there == 0
    assert [said.split(",")[0] for said in report.files.lacking] == ["1.jpg", "filter [torn].jpg"]
    assert names(new.parent) == ["register.db"]
    with Register(str(new)) as register:
        assert verify(register) == []


def test_restored_through_a_link(path: Path, tmp_path: Path) -> None:
    """The register goes to where the link points, its files beside it; the link stays."""
    attach(path, A)
    with Register(str(path)) as register:
        backup(register, tmp_path / "kept.db")
    (tmp_path / "disk").mkdir()
    real, link = tmp_path / "disk" / "ship.db", tmp_path / "link" / "register.db"
    link.parent.mkdir()
    link.symlink_to(real)
    for number in (1, 2):
        report = restored(tmp_path / "kept.db", link)
        assert (report.path, report.files.there, link.is_symlink()) == (real.resolve(), 2, True)
        assert (report.replaced is not None) == (number == 2)
    with Register(str(link)) as register:
        assert (check_files(register).read, check_files(register).flaws) == (2, ())
    assert names(link.parent) == ["register.db"]


def test_files_of_a_register_copied_by_hand_come_along(path: Path, tmp_path: Path) -> None:
    """With the folder that bears its name."""
    attach(path, A)
    hand = tmp_path / "hand"
    hand.mkdir()
    shutil.copyfile(path, hand / "copy.db")
    shutil.copytree(tmp_path / "register.db.files", hand / "copy.db.files")
    assert restored(hand / "copy.db", tmp_path / "new" / "register.db").files == (2, ())


def test_restore_without_room_for_the_files(path: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The register in the way stays."""
    attach(path, A)
    with Register(str(path)) as register:
        backup(register, tmp_path / "kept.db")
    before = names(tmp_path)

    def full(*_arguments: object, **_more: object) -> None:
        raise OSError("No space left on device")

    monkeypatch.setattr(module, "bring_files", full)
    with pytest.raises(RegisterUnusable, match="The attached files could not be copied: No space left"):
        restored(tmp_path / "kept.db", path)
    assert names(tmp_path) == before


def test_systems_without_second_names(kept: Path, path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a file cannot have two names, it is moved instead."""

    def no_links(*_names: object) -> None:
        raise OSError("no second names here")

    monkeypatch.setattr(os, "link", no_links)
    assert restored(kept, path).replaced == path.with_name(REPLACED)
    with Register(str(path)) as register:
        assert backup(register, path.with_name("second.db")).book == 2049
    assert names(path.parent) == ["kept.db", "register.db", REPLACED, "second.db"]
