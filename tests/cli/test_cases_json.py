"""Worked cases through ``pmsched due --json``: what a script sees is what the cases say."""

from __future__ import annotations

from pathlib import Path
from typing import Any, NamedTuple

import pytest
from command_line import invoke_program
from registers import DAY_SECONDS, make_register

from pmsched.domain.clocks import ShipClock
from pmsched.exchange.dates import read_date

CLOCK = ShipClock()
MACHINES = "code,name\nM,The machine\n"
COUNTERS = "code,machine,unit\nM-H,M,h\nM-S,M,starts\n"


class Case(NamedTuple):
    """A job with its readings, asked on a day, and the parts of the line that the case gives."""

    job: str
    last_done: str
    readings: str
    on: str
    expected: dict[str, Any]


CASES = {
    "1-grid-month-end": Case("1 month,grid,2025-01-31,,", "2025-05-31,", "", "2025-06-01", {"due_on": "2025-06-30"}),
    "1-from-done": Case("1 month,done,,,", "2025-02-28,", "", "2025-03-01", {"due_on": "2025-03-28"}),
    "2-leap-day-grid": Case("12 months,grid,2024-02-29,,", "2027-02-28,", "", "2027-03-01", {"due_on": "2028-02-29"}),
    "3c-too-early-is-an-extra": Case(
        "3 months,grid,2025-01-01,,30 days", "2025-01-20,", "", "2025-04-02",
        {"due_on": "2025-04-01", "state": "overdue", "overdue_days": 1},
    ),
    "4-missed-rounds-are-one-line": Case(
        "1 week,grid,2025-06-02,,", "2025-06-02,", "", "2025-06-18",
        {"due_on": "2025-06-09", "state": "overdue", "overdue_days": 9, "missed": 2},
    ),
    "4-after-doing": Case("1 week,grid,2025-06-02,,", "2025-06-18,", "", "2025-06-18", {"due_on": "2025-06-23", "missed": 0}),
    "5a-hours-govern": Case(
        "4000 h or 12 months,done,,,", "2025-01-15,20000 h", "M-H,2025-01-15,20000\nM-H,2025-04-15,21080", "2025-04-15",
        {"due_on": "2025-12-14", "governing": 0, "expected": True},
    ),
    "5b-calendar-governs": Case(
        "4000 h or 12 months,done,,,", "2025-01-15,20000 h", "M-H,2025-04-15,21080\nM-H,2025-07-14,21620", "2025-07-14",
        {"due_on": "2026-01-15", "governing": 1, "expected": False},
    ),
    "6-not-open": Case("2000 h,done,,10 %,", "2025-01-01,10000 h", "M-H,2025-06-01,11799", "2025-06-01", {"state": "not open"}),
    "6-may-be-done": Case("2000 h,done,,10 %,", "2025-01-01,10000 h", "M-H,2025-06-01,11800", "2025-06-01", {"state": "may be done"}),
    "6-due-at-the-aim": Case("2000 h,done,,10 %,", "2025-01-01,10000 h", "M-H,2025-06-01,12000", "2025-06-01", {"state": "due"}),
    "6-last-hour-of-tolerance": Case("2000 h,done,,10 %,", "2025-01-01,10000 h", "M-H,2025-06-01,12200", "2025-06-01", {"state": "due"}),
    "6-overdue": Case(
        "2000 h,done,,10 %,", "2025-01-01,10000 h", "M-H,2025-06-01,12201", "2025-06-01",
        {"state": "overdue", "overdue_counts": [{"unit": "h", "amount": "1"}]},
    ),
    "24a-starts-govern": Case(
        "1000 starts or 2000 h or 12 months,done,,,", "2025-02-01,0 h; 0 starts",
        "M-H,2025-02-01,0\nM-H,2025-06-09,768\nM-S,2025-02-01,0\nM-S,2025-06-09,640", "2025-06-09",
        {"due_on": "2025-08-20", "governing": 0},
    ),
    "24b-never-run": Case(
        "250 h or 12 months,done,,,", "2024-09-10,100 h", "M-H,2025-03-01,100\nM-H,2025-06-01,100", "2025-06-01",
        {"due_on": "2025-09-10", "governing": 1},
    ),
    "24c-no-date": Case(
        "250 h,done,,,", "2024-09-10,100 h", "M-H,2025-03-01,100\nM-H,2025-06-01,100", "2025-06-01",
        {"due_on": None, "state": "no date", "left": "no date; 250 h left"},
    ),
    "air-filter-every-two-months": Case(
        # Common practice, no source: an air filter is cleaned at least every two months.
        "2 months,done,,,", "2025-12-31,", "", "2026-03-01",
        {"due_on": "2026-02-28", "state": "overdue", "overdue_days": 1},
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_case(name: str, tmp_path: Path) -> None:
    """The line of the only job, asked as of the day of the case."""
    case = CASES[name]
    files = {
        "machines.csv": MACHINES,
        "counters.csv": COUNTERS,
        "jobs.csv": f"code,machine,title,interval,counts_from,grid_from,tolerance,opens\nJOB,M,The job,{case.job}\n",
        "last_done.csv": f"job,done_on,count\nJOB,{case.last_done}\n",
        "readings.csv": f"counter,read_on,value\n{case.readings}\n",
    }
    at = CLOCK.end_of_day(read_date(case.on))
    register = make_register(tmp_path, files, at=at + DAY_SECONDS)
    register.close()
    said = invoke_program("--register", register.target, "--json", "due", "--all", "--as-of", case.on)
    assert said.code == 0, said.err
    (line,) = said.data["lines"]
    assert {key: line[key] for key in case.expected} == case.expected
