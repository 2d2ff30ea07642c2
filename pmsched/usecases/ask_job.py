"""Ask for everything about one job: how each unit stands and why, its steps, and what was done."""

from __future__ import annotations

from typing import NamedTuple

from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueRow, Header, why
from pmsched.usecases.ask_history import HistoryFilter, HistoryRow, history
from pmsched.usecases.report_work import find_job
from pmsched.usecases.views import Asked, scene


class JobCard(NamedTuple):
    """One job.

    Attributes:
        header: site, ship's date, seal.
        units: how each unit stands, in the order of the register; one line for a job without units.
        steps: what is to be done, a step a line; empty where none are written.
        doings: every report of it with every version, the last one first.
    """

    header: Header
    units: tuple[DueRow, ...]
    steps: str
    doings: tuple[HistoryRow, ...]


def job_card(register: Register, asked: Asked, code: str) -> JobCard:
    """The card of the job of that code (any case). Raises NotFound with near codes."""
    units = why(register, asked, code)
    with register.reading() as connection:
        job = find_job(connection, scene(connection, asked), code)
    done = history(register, asked, HistoryFilter(job=job.code))
    return JobCard(done.header, units, job.steps, tuple(reversed(done.rows)))
