"""Jobs and last doings of a list, each as a row of our sheets, and the machines that they belong to."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from datetime import date

from pmsched.domain.counts import HOURS
from pmsched.domain.errors import Refusal
from pmsched.domain.rules import CountLimb
from pmsched.domain.written import parse_interval
from pmsched.exchange.cells import read_yes_no
from pmsched.exchange.list_cells import YES, Doubt, Doubts, is_nothing, read_day, read_hours, read_interval, unit_words
from pmsched.exchange.list_codes import job_code, machine_codes
from pmsched.exchange.list_columns import Role
from pmsched.exchange.list_read import text_at
from pmsched.exchange.list_rows import ListRow, Rows
from pmsched.exchange.native_cells import BLANK, Native

Cells = dict[str, str]
"""One row of a sheet: what is written in it, by column."""
MACHINE_CODE = "code "
"""Begins the key of an answer that gives a machine its code."""
_NO_TIME = re.compile(r"(?:(?:as|when|if|on|at|upon|per) .*|ad hoc|condition.*)", re.IGNORECASE)
"""Intervals that say when, and no time: as required, on condition, at dry-docking."""
_OUT = "out"
_TEXTS: tuple[Role, ...] = ("department", "rank", "cautions")
_YES_NO: tuple[Role, ...] = ("critical", "class_item")


class Machines:
    """The machines of a list: one name for each, that of its first row, and a code; capitals make no difference.

    Args:
        rows: all rows of the list.
        doubts: may hold codes that were wanted.

    Attributes:
        every: code and name of each, in the order of the rows.
    """

    def __init__(self, rows: Rows, doubts: Doubts) -> None:
        every = (*rows.jobs, *rows.hours)
        self._named = {row.code.casefold(): row.machine for row in reversed(every) if row.code and row.machine}
        self._first: dict[str, str] = {}
        names = list(dict.fromkeys(name for row in every if (name := self._name(row))))
        said = {name: row.code for row in reversed(every) if row.code and (name := self._name(row))}
        wanted = {name: code for name in names if (code := doubts.answers.get(f"{MACHINE_CODE}{name}"))}
        self._codes = machine_codes(names, said | wanted)
        self.every = tuple((code, name) for name, code in self._codes.items())

    def code_of(self, row: ListRow) -> str:
        """The code of the row's machine; empty if it has none."""
        return self._codes.get(self._name(row), "")

    def _name(self, row: ListRow) -> str:
        name = self._named.get(row.code.casefold(), row.code) if row.code else row.machine
        return self._first.setdefault(name.casefold(), name)


def with_codes(rows: Iterable[ListRow], machines: Machines) -> Iterator[tuple[ListRow, str]]:
    """The rows of jobs with their codes: those that the list has, else the machine's with a number."""
    every = list(rows)
    taken = {row.text("job").casefold() for row in every}
    nth: dict[str, int] = {}
    for row in every:
        machine, code = machines.code_of(row), row.text("job")
        while not code:
            nth[machine] = nth.get(machine, 0) + 1
            made = job_code(machine, nth[machine])
            code = "" if made.casefold() in taken else made
        yield row, code


class JobMaker:
    """Makes rows of jobs and of last doings.

    Args:
        machines: of the list.
        doubts: settle what is unclear.
        today: the ship's date.
    """

    def __init__(self, machines: Machines, doubts: Doubts, today: date) -> None:
        self._machines = machines
        self._doubts = doubts
        self._today = today

    def job(self, row: ListRow, code: str) -> Cells:
        """The row of a job."""
        component, title = row.text("component"), row.text("title")
        cells: Cells = {
            "code": code,
            "machine": self._machines.code_of(row),
            "title": f"{component}: {title}" if component and title else title or component,
            "interval": self._interval(row),
        }
        cells |= {role: row.text(role) for role in _TEXTS}
        cells |= {role: self._yes_no(row, role) for role in _YES_NO}
        return cells | {name: text_at(row.line, at) for name, at in row.layout.own.items()}

    def leaves_out(self, row: ListRow) -> bool:
        """Whether a row is left out because its interval says no time, and the person wants it so."""
        written = " ".join(filter(None, (text_at(row.line, column.at) for column in row.layout.intervals)))
        if not _NO_TIME.fullmatch(written) or read_interval([(Native(written), "")], Doubts({})) != written:
            return False
        question = f"'{written}' is no interval: such jobs never have a date."
        choices = ((_OUT, "leave these rows out of the workbook"),)
        return self._doubts.answer(Doubt(f"no-interval {written.casefold()}", question, choices, written)) == _OUT

    def _interval(self, row: ListRow) -> str:
        behind = unit_words(row.text("interval_unit")) if "interval_unit" in row.layout.one else ""
        cells = row.line.cells
        parts = [
            (cells[column.at] if column.at < len(cells) else BLANK, column.meaning.unit or behind)
            for column in row.layout.intervals
        ]
        return read_interval(parts, self._doubts)

    def _yes_no(self, row: ListRow, role: Role) -> str:
        cell = row.cell(role)
        if is_nothing(cell):
            return ""
        try:
            return "yes" if read_yes_no(row.text(role)) else "no"
        except Refusal:
            return row.text(role)

    def last_done(self, row: ListRow, job: Cells) -> Cells:
        """The last doing of a job; empty, and a start in its row instead, where only hours are known."""
        day, time = read_day(row.cell("last_on"), self._doubts, since_1904=row.table.since_1904)
        hours = read_hours(row.cell("last_count"), self._doubts)
        count = f"{hours} {_unit_of(job)}" if hours else ""
        if not day and not count:
            return {}
        if not day and _counts_alone(job) and self._begin_without_date():
            job["starts"] = f"from {self._today} at {count}"
            return {}
        by, remarks = row.text("by"), row.text("remarks")
        return {"job": job["code"], "done_on": day, "time": time, "count": count, "by": by, "remarks": remarks}

    def _begin_without_date(self) -> bool:
        question = (
            "Some jobs have the hours of their last doing, but no date. They can count from those hours all the same, shown "
            "as a start and not as a doing. Do they?"
        )
        doubt = Doubt("hours-without-date", question, ((YES, "yes"), ("no", "no, I will fill in the dates")), "", YES)
        return self._doubts.answer(doubt) == YES


def counted_in(interval: str) -> list[str]:
    """What an interval counts, if it reads."""
    try:
        return [limb.unit for limb in parse_interval(interval) if isinstance(limb, CountLimb)]
    except Refusal:
        return []


def _unit_of(job: Cells) -> str:
    counted = counted_in(job["interval"])
    return HOURS if HOURS in counted or not counted else counted[0]


def _counts_alone(job: Cells) -> bool:
    try:
        return all(isinstance(limb, CountLimb) for limb in parse_interval(job["interval"]))
    except Refusal:
        return False
