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

from pmsched.domain.aims import CalendarTerms, CountTerms, Doing, DoingKind, RuleTerms
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
    """The settings that change an answer; amounts in days and seconds."""

    rate_window_days: int = 90
    upcoming_days: int = 30
    upcoming_seconds: int = 500 * 3600


class Extension(NamedTuple):
    """A granted later limit; it lies over the original and never replaces it."""

    until_on: date | None = None
    until_counts: tuple[tuple[str, int], ...] = ()


class Standing(NamedTuple):
    """What is said of a job (unit) at a moment.

    Attributes:
        state: the most urgent of its limbs.
        due_on: date of the governing limb; None when no limb has a date.
        governing: index of that limb in the rule; -1 for none.
        expected: the date comes from use, not from the calendar.
        estimated: the state rests on an estimate.
        overdue_days: days past the calendar limit; 0 when it is not passed.
        overdue_counts: amounts past the limits of counters, as (unit, amount).
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

    ``shown`` is None without a reading, ``aim`` and ``limit`` when the total at the last doing is not known.
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
    kind: Literal["count"] = "count"

    @property
    def left(self) -> int | None:
        """Amount left to the aim by the last reading; negative when it is passed."""
        return None if self.shown is None or self.aim is None else self.aim - self.shown.total


Detail = CalendarDetail | CountDetail
Recorder = Callable[[Detail], None]
Counts = Mapping[str, Count]

_NOT_STARTED = Standing(State.DUE, None, -1)


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
    if doing is None:
        return _NOT_STARTED
    if doing.kind is DoingKind.DUE_AT_ONCE:
        late = (today - doing.on).days
        return Standing(State.OVERDUE if late > 0 else State.DUE, doing.on, -1, overdue_days=max(0, late))
    state = State.NO_DATE
    due_on: date | None = None
    governing = -1
    expected = estimated = False
    overdue_days = missed = 0
    overdue_counts: tuple[tuple[str, int], ...] = ()
    limb_on: date | None
    for limb in terms.limbs:
        if isinstance(limb, CalendarTerms):
            limb_state, aim, days, fell_due = _calendar(limb, doing, today, settings, extension, record)
            limb_on, limb_estimated = aim, False
            overdue_days, missed = max(overdue_days, days), max(missed, fell_due)
        else:
            limb_state, limb_on, amount, limb_estimated = _counter(
                limb, doing, counts, today, settings, extension, record
            )
            if amount > 0:
                overdue_counts += ((limb.unit, amount),)
        if limb_state > state:
            state, estimated = limb_state, limb_estimated
        if limb_on is not None and (due_on is None or limb_on < due_on):
            due_on, governing, expected = limb_on, limb.index, isinstance(limb, CountTerms)
    return Standing(
        state, due_on, governing, expected, estimated, overdue_days, overdue_counts, missed, extension is not None
    )


def _calendar(
    limb: CalendarTerms,
    doing: Doing,
    today: date,
    settings: Settings,
    extension: Extension | None,
    record: Recorder | None,
) -> tuple[State, date, int, int]:
    """State, due date, days overdue, and how many grid occurrences are open."""
    aim = limb.aim_after(doing)
    limit = limb.limit_of(aim)
    if extension is not None and extension.until_on is not None:
        limit = extension.until_on
    opens = limb.opens_of(aim) if limb.windowed else None
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
    missed = limb.fell_due(aim, today) if limb.on_grid and today >= aim else 0
    if record is not None:
        base = None if limb.on_grid else doing.on
        open_dates = tuple(limb.occurrence_after(aim, n) for n in range(missed))
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
            record(
                CountDetail(limb.index, unit, doing.counts.get(unit), None, aim, aim, count, None, State.NO_DATE, False)
            )
        return State.NO_DATE, None, 0, False
    limit = aim + limb.after
    if extension is not None:
        limit = dict(extension.until_counts).get(unit, limit)
    opens = aim - limb.before if limb.windowed else None
    total = count.total
    on = count.expected_on(aim)
    if total < aim and (on is None or on > today):
        state, estimated = _before_aim(opens, aim, count, on, today, settings, unit), False
    else:
        state, estimated = _from_aim(aim, limit, count, today)
    if record is not None:
        base = None if limb.on_grid else doing.counts.get(unit)
        record(CountDetail(limb.index, unit, base, opens, aim, limit, count, on, state, estimated))
    return state, on, total - limit, estimated


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


def _from_aim(aim: int, limit: int, count: Count, today: date) -> tuple[State, bool]:
    """The aim is reached, or expected to be: overdue only on what was really read."""
    read = count.total - count.estimated
    if read > limit:
        return State.OVERDUE, False
    limit_on = count.expected_on(limit)
    if count.total > limit or (limit_on is not None and limit_on < today):
        return State.PAST_DUE_BY_ESTIMATE, True
    return State.DUE, read < aim
