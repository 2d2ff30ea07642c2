"""The small ship of ``small_ship`` for every test, and a moment that stands still."""

from __future__ import annotations

import shutil
from pathlib import Path

import platformdirs
import pytest
from command_line import Run, Said, invoke_program
from small_ship import NOW, build_ship


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The small ship's register, made once."""
    return build_ship(tmp_path_factory.mktemp("ship"))


@pytest.fixture
def ship(template: Path, tmp_path: Path) -> Path:
    """A register of its own for the test."""
    return Path(shutil.copy(template, tmp_path / "register.db"))


@pytest.fixture(autouse=True)
def _still(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The moment stands still, no variable of the person's own acts, and every folder is the test's."""
    monkeypatch.setattr("pmsched.clock.now", lambda: NOW)
    for name in ("PMSCHED_REGISTER", "PMSCHED_BY"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("COLUMNS", "80")
    for place in ("state", "data", "log"):
        monkeypatch.setattr(platformdirs, f"user_{place}_path", lambda *_a, _place=place, **_k: tmp_path / _place)


@pytest.fixture
def run(ship: Path) -> Run:
    """Runs ``pmsched`` on the small ship, as the chief engineer unless told otherwise."""

    def invoke(*arguments: str, stdin: str | None = None, register: Path = ship, by: str = "CE") -> Said:
        return invoke_program("--register", str(register), "--by", by, *arguments, stdin=stdin)

    return invoke


@pytest.fixture
def bare() -> Run:
    """Runs ``pmsched`` with the arguments alone."""
    return invoke_program
