"""An acknowledged entry is never lost: not to a killed program, not to a power cut.

The power cut is simulated: the write-ahead log is cut back to its length at its last sync. That shows the order of
writing and syncing, not whether a disk keeps its word.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path
from typing import Any

import deeds
import kill_writers
import pytest

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork a writer")

KILLS = 200
CUTS = 10
HANG_SECONDS = 300  # never reached by a healthy run


@pytest.fixture
def register(tmp_path: Path) -> Path:
    """An empty register, closed."""
    path = tmp_path / "register.db"
    deeds.create_register(path)
    return path


def run_kill_writers(task: str, register: Path, count: int, *pragmas: str) -> Any:
    """What ``kill_writers`` reports; the test is skipped where syncs cannot be watched."""
    command = [sys.executable, kill_writers.__file__, task, str(register), str(count), "20260115", *pragmas]
    done = subprocess.run(command, capture_output=True, text=True, timeout=HANG_SECONDS, check=False)
    assert done.returncode == 0, done.stderr
    report = json.loads(done.stdout)
    if "unavailable" in report:
        pytest.skip(report["unavailable"])
    return report


def test_kill_loses_no_acknowledged_entry(register: Path) -> None:
    """After each of 200 kills every acknowledged entry is there, and the register has recovered by itself."""
    report = run_kill_writers("kills", register, KILLS)
    assert len(report["acknowledged"]) >= KILLS
    assert report["live_logs"] == KILLS, "every kill must leave a log to recover from, or nothing is proved"
    assert report["missing"] == []
    assert report["twice"] == [], "a number is given out again only when its entry was lost"
    assert report["problems"] == []


def test_power_cut_loses_no_acknowledged_entry(register: Path) -> None:
    """What was synced when the power went holds every acknowledged entry, and the register is sound."""
    cuts = run_kill_writers("cuts", register, CUTS)
    assert len(cuts) == CUTS
    assert all(cut["main_file_untouched"] for cut in cuts), "a checkpoint makes the simulation worthless"
    assert [cut["missing"] for cut in cuts] == [[]] * CUTS
    assert [cut["problems"] for cut in cuts] == [[]] * CUTS


def test_power_cut_shows_lax_syncing(register: Path) -> None:
    """The proof above can fail: where commits are not synced, a cut loses entries every time."""
    cuts = run_kill_writers("cuts", register, CUTS, "synchronous=NORMAL")
    assert len(cuts) == CUTS
    assert all(cut["lost_bytes"] > 0 for cut in cuts)
    assert all(cut["missing"] for cut in cuts)
