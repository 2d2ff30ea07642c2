"""A small register for each test, copied from one that is made once."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
import small_register

from pmsched.store.files import settle
from pmsched.store.register import Register


@pytest.fixture(scope="session")
def small_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The file of a small register, closed and whole; not to be changed."""
    path = tmp_path_factory.mktemp("small") / "small.db"
    small_register.small_register(path).close()
    settle(path)
    return path


@pytest.fixture
def path(small_file: Path, tmp_path: Path) -> Path:
    """A copy of the small register, closed."""
    copy = tmp_path / "register.db"
    shutil.copyfile(small_file, copy)
    return copy


@pytest.fixture
def register(path: Path) -> Iterator[Register]:
    """A copy of the small register, open."""
    with Register(str(path)) as opened:
        yield opened
