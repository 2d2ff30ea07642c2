"""Worked case 13c through the register: the date line crossed westbound, and a daily job on a grid."""

from __future__ import annotations

from datetime import UTC, date, datetime
from pathlib import Path

from registers import make_register

from pmsched.domain.due import State
from pmsched.usecases.ask_due import DueFilter, due_list
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.change_clock import change_clock
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

WEST, EAST = -720, 720
FILES = {
    "machines.csv": "code,name\nAE1,Auxiliary engine 1\n",
    "jobs.csv": "code,machine,title,interval,counts_from,grid_from\nJOB,AE1,The job,1 day,grid,2025-10-01\n",
    "last_done.csv": "job,done_on\nJOB,2025-10-03\n",
}


def at(text: str) -> int:
    """The instant of '2025-10-04 12:00' in UTC."""
    return int(datetime.fromisoformat(text).replace(tzinfo=UTC).timestamp())


def test_case_13c_nothing_is_missed_on_a_date_that_never_occurs(tmp_path: Path) -> None:
    """Done on 3 October; on the 5th it is due and fell due once, and done then it leaves nothing undone."""
    with make_register(tmp_path, FILES, at=at("2025-10-04 10:00"), offset_minutes=WEST) as register:
        change_clock(register, at("2025-10-04 12:00"), EAST, Signer("CE", at("2025-10-04 12:10")))
        noon = at("2025-10-05 00:00")
        (row,) = due_list(register, Asked(noon), DueFilter(within_days=None)).rows
        standing = row.standing
        said = (standing.state, standing.due_on, standing.overdue_days, standing.missed)
        assert said == (State.DUE, date(2025, 10, 5), 0, 1)

        report_work(register, ReportWork("JOB", date(2025, 10, 5)), Signer("CE", noon + 3600))
        last = history(register, Asked(noon + 7200), HistoryFilter()).rows[-1]
        assert (last.done_on, last.closed_on, last.not_done) == (date(2025, 10, 5), date(2025, 10, 5), ())
