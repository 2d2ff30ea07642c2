"""What each doing meant: the limits that stood before it, how early or late it was, and what it closed or left undone.

Nothing of this is stored. The rule in force on the day the work was done decides (R12), so a later revision never
changes whether past work was on time. All grid and limit arithmetic is the engine's own, in ``aims``.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date
from fractions import Fraction
from typing import NamedTuple

from pmsched.domain.aims import CalendarTerms, CountTerms, Doing, DoingKind, Extension, RuleTerms

TermsOn = Callable[[date], RuleTerms]

AT_ONCE = -1
"""The place of a limit that no limb of the rule made: the job had been stated due at once."""


class CalendarClose(NamedTuple):
    """One calendar limit a doing is judged by.

    Attributes:
        place: index of the limb in the rule; AT_ONCE for a job stated due at once.
        aim: the due date that stood before it; on a grid the occurrence it closed, or the open one if it is an extra.
        opens: first day of the window; None where none is stated.
        original: last day on time before any extension.
        limit: last day on time, the extension where one was granted (R14).
        done_on: the day of the doing.
        extra: it came before the window of the open occurrence, which therefore stayed open (case 3c).
        not_done: earlier occurrences of the grid that were open and were not done.
    """

    place: int
    aim: date
    opens: date | None
    original: date
    limit: date
    done_on: date
    extra: bool = False
    not_done: tuple[date, ...] = ()

    @property
    def days_past_aim(self) -> int:
        """Days after the aim; negative when early."""
        return (self.done_on - self.aim).days

    @property
    def days_past_original(self) -> int:
        """Days after the limit as it was before any extension; negative when early."""
        return (self.done_on - self.original).days

    @property
    def days_late(self) -> int:
        """Days after the limit in force; 0 or less is on time (R3)."""
        return (self.done_on - self.limit).days


class CountClose(NamedTuple):
    """One counter limit a doing is judged by; amounts in base units, fields as for the calendar."""

    place: int
    unit: str
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
        closes: one per limb that could be judged, in the order of the rule.
        unknown: units whose limb could not be judged, because a running total is not known.
        extra: it closed nothing that was open (case 3c); it has no part in what was on time.
    """

    doing: Doing
    closes: tuple[Close, ...]
    unknown: tuple[str, ...] = ()
    extra: bool = False

    @property
    def on_time(self) -> bool | None:
        """No limb was past its limit; None if there was nothing to judge by, or a limb that may have been late."""
        if any(_late(close) > 0 for close in self._judged()):
            return False
        return True if self._judged() and not self.unknown else None

    @property
    def days_late(self) -> int | None:
        """Days after the calendar limit in force, the earliest of several; negative is early; None without one."""
        return max((c.days_late for c in self.closes if isinstance(c, CalendarClose)), default=None)

    @property
    def days_past_aim(self) -> int | None:
        """Days after the calendar aim, the earliest of several; negative is early; None without one."""
        return max((c.days_past_aim for c in self.closes if isinstance(c, CalendarClose)), default=None)

    @property
    def counts_late(self) -> tuple[tuple[str, int], ...]:
        """Amounts after the counter limits in force, as (unit, amount); negative is early."""
        return tuple((c.unit, c.late) for c in self.closes if isinstance(c, CountClose))

    @property
    def counts_past_aim(self) -> tuple[tuple[str, int], ...]:
        """Amounts after the counter aims, as (unit, amount); negative is early."""
        return tuple((c.unit, c.past_aim) for c in self.closes if isinstance(c, CountClose))

    @property
    def closed_on(self) -> date | None:
        """The occurrence of the calendar grid it closed; None off the grid and for an extra."""
        found = self._on_grid()
        return found.aim if found and not found.extra else None

    @property
    def not_done(self) -> tuple[date, ...]:
        """Earlier open occurrences of the calendar grid that were never done (case 4)."""
        found = self._on_grid()
        return found.not_done if found else ()
