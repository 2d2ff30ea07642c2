"""A register of any size for measuring: jobs, reports and readings spread as on a real vessel, written through the book.

Half the jobs have one limb by the calendar, three in ten by hours, the rest both ("two limbs" register) or every kind
mixed. All rows are written in time order, so one job's doings lie scattered over the file.
"""

from __future__ import annotations

import random
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

from sqlalchemy import Connection, text

from pmsched.store.book import Signature, Work
from pmsched.store.opening import BEGINNING, FirstPerson, open_first_book
from pmsched.store.register import Register
from pmsched.store.tables import (
    CLOSING,
    CLOSING_COUNT,
    COUNTER,
    COUNTER_REVISION,
    COUNTS_ON,
    JOB,
    JOB_REVISION,
    JOB_UNIT,
    MACHINE,
    MACHINE_REVISION,
    METER_PERIOD,
    READING,
    REPORT,
)

TODAY = date(2026, 6, 1)
_DAY = 86_400
_HOUR = 3600
_EPOCH = date(1970, 1, 1)
TWO_LIMBS = ("12 months or 4000 h",)
MIXED = (
    "3 months", "12 months", "1 week; on the grid from 2016-06-06", "2000 h", "8000 h; tolerance 10 %",
    "12 months or 4000 h", "6 months or 2000 h; tolerance 10 %", "3 months; on the grid from 2016-01-31",
)  # fmt: skip


class Size(NamedTuple):
    """How large: jobs, reports a job, counters, readings a counter."""

    jobs: int
    reports_each: int
    counters: int
    readings_each: int


VESSEL = Size(10_000, 50, 275, 3636)
SMALL = Size(400, 20, 12, 300)


def instant(day: date, hour: int = 12) -> int:
    """The UTC instant of a day and hour."""
    return (day - _EPOCH).days * _DAY + hour * _HOUR


def build(path: Path, size: Size, rules: tuple[str, ...] = TWO_LIMBS, seed: int = 1) -> None:
    """Make the register; the same every time."""
    register = Register(str(path), create=True)
    start = TODAY - timedelta(days=size.readings_each)
    open_first_book(
        register, "Bench", FirstPerson("CE", "A. Bench", "Chief engineer", "engine"), instant(start, 0), 0, uid="bench"
    )
    with register.reading() as connection:
        person = connection.execute(text("SELECT id FROM person")).scalar_one()
    with register.locked() as connection:
        # Only for building: the file is measured, not trusted.
        connection.exec_driver_sql("PRAGMA cache_size=-400000")
        counters, jobs = _definitions(_work(connection, person, instant(start, 1)), size, rules)
        _history(connection, person, size, counters, jobs, random.Random(seed))
    register.close()


def _work(connection: Connection, person: int, at: int) -> Work:
    return Work(connection, Signature(person, "Chief engineer", at, 0))


def _definitions(work: Work, size: Size, rules: tuple[str, ...]) -> tuple[list[int], list[tuple[int, int]]]:
    site = work.connection.execute(text("SELECT id FROM site")).scalar_one()
    counters: list[int] = []
    machines: list[int] = []
    for n in range(size.counters):
        machine = work.add(MACHINE, site_id=site, code=f"M{n:04}")
        work.add(
            MACHINE_REVISION, machine_id=machine, valid_from=BEGINNING, name=f"Machine {n}", parent_id=None,
            walking_order=n, critical=False, department="engine", active=True,
        )  # fmt: skip
        counter = work.add(COUNTER, site_id=site, machine_id=machine, code=f"M{n:04}-H", unit="h")
        work.add(COUNTER_REVISION, counter_id=counter, valid_from=BEGINNING, name="", reads="whole", walking_order=n)
        work.add(METER_PERIOD, counter_id=counter, start=0, dial_start=0, base=0, factor_num=1, factor_den=1)
        work.add(COUNTS_ON, machine_id=machine, counter_id=counter, from_on=BEGINNING, share_num=1, share_den=1)
        counters.append(counter)
        machines.append(machine)
    jobs = []
    for n in range(size.jobs):
        owner = n % size.counters
        job = work.add(JOB, site_id=site, machine_id=machines[owner], code=f"J{n:05}")
        work.add(
            JOB_REVISION, job_id=job, valid_from=BEGINNING, title=f"Job {n} of machine {owner}", rule=rules[n % len(rules)],
            department="engine", rank="3/E", critical=n % 50 == 0, class_item=False, cautions="", steps="", needs="",
            active=True,
        )  # fmt: skip
        work.add(JOB_UNIT, job_id=job, unit="")
        jobs.append((job, owner))
    work.enter("load register")
    return counters, jobs


def _history(
    connection: Connection,
    person: int,
    size: Size,
    counters: list[int],
    jobs: list[tuple[int, int]],
    rng: random.Random,
) -> None:
    days = size.readings_each
    start = TODAY - timedelta(days=days)
    per_day = [rng.randint(0, 22) for _ in counters]
    doings = sorted((rng.randrange(days), job, owner) for job, owner in jobs for _ in range(size.reports_each))
    upcoming = iter(doings)
    following = next(upcoming, None)
    for n in range(days):
        day = start + timedelta(days=n)
        work = _work(connection, person, instant(day, 13))
        for counter, hours in zip(counters, per_day, strict=True):
            work.add(
                READING, counter_id=counter, read_at=instant(day), offset_minutes=0, dial=hours * n * _HOUR,
                status="accepted", held_for=None, note=None,
            )  # fmt: skip
        work.enter("record round")
        while following is not None and following[0] == n:
            _, job, owner = following
            _report(_work(connection, person, instant(day, 18)), job, day, per_day[owner] * n * _HOUR)
            following = next(upcoming, None)


def _report(work: Work, job: int, day: date, total: int) -> None:
    report = work.add(
        REPORT, job_id=job, outcome="done", done_on=day, done_at=instant(day), offset_minutes=0, time_stated=False,
        done_by="Third engineer", condition="fair wear, will last", remarks="Done as per sheet, nothing to remark.",
    )  # fmt: skip
    closing = work.add(CLOSING, job_id=job, unit="", kind=0, done_on=day, done_at=instant(day), report_id=report)
    work.add(CLOSING_COUNT, closing_id=closing, unit="h", total=total, basis="typed", reading_1=None, reading_2=None)
    work.enter("report work")


def kept(folder: Path, name: str, size: Size, rules: tuple[str, ...]) -> Path:
    """The register of that name in the folder, built if it is not there."""
    path = folder / f"{name}-{size.jobs}.db"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        began = time.perf_counter()
        build(path, size, rules)
        print(f"built {path.name} in {time.perf_counter() - began:.0f} s, {path.stat().st_size >> 20} MiB")
    return path


def names() -> Iterator[tuple[str, tuple[str, ...]]]:
    """The registers measured."""
    yield "two-limbs", TWO_LIMBS
    yield "mixed", MIXED
