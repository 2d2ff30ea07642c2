"""The wheel is whole: what it installs makes a register without the checkout."""

from __future__ import annotations

import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from pmsched.store.migrate import HEAD

ROOT = Path(__file__).parents[2]
# Prints the form of a new register, and where the program and its migrations were found.
PROGRAM = """
import sys
from pmsched.store.migrate import HEAD, migrations_dir, revision_of
from pmsched.store.register import Register
from pmsched.store.verify import verify
with Register(sys.argv[1], create=True) as register, register.reading() as connection:
    assert verify(register, helpers=1) == []
    print(HEAD, revision_of(connection), migrations_dir(), sep="\\n")
"""


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The wheel, built from this checkout."""
    folder = tmp_path_factory.mktemp("wheel")
    build = [sys.executable, "-m", "hatchling", "build", "-t", "wheel", "-d", str(folder)]
    done = subprocess.run(build, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    (built,) = folder.glob("*.whl")
    return built


def test_wheel_has_its_migrations(wheel: Path) -> None:
    """Migrations and every module are in it, tests are not."""
    names = set(zipfile.ZipFile(wheel).namelist())
    migrations = {path.relative_to(ROOT).as_posix() for path in (ROOT / "migrations").rglob("*.py")}
    modules = {path.relative_to(ROOT).as_posix() for path in (ROOT / "pmsched").rglob("*.py")}
    forms = {"0001_first_form", "0002_isolations", "0003_attachments"}
    assert {"migrations/env.py", *(f"migrations/versions/{form}.py" for form in forms)} <= migrations
    assert {f"pmsched/_{name}" for name in migrations} <= names
    assert modules <= names
    assert not {name for name in names if name.startswith("tests/")}


def test_wheel_makes_a_register(wheel: Path, tmp_path: Path) -> None:
    """Unpacked elsewhere, it makes a register in the newest form with the migrations it brought."""
    installed = tmp_path / "installed"
    zipfile.ZipFile(wheel).extractall(installed)
    done = subprocess.run(
        [sys.executable, "-c", PROGRAM, str(tmp_path / "register.db")],
        cwd=tmp_path, env={**os.environ, "PYTHONPATH": str(installed)}, capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    assert done.stdout.splitlines() == [HEAD, HEAD, str(installed / "pmsched" / "_migrations")]
