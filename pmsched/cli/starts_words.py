"""Jobs of which no doing is known, as text: which they are, and when they would fall due first if they were spread."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from pmsched.cli.tables import Column, table, wrapped
from pmsched.cli.words import some
from pmsched.usecases.load_outlook import ProposedStart
from pmsched.usecases.load_proposals import AT_ONCE

_COLUMNS = (Column("first due"), Column("jobs", right=True), Column("which", cut=True))
_MOST_SHOWN = 10
_AT_ONCE, _BY_HOURS = "at once", "by hours"


def unstarted_lines(jobs: Sequence[ProposedStart], width: int) -> Iterator[str]:
    """The first of them, a line each."""
    for job in jobs[:_MOST_SHOWN]:
        marks = " [critical or class]" if job.held_back else ""
        yield from wrapped(f"{job.job}  {job.title} ({job.machine}){marks}", width, "  ")
    if (more := len(jobs) - _MOST_SHOWN) > 0:
        yield f"  and {more} more"


def spread_lines(jobs: Sequence[ProposedStart], width: int) -> Iterator[str]:
    """The proposal as a table: how many fall due first in which month, and which."""
    groups: dict[str, list[str]] = defaultdict(list)
    for job in jobs:
        groups[_when(job)].append(job.job)
    # Figures stand before letters, so the months come first; what is due at once comes before them.
    order = sorted(groups, key=lambda when: (when != _AT_ONCE, when))
    yield from table(_COLUMNS, [(when, str(len(groups[when])), ", ".join(groups[when])) for when in order], width)
    if held := sum(job.held_back for job in jobs):
        yield f"{some(held, 'critical or class job stays', 'critical and class jobs stay')} due at once."
    if unknown := sum(job.starts == AT_ONCE and not job.held_back for job in jobs):
        yield f"{some(unknown, 'job stays', 'jobs stay')} due at once because no hours are known for it."


def _when(job: ProposedStart) -> str:
    if job.starts == AT_ONCE:
        return _AT_ONCE
    return f"{job.first_on:%Y-%m}" if job.first_on else _BY_HOURS
