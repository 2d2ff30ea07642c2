"""What each doing meant: the limits that stood before it, how early or late it was, and what it closed or left undone.

Nothing of this is stored. The rule in force on the day the work was done decides (R12), so a later revision never
changes whether past work was on time. All grid and limit arithmetic is the engine's own, in ``aims``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from pmsched.domain.aims import NO_DATES, CalendarTerms, CountTerms, Doing, DoingKind, Extension, RuleTerms

TermsOn = Callable[[date], RuleTerms]

AT_ONCE = -1
"""The place of a limit that no limb of the rule made: the job had been stated due at once."""


class CalendarClose(NamedTuple):
    """One calendar limit a doing is judged by.

    Attributes:
        place: index of the limb in the rule; AT_ONCE for a job stated due at once.
        on_grid: the aim is an occurrence of a grid.
        aim: the due date that stood before it; on a grid the occurrence it closed, or the open one for an extra.
        opens: first day of the window; None where none is stated.
        original: last day on time before any extension.
        limit: last day on time, the extension where one was granted (R14).
        done_on: the day of the doing.
        extra: it came before the window of the open occurrence, which therefore stayed open (case 3c).
        not_done: earlier occurrences of the grid that were open and were not done (case 4).
    """

    place: int
    on_grid: bool
    aim: date
    opens: date | None
    original: date
    limit: date
    done_on: date
    extra: bool = False
    not_done: tuple[date, ...] = ()

    @property
    def past_aim(self) -> int:
        """Days after the aim; negative when early."""
        return (self.done_on - self.aim).days

    @property
    def past_original(self) -> int:
        """Days after the limit as it was before any extension; negative when early."""
        return (self.done_on - self.original).days

    @property
    def late(self) -> int:
        """Days after the limit in force; 0 or less is on time (R3)."""
        return (self.done_on - self.limit).days


class CountClose(NamedTuple):
    """One counter limit a doing is judged by; amounts in base units, fields as for the calendar."""

    place: int
    unit: str
    on_grid: bool
    aim: int
    opens: int | None
    original: int
    limit: int
    done_at: int
    extra: bool = False
    not_done: tuple[int, ...] = ()

    @property
    def past_aim(self) -> int:
        """Amount past the aim; negative when early."""
        return self.done_at - self.aim

    @property
    def past_original(self) -> int:
        """Amount past the limit as it was before any extension; negative when early."""
        return self.done_at - self.original

    @property
    def late(self) -> int:
        """Amount past the limit in force; 0 or less is on time (R4)."""
        return self.done_at - self.limit


Close = CalendarClose | CountClose


class Outcome(NamedTuple):
    """What one doing meant.

    Attributes:
        doing: the doing itself.
        closes: one per limb that could be judged, in the order of the rule; none for a first doing off the grid.
        unknown: units whose limb could not be judged, because a running total is not known.
    """

    doing: Doing
    closes: tuple[Close, ...]
    unknown: tuple[str, ...] = ()

    @property
    def extra(self) -> bool:
        """It closed nothing that was open (case 3c), so it is neither on time nor late."""
        return bool(self.closes) and all(close.extra for close in self.closes)

    @property
    def on_time(self) -> bool | None:
        """No limb was past its limit; None with nothing to judge by, or with a limb that may have been past."""
        judged = [close for close in self.closes if not close.extra]
        if any(close.late > 0 for close in judged):
            return False
        return True if judged and not self.unknown else None

    @property
    def calendar(self) -> CalendarClose | None:
        """The calendar limit it was furthest past, or nearest to; None without one."""
        found = [close for close in self.closes if isinstance(close, CalendarClose)]
        return max(found, key=lambda close: close.late, default=None)

    @property
    def counts(self) -> tuple[CountClose, ...]:
        """The counter limits it was judged by."""
        return tuple(close for close in self.closes if isinstance(close, CountClose))

    @property
    def days_late(self) -> int | None:
        """Days after the calendar limit in force; negative when early; None without a calendar limit."""
        return self.calendar and self.calendar.late

    @property
    def counts_late(self) -> tuple[tuple[str, int], ...]:
        """Amounts after the counter limits in force, as (unit, amount); negative when early."""
        return tuple((close.unit, close.late) for close in self.counts)

    @property
    def closed_on(self) -> date | None:
        """The occurrence of a calendar grid that it closed; None off the grid and for an extra."""
        found = _grid_close(self)
        return None if found is None or found.extra else found.aim

    @property
    def not_done(self) -> tuple[date, ...]:
        """Earlier open occurrences of a calendar grid that were not done (case 4)."""
        found = _grid_close(self)
        return found.not_done if found else ()


class Tally(NamedTuple):
    """What became of the occurrences of a grid that fell due in a period."""

    on_time: int
    late: int
    not_done: int

    @property
    def fell_due(self) -> int:
        """How many fell due."""
        return self.on_time + self.late + self.not_done

    @property
    def on_time_share(self) -> Fraction | None:
        """The part that was done on time, exactly; None if nothing fell due."""
        return Fraction(self.on_time, self.fell_due) if self.fell_due else None


def outcomes(doings: Sequence[Doing], terms_on: TermsOn, skipped: frozenset[date] = NO_DATES) -> tuple[Outcome, ...]:
    """What each doing of one job (unit) meant; stated starts are counted from but have no outcome themselves.

    Args:
        doings: all of them in order of time, with the running totals then and the extensions they were done under.
        terms_on: the compiled rule in force on a date.
        skipped: the ship's dates that never occur; a grid has no occurrence there (case 13c).
    """
    judge = Judge(terms_on, skipped)
    return tuple(outcome for doing in doings if (outcome := judge(doing)) is not None)


class Judge:
    """Says what the doings of one job (unit) meant, told one after the other in order of time.

    It remembers only the first doing and the one before, so that it can follow a history of any length.

    Args:
        terms_on: as for ``outcomes``.
        skipped: as for ``outcomes``.
    """

    __slots__ = ("_before", "_first", "_skipped", "_terms_on")

    def __init__(self, terms_on: TermsOn, skipped: frozenset[date] = NO_DATES) -> None:
        self._terms_on = terms_on
        self._skipped = skipped
        self._before: Doing | None = None
        self._first: Doing | None = None

    def __call__(self, given: Doing) -> Outcome | None:
        """What this doing meant; None for a stated start."""
        before, doing = self._before, self.pass_over(given)
        if doing.kind is not DoingKind.DONE:
            return None
        return _outcome(before, doing, self._terms_on(doing.on), self._skipped)

    def pass_over(self, given: Doing) -> Doing:
        """Take note of a doing without asking what it meant; the doing, knowing the first one."""
        if self._first is None and given.kind is not DoingKind.DUE_AT_ONCE:
            self._first = given
        doing = given if given is self._first or given.first else given._replace(first=self._first)
        self._before = doing
        return doing


def tally(
    doings: Sequence[Doing],
    terms_on: TermsOn,
    first: date,
    last: date,
    extension: Extension | None = None,
    skipped: frozenset[date] = NO_DATES,
) -> Tally:
    """What became of the occurrences of the calendar grid whose limit lay in a period, both days included.

    An occurrence counts on the last day it could be on time, so extended ones count where they were extended to.
    Only what was done by ``last``, which must not be in the future, is seen; what was done later is not done. Nothing
    falls due before the first doing or stated start, nor off the grid.

    Args:
        doings: as for ``outcomes``.
        terms_on: as for ``outcomes``.
        first: first day of the period.
        last: last day of the period.
        extension: the later limit granted for what is open after the last doing of all.
        skipped: as for ``outcomes``.
    """
    seen = [doing for doing in doings if doing.on <= last]
    later = next((doing for doing in doings if doing.on > last), None)
    done: list[bool] = []
    undone: list[date] = []
    for outcome in outcomes(seen, terms_on, skipped):
        close = _grid_close(outcome)
        if close is None:
            continue
        if not close.extra and first <= close.limit <= last:
            done.append(outcome.on_time is not False)
        undone += _limits(terms_on(outcome.doing.on), close.not_done, outcome.doing.extension)
    if seen:
        terms = terms_on(last)
        granted = later.extension if later else extension
        undone += _limits(terms, _open_dates(terms, seen[-1], last, skipped), granted)
    return Tally(done.count(True), done.count(False), sum(first <= limit <= last for limit in undone))


def _outcome(before: Doing | None, doing: Doing, terms: RuleTerms, skipped: frozenset[date]) -> Outcome:
    if before is not None and before.kind is DoingKind.DUE_AT_ONCE:
        return Outcome(doing, tuple(_at_once(before, doing)))
    closes: list[Close] = []
    unknown: list[str] = []
    for limb in terms.limbs:
        if before is None and (limb.mode != "grid" or limb.anchor is None):
            continue
        close: Close | None
        if isinstance(limb, CalendarTerms):
            close = _calendar(limb, before, doing, skipped)
        else:
            close = _count(limb, before, doing)
        if close is not None:
            closes.append(close)
        elif isinstance(limb, CountTerms):
            unknown.append(limb.unit)
    return Outcome(doing, tuple(closes), tuple(unknown))


def _at_once(before: Doing, doing: Doing) -> Iterator[Close]:
    granted = doing.extension
    if granted is None or granted.until_on is not None:
        limit = before.on if granted is None or granted.until_on is None else granted.until_on
        yield CalendarClose(AT_ONCE, False, before.on, None, before.on, limit, doing.on)
    for unit, until in granted.until_counts if granted is not None else ():
        if unit in doing.counts:
            yield CountClose(AT_ONCE, unit, False, until, None, until, until, doing.counts[unit])


def _calendar(limb: CalendarTerms, before: Doing | None, doing: Doing, skipped: frozenset[date]) -> CalendarClose:
    open_dates: tuple[date, ...] = ()
    if limb.mode == "done":
        expected = aim = limb.aim_after(before or doing)
        extra = False
    else:
        closed = limb.passing_over(skipped, limb.occurrence(doing, limb.closed_index(doing)), -1)
        expected = limb.aim_after(before) if before else max(closed, limb.occurrence(doing, 0))
        expected = limb.passing_over(skipped, expected)
        extra = closed < expected
        aim = expected
        if limb.on_grid and not extra:
            aim, open_dates = closed, limb.open_dates(expected, closed, skipped)
    granted = doing.extension if aim == expected else None
    return CalendarClose(
        limb.index, limb.on_grid, aim, limb.opens_of(aim) if limb.windowed else None,
        limb.limit_of(aim), limb.limit_under(aim, granted), doing.on,
        extra, open_dates[:-1],
    )  # fmt: skip


def _count(limb: CountTerms, before: Doing | None, doing: Doing) -> CountClose | None:
    """None when a running total is not known."""
    done_at, index = doing.counts.get(limb.unit), limb.closed_index(doing)
    if done_at is None or index is None:
        return None
    closed = limb.occurrence(doing, index)
    expected = limb.aim_after(before) if before else limb.occurrence(doing, max(0, index))
    if closed is None or expected is None:
        return None
    extra = limb.mode != "done" and closed < expected
    aim = closed if limb.on_grid and not extra else expected
    granted = doing.extension if aim == expected else None
    return CountClose(
        limb.index, limb.unit, limb.on_grid, aim, aim - limb.before if limb.windowed else None,
        limb.limit_of(aim), limb.limit_under(aim, granted), done_at,
        extra, tuple(range(expected, aim, limb.amount)),
    )  # fmt: skip


def _grid_close(outcome: Outcome) -> CalendarClose | None:
    return next((close for close in outcome.closes if isinstance(close, CalendarClose) and close.on_grid), None)


def _grid_limb(terms: RuleTerms) -> CalendarTerms | None:
    return next((limb for limb in terms.limbs if isinstance(limb, CalendarTerms) and limb.on_grid), None)


def _open_dates(terms: RuleTerms, last_doing: Doing, day: date, skipped: frozenset[date]) -> tuple[date, ...]:
    """The occurrences of the grid that had fallen due by ``day`` and were open."""
    limb = _grid_limb(terms)
    if limb is None or last_doing.kind is DoingKind.DUE_AT_ONCE:
        return ()
    return limb.open_dates(limb.aim_after(last_doing), day, skipped)


def _limits(terms: RuleTerms, dates: tuple[date, ...], extension: Extension | None) -> list[date]:
    """The last days on which these open occurrences were on time; an extension is for the first of them."""
    limb = _grid_limb(terms)
    if limb is None:
        return []
    return [limb.limit_under(aim, None if n else extension) for n, aim in enumerate(dates)]
