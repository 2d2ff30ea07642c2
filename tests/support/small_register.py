"""A small register in which every table has a row, made through the unit of work with fixed instants.

It knows the store and invented names; nothing of commands or of how work is reported. ``fill`` adds corrections, a
strike and its undoing too, so that every kind of version is there.
"""

from __future__ import annotations

import sqlite3
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import Any

from sqlalchemy import Table, select

from pmsched.store.book import Receipt, Signature, Work
from pmsched.store.opening import FirstPerson, open_first_book
from pmsched.store.register import Register
from pmsched.store.tables import (
    ALIAS,
    ATTACHMENT,
    CLOSING,
    CLOSING_COUNT,
    COUNTER,
    COUNTER_REVISION,
    COUNTS_ON,
    ISOLATION,
    ISOLATION_END,
    JOB,
    JOB_REVISION,
    JOB_UNIT,
    MACHINE,
    MACHINE_REVISION,
    METER_PERIOD,
    PART,
    PART_MOVE,
    PART_REVISION,
    PERSON,
    PERSON_REVISION,
    READING,
    REPORT,
    SETTING,
    SITE,
)

# 15 January 2030, 08:00 UTC, and the ship two hours ahead.
START = 1_894_694_400
OFFSET_MINUTES = 120
HOUR, DAY = 3600, 86_400
FIRST = date(2030, 1, 1)
CHIEF = FirstPerson("CE", "A. Ardmore", "Chief engineer", "engine")
SITE_NAME = "MV Invented"
PHOTO = b"a torn filter"


def new_register(path: Path) -> Register:
    """A new register with its first book open, and open itself."""
    register = Register(str(path), create=True)
    open_first_book(register, SITE_NAME, CHIEF, START, OFFSET_MINUTES, uid="0" * 32)
    return register


def signature(register: Register, at: int = START, request_id: str | None = None) -> Signature:
    """The first person's signature."""
    with register.reading() as connection:
        person = connection.execute(select(PERSON.c.id).order_by(PERSON.c.id).limit(1)).scalar_one()
    return Signature(person, CHIEF.rank, at, OFFSET_MINUTES, request_id)


def row(work: Work, table: Table, row_id: int) -> dict[str, Any]:
    """One stored row."""
    return dict(work.connection.execute(select(table).where(table.c.id == row_id)).mappings().one())


def small_register(path: Path) -> Register:
    """A register in which every table has a row."""
    register = new_register(path)
    fill(register)
    return register


def fill(register: Register) -> list[Receipt]:
    """Add people, a machine, its counter, job and part; readings and a report; then corrections."""
    with register.reading() as connection:
        site = connection.execute(select(SITE.c.id)).scalar_one()
    made: dict[str, int] = {"site": site}
    return [*_definitions(register, made), *_work_done(register, made), *_corrections(register, made)]


def read_round(register: Register, at: int, dials: Mapping[int, int]) -> Receipt:
    """One entry with a reading for each counter."""
    with register.writing(signature(register, at)) as work:
        for counter, dial in dials.items():
            _reading(work, counter, at, dial)
        return work.enter("record round")


def many_readings(register: Register, entries: int, readings: int) -> None:
    """Entries with many readings each, on one counter of its own: for measuring."""
    signed = signature(register)
    with register.writing(signed) as work:
        site = work.connection.execute(select(SITE.c.id)).scalar_one()
        machine = work.add(MACHINE, site_id=site, code="GE9")
        counter = work.add(COUNTER, site_id=site, machine_id=machine, code="GE9-H", unit="h")
        work.enter("add machine")
    for entry in range(entries):
        at = START + entry * DAY
        with register.writing(signed._replace(at=at)) as work:
            for n in range(readings):
                _reading(work, counter, at + n, entry * DAY + n, note='read by "eye"' if n % 10 == 0 else None)
            work.enter("record round")


