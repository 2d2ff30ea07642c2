"""From kinds of jobs to jobs: a row of ``job_kinds.csv`` stands for the same job on every machine that it lists.

A job's code is the machine's code and the number of the kind; cautions are named by their key and stand in full in
``cautions.csv``. What comes out has the columns of the program's own file of jobs, and two more for the simulation:
``apart`` (units are done on days of their own) and ``says`` (which remarks fit).
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from seeds_demo.csv_files import Row, rows

COLUMNS = (
    "code", "machine", "title", "interval", "counts_from", "grid_from", "tolerance", "opens", "closes", "units",
    "department", "rank", "critical", "class_item", "cautions", "steps", "needs", "starts",
)  # fmt: skip
"""The columns of the program's file of jobs."""


@cache
def job_rows() -> tuple[Row, ...]:
    """One row for each job, machine by machine in the order of the kinds; undated."""
    departments = {row["code"]: row["department"] for row in rows("machines.csv")}
    cautions = {row["key"]: row["text"] for row in rows("cautions.csv")}
    return tuple(job for kind in rows("job_kinds.csv") for job in _jobs_of(kind, departments, cautions))


def _jobs_of(kind: Row, departments: Row, cautions: Row) -> Iterator[Row]:
    said = "; ".join(cautions[key] for key in kind["cautions"].split("; "))
    for machine in kind["machines"].split(";"):
        yield {
            **kind,
            "code": f"{machine}-{kind['nth']}",
            "machine": machine,
            "department": kind["department"] or departments[machine],
            "cautions": said,
        }
