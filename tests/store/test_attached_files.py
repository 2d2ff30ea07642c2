"""Attached files: taken in whole, kept by their hash before the entry, and found out where they are not as signed."""

from __future__ import annotations

import errno
import os
from collections.abc import Callable
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest
from attached import NOW, attached, hashes, kept, made, place_of, rows
from small_register import PHOTO
from sqlalchemy import event

from pmsched.domain.errors import NotAllowed, NotFound, Refusal, RegisterUnusable
from pmsched.store import attached_check, attached_files, staged_files
from pmsched.store.attached_check import bring_files, check_files
from pmsched.store.attached_files import BESIDE_BACKUPS, clear_parts, folder_of, folders_of, place_in, write_out
from pmsched.store.register import Register
from pmsched.store.staged_files import MOST_BYTES, media_type_of, staged
from pmsched.usecases.ask_attachments import save_attachment
from pmsched.usecases.attaching import strike_attachment
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

A, B = b"first photo", b"second photo"


@pytest.fixture
def files(tmp_path: Path) -> Path:
    """A folder of the person's own."""
    return tmp_path / "camera"


@pytest.fixture
def report(register: Register) -> str:
    """The number of the report, whose own photo lies in its place."""
    (row,) = rows(register)
    attached(register, row.report, made(Path(register.target).parent / "own", "filter.jpg", PHOTO))
    return row.report


# --- taken in -------------------------------------------------------------------------------------------------------


def test_kept_by_hash(register: Register, path: Path, files: Path) -> None:
    """With name, guessed type and size; nothing else is left in the folder."""
    with staged(register, [made(files, "IMG 1.JPG", A)]) as found:
        (one,) = found.files
        assert (one.name, one.media_type, one.size) == ("IMG 1.JPG", "image/jpeg", len(A))
        assert found.keep(found.files) == 1
    assert place_of(path, A).read_bytes() == A
    assert kept(path) == hashes(A)


def test_not_kept_leaves_nothing(register: Register, path: Path, files: Path) -> None:
    """What was read for a deed that was refused is taken away."""
    with staged(register, [made(files, "a.jpg", A)]):
        assert len(kept(path)) == 1
    assert kept(path) == []


def test_one_content_is_one_file(register: Register, path: Path, files: Path) -> None:
    """Under the first of its names."""
    with staged(register, [made(files, "a.jpg", A), made(files, "again.jpg", A)]) as found:
        assert [one.name for one in found.files] == ["a.jpg"]
        found.keep(found.files)
    assert kept(path) == hashes(A)


def test_link_is_followed(register: Register, path: Path, files: Path) -> None:
    """The content is kept, under the name of the link."""
    link = files / "link.jpg"
    link.symlink_to(made(files, "a.jpg", A))
    with staged(register, [link]) as found:
        found.keep(found.files)
        assert found.files[0].name == "link.jpg"
    assert not place_of(path, A).is_symlink()
    assert kept(path) == hashes(A)


def test_kept_file_is_not_written_again(register: Register, path: Path, files: Path) -> None:
    """It stays the very same file; one that was altered is put back."""
    source, place = made(files, "a.jpg", A), place_of(path, A)

    def keep_again() -> int:
        with staged(register, [source]) as found:
            return found.keep(found.files)

    assert keep_again() == 1
    before = place.stat().st_ino
    assert keep_again() == 0
    assert place.stat().st_ino == before
    place.write_bytes(A[:-1] + b"!")
    assert keep_again() == 1
    assert place.read_bytes() == A


def _pipe(files: Path) -> Path:
    os.mkfifo(files / "pipe")
    return files / "pipe"


def _link(files: Path, target: str) -> Path:
    (files / "link").symlink_to(target)
    return files / "link"