def _definitions(register: Register, made: dict[str, int]) -> Iterator[Receipt]:
    with register.writing(signature(register, START + HOUR)) as work:
        site = made["site"]
        person = work.add(PERSON, site_id=site, code="2E")
        work.add(
            PERSON_REVISION, person_id=person, valid_from=FIRST, name="B. Bø", rank="Second engineer",
            department="engine", active=True,
        )  # fmt: skip
        work.add(SETTING, name="rate window days", valid_from=FIRST, value=90)
        made["machine"] = machine = work.add(MACHINE, site_id=site, code="GE1")
        made["machine_revision"] = work.add(
            MACHINE_REVISION, machine_id=machine, valid_from=FIRST, name="Generator engine 1", parent_id=None,
            walking_order=1, critical=True, department="engine", active=True,
        )  # fmt: skip
        work.add(ALIAS, machine_id=machine, name='No. 1 "genset"')
        made["counter"] = counter = work.add(COUNTER, site_id=site, machine_id=machine, code="GE1-H", unit="h")
        work.add(
            COUNTER_REVISION, counter_id=counter, valid_from=FIRST, name="Running hours", reads="tenths",
            walking_order=1,
        )  # fmt: skip
        work.add(METER_PERIOD, counter_id=counter, start=START, dial_start=0, base=0, factor_num=1, factor_den=1)
        work.add(COUNTS_ON, machine_id=machine, counter_id=counter, from_on=FIRST, share_num=1, share_den=1)
        yield work.enter("add machine", {"machine": "GE1"})
    with register.writing(signature(register, START + 2 * HOUR)) as work:
        made["job"] = job = work.add(JOB, site_id=site, machine_id=machine, code="GE1-001")
        work.add(
            JOB_REVISION, job_id=job, valid_from=FIRST, title="Change lube oil", rule="every 500 h",
            department="engine", rank="", critical=False, class_item=False,
            cautions="Hot oil.\nStop and lock out first.", steps="1. Drain.\n2. Fill.", needs="", active=True,
        )  # fmt: skip
        work.add(JOB_UNIT, job_id=job, unit="")
        part = work.add(PART, site_id=site, serial="R-118")
        work.add(PART_REVISION, part_id=part, valid_from=FIRST, name="Rotor")
        work.add(
            PART_MOVE, part_id=part, machine_id=machine, place="in service", moved_on=FIRST,
            since_overhaul=3600, since_new=None, note=None,
        )  # fmt: skip
        down = work.add(
            ISOLATION, machine_id=machine, kind="opened", begun_at=START, offset_minutes=OFFSET_MINUTES, why="filter out",
            tag="7", back_on=None,
        )  # fmt: skip
        work.add(
            ISOLATION_END, isolation_id=down, ended_at=START + HOUR, offset_minutes=OFFSET_MINUTES, tried="run 10 min"
        )
        yield work.enter("add job", {"job": "GE1-001"})


def _work_done(register: Register, made: dict[str, int]) -> Iterator[Receipt]:
    counter, at = made["counter"], START + DAY
    with register.writing(signature(register, at, "round-1")) as work:
        made["first"] = first = _reading(work, counter, at, 100 * HOUR)
        made["held"] = _reading(work, counter, at + HOUR, 9 * HOUR, status="held", held_for="goes backwards")
        yield work.enter("record round")
    with register.writing(signature(register, at + HOUR)) as work:
        report = work.add(
            REPORT, job_id=made["job"], outcome="done", done_on=date(2030, 1, 16), done_at=at, offset_minutes=120,
            time_stated=True, done_by="B. Bø", condition=None, remarks="Filter torn \\ renewed",
        )  # fmt: skip
        closing = work.add(
            CLOSING, job_id=made["job"], unit="", kind=0, done_on=date(2030, 1, 16), done_at=at, report_id=report
        )
        work.add(
            CLOSING_COUNT, closing_id=closing, unit="h", total=100 * HOUR, basis="reading", reading_1=first,
            reading_2=None,
        )  # fmt: skip
        # The file itself lies nowhere: the register is read without it.
        work.add(
            ATTACHMENT, report_id=report, name="filter [torn].jpg", media_type="image/jpeg", size=len(PHOTO),
            sha256=sha256(PHOTO).hexdigest(),
        )  # fmt: skip
        yield work.enter("report work", {"job": "GE1-001", "outcome": "done"})


def _corrections(register: Register, made: dict[str, int]) -> Iterator[Receipt]:
    with register.writing(signature(register, START + 2 * DAY)) as work:
        made["first_again"] = work.replace(READING, row(work, READING, made["first"]), "misread", dial=101 * HOUR)
        made["held_struck"] = work.strike(READING, row(work, READING, made["held"]), "typed on the wrong line")
        yield work.enter("correct reading")
    with register.writing(signature(register, START + 3 * DAY)) as work:
        work.replace(READING, row(work, READING, made["held_struck"]), "it was right after all")
        yield work.enter("undo strike")


def _reading(work: Work, counter: int, at: int, dial: int, **more: Any) -> int:
    columns = {"status": "accepted", "held_for": None, "note": None} | more
    return work.add(READING, counter_id=counter, read_at=at, offset_minutes=OFFSET_MINUTES, dial=dial, **columns)


@contextmanager
def plain(path: Path) -> Iterator[sqlite3.Connection]:
    """A plain connection without any of our settings, as another program would open the file."""
    connection = sqlite3.connect(path, isolation_level=None)
    try:
        yield connection
    finally:
        connection.close()


@contextmanager
def behind_its_back(path: Path) -> Iterator[sqlite3.Connection]:
    """A plain connection with nothing in the way: triggers are taken away and put back, constraints are not looked at.

    Afterwards only the chain can tell what was changed.
    """
    with plain(path) as connection:
        connection.execute("PRAGMA synchronous = OFF")
        connection.execute("PRAGMA ignore_check_constraints = ON")
        connection.execute("BEGIN")
        triggers = connection.execute("SELECT name, sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        for name, _ in triggers:
            connection.execute(f"DROP TRIGGER {name}")
        yield connection
        for _, sql in triggers:
            connection.execute(sql)
        connection.execute("COMMIT")
