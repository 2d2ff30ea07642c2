"""The units of jobs that keep their own dates: which a file adds or ends, and which there are after the load."""

from __future__ import annotations

from typing import Any

from pmsched.exchange.rows import JobRow
from pmsched.store.tables import JOB_UNIT
from pmsched.usecases.load_scene import Loading, key_of

WHOLE_JOB = ""
"""The one unit of a job without units."""


def unit_changes(load: Loading, row: JobRow) -> tuple[list[str], list[Any]]:
    """The names of the units that the row adds, and the facts of those that it no longer names."""
    job = load.names.ids["jobs"].get(key_of(row.code), 0)
    said = {fact.unit for fact in load.before.said_facts(JOB_UNIT, "job_id").get(job, ())}
    live = {fact.unit: fact for fact in load.before.live_facts(JOB_UNIT, "job_id").get(job, ())}
    wanted = row.units or (WHOLE_JOB,)
    added = [unit for unit in wanted if unit not in said and unit not in live]
    return added, [fact for unit, fact in live.items() if unit in said and unit not in wanted]


def units_after(load: Loading, job: str) -> list[str]:
    """The units that a job has once the load is done, by its code."""
    there = load.names.ids["jobs"].get(key_of(job), 0)
    live = [fact.unit for fact in load.before.live_facts(JOB_UNIT, "job_id").get(there, ())]
    row = load.names.rows["jobs"].get(key_of(job))
    if row is None:
        return live
    added, ended = unit_changes(load, row)
    gone = {fact.unit for fact in ended}
    return [unit for unit in (*live, *added) if unit not in gone]


def units_named(load: Loading, job: str) -> list[str]:
    """Those of them that files name, now or when they were loaded; all of them where no file ever did.

    What was added in the program is no file's to speak for.
    """
    there = load.names.ids["jobs"].get(key_of(job), 0)
    said = {fact.unit for fact in load.before.said_facts(JOB_UNIT, "job_id").get(there, ())}
    row: JobRow | None = load.names.rows["jobs"].get(key_of(job))
    after = units_after(load, job)
    named = set(row.units or (WHOLE_JOB,)) if row else said or set(after)
    return [unit for unit in after if unit in named]


def units_ever(load: Loading, job: str) -> set[str]:
    """Those units, and the ones that loads brought and the program ended since."""
    there = load.names.ids["jobs"].get(key_of(job), 0)
    said = {fact.unit for fact in load.before.said_facts(JOB_UNIT, "job_id").get(there, ())}
    return said | set(units_after(load, job))
