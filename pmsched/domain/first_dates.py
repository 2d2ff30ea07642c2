"""First dates of jobs of which no doing is known, spread so that they do not all fall due on one day.

A new register would otherwise have every yearly job due on the same day, this year and each year after. Common practice,
no source: planners spread them over the first year. Nothing is put off for longer than its interval or a year; critical
and class jobs are never spread but due at once, until somebody finds when they were last done. A proposal for people to
look at: it is not a doing and never shown as one.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

from pmsched.domain.counts import HOURS, SECONDS_PER_HOUR
from pmsched.domain.periods import Span, add_span
from pmsched.domain.rules import CalendarLimb, CountLimb, Rule

_YEAR = Span(months=12)
_YEAR_OF_HOURS = 8760 * SECONDS_PER_HOUR


class Unstarted(NamedTuple):
    """A job of which neither a doing nor a start is known.

    Attributes:
        key: names it.
        rule: when it falls due.
        held_back: critical or a class item; it is not spread.
        totals: running totals of its machine now, by unit; a unit that is missing is not known.
    """

    key: str
    rule: Rule
    held_back: bool
    totals: Mapping[str, int]


class FirstDate(NamedTuple):
    """What a job is proposed to count from.

    Attributes:
        key: names it.
        from_on: the date; None: due at once.
        from_counts: running totals, by unit.
        first_on: the calendar date on which it then falls due first; None where it has no calendar limit.
    """

    key: str
    from_on: date | None = None
    from_counts: tuple[tuple[str, int], ...] = ()
    first_on: date | None = None


def spread(jobs: Iterable[Unstarted], today: date) -> list[FirstDate]:
    """First dates for the jobs, in the order given; those with the same interval follow each other in that order."""
    every = list(jobs)
    found = {one.key: one for one in _proposals(every, today)}
    return [found[job.key] for job in every]


def _proposals(jobs: Iterable[Unstarted], today: date) -> Iterator[FirstDate]:
    alike: dict[object, list[Unstarted]] = defaultdict(list)
    for job in jobs:
        if job.held_back or not _known(job):
            yield FirstDate(job.key)
        elif job.rule.counts_from == "grid":
            # A grid has dates and marks of its own: the next one is the first.
            yield FirstDate(job.key, today, tuple(sorted(_now(job).items())), None)
        else:
            alike[_stretch(job.rule)].append(job)
    for group in alike.values():
        for place, job in enumerate(group):
            # In the middle of its share of the stretch: one job alone waits half of it, never all of it.
            yield _begun(job, Fraction(2 * place + 1, 2 * len(group)), today)


def _known(job: Unstarted) -> bool:
    """Whether every counter it counts on has a total; without one, nothing can be proposed."""
    return all(limb.unit in job.totals for limb in job.rule.limbs if isinstance(limb, CountLimb))


def _now(job: Unstarted) -> dict[str, int]:
    return {limb.unit: job.totals[limb.unit] for limb in job.rule.limbs if isinstance(limb, CountLimb)}


def _stretch(rule: Rule) -> object:
    """Over how much the jobs of this interval are spread: the interval, at most a year."""
    spans = [limb.every for limb in rule.limbs if isinstance(limb, CalendarLimb)]
    if spans:
        start = date(2001, 1, 1)
        return min((*spans, _YEAR), key=lambda span: add_span(start, span))
    limb = rule.limbs[0]
    return (limb.unit, _share_of(limb)) if isinstance(limb, CountLimb) else None


def _share_of(limb: CountLimb) -> int:
    return min(limb.amount, _YEAR_OF_HOURS) if limb.unit == HOURS else limb.amount


def _begun(job: Unstarted, left: Fraction, today: date) -> FirstDate:
    spans = [limb.every for limb in job.rule.limbs if isinstance(limb, CalendarLimb)]
    counts = tuple(
        sorted(
            (limb.unit, _whole(max(0, job.totals[limb.unit] - limb.amount + int(_share_of(limb) * left)), limb.unit))
            for limb in job.rule.limbs
            if isinstance(limb, CountLimb)
        )
    )
    if not spans:
        return FirstDate(job.key, today, counts, None)
    span = min(spans, key=lambda span: add_span(today, span))
    stretch = min(span, _YEAR, key=lambda one: add_span(today, one))
    wanted = today + timedelta(days=max(1, int((add_span(today, stretch) - today).days * left)))
    begun = add_span(wanted, span, -1)
    while add_span(begun, span) < wanted:
        # A month back from its last day is a shorter month's end, from which a month is not enough.
        begun += timedelta(days=1)
    return FirstDate(job.key, begun, counts, add_span(begun, span))


def _whole(amount: int, unit: str) -> int:
    """Whole hours: a stated start is no measurement."""
    return amount - amount % SECONDS_PER_HOUR if unit == HOURS else amount
