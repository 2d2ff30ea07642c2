"""A file is whole or not there, and never written over another one unawares."""

from __future__ import annotations

import os
import signal
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from pmsched.domain.errors import Refusal
from pmsched.exchange.whole_files import whole_file


def write(path: Path, *parts: bytes | BaseException, overwrite: bool = False) -> None:
    """Write the parts one after the other; an exception among them is raised in its place."""
    with whole_file(path, overwrite=overwrite) as stream:
        for part in parts:
            if isinstance(part, BaseException):
                raise part
            stream.write(part)


FULL = OSError(28, "No space left on device")


def test_file_has_its_name_only_when_it_is_whole(tmp_path: Path) -> None:
    """While it is being written nothing has its name; afterwards nothing else is left."""
    path = tmp_path / "list.csv"
    with whole_file(path) as stream:
        stream.write(b"all of it")
        stream.flush()
        assert not path.exists()
        assert len(list(tmp_path.iterdir())) == 1
    assert [one.name for one in tmp_path.iterdir()] == ["list.csv"]
    assert path.read_bytes() == b"all of it"


@pytest.mark.parametrize("overwrite", [False, True], ids=["new", "in-place-of-another"])
@pytest.mark.parametrize(
    "cause", [FULL, KeyboardInterrupt(), ValueError("a fault of ours")], ids=["full", "stop", "fault"]
)
def test_nothing_is_left_of_a_part(tmp_path: Path, cause: BaseException, *, overwrite: bool) -> None:
    """A full disk, a stop by the person or a fault: no part under any name, and the old file is as it was."""
    path = tmp_path / "list.csv"
    if overwrite:
        path.write_bytes(b"mine")
    with pytest.raises(Refusal if cause is FULL else type(cause)):
        write(path, b"half of ", cause, overwrite=overwrite)
    assert {one.name: one.read_bytes() for one in tmp_path.iterdir()} == ({"list.csv": b"mine"} if overwrite else {})


def test_request_to_end_is_a_stop(tmp_path: Path) -> None:
    """When the system ends the program half-way, no part is left; afterwards the request acts as it did."""
    before = signal.getsignal(signal.SIGTERM)
    path = tmp_path / "list.csv"

    def ended() -> None:
        with whole_file(path) as stream:
            stream.write(b"half of ")
            signal.raise_signal(signal.SIGTERM)

    with pytest.raises(KeyboardInterrupt):
        ended()
    assert list(tmp_path.iterdir()) == []
    assert signal.getsignal(signal.SIGTERM) == before == signal.SIG_DFL


def test_who_has_taken_charge_of_the_request_keeps_it(tmp_path: Path) -> None:
    """A program around this one may answer it in its own way."""
    heard: list[int] = []
    before = signal.signal(signal.SIGTERM, lambda number, _: heard.append(number))
    try:
        with whole_file(tmp_path / "list.csv") as stream:
            signal.raise_signal(signal.SIGTERM)
            stream.write(b"all of it")
    finally:
        signal.signal(signal.SIGTERM, before)
    assert heard == [signal.SIGTERM]
    assert (tmp_path / "list.csv").read_bytes() == b"all of it"


def test_file_is_written_outside_the_main_thread(tmp_path: Path) -> None:
    """Where requests of the system cannot be heard."""
    with ThreadPoolExecutor() as threads:
        threads.submit(write, tmp_path / "list.csv", b"all of it").result()
    assert (tmp_path / "list.csv").read_bytes() == b"all of it"


def test_full_disk_is_told_with_what_to_do(tmp_path: Path) -> None:
    """By the name of the file, and that nothing of it was kept."""
    with pytest.raises(Refusal) as refused:
        write(tmp_path / "list.csv", FULL)
    assert refused.value.code == "cannot-write"
    assert "list.csv cannot be written (No space left on device); no part of it was kept." in refused.value.message
    assert refused.value.hint.startswith("Make room on the disk")


def test_disk_that_is_really_full(tmp_path: Path) -> None:
    """A device that takes nothing: what is no file is written to directly, and its fault is told."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no device that is always full")
    with pytest.raises(Refusal, match="/dev/full cannot be written"):
        write(Path("/dev/full"), b"x" * 100_000)
    assert list(tmp_path.iterdir()) == []


def test_file_that_is_there_stays(tmp_path: Path) -> None:
    """It is refused by name before anything is written."""
    path = tmp_path / "list.csv"
    path.write_bytes(b"mine")
    with pytest.raises(Refusal, match=r"list\.csv is there already") as refused:
        write(path, b"other")
    assert refused.value.code == "file-exists"
    assert path.read_bytes() == b"mine"


def test_file_that_comes_meanwhile_stays(tmp_path: Path) -> None:
    """Somebody else's file of that name is not lost, though it was not there at the beginning."""
    path = tmp_path / "list.csv"

    def meanwhile() -> None:
        with whole_file(path) as stream:
            stream.write(b"other")
            path.write_bytes(b"mine")

    with pytest.raises(Refusal, match="is there already"):
        meanwhile()
    assert [one.read_bytes() for one in tmp_path.iterdir()] == [b"mine"]


def test_file_is_replaced_when_told(tmp_path: Path) -> None:
    """Nothing of the old file is left, and who may read it stays as it was."""
    path = tmp_path / "list.csv"
    path.write_bytes(b"mine, and longer than the new one")
    path.chmod(0o600)
    write(path, b"new", overwrite=True)
    assert path.read_bytes() == b"new"
    assert path.stat().st_mode & 0o777 == 0o600


def test_link_goes_on_pointing_at_its_file(tmp_path: Path) -> None:
    """The file behind the link is replaced, not the link."""
    (tmp_path / "real").mkdir()
    real, link = tmp_path / "real" / "list.csv", tmp_path / "link.csv"
    real.write_bytes(b"old")
    link.symlink_to(real)
    write(link, b"new", overwrite=True)
    assert link.is_symlink()
    assert real.read_bytes() == b"new"


def test_folder_that_is_not_there(tmp_path: Path) -> None:
    """The place is named, and no folder is made."""
    with pytest.raises(Refusal, match="cannot be written"):
        write(tmp_path / "none" / "list.csv", b"x")
    assert not (tmp_path / "none").exists()


def test_file_system_without_second_names(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Some do not know links; the file gets its name all the same."""

    def no_links(*_paths: object) -> None:
        raise OSError(95, "Operation not supported")

    monkeypatch.setattr(os, "link", no_links)
    write(tmp_path / "list.csv", b"all of it")
    assert [one.name for one in tmp_path.iterdir()] == ["list.csv"]
