"""Isolate a machine (or say that it is opened up, or not to be started), and give it back to use.

The register tells the next watch; it locks nothing and replaces no permit and no tag.
"""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.errors import NotAllowed, NotFound, Refusal
from pmsched.domain.plain import check_text
from pmsched.store.book import Receipt, Work, id_of, label_of
from pmsched.store.isolation_facts import isolations, standing_isolations
from pmsched.store.loaded_facts import version_now
from pmsched.store.lookups import machines
from pmsched.store.opening import BEGINNING
from pmsched.store.register import Register
from pmsched.store.tables import ISOLATION, ISOLATION_END
from pmsched.usecases.near_names import check_known
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, Scene, scene

KINDS = ("isolated", "opened", "not to be started")
_ISOLATE, _END, _STRIKE, _STRIKE_END = "isolate", "end isolation", "strike isolation", "strike end of isolation"


class Isolate(NamedTuple):
    """A machine that must not be started.

    Attributes:
        machine: its code (any case).
        why: the work or the fault, in words; needed.
        kind: one of KINDS.
        tag: number of the tag or permit.
        begun_at: UTC epoch seconds; None for now.
        back_on: ship's date on which it is expected back in use.
    """

    machine: str
    why: str
    kind: str = "isolated"
    tag: str = ""
    begun_at: int | None = None
    back_on: date | None = None


class EndIsolation(NamedTuple):
    """A machine given back to use.

    Attributes:
        machine: its code; it must have one standing isolation, or ``number`` says which.
        tried: what was tried before it was given back; needed for a critical machine.
        ended_at: UTC epoch seconds; None for now.
        number: the isolation's number, where there are several.
    """

    machine: str
    tried: str = ""
    ended_at: int | None = None
    number: str = ""


def isolate(register: Register, command: Isolate, signer: Signer) -> Receipt:
    """Record that a machine is not to be started.

    Raises:
        NotFound: unknown machine or signer.
        NotAllowed: it lies ahead, or it is down already with the same kind and tag.
        Refusal: no reason, or a kind there is not.
    """
    with register.locked() as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        about = _about(command)
        if earlier := work.earlier(_ISOLATE, about=about):
            return earlier
        machine = _machine(connection, seen, command.machine)
        why, tag = check_text(command.why).strip(), check_text(command.tag).strip()
        if not why:
            raise Refusal("why-missing", "The next watch must know why.", "Say why, for example: impeller out.")
        if command.kind not in KINDS:
            raise Refusal("unknown-kind", f"There is no '{command.kind}'.", f"Write one of: {', '.join(KINDS)}.")
        begun_at = _not_ahead(seen, command.begun_at, signer.at)
        if command.back_on is not None and command.back_on < seen.clock.ship_date(begun_at):
            raise Refusal("back-before", f"{command.back_on} lies before the isolation.", "Check the dates.")
        _refuse_twice(connection, seen, machine, command.kind, tag)
        work.add(
            ISOLATION, machine_id=machine.id, kind=command.kind, begun_at=begun_at,
            offset_minutes=seen.clock.offset_at(begun_at), why=why, tag=tag or None, back_on=command.back_on,
        )  # fmt: skip
        return work.enter(_ISOLATE, about)


def end_isolation(register: Register, command: EndIsolation, signer: Signer) -> Receipt:
    """Record that a machine is back in use.

    Raises:
        NotFound: unknown machine or signer, or nothing to end.
        NotAllowed: it lies ahead or before the beginning, or a critical machine was not tried.
        Refusal: several stand, and none is named.
    """
    with register.locked() as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        if earlier := work.earlier(_END, about=_about(command)):
            return earlier
        machine = _machine(connection, seen, command.machine)
        row = _standing(connection, seen, work, machine, command.number)
        ended_at = _not_ahead(seen, command.ended_at, signer.at)
        if ended_at < row.begun_at:
            raise NotAllowed("end-before", "That is before it was isolated.", "Check the time.")
        tried = check_text(command.tried).strip()
        if machine.critical and not tried:
            raise NotAllowed(
                "not-tried",
                f"{machine.code} is critical: it is tried before it is given back.",
                "Say what was tried, for example: run 10 min, no leak.",
            )
        work.add(
            ISOLATION_END, isolation_id=row.fact_id, ended_at=ended_at, offset_minutes=seen.clock.offset_at(ended_at),
            tried=tried or None,
        )  # fmt: skip
        return work.enter(_END, _about(command))


