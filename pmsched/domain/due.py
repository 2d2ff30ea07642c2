"""What is due: the standing of one job (unit) at one moment, from values only.

One implementation, a scalar loop over plain values. ``stand`` is used in bulk without a recorder and for shown rows
with one; the recorder only listens. Conventions R1-R15: on the due date a job is due, not overdue; at exactly the
interval it is due, not overdue; the limit is the aim plus its margin, or the extension where one is granted; overdue
never rests on an estimate.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from enum import IntEnum
from typing import Literal, NamedTuple

from pmsched.domain.aims import NO_DATES, CalendarTerms, CountTerms, Doing, DoingKind, RuleTerms
from pmsched.domain.aims import Extension as Extension  # noqa: PLC0414 - standings are asked for with it: one door
from pmsched.domain.counters import Count
from pmsched.domain.counts import HOURS


class State(IntEnum):
    """How urgent a job stands, least first; ``word`` is what people read."""

    NO_DATE = 0
    NOT_OPEN = 1
    LATER = 2
    UPCOMING = 3
    MAY_BE_DONE = 4
    DUE = 5
    PAST_DUE_BY_ESTIMATE = 6
    OVERDUE = 7

    @property
    def word(self) -> str:
        """The state as a word: 'may be done', 'past due by estimate'."""
        return self.name.lower().replace("_", " ")


class Settings(NamedTuple):
    """The settings that change an answer, in days, seconds, and minutes after midnight.

    ``skipped`` is not set by anybody: the ship's dates that never occur, from the ship's clock (case 13c).
    """

    rate_window_days: int = 90
    upcoming_days: int = 30
    upcoming_seconds: int = 500 * 3600
    watch_ends_minutes: int = 8 * 60
    skipped: frozenset[date] = NO_DATES


class Standing(NamedTuple):
    """What is said of a job (unit) at a moment.

    Attributes:
        state: the most urgent of its limbs.
        due_on: date of the governing limb; None when no limb has a date.
        governing: index of that limb in the rule; -1 for none.
        expected: the date comes from use, not from the calendar.
        estimated: the state, or the governing date, rests on an estimate; OVERDUE never does, only its amount may.
        overdue_days: days past the calendar limit; 0 when it is not passed.
        overdue_counts: amounts past the limits of counters, as (unit, amount); empty while only an estimate is past.
        missed: occurrences of a grid that fell due and are open, the open one included.
        extended: an extension lies over the limit.
    """

    state: State
    due_on: date | None
    governing: int
    expected: bool = False
    estimated: bool = False
    overdue_days: int = 0
    overdue_counts: tuple[tuple[str, int], ...] = ()
    missed: int = 0
    extended: bool = False


class CalendarDetail(NamedTuple):
    """One calendar limb, worked out: window, limit, and what is left (days; negative when passed)."""

    place: int
    base: date | None
    opens: date | None
    aim: date
    limit: date
    today: date
    state: State
    missed: tuple[date, ...]
    kind: Literal["calendar"] = "calendar"

    @property
    def days_left(self) -> int:
        """Days to the limit; negative when it is passed."""
        return (self.limit - self.today).days


class CountDetail(NamedTuple):
    """One counter limb, worked out, in base units.

    ``shown`` is None without a reading, ``aim`` and ``limit`` when the total at the last doing is not known;
    ``guessed`` is how much of the use since that doing rests on estimates.
    """

    place: int
    unit: str
    base: int | None
    opens: int | None
    aim: int | None
    limit: int | None
    shown: Count | None
    due_on: date | None
    state: State
    estimated: bool
    guessed: int
    kind: Literal["count"] = "count"

    @property
    def left(self) -> int | None:
        """Amount left to the aim by the last reading; negative when it is passed."""
        return None if self.shown is None or self.aim is None else self.aim - self.shown.total


Detail = CalendarDetail | CountDetail
Recorder = Callable[[Detail], None]
Counts = Mapping[str, Count]


def stand(
    terms: RuleTerms,
    doing: Doing | None,
    counts: Counts,
    today: date,
    settings: Settings,
    extension: Extension | None = None,
    record: Recorder | None = None,
) -> Standing:
    """The standing of one job (unit) today.

    Args:
        terms: the compiled rule in force.
        doing: its last closing or its stated start; None means neither is known, and then it is due: a job is never
            "not due because never done".
        counts: the machine's counts by unit.
        today: the ship's date of the moment.
        settings: thresholds in force.
        extension: the granted later limit of the open occurrence.
        record: told every limb's working; the answer is the same without it.
    """
    if doing is None or doing.kind is DoingKind.DUE_AT_ONCE:
        return _at_once(doing and doing.on, counts, today, extension)
    state = State.NO_DATE
    due_on: date | None = None
    governing = -1
    expected = estimated = date_estimated = False
    overdue_days = missed = 0
    overdue_counts: tuple[tuple[str, int], ...] = ()
    limb_on: date | None
    for limb in terms.limbs:
        if isinstance(limb, CalendarTerms):
            limb_state, aim, days, fell_due = _calendar(limb, doing, today, settings, extension, record)
            limb_on, from_use, limb_estimated = aim, False, False
            if days or fell_due:
                overdue_days, missed = max(overdue_days, days), max(missed, fell_due)
        else:
            limb_state, limb_on, amount, limb_estimated = _counter(
                limb, doing, counts, today, settings, extension, record
            )
            from_use = True
            if amount > 0:
                overdue_counts += ((limb.unit, amount),)
        if limb_state > state:
            state, estimated = limb_state, limb_estimated
        elif estimated and limb_state == state:  # one limb that stands so for certain is enough
            estimated = limb_estimated
        if limb_on is not None and (due_on is None or limb_on < due_on):
            due_on, governing, expected, date_estimated = limb_on, limb.index, from_use, limb_estimated
    return Standing(
        state, due_on, governing, expected, estimated or date_estimated,
        overdue_days, overdue_counts, missed, extension is not None,
    )  # fmt: skip


def _at_once(due_on: date | None, counts: Counts, today: date, extension: Extension | None) -> Standing:
    """A job due without an interval: overdue from the day after, or past its extension; never without a date."""
    limit = due_on if extension is None else extension.until_on
    late = 0 if limit is None else max(0, (today - limit).days)
    past = tuple(
        (unit, counts[unit].total - until)
        for unit, until in (extension.until_counts if extension else ())
        if unit in counts and counts[unit].total - counts[unit].estimated > until
    )
    state = State.OVERDUE if late or past else State.DUE
    return Standing(state, due_on, -1, overdue_days=late, overdue_counts=past, extended=extension is not None)


def _calendar(
    limb: CalendarTerms,
    doing: Doing,
    today: date,
    settings: Settings,
    extension: Extension | None,
    record: Recorder | None,
) -> tuple[State, date, int, int]:
    """State, due date, days overdue, and how many grid occurrences are open."""
    aim = limb.passing_over(settings.skipped, limb.aim_after(doing))
    limit = limb.limit_of(aim) if extension is None else limb.limit_under(aim, extension)
    opens = None if limb.before is None else limb.opens_of(aim)
    overdue = 0
    if today > limit:
        state = State.OVERDUE
        overdue = (today - limit).days
    elif today >= aim:
        state = State.DUE
    elif opens is not None:
        state = State.MAY_BE_DONE if today >= opens else State.NOT_OPEN
    elif (aim - today).days <= settings.upcoming_days:
        state = State.UPCOMING
    else:
        state = State.LATER
    missed = limb.fell_due(aim, today, settings.skipped) if today >= aim and limb.on_grid else 0
    if record is not None:
        base = None if limb.on_grid else doing.on
        open_dates = limb.open_dates(aim, today, settings.skipped) if missed else ()
        record(CalendarDetail(limb.index, base, opens, aim, limit, today, state, open_dates))
    return state, aim, overdue, missed


def _counter(
    limb: CountTerms,
    doing: Doing,
    counts: Counts,
    today: date,
    settings: Settings,
    extension: Extension | None,
    record: Recorder | None,
) -> tuple[State, date | None, int, bool]:
    """State, expected date, amount overdue, and whether the state rests on an estimate."""
    unit = limb.unit
    aim = limb.aim_after(doing)
    count = counts.get(unit)
    if count is None or aim is None:
        if record is not None:
            base = doing.counts.get(unit)
            limit = None if aim is None else limb.limit_under(aim, extension)
            record(CountDetail(limb.index, unit, base, None, aim, limit, count, None, State.NO_DATE, False, 0))
        return State.NO_DATE, None, 0, False
    limit = aim + limb.after if extension is None else limb.limit_under(aim, extension)
    opens = aim - limb.before if limb.windowed else None
    total = count.total
    # What was estimated before the doing was done away with by it: only hours since then can be in doubt.
    guessed = count.estimated and max(0, count.estimated - doing.estimated.get(unit, 0))
    on = count.expected_on(aim)
    if total < aim and (on is None or on > today):
        state, estimated = _before_aim(opens, aim, count, on, today, settings, unit), guessed > 0
    else:
        state, estimated = _from_aim(limit, count, guessed, today), guessed > 0 or total < aim
    if record is not None:
        base = None if limb.on_grid else doing.counts.get(unit)
        record(CountDetail(limb.index, unit, base, opens, aim, limit, count, on, state, estimated, guessed))
    return state, on, total - limit if state is State.OVERDUE else 0, estimated


def _before_aim(
    opens: int | None, aim: int, count: Count, on: date | None, today: date, settings: Settings, unit: str
) -> State:
    if opens is not None:
        return State.MAY_BE_DONE if count.total >= opens else State.NOT_OPEN
    if on is None:
        return State.NO_DATE
    if (on - today).days <= settings.upcoming_days or (
        unit == HOURS and aim - count.total <= settings.upcoming_seconds
    ):
        return State.UPCOMING
    return State.LATER


def _from_aim(limit: int, count: Count, guessed: int, today: date) -> State:
    """The aim is reached, or expected to be: overdue only on what was really read."""
    if count.total - guessed > limit:
        return State.OVERDUE
    # At exactly the limit, a machine that does not run stays due (R4): only use can have carried it past.
    limit_on = count.expected_on(limit) if count.rate is not None and count.rate.rise > 0 else None
    if count.total > limit or (limit_on is not None and limit_on < today):
        return State.PAST_DUE_BY_ESTIMATE
    return State.DUE
