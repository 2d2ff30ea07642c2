"""Ask which machines are isolated, opened up or not to be started, and which were."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.store.book import label_of
from pmsched.store.isolation_facts import isolations, standing_isolations
from pmsched.store.lookups import machines
from pmsched.store.register import Register
from pmsched.usecases.ask_due import Header, header
from pmsched.usecases.views import Asked, Scene, scene


class IsolationRow(NamedTuple):
    """One isolation.

    Attributes:
        number: names it in commands.
        machine, machine_name, department, critical: the machine.
        kind: isolated, opened, or not to be started; ``why`` in words; ``tag`` of the tag or permit, if any.
        begun_at, begun_on: since when (UTC epoch seconds, ship's date); ``back_on`` is the day expected back.
        late: it is expected back on an earlier day than the one asked about, and is not.
        signer, signed_as, entry_no: who signed it.
        ended_at, tried, ended_by: how it ended; None and empty while it stands.
    """

    number: str
    machine: str
    machine_name: str
    department: str
    critical: bool
    kind: str
    why: str
    tag: str
    begun_at: int
    begun_on: date
    back_on: date | None
    late: bool
    signer: str
    signed_as: str
    entry_no: int
    ended_at: int | None
    tried: str
    ended_by: str

    @property
    def said(self) -> str:
        """Why, the tag, and the day expected back: 'impeller out; tag 14; back by 2030-01-20'."""
        back = f"back by {self.back_on}{', late' if self.late else ''}" if self.back_on else ""
        return "; ".join(part for part in (self.why, self.tag and f"tag {self.tag}", back) if part)


def isolation_list(register: Register, asked: Asked, *, every: bool = False) -> tuple[Header, tuple[IsolationRow, ...]]:
    """The isolations that stand, oldest first; with ``every`` those that ended too."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        return header(connection, seen, asked), isolation_rows(connection, seen, every=every)


def isolation_rows(connection: Connection, seen: Scene, *, every: bool = False) -> tuple[IsolationRow, ...]:
    """The same within a question that is being answered."""
    found = (isolations if every else standing_isolations)(connection, seen.standing_view)
    return tuple(_rows(connection, seen, found)) if found else ()


def _rows(connection: Connection, seen: Scene, found: Iterable[Any]) -> Iterator[IsolationRow]:
    places = {machine.id: machine for machine in machines(connection, seen.view)}
    for row in found:
        place = places[row.machine_id]
        late = row.back_on is not None and row.ended_at is None and row.back_on < seen.today
        yield IsolationRow(
            label_of(row.fact_id), row.machine, place.name, place.department, place.critical, row.kind, row.why,
            row.tag or "", row.begun_at, seen.clock.ship_date(row.begun_at), row.back_on, late, row.signer,
            row.signed_as, row.entry_no, row.ended_at, row.tried or "", row.ended_by or "",
        )  # fmt: skip
