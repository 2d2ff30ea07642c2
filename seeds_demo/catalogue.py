"""The vessel as its files describe it: counters, jobs, and how much each machine is used.

Reads the CSV files of this package, which hold nothing dated. Knows enough of their notation to simulate with; it is
no reader for other files.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from pmsched.domain.counts import HOURS, READS, SECONDS_PER_HOUR, Meter, parse_count
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountsFrom, Limb
from seeds_demo.csv_files import Row, rows
from seeds_demo.jobs import Job, Margin, Place, Source
from seeds_demo.kinds import job_rows

SITE = "MV Brindlewick Plover"
"""The vessel of the demo. Invented, as are its people, its machines and every figure about them."""

_CALENDAR = {"day": Span(days=1), "week": Span(days=7), "month": Span(months=1)}
_STARTS_FROM: tuple[CountsFrom, ...] = ("done", "grid", "aim")
_PLACES: tuple[Place, ...] = ("in dry dock", "in port", "at sea")


class Counter(NamedTuple):
    """A counter with the dial value and the running total at which its record begins, in base units."""

    code: str
    machine: str
    meter: Meter
    dial: int
    total: int


class Use(NamedTuple):
    """How much a counter rises a day, low and high, at sea, in port and in dock; base units.

    Counters of one ``group`` take the places of its rows in turn, changing every ``turn_days``.
    """

    counter: str
    group: str
    turn_days: int
    by_state: Mapping[str, tuple[int, int]]


@cache
def counters() -> Mapping[str, Counter]:
    """The counters by code, in walking order."""
    return {row["code"]: _counter(row) for row in rows("counters.csv")}


@cache
def uses() -> tuple[Use, ...]:
    """Daily use of every counter."""
    return tuple(
        Use(
            row["counter"],
            row["group"],
            int(row["turn_days"] or 1),
            {state: _range(row[state], counters()[row["counter"]].meter) for state in ("sea", "port", "dock")},
        )
        for row in rows("use.csv")
    )


@cache
def groups() -> tuple[tuple[Use, ...], ...]:
    """The counters that take turns, together; each other one alone."""
    found: dict[str, list[Use]] = {}
    for use in uses():
        found.setdefault(use.group or use.counter, []).append(use)
    return tuple(map(tuple, found.values()))


@cache
def jobs() -> tuple[Job, ...]:
    """The jobs, in the order of the file of kinds."""
    critical = {row["code"] for row in rows("machines.csv") if row["critical"] == "yes"}
    return tuple(_job(row, row["machine"] in critical) for row in job_rows())


def _job(row: Row, critical_machine: bool) -> Job:
    return Job(
        code=row["code"],
        machine=row["machine"],
        title=row["title"],
        limbs=tuple(_limb(text) for text in row["interval"].split(" or ")),
        counts_from=next(way for way in _STARTS_FROM if way == row["counts_from"]),
        first_mark=_amount(row["grid_from"]).amount if row["grid_from"] else 0,
        late=_margin(row["tolerance"] or row["closes"]),
        units=_units(row["units"]),
        apart=row["apart"] == "yes",
        department=row["department"],
        rank=row["rank"],
        critical=critical_machine or row["critical"] == "yes",
        class_item=row["class_item"] == "yes",
        place=_place(row["needs"].lower()),
        sources=_sources(row["machine"]),
        starts=row["starts"],
        says=row["says"],
    )


@cache
def _sources(machine: str) -> Mapping[str, Source]:
    """What a machine counts on, by unit: its own counters, and those it is said to count on."""
    own = {counter.meter.unit: Source(counter.code) for counter in counters().values() if counter.machine == machine}
    row = next(row for row in rows("machines.csv") if row["code"] == machine)
    for written in filter(None, row["counts_on"].split(";")):
        code, _, share = written.strip().partition(" ")
        part = Fraction(share or 1)
        own[counters()[code].meter.unit] = Source(code, part.numerator, part.denominator)
    return own


def _counter(row: Row) -> Counter:
    meter = Meter(row["unit"], next(reads for reads in READS if reads == row["reads"]))
    dial, total = (parse_count(row[column], meter) for column in ("dial_start", "total_start"))
    return Counter(row["code"], row["machine"], meter, dial, total)


def _limb(text: str) -> Limb:
    number, unit = text.split()
    span = _CALENDAR.get(unit.removesuffix("s"))
    if span is None:
        return _amount(text)
    return CalendarLimb(Span(span.months * int(number), span.days * int(number)))


def _amount(text: str) -> CountLimb:
    number, unit = text.split()
    return CountLimb(int(number) * (SECONDS_PER_HOUR if unit == HOURS else 1), unit)


def _margin(text: str) -> Margin:
    if not text:
        return Margin()
    if text.endswith("%"):
        return Margin(percent=int(text.removesuffix("%")))
    limb = _limb(text)
    return Margin(span=limb.every) if isinstance(limb, CalendarLimb) else Margin(amount=limb.amount)


def _place(needs: str) -> Place:
    return next((place for place in _PLACES if place in needs), "anywhere")


def _units(text: str) -> tuple[str, ...]:
    return tuple(str(n + 1) for n in range(int(text))) if text.isdigit() else tuple(filter(None, text.split(";")))


def _range(text: str, meter: Meter) -> tuple[int, int]:
    low, high = (Fraction(end) * (SECONDS_PER_HOUR if meter.unit == HOURS else 1) for end in re.split("-", text))
    return int(low), int(high)
