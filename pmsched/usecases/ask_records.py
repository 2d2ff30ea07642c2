"""Ask for the readings of a counter with every version of them, and for the entries of the register."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.clocks import date_shown
from pmsched.domain.counters import period_at
from pmsched.domain.counts import Meter
from pmsched.domain.errors import NotFound
from pmsched.store.book import label_of
from pmsched.store.canonical import seal
from pmsched.store.lookups import counters
from pmsched.store.register import Register
from pmsched.store.report_facts import entries, reading_versions
from pmsched.usecases.ask_due import Header, header
from pmsched.usecases.counting import periods_of
from pmsched.usecases.near_names import near
from pmsched.usecases.views import Asked, Scene, scene


class ReadingRow(NamedTuple):
    """One version of one reading: what the dial showed, the running total, and what became of it.

    ``version`` is 'accepted', 'held', 'corrected' (a later version replaced it) or 'struck'. ``total`` is None for a
    version that does not count.
    """

    number: str
    version: str
    read_at: int
    read_on: date
    offset_minutes: int
    dial: int
    total: int | None
    held_for: str
    note: str
    signer: str
    signed_as: str
    recorded_at: int
    entry_no: int
    reason: str


class ReadingHistory(NamedTuple):
    """The readings of one counter, in the order read."""

    header: Header
    counter: str
    meter: Meter
    rows: tuple[ReadingRow, ...]


class EntryRow(NamedTuple):
    """One entry: book, number, when (UTC instant and ship's date), the deed, who signed as what, facts added, seal."""

    book: int
    no: int
    recorded_at: int
    recorded_on: date
    deed: str
    signer: str
    signed_as: str
    facts: int
    seal: str


def readings_history(register: Register, asked: Asked, code: str) -> ReadingHistory:
    """The readings of a counter, corrections showing. Raises NotFound with near codes."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        counter = counter_called(connection, seen, code)
        rows = tuple(reading_rows(connection, seen, counter.id))
        return ReadingHistory(header(connection, seen, asked), counter.code, Meter(counter.unit, counter.reads), rows)


def counter_called(connection: Connection, seen: Scene, code: str) -> Any:
    """The counter of that code (any case), as ``counters`` gives it. Raises NotFound with near codes."""
    every = list(counters(connection, seen.view))
    found = next((counter for counter in every if counter.code.lower() == code.strip().lower()), None)
    if found is None:
        raise NotFound("unknown-counter", f"There is no counter {code}.", near(code, (c.code for c in every)))
    return found


def reading_rows(connection: Connection, seen: Scene, counter_id: int) -> Iterator[ReadingRow]:
    """The readings of one counter in the order read, every version of them; streamed."""
    periods = periods_of(connection, seen, counter_id).get(counter_id, [])
    return (_reading(row, periods) for row in reading_versions(connection, seen.view, counter_id))


def entries_list(register: Register, asked: Asked) -> tuple[Header, tuple[EntryRow, ...]]:
    """Every entry known, in the order written."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        return header(connection, seen, asked), tuple(entry_rows(connection, seen))


def entry_rows(connection: Connection, seen: Scene) -> Iterator[EntryRow]:
    """Every entry known, in the order written; streamed."""
    return (
        EntryRow(
            row.book, row.no, row.recorded_at, date_shown(row.recorded_at, row.recorded_offset), row.deed,
            row.signer or "", row.signed_as, row.last_id - row.id, seal(row.hash),
        )
        for row in entries(connection, seen.view)
    )  # fmt: skip


def _reading(row: Any, periods: Any) -> ReadingRow:
    version = "struck" if row.struck else "corrected" if row.replaced else row.status
    period = period_at(periods, row.read_at)
    counts = version in {"accepted", "stand-in"}
    return ReadingRow(
        label_of(row.fact_id), version, row.read_at, date_shown(row.read_at, row.offset_minutes), row.offset_minutes,
        row.dial, (period.total(row.dial) if period else row.dial) if counts else None, row.held_for or "",
        row.note or "", row.signer, row.signed_as, row.recorded_at, row.no, row.reason or "",
    )  # fmt: skip
