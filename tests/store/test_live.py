"""Which rows count: replaced, struck, a strike undone, and what was known at an entry."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from typing import Any

import pytest
import small_register
from sqlalchemy import select

from pmsched.store.live import EVERYTHING, View, in_force, live
from pmsched.store.register import Register
from pmsched.store.tables import JOB, JOB_REVISION, READING

Step = Callable[[Any, dict[str, Any]], int]


def dials(register: Register, known: int = EVERYTHING) -> list[int]:
    """The dials of the readings live at ``known``."""
    with register.reading() as connection:
        statement = select(READING.c.dial).where(live(READING)).order_by(READING.c.id)
        return list(connection.execute(statement, {"known": known}).scalars())


def write(register: Register, step: Step | None, row_id: int = 0) -> int:
    """One entry with one step on a reading; the id of the version it made, which is the last id known then."""
    with register.writing(small_register.signature(register)) as work:
        version = step(work, small_register.row(work, READING, row_id)) if step else added(work)
        work.enter("test")
    return version


def added(work: Any) -> int:
    """A new reading of 100."""
    counter = work.connection.execute(select(READING.c.counter_id).limit(1)).scalar_one()
    return int(
        work.add(READING, counter_id=counter, read_at=0, offset_minutes=0, dial=100, status="accepted", held_for=None)
    )


def replaced(dial: int) -> Step:
    """A step that corrects the dial."""
    return lambda work, row: int(work.replace(READING, row, "misread", dial=dial))


def struck(work: Any, row: dict[str, Any]) -> int:
    """A step that strikes."""
    return int(work.strike(READING, row, "wrong counter"))


def undone(work: Any, row: dict[str, Any]) -> int:
    """A step that undoes a strike: a further version, as it was."""
    return int(work.replace(READING, row, "right after all"))


CASES = [
    pytest.param([], [[100]], id="added"),
    pytest.param([replaced(200)], [[100], [200]], id="replaced"),
    pytest.param([replaced(200), replaced(300)], [[100], [200], [300]], id="replaced-twice"),
    pytest.param([struck], [[100], []], id="struck"),
    pytest.param([struck, undone], [[100], [], [100]], id="strike-undone"),
    pytest.param([replaced(200), struck, replaced(250)], [[100], [200], [], [250]], id="strike-undone-with-a-change"),
    pytest.param([struck, undone, struck], [[100], [], [100], []], id="struck-again"),
]


@pytest.mark.parametrize(("steps", "seen"), CASES)
def test_only_the_newest_version_counts(register: Register, steps: list[Step], seen: list[list[int]]) -> None:
    """After each step, and as known at each step later on."""
    before = dials(register)
    versions = [write(register, None)]
    for step in steps:
        versions.append(write(register, step, versions[-1]))
    assert dials(register) == before + seen[-1]
    assert [dials(register, known) for known in versions] == [before + rows for rows in seen]


def test_nothing_is_known_before_the_first_entry(register: Register) -> None:
    """Known at 0 there are no rows."""
    assert dials(register) != []
    assert dials(register, 0) == []


def test_versions_keep_their_fact(register: Register) -> None:
    """Every version has the id of the first as its fact id, to which references point."""
    first = write(register, None)
    second = write(register, replaced(200), first)
    third = write(register, struck, second)
    with register.reading() as connection:
        columns = (READING.c.id, READING.c.fact_id, READING.c.replaces_id, READING.c.struck, READING.c.reason)
        rows = connection.execute(select(*columns).where(READING.c.fact_id == first).order_by(READING.c.id))
        assert [tuple(row) for row in rows] == [
            (first, first, None, False, None),
            (second, first, first, False, "misread"),
            (third, first, second, True, "wrong counter"),
        ]


@pytest.mark.parametrize(
    ("day", "known_later", "rule"),
    [
        pytest.param(date(2029, 12, 31), True, None, id="before-the-first"),
        pytest.param(date(2030, 1, 1), True, "every 500 h", id="from-its-day"),
        pytest.param(date(2030, 5, 31), True, "every 500 h", id="until-the-next"),
        pytest.param(date(2030, 6, 1), True, "every 400 h", id="from-the-day-of-the-next"),
        pytest.param(date(2030, 6, 1), False, "every 500 h", id="as-known-before"),
    ],
)
def test_revision_in_force(register: Register, day: date, *, known_later: bool, rule: str | None) -> None:
    """Of the live revisions the one with the latest day not after the day asked for."""
    with register.writing(small_register.signature(register)) as work:
        row = work.connection.execute(select(JOB_REVISION)).mappings().one()
        own = {name: row[name] for name in row if name not in {"id", "entry_id", "fact_id", "replaces_id"}}
        added = work.add(JOB_REVISION, **own | {"valid_from": date(2030, 6, 1), "rule": "every 400 h"})
        work.enter("revise job")
    view = View(EVERYTHING if known_later else added - 1, small_register.START, day)
    with register.reading() as connection:
        ruling = in_force(JOB_REVISION, "job.id")
        statement = select(JOB_REVISION.c.rule).select_from(JOB).outerjoin(JOB_REVISION, JOB_REVISION.c.id == ruling)
        assert connection.execute(statement, view.binds()).scalar_one() == rule
