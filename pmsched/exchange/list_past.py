"""Hours stated with last doings as readings of their days: two readings tell how much a machine is used.

Only those are taken that go together with the reading of now: none later than it, no day with two values, never backwards,
and never more than 24 hours in a day. Knows texts as our sheets have them.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from typing import NamedTuple

from pmsched.domain.counts import HOURS, SECONDS_PER_DAY, Meter, parse_count
from pmsched.domain.errors import Refusal
from pmsched.exchange.list_cells import as_date

_FINEST = Meter(HOURS, "h:min")


class _Point(NamedTuple):
    on: date
    seconds: int
    value: str
    job: str


def past_readings(
    done: Iterable[Mapping[str, str]], counter_of: Mapping[str, str], now: Iterable[Mapping[str, str]]
) -> Iterator[dict[str, str]]:
    """Rows of readings, the oldest of each counter first.

    Args:
        done: rows of last doings.
        counter_of: the counter of hours of each job's machine, by job.
        now: rows of the readings that are there.
    """
    found: dict[str, list[_Point]] = defaultdict(list)
    for one in done:
        if (point := _point(one["done_on"], one["count"].removesuffix(f" {HOURS}"), one["job"])) is not None:
            found[counter_of.get(one["job"], "")].append(point)
    for one in now:
        last = _point(one["read_on"], one["value"], "")
        for point in reversed(list(_together(found[one["counter"]], last))):
            note = f"hours at the last doing of {point.job}"
            yield {"counter": one["counter"], "read_on": f"{point.on}", "value": point.value, "note": note}


def _point(day: str, hours: str, job: str) -> _Point | None:
    on = as_date(day)
    try:
        return _Point(on, parse_count(hours, _FINEST), hours, job) if on else None
    except Refusal:
        return None


def _together(points: Iterable[_Point], last: _Point | None) -> Iterator[_Point]:
    """Those that go together with the last one, the latest first."""
    by_day: dict[date, list[_Point]] = defaultdict(list)
    for point in points:
        by_day[point.on].append(point)
    for on in sorted(by_day, reverse=True):
        point = by_day[on][0]
        if last is None or len({one.seconds for one in by_day[on]}) > 1 or on >= last.on:
            continue
        if 0 <= last.seconds - point.seconds <= (last.on - on).days * SECONDS_PER_DAY:
            yield point
            last = point
