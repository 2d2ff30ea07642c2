"""Ask for the sheet of a round: counters in walking order with what is expected of them, and judge one typed value.

Nothing is written here; ``record_round`` keeps a round.
"""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.counters import Count, Rate, period_at
from pmsched.domain.counts import Meter, parse_count
from pmsched.domain.errors import NotFound
from pmsched.store.book import label_of
from pmsched.store.due_facts import counter_rows
from pmsched.store.lookups import counters, machines
from pmsched.store.reading_facts import held_readings
from pmsched.store.register import Register
from pmsched.usecases.counting import Periods, counter_counts, periods_of
from pmsched.usecases.judging import Typed, judge_line, line_of
from pmsched.usecases.near_names import near
from pmsched.usecases.record_round import LineResult
from pmsched.usecases.views import Asked, Scene, scene


class SheetLine(NamedTuple):
    """One counter of the round sheet. Amounts are dial values in base units (seconds for hours).

    Attributes:
        counter, name: its code, and its name on the round.
        machine, machine_name: the machine that carries it.
        meter: the unit, and how fine the dial reads.
        dial, read_at, read_on: the last accepted reading (UTC instant, ship's date); None if it was never read.
        rate: use; None when it could not be measured.
        expected: what the dial should show at the moment asked about, by that use; None without one.
        held: numbers of the readings that wait to be settled.
    """

    counter: str
    name: str
    machine: str
    machine_name: str
    meter: Meter
    dial: int | None
    read_at: int | None
    read_on: date | None
    rate: Rate | None
    expected: int | None
    held: tuple[str, ...]


def round_sheet(register: Register, asked: Asked) -> tuple[SheetLine, ...]:
    """The counters of machines in use, in walking order."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        periods = periods_of(connection, seen)
        counts = counter_counts(connection, seen, periods)
        last = {row[0]: row for row in counter_rows(connection, seen.view, seen.settings.rate_window_days)}
        held = _held(connection, seen)
        places = {machine.id: machine for machine in machines(connection, seen.view) if machine.active}
        return tuple(
            _line(seen, periods, row, places[row.machine_id], last.get(row.id), counts.get(row.id), held[row.id])
            for row in counters(connection, seen.view)
            if row.machine_id in places
        )


def judge_value(register: Register, asked: Asked, counter: str, value: str, read_at: int) -> LineResult:
    """Whether a value typed for a counter can be true at that instant, and what was probably meant if not.

    Raises:
        NotFound: there is no such counter.
        Refusal: the value is not a count.
    """
    with register.reading() as connection:
        seen = scene(connection, asked)
        by_code = {row.code.lower(): row for row in counters(connection, seen.view)}
        row = by_code.get(counter.strip().lower())
        if row is None:
            hint = near(counter, (known.code for known in by_code.values()))
            raise NotFound("unknown-counter", f"There is no counter {counter}.", hint)
        meter = Meter(row.unit, row.reads)
        typed = Typed(row, meter, read_at, parse_count(value, meter))
        line = line_of(connection, periods_of(connection, seen).get(row.id, []), typed)
        return LineResult(row.code, meter, typed.dial, line.before, judge_line(line, seen.clock))


def _line(
    seen: Scene, periods: Periods, row: Any, machine: Any, last: Any, count: Count | None, held: tuple[str, ...]
) -> SheetLine:
    meter = Meter(row.unit, row.reads)
    sheet = SheetLine(
        row.code, row.name or machine.name, machine.code, machine.name, meter, None, None, None, None, None, held
    )
    if last is None or count is None:
        return sheet
    _id, _unit, _reads, _reading, read_at, _offset, dial, *_first = last
    expected = _expected(seen, periods.get(row.id, []), count, read_at, meter)
    return sheet._replace(dial=dial, read_at=read_at, read_on=count.on, rate=count.rate, expected=expected)


def _expected(seen: Scene, periods: Any, count: Count, read_at: int, meter: Meter) -> int | None:
    """What the dial should show at the moment asked about, down to a step of it."""
    rate, passed = count.rate, seen.view.until - read_at
    if rate is None or passed < 0:
        return None
    total = count.total + rate.rise * passed // rate.seconds
    period = period_at(periods, seen.view.until)
    dial = period.dial(total) if period else total
    return dial - dial % meter.step


def _held(connection: Connection, seen: Scene) -> dict[int, tuple[str, ...]]:
    held: dict[int, tuple[str, ...]] = defaultdict(tuple)
    for row in held_readings(connection, seen.view):
        held[row.counter_id] += (label_of(row.fact_id),)
    return held