def strike_isolation(register: Register, number: str, reason: str, signer: Signer, *, end: bool = False) -> Receipt:
    """Strike an isolation that never was, or (``end``) an end that never was; both stay readable.

    Raises:
        NotFound: there is no such isolation, or it has not ended.
        NotAllowed: no reason is given.
    """
    with register.locked() as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        deed, about = (_STRIKE_END if end else _STRIKE), {"number": number, "reason": reason}
        if earlier := work.earlier(deed, about=about):
            return earlier
        fact_id = id_of(number, work.book)
        row = next((row for row in isolations(connection, seen.standing_view) if row.fact_id == fact_id), None)
        if row is None or (end and row.end_id is None):
            what = "no end of isolation" if end and row else "no isolation"
            raise NotFound("unknown-isolation", f"There is {what} {number}.", "See: pmsched isolate --all.")
        table, struck = (ISOLATION_END, row.end_id) if end else (ISOLATION, row.fact_id)
        work.strike(table, version_now(connection, table, struck), check_text(reason))
        return work.enter(deed, about)


def _about(command: Isolate | EndIsolation) -> dict[str, Any]:
    """What was asked, for the record: by it a repeated attempt is told from another deed."""
    asked = {**command._asdict(), "machine": command.machine.strip().upper()}
    return {name: str(value) for name, value in asked.items() if value not in {None, ""}}


def _machine(connection: Connection, seen: Scene, code: str) -> Any:
    by_code = {machine.code.lower(): machine for machine in machines(connection, seen.view)}
    check_known("machine", code.strip(), (machine.code for machine in by_code.values()))
    return by_code[code.strip().lower()]


def _not_ahead(seen: Scene, at: int | None, now: int) -> int:
    if at is not None and seen.clock.ship_date(at) < BEGINNING:
        raise NotAllowed("too-early", f"That lies before the year {BEGINNING.year}.", "Check the date.")
    if at is not None and at > now:
        raise NotAllowed(
            "lies-ahead", f"{seen.clock.ship_time(at):%Y-%m-%d %H:%M} lies ahead.", "Give the time it was done."
        )
    return now if at is None else at


def _refuse_twice(connection: Connection, seen: Scene, machine: Any, kind: str, tag: str) -> None:
    for row in standing_isolations(connection, seen.standing_view):
        if row.machine_id == machine.id and row.kind == kind and (row.tag or "") == tag:
            raise NotAllowed(
                "isolated-already",
                f"{machine.code} is {kind} since {seen.clock.ship_time(row.begun_at):%Y-%m-%d %H:%M} (entry {row.entry_no}).",
                "Give the number of the second tag if there are two.",
            )


def _standing(connection: Connection, seen: Scene, work: Work, machine: Any, number: str) -> Any:
    rows = [row for row in standing_isolations(connection, seen.standing_view) if row.machine_id == machine.id]
    if number:
        rows = [row for row in rows if row.fact_id == id_of(number, work.book)]
    if not rows:
        which = f" with the number {number}" if number else ""
        raise NotFound("not-isolated", f"{machine.code} has no isolation{which}.", "See: pmsched isolate.")
    if len(rows) > 1:
        listed = "; ".join(f"{label_of(row.fact_id)} {row.kind}, {row.tag or row.why}" for row in rows)
        raise Refusal("which-isolation", f"{machine.code} has {len(rows)} isolations.", f"Name one: {listed}.")
    return rows[0]
