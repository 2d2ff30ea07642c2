"""Whatever day the demo is opened on, the day is believable: thirty days over a year, and some other histories.

Builds no register, which would take minutes. Every history is simulated over a year, and how each job stands is worked
out by hand from its files and events, as far as they reached the register: the last doing and the rounds around it, the
last readings that were not held. That the engine comes to the same sums, and a register to the same doings, is shown
for whole demos in ``test_built``; what is shown here is that the ending holds on any date, weekday and month's end.
"""

from __future__ import annotations

import csv
import io
from collections import Counter as Tally
from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from itertools import pairwise
from typing import Any, NamedTuple

import pytest
from by_hand import DAY_SECONDS, Past, Seen, Use, read_written, worked_out

from seeds_demo.catalogue import counters, jobs
from seeds_demo.events import CorrectionEvent, History, ReportCorrectionEvent, ReportEvent, RoundEvent, SheetEvent
from seeds_demo.jobs import AT_ONCE, Job
from seeds_demo.simulate import simulate

MONTHS = 12
THIRTY_DAYS = [date(2027, 3, 3) + timedelta(days=13 * n) for n in range(26)] + [
    date(2028, 2, 29), date(2027, 12, 31), date(2028, 1, 1), date(2027, 10, 31),
]  # fmt: skip
OTHER_SEEDS = [1, 2, 3, 4, 5, 6]
JOBS = {job.code: job for job in jobs()}
Readings = Mapping[str, list[Seen]]


class Line(NamedTuple):
    """A job unit and how it stands."""

    job: Job
    stands: dict[str, Any]


def readings_of(history: History) -> Readings:
    """Every counter's accepted readings as the register holds them at the end, the earliest first."""
    rights = {(e.counter, e.read_on): e.dial for e in history.events if isinstance(e, CorrectionEvent)}
    held = {one.counter for one in history.ending.held}
    walked = [(history.start, tuple((code, counter.dial) for code, counter in counters().items()))]
    for event in history.events:
        if isinstance(event, SheetEvent):
            walked += event.rounds
        elif isinstance(event, RoundEvent):
            walked.append((event.recorded_on, event.lines))
    found: dict[str, list[Seen]] = {code: [] for code in counters()}
    for on, lines in walked:
        for code, dial in lines:
            shift = counters()[code].total - counters()[code].dial
            total = rights.get((code, on), dial) + shift
            found[code].append(Seen(on.toordinal() * DAY_SECONDS, on, total))
    for code in held:
        found[code].pop()
    return found


def total_on(readings: Iterable[Seen], on: date) -> int:
    """On the line between the readings around that day; the last one's after it."""
    known = list(readings)
    for before, after in pairwise(known):
        if before.on <= on < after.on:
            return before.total + (after.total - before.total) * (on - before.on).days // (after.on - before.on).days
    return known[-1].total


def doings_of(history: History) -> dict[tuple[str, str], list[Past]]:
    """Every job unit's doings and starts with the totals typed, the earliest first; void reports are left out."""
    found: dict[tuple[str, str], list[Past]] = {}
    for row in csv.DictReader(io.StringIO(history.files["last_done.csv"])):
        found[row["job"], row["unit"]] = [Past(date.fromisoformat(row["done_on"]), _typed(row["count"]))]
    for job in JOBS.values():
        if job.starts and job.starts != AT_ONCE:
            found[job.code, ""] = [Past(history.start, {})]
    void = {(e.job, e.done_on) for e in history.events if isinstance(e, ReportCorrectionEvent) and e.condition is None}
    for event in history.events:
        if isinstance(event, ReportEvent) and (event.job, event.done_on) not in void:
            for unit in event.units or ("",):
                past = Past(event.done_on, {} if event.count is None else {"h": event.count})
                found.setdefault((event.job, unit), []).append(past)
    return {key: sorted(pasts, key=lambda past: past.on) for key, pasts in found.items()}


def lines_of(history: History, today: date) -> list[Line]:
    """How every job unit stands."""
    readings = readings_of(history)
    rules = {row["code"]: read_written(_written(row)) for row in csv.DictReader(io.StringIO(history.files["jobs.csv"]))}
    lines = []
    for (code, _unit), doings in doings_of(history).items():
        sources = JOBS[code].sources
        uses = {unit: Use(readings[source.counter], source.num, source.den) for unit, source in sources.items()}
        first, last = (_with_totals(past, uses) for past in (doings[0], doings[-1]))
        lines.append(Line(JOBS[code], worked_out(rules[code], last, first, uses, today)))
    return lines


def _with_totals(past: Past, uses: Mapping[str, Use]) -> Past:
    """With the totals that were not typed taken from the readings."""
    offered = {unit: total_on(use.readings, past.on) * use.num // use.den for unit, use in uses.items()}
    return Past(past.on, {**offered, **past.counts})


def _typed(cell: str) -> dict[str, int]:
    amounts = (text.split(" ") for text in filter(None, cell.split("; ")))
    return {unit: int(number) * (3600 if unit == "h" else 1) for number, unit in amounts}


def _written(row: Mapping[str, str]) -> str:
    clauses = [row["interval"]]
    clauses += ["from the aim"] if row["counts_from"] == "aim" else []
    clauses += [f"on the grid from {row['grid_from']}"] if row["grid_from"] else []
    clauses += [f"{name} {row[name]}" for name in ("tolerance", "opens", "closes") if row[name]]
    return "; ".join(clauses)


def limbs_overdue(line: Line) -> set[str]:
    """By which kinds of limit it is overdue."""
    return {limb["kind"] for limb in line.stands["limbs"] if limb["state"] == "overdue"}


@pytest.mark.parametrize(
    ("today", "seed"),
    [pytest.param(day, 7, id=f"{day}") for day in THIRTY_DAYS]
    + [pytest.param(date(2026, 11, 25), seed, id=f"seed-{seed}") for seed in OTHER_SEEDS],
)
def test_the_day_is_believable(today: date, seed: int) -> None:
    """A handful overdue (not all critical, one at least by its counter), some due, plenty upcoming, one or two held."""
    history = simulate(today, seed, MONTHS)
    lines = lines_of(history, today)
    states = Tally(line.stands["state"] for line in lines)
    overdue = [line for line in lines if line.stands["state"] == "overdue"]
    assert {line.job.code for line in overdue} == set(history.ending.overdue)
    assert 3 <= len(overdue) <= 12
    assert sum(line.job.critical for line in overdue) <= 1
    assert any(limbs_overdue(line) == {"count"} for line in overdue)
    assert 2 <= states["due"] + states["past due by estimate"] <= 12
    assert 60 <= states["upcoming"] <= 140
    assert states["no date"] == 0
    assert 1 <= len(history.ending.held) <= 2
    dates = [line.stands["due_on"] for line in lines]
    assert str(today - timedelta(days=80)) <= min(dates)
    assert max(dates) <= str(today + timedelta(days=5 * 366))


def test_thirty_days_fall_on_every_weekday_and_month() -> None:
    """So that none of them is a lucky one."""
    assert len(set(THIRTY_DAYS)) == 30
    assert {day.weekday() for day in THIRTY_DAYS} == set(range(7))
    assert {day.month for day in THIRTY_DAYS} == set(range(1, 13))
