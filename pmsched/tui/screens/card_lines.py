"""A machine's card as lines of one list: a heading for each part of it, and what is said below of each line.

Knows values and words; no widget but the line itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from pmsched.domain.counts import HOURS, format_amount, format_count, format_hours
from pmsched.domain.words import due_text, named, some
from pmsched.tui.screens.base import matching
from pmsched.tui.widgets.lines import Line
from pmsched.tui.words import LOOKS, entitled, explained, listed, short_state

if TYPE_CHECKING:
    from pmsched.usecases.ask_due import DueRow
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.ask_isolations import IsolationRow
    from pmsched.usecases.ask_machines import CounterLine, CountsOn, MachineCard, PartLine

# What was so when the register was opened is stated from the beginning of 1900.
_ALWAYS_YEAR = 1900


class CardLine(NamedTuple):
    """A line of the card, what is said below of it, and what it opens: a job, a job's row to report, a counter, an isolation."""

    line: Line
    detail: str = ""
    job: str = ""
    counter: str = ""
    row: DueRow | None = None
    isolation: IsolationRow | None = None

    def matches(self, words: str) -> bool:
        """Whether all the words stand in the line or in what is said of it."""
        return matching(words, "\n".join((*self.line.cells, self.detail)))


def card_lines(card: MachineCard, doings: Sequence[HistoryRow]) -> Iterator[CardLine]:
    """The parts of the card that hold something, each under its heading."""
    own = [one for one in card.counts_on if one.machine != card.machine.code or one.share != 1]
    yield from _part("NOT TO BE STARTED", [_isolation(row) for row in card.isolations])
    yield from _part("COUNTERS", [_counter(line, card.machine.code) for line in card.counters])
    yield from _part("COUNTS ON", [_counts_on(one) for one in own])
    yield from _part("JOBS", [_job(row) for row in card.jobs])
    yield from _part("PARTS", [_fitted(part) for part in card.parts])
    yield from _part("LAST DOINGS", [_doing(row) for row in doings])
    yield from _part(
        "ALSO CALLED", [CardLine(Line(f"name {name}", ("", name, "", "")), name) for name in card.machine.other_names]
    )


def _part(name: str, lines: Iterable[CardLine]) -> Iterator[CardLine]:
    held = list(lines)
    if held:
        yield CardLine(Line(f"band {name}", (f"{name} ({len(held)})",), band=True))
        yield from held


def _isolation(row: IsolationRow) -> CardLine:
    cells = (row.kind, listed((row.machine, row.said)), f"since {row.begun_on}", row.signer)
    told = (f"DO NOT START {row.machine} {row.machine_name}: {row.kind} since {row.begun_on}", row.said)
    signed = f"signed by {row.signer} as {row.signed_as}, entry {row.entry_no}"
    line = Line(f"isolation {row.number}", cells, "overdue")
    return CardLine(line, listed((*told, f"{signed}. Enter or i: it is back in use."), "\n"), isolation=row)


def _counter(line: CounterLine, machine: str) -> CardLine:
    others = [code for code in line.counted_by if code != machine]
    told = [listed((line.code, line.name)), f"Counted on by: {', '.join(others)}" if others else ""]
    key = f"counter {line.code}"
    if line.dial is None or line.total is None:
        cells = (line.code, "never read", "", "")
        return CardLine(
            Line(key, cells, "quiet"), listed([*told, "Enter it in the Round (F3)."], "\n"), counter=line.code
        )
    total, dial = format_amount(line.total, line.meter.unit), f"{format_count(line.dial, line.meter)} {line.meter.unit}"
    rate = line.rate.per_day(line.meter.unit) if line.rate else "use unknown"
    age = "read today" if not line.age_days else f"read {some(line.age_days, 'day')} ago"
    held = "held reading: press h in the Watch" if line.held else ""
    told.append(listed((f"Total {total}, dial {dial}", f"read {line.read_on}", rate, held)))
    # A narrow list cuts the end off: the word that must be seen comes first, the dial is said below as well.
    text = listed(("HELD", f"total {total}") if line.held else (f"total {total}", f"dial {dial}"))
    return CardLine(
        Line(key, (line.code, text, age, rate), "held" if line.held else ""), listed(told, "\n"), counter=line.code
    )


def _counts_on(one: CountsOn) -> CardLine:
    total = "never read" if one.total is None else format_amount(one.total, one.unit)
    share = "" if one.share == 1 else f"share {one.share}"
    whose = f"of {one.machine}" + (f" since {one.from_on}" if one.from_on.year > _ALWAYS_YEAR else "")
    detail = listed((f"Counts on {one.counter} {whose}", share, f"its own running total: {total}"))
    cells = (one.counter, whose, total, share)
    return CardLine(Line(f"counts on {one.unit} {one.counter}", cells), detail, counter=one.counter)


def _job(row: DueRow) -> CardLine:
    cells = (
        short_state(row.state), entitled(row.job, row.unit, row.title), row.left,
        due_text(row.due_on, expected=row.expected),
    )  # fmt: skip
    line = Line(f"job {row.job}/{row.unit}", cells, LOOKS.get(row.state, "quiet"))
    return CardLine(line, explained(row), job=row.job, row=row)


def _fitted(part: PartLine) -> CardLine:
    ages = [
        f"{format_hours(seconds)} {HOURS} {since}"
        for seconds, since in ((part.since_overhaul, "since overhaul"), (part.since_new, "since new"))
        if seconds is not None
    ]
    fitted = f"fitted {part.since}"
    detail = listed(
        (f"{part.serial} {part.name}", f"{fitted}, then {', '.join(ages) or 'hours not known'}", part.note), "\n"
    )
    return CardLine(Line(f"part {part.serial}", (part.serial, part.name, fitted, "")), detail)


def _doing(row: HistoryRow) -> CardLine:
    from pmsched.usecases.lateness import judged  # noqa: PLC0415 - loads the database, which answered before

    cells = (str(row.done_on), entitled(row.job, row.unit, row.title), judged(row), row.signer)
    signed = f"signed by {row.signer} as {row.signed_as}, entry {row.entry_no}"
    told = (
        f"{named(row.job, row.unit)} {row.title}",
        listed((row.condition, signed)),
        " ".join(row.remarks.splitlines()),
    )
    line = Line(f"done {row.number}/{row.entry_no}/{row.unit}", cells, "held" if row.version != "in force" else "")
    return CardLine(line, listed(told, "\n"), job=row.job)
