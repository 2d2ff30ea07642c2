"""Settle a held reading, or correct or strike one that was accepted; all it touches can be listed first.

The old value stays readable for ever. A person decides which of two readings is wrong; the tool never does.
"""

from __future__ import annotations

from typing import Any, Literal, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.counts import Meter, parse_count
from pmsched.domain.errors import NotAllowed, NotFound
from pmsched.domain.plain import check_text
from pmsched.domain.readings import Judgement, Line
from pmsched.store.book import Receipt, Work, id_of, label_of
from pmsched.store.live import EVERYTHING, View
from pmsched.store.lookups import counters
from pmsched.store.reading_facts import held_readings, reading_version
from pmsched.store.register import Register
from pmsched.store.tables import READING
from pmsched.usecases.changes import moved_between, snapshot
from pmsched.usecases.counting import periods_of
from pmsched.usecases.judging import Typed, judge_line, line_of
from pmsched.usecases.recounting import Touched, accepted_now, recount, recount_since, typed_flags
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, Scene, scene

# A reading settled once is an accepted one when the same attempt is repeated.
_DEEDS = ("settle reading", "correct reading")
# Faults a person may overrule with a reason; the others contradict a reading that must be corrected first.
_MAY_BE_CONFIRMED = frozenset({"faster-than-clock", "later-too-fast"})


class AmendReading(NamedTuple):
    """What is to become of a reading.

    Attributes:
        reading: its number as listed.
        act: ``value`` (the true value is ``value``), ``confirm`` (it is true as it stands), ``strike`` (it is void).
        reason: why; always asked for.
        value: the true value, as the meter shows it.
    """

    reading: str
    act: Literal["value", "confirm", "strike"]
    reason: str
    value: str = ""


class AmendResult(NamedTuple):
    """What was done: the receipt, the reading's values before and after (dial, None if struck), and all it touched."""

    receipt: Receipt
    counter: str
    meter: Meter
    before: int
    after: int | None
    touched: Touched


class HeldReading(NamedTuple):
    """A reading that waits to be settled: its number, counter, time (and the ship's offset then), value, and what is said of it."""

    number: str
    counter: str
    meter: Meter
    read_at: int
    dial: int
    judgement: Judgement
    offset_minutes: int = 0


def held(register: Register, asked: Asked) -> tuple[HeldReading, ...]:
    """The readings that wait to be settled, oldest first."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        rows = held_readings(connection, seen.view)
        return tuple(_held(connection, seen, row) for row in rows)


def amend_reading(register: Register, command: AmendReading, signer: Signer, *, rehearse: bool = False) -> AmendResult:
    """Settle, correct or strike a reading, and work out again what rests on it.

    Raises:
        NotFound: no such reading.
        NotAllowed: no reason, or the value cannot be true beside the other readings.
    """
    with register.locked(rehearse=rehearse) as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        row = _reading(connection, work, command.reading)
        counter, typed = _typed(connection, seen, row, command)
        deed = _DEEDS[0] if row.status == "held" else _DEEDS[1]
        if earlier := work.earlier(*_DEEDS):
            return AmendResult(
                earlier, counter.code, typed.meter, row.dial, row.dial, Touched((), (), (), countersign=False)
            )
        before = snapshot(connection, seen)
        line = line_of(connection, periods_of(connection, seen).get(counter.id, []), typed, ignoring=row.fact_id)
        _write(work, row, command, typed, judge_line(line, seen.clock))
        work.flush()
        counts = recount(connection, seen, work, row.fact_id, command.reason)
        counts += recount_since(connection, seen, work, accepted_now(work))
        flags = () if command.act == "strike" else _flags(connection, seen, counter, typed, line)
        receipt = work.enter(deed)
        moved = moved_between(connection, before, snapshot(connection, seen))
        after = None if command.act == "strike" else typed.dial
        return AmendResult(
            receipt, counter.code, typed.meter, row.dial, after, Touched(moved, counts, flags, bool(counts))
        )


def _reading(connection: Connection, work: Work, label: str) -> Any:
    reading_id = id_of(label, work.book)
    row = reading_id and reading_version(connection, reading_id)
    if not row:
        raise NotFound("unknown-reading", f"There is no reading {label}.", "See: pmsched history --readings COUNTER.")
    return row


def _typed(connection: Connection, seen: Scene, row: Any, command: AmendReading) -> tuple[Any, Typed]:
    view = View(EVERYTHING, seen.view.until, seen.view.day)
    counter = next(c for c in counters(connection, view) if c.id == row.counter_id)
    meter = Meter(counter.unit, counter.reads)
    dial = parse_count(command.value, meter) if command.act == "value" else row.dial
    return counter, Typed(counter, meter, row.read_at, dial)


def _write(work: Work, row: Any, command: AmendReading, typed: Typed, judged: Judgement) -> None:
    reason = check_text(command.reason)
    if command.act == "strike":
        work.strike(READING, row._mapping, reason)  # noqa: SLF001 - SQLAlchemy's public accessor
        return
    if not judged.accepted and not (command.act == "confirm" and judged.code in _MAY_BE_CONFIRMED):
        said = "; ".join((judged.message, *(s.text for s in judged.suggestions)))
        raise NotAllowed(
            judged.code or "cannot-be-true",
            f"That value cannot be true: {said}.",
            "Correct the other reading first, or type the true value.",
        )
    if row.status == "accepted" and not row.struck and typed.dial == row.dial:
        raise NotAllowed("nothing-changes", f"Reading {label_of(row.fact_id)} already shows that value.")
    work.replace(READING, row._mapping, reason, dial=typed.dial, status="accepted", held_for=None)  # noqa: SLF001


def _flags(connection: Connection, seen: Scene, counter: Any, typed: Typed, line: Line) -> tuple[str, ...]:
    start = line.before.at if line.before else 0
    end = line.after.at if line.after else seen.view.until
    return typed_flags(connection, seen, counter, typed.at, line.point.total, (start, end))


def _held(connection: Connection, seen: Scene, row: Any) -> HeldReading:
    counter = next(c for c in counters(connection, seen.view) if c.id == row.counter_id)
    meter = Meter(counter.unit, counter.reads)
    periods = periods_of(connection, seen).get(row.counter_id, [])
    line = line_of(connection, periods, Typed(counter, meter, row.read_at, row.dial))
    judgement = judge_line(line, seen.clock)
    return HeldReading(
        label_of(row.fact_id), counter.code, meter, row.read_at, row.dial, judgement, row.offset_minutes
    )  # fmt: skip
