"""The vessel as its files describe it: people, counters, jobs, and how much each machine is used.

Reads the CSV files of this package, which hold nothing dated. Knows enough of their notation to simulate with; it is
no reader for other files.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Literal, NamedTuple

from pmsched.domain.counts import HOURS, READS, SECONDS_PER_HOUR, Meter, parse_count
from pmsched.domain.periods import Span
from pmsched.domain.rules import CalendarLimb, CountLimb, CountsFrom, Limb
from seeds_demo.csv_files import Row, rows

SITE = "MV Brindlewick Plover"
"""The vessel of the demo. Invented, as are its people, its machines and every figure about them."""

Place = Literal["anywhere", "in port", "at sea"]
"""Where a job can be done."""

_CALENDAR = {"day": Span(days=1), "week": Span(days=7), "month": Span(months=1)}
_STARTS_FROM: tuple[CountsFrom, ...] = ("done", "grid", "aim")
_PLACES: tuple[Place, ...] = ("in port", "at sea")
# From about a quarter of a year of steaming on, the units of a job are done one by one.
_ONE_BY_ONE_SECONDS = 3000 * SECONDS_PER_HOUR


class Person(NamedTuple):
    """Somebody on board; the department is one word."""

    code: str
    name: str
    rank: str
    department: str


class Counter(NamedTuple):
    """A counter with the dial value and the running total at which its record begins, in base units."""

    code: str
    machine: str
    meter: Meter
    dial: int
    total: int


class Source(NamedTuple):
    """What a machine counts on: the share num / den of a counter."""

    counter: str
    num: int = 1
    den: int = 1


class Use(NamedTuple):
    """How much a counter rises a day, low and high, at sea, in port and in dock; base units.

    Counters of one ``group`` take the places of its rows in turn, changing every ``turn_days``.
    """

    counter: str
    group: str
    turn_days: int
    by_state: Mapping[str, tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Job:
    """A job, as far as the simulation needs it; ``critical`` also when its machine is."""

    code: str
    machine: str
    title: str
    limbs: tuple[Limb, ...]
    counts_from: CountsFrom
    tolerance: str
    closes: Span
    units: tuple[str, ...]
    department: str
    rank: str
    critical: bool
    class_item: bool
    place: Place
    sources: Mapping[str, Source]
    due_in_days: int

    @property
    def lines(self) -> tuple[tuple[str, ...], ...]:
        """The units that are done together; one empty line for a job without units."""
        one_by_one = any(isinstance(limb, CountLimb) and limb.amount >= _ONE_BY_ONE_SECONDS for limb in self.limbs)
        return tuple((unit,) for unit in self.units) if one_by_one and self.units else (self.units,)

    def margin(self, limb: CountLimb) -> int:
        """The tolerance of a counter limb, in base units; 0 for none."""
        if self.tolerance.endswith("%"):
            return limb.amount * int(self.tolerance.removesuffix("%")) // 100
        return _amount(self.tolerance).amount if self.tolerance else 0


@cache
def people() -> tuple[Person, ...]:
    """Everybody on board who stands in the register."""
    return tuple(Person(**row) for row in rows("people.csv"))


def first_of(rank: str) -> Person:
    """The first person of that rank."""
    return next(person for person in people() if person.rank == rank)


def chief() -> Person:
    """The chief engineer, who opens the register."""
    return first_of("Chief engineer")


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
def jobs() -> tuple[Job, ...]:
    """The jobs, in the order of the file."""
    critical = {row["code"] for row in rows("machines.csv") if row["critical"] == "yes"}
    due_in = {row["job"]: int(row["due_in_days"]) for row in rows("grids.csv")}
    return tuple(_job(row, row["machine"] in critical, due_in.get(row["code"], 0)) for row in rows("jobs.csv"))


def _job(row: Row, critical_machine: bool, due_in_days: int) -> Job:
    closes = _limb(row["closes"]) if row["closes"] else CalendarLimb(Span())
    return Job(
        code=row["code"],
        machine=row["machine"],
        title=row["title"],
        limbs=tuple(_limb(text) for text in row["interval"].split(" or ")),
        counts_from=next(way for way in _STARTS_FROM if way == row["counts_from"]),
        tolerance=row["tolerance"],
        closes=closes.every if isinstance(closes, CalendarLimb) else Span(),
        units=_units(row["units"]),
        department=row["department"],
        rank=row["rank"],
        critical=critical_machine or row["critical"] == "yes",
        class_item=row["class_item"] == "yes",
        place=_place(row["needs"].lower()),
        sources=_sources(row["machine"]),
        due_in_days=due_in_days,
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


def _place(needs: str) -> Place:
    return next((place for place in _PLACES if place in needs), "anywhere")


def _units(text: str) -> tuple[str, ...]:
    return tuple(str(n + 1) for n in range(int(text))) if text.isdigit() else tuple(filter(None, text.split(";")))


def _range(text: str, meter: Meter) -> tuple[int, int]:
    low, high = (Fraction(end) * (SECONDS_PER_HOUR if meter.unit == HOURS else 1) for end in re.split("-", text))
    return int(low), int(high)
