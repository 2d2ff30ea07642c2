"""A program killed while it attaches a file leaves a file that no entry names at worst, never an entry without its file."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import kill_attachers
import pytest
from attached import attached, listed, made, rows
from small_register import PHOTO

from pmsched.store.register import Register

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork a program")

KILLS = 12
HANG_SECONDS = 300  # never reached by a healthy run


@pytest.fixture
def report(path: Path, tmp_path: Path) -> str:
    """The number of the report, whose own photo lies in its place; the register is closed."""
    with Register(str(path)) as register:
        (row,) = rows(register)
        attached(register, row.report, made(tmp_path / "own", "filter.jpg", PHOTO))
        return row.report


def run(task: str, path: Path, report: str, *more: str) -> Any:
    """What ``kill_attachers`` reports."""
    command = [sys.executable, kill_attachers.__file__, task, str(path), report, str(path.parent / "camera"), *more]
    done = subprocess.run(command, capture_output=True, text=True, timeout=HANG_SECONDS, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    return json.loads(done.stdout)


def test_killed_at_each_point(path: Path, report: str) -> None:
    """Before the file has its place, before the entry, before the commit: no entry, and a file too many at worst."""
    found = run("points", path, report)
    assert list(found) == [*kill_attachers.POINTS, "in peace"]
    before = ["filter [torn].jpg"]
    # Each kill leaves one more: the copy itself, or the file in its place.
    for number, point in enumerate(kill_attachers.POINTS, 1):
        assert found[point] == {"attached": before, "flaws": [], "unclaimed": number}, point
    assert found["in peace"] == {"attached": [*before, "in peace.jpg"], "flaws": [], "unclaimed": 3}


def test_killed_file_is_claimed_by_trying_again(path: Path, report: str) -> None:
    """What the kill left is used by the next attempt."""
    run("points", path, report)
    with Register(str(path)) as register:
        attached(register, report, path.parent / "camera" / "named.jpg")
        assert listed(register)[-1] == "named.jpg"
    assert kill_attachers.left(path, report)["unclaimed"] == 2


def test_killed_at_random(path: Path, report: str) -> None:
    """Everything that was acknowledged is attached and whole, and the register is sound."""
    found = run("chance", path, report, str(KILLS), "20260115")
    assert found["told"]
    assert set(found["told"]) <= set(found["attached"])
    assert found["flaws"] == []
