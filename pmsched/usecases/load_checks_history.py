"""Whether the files say where every job stands: last doings, starts, and the totals they count from.

"Never done" must never come to mean "not due": what nothing is known of is a problem, with both ways to put it right.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import time

from pmsched.domain.limbs import write_amount
from pmsched.domain.problems import Problem
from pmsched.domain.rules import Rule
from pmsched.domain.written import read_rule
from pmsched.exchange.rows import Amount, JobRow, LastDoneRow, Row
from pmsched.store.loaded_facts import first_reading_at
from pmsched.store.opening import BEGINNING
from pmsched.store.report_facts import done_on_day
from pmsched.store.tables import JOB_REVISION
from pmsched.usecases.load_checks import check_known, may_count_more, problem, too_early, units_of_rule
from pmsched.usecases.load_follows import units_counted
from pmsched.usecases.load_said import is_said
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.load_starts import Grounds, start_at, states_anew
from pmsched.usecases.load_units import WHOLE_JOB, units_ever, units_named
from pmsched.usecases.load_unread import Unread

NO_LAST_DOING = "no-last-doing"
"""The code of the problem of a job of which neither a doing nor a start is known."""
_BOTH_WAYS = (
    "Name its last doing in last_done, or write in starts where it begins: 'from 2025-01-01', "
    "'from 2025-01-01 at 1200 h' or 'due at once'."
)


class HistoryChecks:
    """Checks where the jobs stand.

    Args:
        load: the load under way.
        unread: the rows that did not read.
        grounds: what the units of jobs count from.
        first_read: instants of the first reading in the files, by counter (its key).
    """

    def __init__(self, load: Loading, unread: Unread, grounds: Grounds, first_read: Mapping[str, int]) -> None:
        self._load = load
        self._unread = unread
        self._grounds = grounds
        self._first_read = dict(first_read)
        self._asked: set[str] = set()
        # A doing of a unit that is not there may be the one that seems to be missing.
        self._strays = {key_of(row.job) for row in load.bundle.last_done if self._is_stray(row)}

    def problems(self) -> Iterator[Problem]:
        """Every problem, jobs first."""
        for job in self._load.bundle.jobs:
            yield from self._check_job(job)
        for row in self._load.bundle.last_done:
            yield from self._check_last_done(row)

    def _check_job(self, row: JobRow) -> Iterator[Problem]:
        if key_of(row.code) not in self._strays and not self._unread.names("last_done", row.code, "job"):
            yield from self._check_standing(row)
        if row.starts is not None and states_anew(self._load, self._grounds, row):
            yield from self._check_start(row)

    def _check_standing(self, row: JobRow) -> Iterator[Problem]:
        job, units, grounds = key_of(row.code), units_named(self._load, row.code), self._grounds
        if row.starts is None:
            # A doing that was struck since leaves the job due, and is no slip of the file.
            stated = {
                unit for unit in units if grounds.counts_from_something(job, unit) or grounds.done_said(job, unit)
            }
            left = [unit for unit in units if unit not in stated]
            if left:
                what = (
                    row.code
                    if left == [WHOLE_JOB] or len(left) == len(units)
                    else f"{row.code}, unit {', '.join(left)},"
                )
                yield problem(row, "starts", NO_LAST_DOING, f"{what} has no last doing and no start.", _BOTH_WAYS)
        elif units and all(grounds.is_done(job, unit) and not grounds.start_said(job, unit) for unit in units):
            message = f"{row.code} has been done; where a job never done begins is not asked."
            yield problem(
                row, "starts", "start-of-done-job", message, "Leave starts blank, or leave out the last doing."
            )

    def _check_start(self, row: JobRow) -> Iterator[Problem]:
        start = row.starts
        if start is None or start.from_on is None:
            return
        today = self._load.seen.today
        if start.from_on > today:
            message = f"{start.from_on} lies ahead of the ship's date {today}."
            yield problem(row, "starts", "in-future", message, "Write a date up to today, or 'due at once'.")
        elif start.from_on < BEGINNING:
            yield too_early(row, "starts", start.from_on)
        else:
            hint = f"Write 'from {start.from_on} at' and the total, such as 1200"
            yield from self._check_totals(row, "starts", row.rule, start.from_counts, start_at(self._load, start), hint)

    def _check_last_done(self, row: LastDoneRow) -> Iterator[Problem]:
        load = self._load
        yield from check_known(load, self._unread, "jobs", row.job, row, "job")
        if not load.names.known("jobs", row.job):
            return
        if self._is_stray(row):
            yield self._unknown_unit(row, units_ever(load, row.job))
            return
        if not self._is_news(row):
            return
        now = load.seen.clock.ship_time(load.now)
        if row.done_on > now.date() or (row.done_on == now.date() and (row.time_of_day or time()) > now.time()):
            column = "done_on" if row.done_on > now.date() else "time"
            message = f"The doing lies ahead of the ship's time, {now:%Y-%m-%d %H:%M}."
            yield problem(row, column, "in-future", message, "Check the date and the time.")
        elif row.done_on < BEGINNING:
            yield too_early(row, "done_on", row.done_on)
        else:
            at = min(load.instant(row.done_on, row.time_of_day), load.now)
            rule = self._rule(row.job)
            yield from self._check_totals(
                row, "count", rule, row.counts, at, "Write the total at the doing, such as 1200"
            )

    def _is_stray(self, row: LastDoneRow) -> bool:
        """Whether the row names a unit that its job does not have."""
        if row.unit == WHOLE_JOB or not self._load.names.known("jobs", row.job):
            return False
        return row.unit not in units_ever(self._load, row.job)

    def _is_news(self, row: LastDoneRow) -> bool:
        """Whether something is to be written for the row: it is neither loaded nor reported already."""
        load, job = self._load, key_of(row.job)
        units = [unit for unit in units_ever(load, row.job) if self._grounds.rows.get((job, unit)) is row]
        pending = [unit for unit in units if not is_said(load, self._grounds.said, row, unit)]
        there = load.names.there["jobs"].get(job)
        if there is None:
            return bool(pending)
        return any(done_on_day(load.connection, there.id, unit, row.done_on) is None for unit in pending) or any(
            (there.id, unit) in self._grounds.said.done for unit in pending
        )

    def _rule(self, job: str) -> Rule:
        row: JobRow | None = self._load.names.rows["jobs"].get(key_of(job))
        if row is not None:
            return row.rule
        there = self._load.names.there["jobs"][key_of(job)]
        return read_rule(self._load.before.last(JOB_REVISION)[there.id].rule)

    def _unknown_unit(self, row: LastDoneRow, units: set[str]) -> Problem:
        named = sorted(unit for unit in units if unit != WHOLE_JOB)
        has, hint = ("it has no units", "Leave unit blank.")
        if named:
            has, hint = f"its units are {', '.join(named)}", "Write one of them, or leave unit blank for all of them."
        return problem(row, "unit", "unknown-unit", f"{row.job} has no unit {row.unit}; {has}.", hint)

    def _check_totals(
        self, row: Row, column: str, rule: Rule, typed: tuple[Amount, ...], at: int, hint: str
    ) -> Iterator[Problem]:
        """The totals that are typed must mean something, and those that the rule needs must be known."""
        load = self._load
        job = row.code if isinstance(row, JobRow) else row.job  # type: ignore[union-attr]
        machine = load.names.machine_of_job(job)
        if not load.names.known("machines", machine) or may_count_more(load, self._unread, machine):
            return
        counted = units_counted(load, machine)
        for unit, amount in typed:
            if unit not in counted:
                message = f"{write_amount(amount, unit)}: the machine of {job} counts on no {unit} counter."
                yield problem(row, column, "counts-on-nothing", message, "Leave it out, or give the machine counts_on.")
        for unit in sorted((units_of_rule(rule) & counted.keys()) - {unit for unit, _ in typed}):
            if (lacks := self._lacks(counted[unit], at)) is not None:
                yield problem(row, column, "no-total", f"{job} counts {unit}, and {lacks}.", f"{hint} {unit}.")

    def _lacks(self, counter: str, at: int) -> str | None:
        """Why the total of a counter at an instant cannot be read off its readings; None if it can."""
        load = self._load
        code, clock = load.names.counter_code(counter), load.seen.clock
        if self._unread.names("readings", code, "counter"):
            return None
        first = self._first_read_at(counter)
        if first is None:
            return f"{code} has no reading to take the total from"
        if first > at and clock.ship_date(first) != clock.ship_date(at):
            return f"the first reading of {code} is of {clock.ship_date(first)}, after that"
        return None

    def _first_read_at(self, counter: str) -> int | None:
        there = self._load.names.there["counters"].get(counter)
        if there is not None and counter not in self._asked:
            self._asked.add(counter)
            found = first_reading_at(self._load.connection, there.id)
            if found is not None:
                self._first_read[counter] = min(found, self._first_read.get(counter, found))
        return self._first_read.get(counter)
