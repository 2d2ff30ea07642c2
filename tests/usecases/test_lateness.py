"""Late, early and on time in a few words, the same on every face."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from pmsched.usecases.ask_history import HistoryRow
from pmsched.usecases.lateness import early_or_late, judged

HOUR = 3600
DONE = HistoryRow(
    "12", "in force", "AE1-OIL", "", "Change the lube oil", "AE1", False, date(2025, 5, 28), 0, False, (), "", "", "",
    "CE", "Chief engineer", 0, date(2025, 6, 9), 12, 3, "",
)  # fmt: skip


@pytest.mark.parametrize(
    ("said", "short", "long"),
    [
        pytest.param({}, "", "", id="nothing-to-judge-by"),
        # Worked case 17: done on time, 60 h and 4 days before its limits.
        pytest.param(
            {"on_time": True, "days_late": -4, "counts_late": (("h", -60 * HOUR),)}, "on time", "early 4 d, 60 h", id="early"
        ),
        pytest.param({"on_time": True, "days_late": 0}, "on time", "on time", id="on-the-last-day"),
        pytest.param(
            {"on_time": True, "days_late": -4, "counts_late": (("h", 0),)}, "on time", "on time", id="at-exactly-the-hours"
        ),
        pytest.param({"on_time": True, "counts_late": (("starts", -40),)}, "on time", "early 40 starts", id="no-calendar"),
        # Worked case 18 a: late by 400 h.
        pytest.param(
            {"on_time": False, "counts_late": (("h", 400 * HOUR),)}, "late 400 h", "late 400 h", id="late-by-hours"
        ),
        pytest.param(
            {"on_time": False, "days_late": 2, "counts_late": (("h", -5 * HOUR),)}, "late 2 d", "late 2 d", id="late-by-days-only"
        ),
        pytest.param({"on_time": None, "extra": True, "days_late": -19}, "extra", "extra", id="extra-on-a-grid"),
        pytest.param({"version": "corrected", "on_time": True, "days_late": -4}, "CORRECTED", "CORRECTED", id="corrected"),
        pytest.param({"version": "struck"}, "STRUCK", "STRUCK", id="struck"),
    ],
)  # fmt: skip
def test_words(said: dict[str, Any], short: str, long: str) -> None:
    """Early is told only where every limit was still ahead; a version not in force is never judged."""
    row = DONE._replace(**said)
    assert (judged(row), early_or_late(row)) == (short, long)
