"""When a job is due, worked out the long way: every date of a grid walked one by one, every reading looked through.

A second opinion on the engine, slow and plain on purpose. It shares no code with it: rules are taken apart from their
written form, months are added by dateutil, readings and doings are plain rows. R1 to R15 as the engine's docstrings
tell them; no lay-ups, extensions or estimates.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from itertools import count, takewhile
from typing import Any, NamedTuple

from dateutil.relativedelta import relativedelta

DAY_SECONDS = 86_400
UPCOMING_DAYS = 30
UPCOMING_SECONDS = 500 * 3600
RATE_DAYS = 90
STATES = (
    "no date", "not open", "later", "upcoming", "may be done", "due", "past due by estimate", "overdue",
)  # fmt: skip
"""The least urgent first."""

_CALENDAR = {"day": (0, 1), "week": (0, 7), "month": (1, 0), "year": (12, 0)}


class Amount(NamedTuple):
    """Months and days, or an amount of a unit in its base (seconds for hours), or a part of the interval in percent."""

    months: int = 0
    days: int = 0
    amount: int = 0
    unit: str = ""
    percent: int = 0

    @property
    def is_calendar(self) -> bool:
        """A stretch of the calendar."""
        return bool(self.months or self.days)


class WrittenRule(NamedTuple):
    """A rule as it is written, taken apart."""

    limbs: list[Amount]
    counts_from: str
    grid_on: date | None
    grid_at: dict[str, int]
    opens: list[Amount]
    closes: list[Amount]


class Past(NamedTuple):
    """A doing or a start: its ship's date and the running totals at it, by unit."""

    on: date
    counts: Mapping[str, int]


class Seen(NamedTuple):
    """An accepted reading: its instant, its ship's date, and the running total it stands for."""

    at: int
    on: date
    total: int


class Use(NamedTuple):
    """What a machine counts in one unit: all accepted readings of the counter, and its share of it."""

    readings: Sequence[Seen]
    num: int = 1
    den: int = 1


def read_written(text: str) -> WrittenRule:
    """The written rule taken apart."""
    interval, *clauses = text.split("; ")
    rule = WrittenRule([_amount(limb) for limb in interval.split(" or ")], "done", None, {}, [], [])
    for clause in clauses:
        if clause.startswith("from the aim"):
            rule = rule._replace(counts_from="aim")
        elif clause.startswith("on the grid from "):
            rule = rule._replace(counts_from="grid")
            for mark in clause.removeprefix("on the grid from ").split(" and "):
                if re.fullmatch(r"\d{4}-\d\d-\d\d", mark):
                    rule = rule._replace(grid_on=date.fromisoformat(mark))
                else:
                    first = _amount(mark)
                    rule.grid_at[first.unit] = first.amount
        else:
            side, *said = clause.removesuffix(" before").removesuffix(" after").split(" ", 1)
            margins = [_amount(margin) for margin in said[0].split(" or ")]
            if side in {"opens", "tolerance"}:
                rule.opens.extend(margins)
            if side in {"closes", "tolerance"}:
                rule.closes.extend(margins)
    return rule


def worked_out(rule: WrittenRule, last: Past, first: Past, uses: Mapping[str, Use], today: date) -> dict[str, Any]:
    """The state, the due date, the governing limb, and every limb's sum, as the engine tells them as data."""
    limbs = [
        _calendar(place, limb, rule, last, first, today)
        if limb.is_calendar
        else _counted(place, limb, rule, last, first, uses.get(limb.unit), today)
        for place, limb in enumerate(rule.limbs)
    ]
    dates = [(_date_of(limb), limb["place"]) for limb in limbs if _date_of(limb)]
    due_on, governing = min(dates, default=(None, -1))
    state = max((limb["state"] for limb in limbs), key=STATES.index)
    return {"state": state, "due_on": due_on, "governing": governing, "limbs": limbs}


def _date_of(limb: Mapping[str, Any]) -> str | None:
    found: str | None = limb["aim"] if limb["kind"] == "calendar" else limb["expected_on"]
    return found


def _calendar(place: int, limb: Amount, rule: WrittenRule, last: Past, first: Past, today: date) -> dict[str, Any]:
    before, after = _margin(rule.opens, limb), _margin(rule.closes, limb)
    if rule.counts_from == "done":
        base, times = last.on, 1
    else:
        base = rule.grid_on if rule.grid_on and rule.counts_from == "grid" else first.on
        times = 1 + _last_opened(base, limb, before, last.on)
    aim = _later(base, limb, times)
    limit = _after(aim, after, limb)
    opens = None if before is None else _earlier(aim, before, limb)
    fell_due = takewhile(lambda day: day <= today, (_later(base, limb, n) for n in count(times)))
    missed = list(fell_due) if rule.counts_from == "grid" else []
    if today > limit:
        state = "overdue"
    elif today >= aim:
        state = "due"
    elif opens is not None:
        state = "may be done" if today >= opens else "not open"
    else:
        state = "upcoming" if (aim - today).days <= UPCOMING_DAYS else "later"
    return {
        "kind": "calendar", "place": place, "counts_from": rule.counts_from, "base": str(base), "times": times,
        "interval": {"months": limb.months, "days": limb.days}, "opens": opens and str(opens), "aim": str(aim),
        "original": str(limit), "limit": str(limit), "today": str(today), "left_days": (limit - today).days,
        "missed": [str(day) for day in missed][:20], "state": state,
    }  # fmt: skip