@pytest.mark.parametrize(
    ("make", "code"),
    [
        pytest.param(lambda files: files / "none.jpg", "no-such-file", id="missing"),
        pytest.param(lambda files: files / "good.jpg" / "x", "no-such-file", id="in-a-file"),
        pytest.param(lambda files: _link(files, "nowhere"), "no-such-file", id="link-to-nothing"),
        pytest.param(lambda files: _link(files, "link"), "file-unreadable", id="link-to-itself"),
        pytest.param(lambda files: files / "nul\0.jpg", "file-unreadable", id="no-name"),
        pytest.param(lambda files: files / ("x" * 300), "file-unreadable", id="name-too-long"),
        pytest.param(lambda files: files, "not-a-file", id="folder"),
        pytest.param(_pipe, "not-a-file", id="pipe"),
        pytest.param(lambda files: made(files, "empty.jpg", b""), "file-empty", id="empty"),
    ],
)
def test_unfit_file_is_refused(
    register: Register, path: Path, files: Path, make: Callable[[Path], Path], code: str
) -> None:
    """By its name, before anything is read; the good one before it is not kept either."""
    good = made(files, "good.jpg", A)
    with pytest.raises((NotFound, NotAllowed)) as refused, staged(register, [good, make(files)]):
        pass
    assert refused.value.code == code
    assert refused.value.hint
    assert kept(path) == []


@pytest.mark.parametrize("late", [False, True], ids=["at-first-sight", "grown-while-read"])
def test_too_large_is_refused(
    register: Register, path: Path, files: Path, monkeypatch: pytest.MonkeyPatch, *, late: bool
) -> None:
    """With its size and the most; the most itself is kept."""
    monkeypatch.setattr(staged_files, "MOST_BYTES", 1000)
    with staged(register, [made(files, "most.jpg", bytes(1000))]):
        pass
    if late:
        monkeypatch.setattr(staged_files, "_look_at", lambda _source: None)
    with pytest.raises(NotAllowed, match=r"large\.jpg has 1\.0 kB; the most is 1\.0 kB") as refused:
        staged(register, [made(files, "large.jpg", bytes(1001))]).__enter__()
    assert refused.value.code == "file-too-large"
    assert kept(path) == []


def test_most_is_fifty_megabytes() -> None:
    """As the manual says."""
    assert MOST_BYTES == 50_000_000


