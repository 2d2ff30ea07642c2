"""Files given their names without overwriting, and links to a register."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from pmsched.domain.errors import RegisterUnusable
from pmsched.store.files import behind_link, give_name


@pytest.fixture
def no_second_names(monkeypatch: pytest.MonkeyPatch) -> None:
    """A file system that has no second names, and says that first."""

    def refused(*_arguments: object) -> None:
        raise OSError(errno.EPERM, "Operation not permitted")

    monkeypatch.setattr(os, "link", refused)


@pytest.mark.usefixtures("no_second_names")
def test_taken_name_is_not_overwritten_without_second_names(tmp_path: Path) -> None:
    """As where the file system has them: what is there stays, be it a link to nothing."""
    part, taken, link = tmp_path / "part", tmp_path / "mine.jpg", tmp_path / "link.jpg"
    part.write_bytes(b"new")
    taken.write_bytes(b"mine")
    link.symlink_to(tmp_path / "nothing")
    for name in (taken, link):
        with pytest.raises(RegisterUnusable, match="exists already"):
            give_name(part, name)
    assert (part.read_bytes(), taken.read_bytes(), link.is_symlink()) == (b"new", b"mine", True)


@pytest.mark.usefixtures("no_second_names")
def test_free_name_is_given_without_second_names(tmp_path: Path) -> None:
    """The file has it."""
    (tmp_path / "part").write_bytes(b"new")
    give_name(tmp_path / "part", tmp_path / "out.jpg")
    assert (tmp_path / "out.jpg").read_bytes() == b"new"


def test_behind_a_link_is_the_file(tmp_path: Path) -> None:
    """Of a name that is no link, the name itself, as it was given."""
    (tmp_path / "disk").mkdir()
    link = tmp_path / "register.db"
    link.symlink_to(tmp_path / "disk" / "ship.db")
    assert behind_link(link) == (tmp_path / "disk" / "ship.db").resolve()
    assert behind_link(Path("register.db")) == Path("register.db")