def _last_opened(base: date, limb: Amount, before: Amount | None, done: date) -> int:
    """Which date of the grid the doing closed: the last one whose window had opened by then (R13)."""
    closed = 0
    for n in count(1):
        day = _later(base, limb, n)
        half = (day - _later(day, limb, -1)).days // 2
        opens = day - timedelta(days=half) if before is None else _earlier(day, before, limb)
        if opens > done:
            return closed
        closed = n
    raise AssertionError


def _counted(
    place: int, limb: Amount, rule: WrittenRule, last: Past, first: Past, use: Use | None, today: date
) -> dict[str, Any]:
    assert use is not None
    assert use.readings
    before, after = _amount_of(rule.opens, limb), _amount_of(rule.closes, limb)
    done = last.counts[limb.unit]
    if rule.counts_from == "done":
        base, times = done, 1
    else:
        base = rule.grid_at[limb.unit] if rule.counts_from == "grid" else first.counts[limb.unit]
        opening = limb.amount // 2 if before is None else before
        times = 1 + max(n for n in range(400) if n == 0 or base + n * limb.amount - opening <= done)
    aim = base + times * limb.amount
    limit = aim + (after or 0)
    newest = use.readings[-1]
    total = newest.total * use.num // use.den
    earliest = _measured_from(use.readings)
    rise = (newest.total - earliest.total) * use.num
    seconds = (newest.at - earliest.at) * use.den
    expected = _expected(newest.on, aim - total, rise, seconds)
    limit_on = _expected(newest.on, limit - total, rise, seconds) if rise > 0 else None
    state = _count_state(limb, total, aim, limit, None if before is None else aim - before, expected, limit_on, today)
    on_use = newest.on < today and (state == "past due by estimate" or (state == "due" and total < aim))
    since = (today - newest.on).days
    return {
        "kind": "count", "place": place, "unit": limb.unit, "counts_from": rule.counts_from, "base": base,
        "interval": limb.amount, "times": times, "opens": None if before is None else aim - before, "aim": aim,
        "original": limit, "limit": limit, "total": total, "read_on": str(newest.on), "guessed": 0, "left": aim - total,
        "rate": {
            "rise": rise, "seconds": seconds, "since": str(earliest.on), "until": str(newest.on), "before_layup": False,
        },
        "expected_on": expected and str(expected),
        "total_today": total + rise * since * DAY_SECONDS // seconds if on_use and rise > 0 else None,
        "most_today": total + since * DAY_SECONDS if on_use and limb.unit == "h" else None,
        "state": state, "estimated": state in {"due", "past due by estimate"} and total < aim,
    }  # fmt: skip


def _count_state(
    limb: Amount, total: int, aim: int, limit: int, opens: int | None, expected: date | None, limit_on: date | None,
    today: date,
) -> str:  # fmt: skip
    if total > limit:
        return "overdue"
    if total >= aim or (expected is not None and expected <= today):
        return "past due by estimate" if limit_on is not None and limit_on < today else "due"
    if opens is not None:
        return "may be done" if total >= opens else "not open"
    if expected is None:
        return "no date"
    near = limb.unit == "h" and aim - total <= UPCOMING_SECONDS
    return "upcoming" if near or (expected - today).days <= UPCOMING_DAYS else "later"


def _measured_from(readings: Sequence[Seen]) -> Seen:
    """The first reading not more than 90 days before the last one; the one before the last if that stands alone."""
    newest = readings[-1]
    first = next(seen for seen in readings if (newest.on - seen.on).days <= RATE_DAYS)
    return readings[-2] if first == newest else first


def _expected(read_on: date, left: int, rise: int, seconds: int) -> date | None:
    """The date of the reading plus whole days, rounded down (R6)."""
    if rise <= 0:
        return read_on if left <= 0 else None
    return read_on + timedelta(days=left * seconds // (rise * DAY_SECONDS))


def _margin(margins: Sequence[Amount], limb: Amount) -> Amount | None:
    """The margin that goes for a calendar limb."""
    assert limb.is_calendar
    return next((margin for margin in margins if margin.is_calendar or margin.percent), None)


def _amount_of(margins: Sequence[Amount], limb: Amount) -> int | None:
    """The margin that goes for a counter limb, in its base unit."""
    for margin in margins:
        if margin.percent:
            return limb.amount * margin.percent // 100
        if margin.unit == limb.unit:
            return margin.amount
    return None


def _later(start: date, by: Amount, times: int) -> date:
    return start + relativedelta(months=by.months * times) + timedelta(days=by.days * times)


def _after(aim: date, margin: Amount | None, limb: Amount) -> date:
    if margin is None:
        return aim
    return aim + timedelta(days=_days_of(aim, margin, limb)) if margin.percent else _later(aim, margin, 1)


def _earlier(aim: date, margin: Amount, limb: Amount) -> date:
    return aim - timedelta(days=_days_of(aim, margin, limb)) if margin.percent else _later(aim, margin, -1)


def _days_of(aim: date, margin: Amount, limb: Amount) -> int:
    return (aim - _later(aim, limb, -1)).days * margin.percent // 100


def _amount(text: str) -> Amount:
    number, unit = re.fullmatch(r"([\d .]+?) ?([^\d\s].*)", text).groups()  # type: ignore[union-attr]
    size = int(number.replace(" ", ""))
    if unit == "%":
        return Amount(percent=size)
    if months_days := _CALENDAR.get(unit.removesuffix("s")):
        return Amount(months=months_days[0] * size, days=months_days[1] * size)
    return Amount(amount=size * 3600 if unit == "h" else size, unit=unit)