def test_file_emptied_while_read_is_refused(
    register: Register, path: Path, files: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What counts is what was read."""
    monkeypatch.setattr(staged_files, "_look_at", lambda _source: None)
    with pytest.raises(NotAllowed, match="is empty"), staged(register, [made(files, "a.jpg", b"")]):
        pass
    assert kept(path) == []


def test_disk_that_cannot_read_is_told(
    register: Register, path: Path, files: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A fault of the card is a fault of that file, not of the folder."""
    source, real = made(files, "a.jpg", A), Path.open

    def broken(self: Path, *arguments: Any, **more: Any) -> Any:
        if self == source:
            raise OSError(errno.EIO, "Input/output error")
        return real(self, *arguments, **more)

    monkeypatch.setattr(Path, "open", broken)
    with pytest.raises(NotAllowed, match=r"a\.jpg cannot be read \(Input/output error\)"), staged(register, [source]):
        pass
    assert kept(path) == []


@pytest.mark.parametrize(
    ("number", "hint"), [(errno.ENOSPC, "Make room on the disk"), (errno.EROFS, "Check that the folder")]
)
def test_folder_that_cannot_be_written_is_told(
    register: Register, path: Path, files: Path, monkeypatch: pytest.MonkeyPatch, number: int, hint: str
) -> None:
    """Nothing was entered, and what to do."""

    def full(_file: int) -> None:
        raise OSError(number, os.strerror(number))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(RegisterUnusable) as refused, staged(register, [made(files, "a.jpg", A)]):
        pass
    assert refused.value.code == "files-not-kept"
    assert refused.value.hint.startswith(hint)
    assert kept(path) == []


def test_file_in_the_place_of_the_folder(register: Register, path: Path, files: Path) -> None:
    """It is not overwritten."""
    folder_of(path).write_text("mine")
    with pytest.raises(RegisterUnusable), staged(register, [made(files, "a.jpg", A)]):
        pass
    assert folder_of(path).read_text() == "mine"


def test_database_server_keeps_no_files(files: Path) -> None:
    """With no file of its own there is no place beside it; without files nothing is refused."""
    server: Any = SimpleNamespace(file=None)
    with pytest.raises(NotAllowed, match="database server") as refused, staged(server, [made(files, "a.jpg")]):
        pass
    assert refused.value.code == "no-place-for-files"
    with staged(server, []) as found:
        assert found.files == ()
        assert found.keep(()) == 0
    assert check_files(server).read == 0


def test_written_before_the_entry(
    register: Register, path: Path, files: Path, report: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Content, name and folder are on the disk before the entry is committed."""
    done: list[str] = []
    names: dict[int, str] = {}
    real_sync, real_replace, real_open = os.fsync, Path.replace, os.open

    def opened(target: Any, *arguments: Any, **more: Any) -> int:
        handle = real_open(target, *arguments, **more)
        names[handle] = Path(target).name
        return handle

    def synced(handle: int) -> None:
        done.append(f"sync {names.get(handle, 'content')}")
        real_sync(handle)

    def replaced(self: Path, target: Path) -> Path:
        done.append("name")
        return real_replace(self, target)

    monkeypatch.setattr(os, "open", opened)
    monkeypatch.setattr(os, "fsync", synced)
    monkeypatch.setattr(Path, "replace", replaced)
    event.listen(register.engine, "commit", lambda _connection: done.append("commit"))
    attached(register, report, made(files, "a.jpg", A))
    place = place_of(path, A)
    folders = [f"sync {folder_of(path).name}", f"sync {path.parent.name}"]
    deed = done[: done.index("commit") + 1]
    assert deed == ["sync content", *folders, "name", f"sync {place.parent.name}", "commit"]


@pytest.mark.parametrize(
    ("name", "kind"),
    [
        ("a.JPG", "image/jpeg"), ("a.heic", "image/heic"), ("a.webp", "image/webp"), ("a.pdf", "application/pdf"),
        ("a.xlsx", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"), ("a.txt", "text/plain"),
        ("a.tar.gz", "application/octet-stream"), ("a.unheard-of", "application/octet-stream"),
        ("a", "application/octet-stream"),
    ],
)  # fmt: skip
def test_media_type(name: str, kind: str) -> None:
    """By the ending of the name."""
    assert media_type_of(name) == kind


# --- where they lie -------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    [
        "register.db",
        "register.db.replaced-20300115T080000Z",
        "register.db.replaced-20300115T080000Z-12",
        "register.db.before-0003-to-0004",
        "register.db.replaced-20300115T080000Z.before-0003-to-0004",
    ],
)
def test_registers_put_aside_share_the_folder(name: str) -> None:
    """A register that was replaced, or kept as it was before an upgrade, finds its files where they were."""
    assert folder_of(Path("ship") / name) == Path("ship/register.db.files")


@pytest.mark.parametrize("name", ["register.db.replaced-yesterday", "my.before-us.db"])
def test_other_names_have_a_folder_of_their_own(name: str) -> None:
    """Only what this program puts aside shares one."""
    assert folder_of(Path(name)) == Path(f"{name}.files")


def test_register_opened_through_a_link_finds_its_files(
    register: Register, path: Path, files: Path, report: str, tmp_path: Path
) -> None:
    """Beside the register, not beside the link; what is attached through the link lies there too."""
    attached(register, report, made(files, "a.jpg", A))
    (tmp_path / "elsewhere").mkdir()
    link = tmp_path / "elsewhere" / "ship.db"
    link.symlink_to(path)
    with Register(str(link)) as linked:
        assert check_files(linked).read == 2
        attached(linked, report, made(files, "b.jpg", B))
    assert [one.name for one in link.parent.iterdir()] == ["ship.db"]
    assert kept(path) == hashes(PHOTO, A, B)
    assert folders_of(link)[1] == path.resolve().with_name(BESIDE_BACKUPS)


@pytest.mark.parametrize("text", ["", "../../../etc/passwd", "AB" * 32, "ab" * 31, f"{'ab' * 32}\n", "ab" * 33])
def test_what_is_no_hash_names_no_place(text: str, tmp_path: Path) -> None:
    """A register made by somebody else cannot lead out of the folder."""
    assert place_in(tmp_path, text) is None


def test_backup_opened_as_a_register_finds_its_files(register: Register, path: Path, files: Path, report: str) -> None:
    """In the folder that back-ups share."""
    attached(register, report, made(files, "a.jpg", A))
    folder_of(path).rename(path.with_name(BESIDE_BACKUPS))
    assert check_files(register)[:3] == (2, len(A) + len(PHOTO), ())


# --- taken out ------------------------------------------------------------------------------------------------------


def test_written_out_whole(tmp_path: Path, files: Path) -> None:
    """Nothing but the file is there."""
    (name,) = hashes(A)
    files.mkdir()
    write_out(made(tmp_path / "kept", name, A), files / "out.jpg", name)
    assert [(one.name, one.read_bytes()) for one in files.iterdir()] == [("out.jpg", A)]


@pytest.mark.parametrize(
    ("content", "target", "code"),
    [
        pytest.param(B, "out.jpg", "attachment-altered", id="altered"),
        pytest.param(None, "out.jpg", "attachment-unreadable", id="gone-meanwhile"),
        pytest.param(A, "mine.jpg", "file-exists", id="name-taken"),
        pytest.param(A, "no/out.jpg", "cannot-write", id="no-folder"),
    ],
)
def test_not_written_out(tmp_path: Path, files: Path, content: bytes | None, target: str, code: str) -> None:
    """It is told why; nothing of the person's own is touched and nothing is left over."""
    (name,) = hashes(A)
    source = tmp_path / name if content is None else made(tmp_path, name, content)
    made(files, "mine.jpg", b"mine")
    with pytest.raises(Refusal) as refused:
        write_out(source, files / target, name)
    assert refused.value.code == code
    assert [(one.name, one.read_bytes()) for one in files.iterdir()] == [("mine.jpg", b"mine")]


# --- looked through -------------------------------------------------------------------------------------------------


def test_sound_files_are_read(register: Register, files: Path, report: str) -> None:
    """How many, and how many bytes; the share done grows to 1."""
    attached(register, report, made(files, "a.jpg", A), made(files, "b.jpg", B))
    told: list[float] = []
    assert check_files(register, told.append) == (3, len(PHOTO) + len(A) + len(B), (), 0, 0)
    assert told == sorted(told)
    assert told[-1] == 1.0


def test_register_without_attachments(tmp_path: Path) -> None:
    """Nothing is read and nothing made."""
    with Register(str(tmp_path / "new.db"), create=True) as register:
        assert check_files(register) == (0, 0, (), 0, 0)
    assert [path.name for path in tmp_path.iterdir()] == ["new.db"]


def test_any_flipped_byte_is_found(register: Register, path: Path, files: Path, report: str) -> None:
    """The file is named with entry, report and what to do; the others are sound."""
    attached(register, report, made(files, "a [x].jpg", A))
    place = place_of(path, A)
    for at in range(len(A)):
        place.write_bytes(A[:at] + bytes([A[at] ^ 1]) + A[at + 1 :])
        found = check_files(register)
        (flaw,) = found.flaws
        assert (found.read, flaw.code, flaw.what, flaw.table) == (1, "attachment-altered", "file", "attachment")
    assert flaw.message == (
        f"Book 2048 entry 8: the file a [x].jpg, attached to report {report}, was altered since it was signed ({place})."
        f" Put it back: pmsched attach {report} FILE, with the same file."
    )


@pytest.mark.parametrize("content", [b"", A[:-1], A + b"\n"], ids=["emptied", "cut", "longer"])
def test_other_size_is_found(register: Register, path: Path, files: Path, report: str, content: bytes) -> None:
    """As any other change."""
    attached(register, report, made(files, "a.jpg", A))
    place_of(path, A).write_bytes(content)
    assert [flaw.code for flaw in check_files(register).flaws] == ["attachment-altered"]


def test_missing_file_is_named(register: Register, path: Path, files: Path, report: str) -> None:
    """With the folder it should be in, also where the whole folder is gone."""
    attached(register, report, made(files, "a.jpg", A))
    place_of(path, A).unlink()
    (flaw,) = check_files(register).flaws
    assert flaw.code == "attachment-missing"
    assert f"the file a.jpg, attached to report {report}, is not in {folder_of(path)}" in flaw.message
    folder_of(path).rename(path.with_name("gone"))
    found = check_files(register)
    assert (found.read, len(found.flaws), found.unclaimed) == (0, 2, 0)


def test_folder_or_pipe_in_the_place_of_a_file(register: Register, path: Path, files: Path, report: str) -> None:
    """Neither is read; the file is missing."""
    attached(register, report, made(files, "a.jpg", A), made(files, "b.jpg", B))
    place_of(path, A).unlink()
    os.mkfifo(place_of(path, A))
    place_of(path, B).unlink()
    place_of(path, B).mkdir()
    assert [flaw.code for flaw in check_files(register).flaws] == ["attachment-missing"] * 2


def test_file_that_cannot_be_read(
    register: Register, files: Path, report: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A bad spot on the disk is told as such, and the rest is read."""
    attached(register, report, made(files, "a.jpg", A))
    real = attached_check.hash_of

    def broken(place: Path) -> str:
        if place.name in hashes(A):
            raise OSError(errno.EIO, "Input/output error")
        return real(place)

    monkeypatch.setattr(attached_check, "hash_of", broken)
    found = check_files(register)
    assert (found.read, [flaw.code for flaw in found.flaws]) == (1, ["attachment-unreadable"])
    assert "cannot be read (Input/output error: " in found.flaws[0].message


@pytest.fixture
def closed(path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the first photo, which may be seen and not entered."""
    folder = place_of(path, A).parent

    def closing(name: str) -> None:
        real = getattr(Path, name)

        def refused(self: Path, *arguments: Any, **more: Any) -> Any:
            if self.parent == folder:
                raise PermissionError(errno.EACCES, "Permission denied", str(self))
            return real(self, *arguments, **more)

        monkeypatch.setattr(Path, name, refused)

    for name in ("stat", "is_file", "open"):
        closing(name)
    return folder


def test_folder_that_cannot_be_entered(
    register: Register, files: Path, report: str, request: pytest.FixtureRequest, tmp_path: Path
) -> None:
    """Its file is told as unreadable, is lacking in a back-up, and is not written out; the rest is read."""
    number = attached(register, report, made(files, "a.jpg", A)).attached[0].number
    closed = request.getfixturevalue("closed")
    found = check_files(register)
    assert (found.read, [flaw.code for flaw in found.flaws]) == (1, ["attachment-unreadable"])
    assert f"cannot be read (Permission denied: {closed / hashes(A)[0]})" in found.flaws[0].message
    brought = bring_files(register, folders_of(Path(register.target)), tmp_path / "to", lambda _share: None)
    assert brought == (1, (f"a.jpg, attached to report {report}",))
    with pytest.raises(NotAllowed, match="Permission denied"):
        save_attachment(register, Asked(NOW), number, tmp_path / "out.jpg")


def test_good_copy_elsewhere_does_not_hide_a_bad_one(register: Register, path: Path, files: Path, report: str) -> None:
    """It is told where the good one lies; with that one the bad one is put back."""
    attached(register, report, made(files, "a.jpg", A))
    good = made(path.with_name(BESIDE_BACKUPS) / hashes(A)[0][:2], hashes(A)[0], A)
    place_of(path, A).write_bytes(B)
    (flaw,) = check_files(register).flaws
    assert flaw.code == "attachment-altered"
    assert f"altered since it was signed ({place_of(path, A)}). A good copy is {good}. Put it back" in flaw.message
    attached(register, report, good)
    assert check_files(register).flaws == ()
    good.write_bytes(B)
    assert check_files(register).flaws == ()


@pytest.mark.parametrize("there", [A[:-1] + b"!", A[:3]], ids=["same-size", "cut"])
def test_altered_file_is_brought_again(
    register: Register, path: Path, files: Path, report: str, tmp_path: Path, there: bytes
) -> None:
    """What is there already counts by its content; with no good one to bring it is lacking."""
    attached(register, report, made(files, "a.jpg", A))
    to = tmp_path / "to"

    def brought() -> tuple[int, tuple[str, ...]]:
        return bring_files(register, folders_of(path), to, lambda _share: None)

    assert brought() == (2, ())
    place = to / hashes(A)[0][:2] / hashes(A)[0]
    place.write_bytes(there)
    assert brought() == (2, ())
    assert place.read_bytes() == A
    place.write_bytes(there)
    place_of(path, A).unlink()
    assert brought() == (1, (f"a.jpg, attached to report {report}",))


def _aged(path: Path, days: float) -> Path:
    now = path.stat().st_mtime
    os.utime(path, (now, now - days * 86_400))
    return path


def test_old_parts_are_cleared(tmp_path: Path) -> None:
    """Those of a program that was killed more than a day ago, and nothing else."""
    part = "." + "0123456789abcdef" + ".part"
    old = _aged(made(tmp_path, part), 1.1)
    others = {
        _aged(made(tmp_path, part.replace("0", "f")), 0.9), _aged(made(tmp_path, "mine.part"), 9),
        _aged(made(tmp_path / "ab", hashes(A)[0], A), 9), tmp_path / "ab",
    }  # fmt: skip
    clear_parts(tmp_path)
    assert not old.exists()
    assert set(tmp_path.rglob("*")) == others
    clear_parts(tmp_path / "nowhere")
    assert not (tmp_path / "nowhere").exists()


@pytest.mark.parametrize("bringing", [False, True], ids=["attaching", "bringing"])
def test_parts_do_not_pile_up(register: Register, path: Path, files: Path, report: str, *, bringing: bool) -> None:
    """The next to attach, or to back up to that place, takes them away."""
    assert report
    folder = folder_of(path)
    old = _aged(made(folder, f"{attached_files.new_part(folder).name}"), 2)
    if bringing:
        bring_files(register, folders_of(path), folder, lambda _share: None)
    else:
        with staged(register, [made(files, "a.jpg", A)]):
            pass
    assert not old.exists()
    assert kept(path) == hashes(PHOTO)


def test_unclaimed_files_do_no_harm(register: Register, path: Path, report: str) -> None:
    """They are counted: what a crash left, and what somebody put there."""
    assert report
    place = place_of(path, B)
    place.parent.mkdir(exist_ok=True)
    place.write_bytes(B)
    made(folder_of(path), ".0123.part", b"half")
    found = check_files(register)
    assert (found.read, found.flaws, found.unclaimed) == (1, (), 2)


def test_struck_attachment_may_lose_its_file(register: Register, path: Path, files: Path, report: str) -> None:
    """It is counted, and is no flaw."""
    number = attached(register, report, made(files, "a.jpg", A)).attached[0].number
    place_of(path, A).unlink()
    strike_attachment(register, number, "a person is on it", Signer("CE", 1_894_700_000))
    found = check_files(register)
    assert (found.read, found.flaws, found.struck_lacking) == (1, (), 1)
    place_of(path, A).write_bytes(A)
    assert check_files(register)[:1] == (2,)


def test_put_back_by_attaching_the_same_file(register: Register, path: Path, files: Path, report: str) -> None:
    """What the flaw says to do mends it, without an entry."""
    source = made(files, "a.jpg", A)
    attached(register, report, source)
    place_of(path, A).write_bytes(B)
    result = attached(register, report, made(files, "same content.jpg", A))
    assert (result.receipt, result.attached) == (None, ())
    assert result.notes[0].endswith("was not as it was signed, and is put back")
    assert check_files(register).flaws == ()


def test_part_names_differ(tmp_path: Path) -> None:
    """Two programs never write one copy."""
    assert attached_files.new_part(tmp_path) != attached_files.new_part(tmp_path)
