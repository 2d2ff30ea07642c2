"""Machines that are isolated, opened up or not to be started: since when, why, and when that ended."""

from __future__ import annotations

from typing import Any

from sqlalchemy import Connection, Select, select

from pmsched.store.live import UNTIL, View, live
from pmsched.store.tables import ENTRY, ISOLATION, ISOLATION_END, MACHINE, PERSON


def isolations(connection: Connection, view: View) -> list[Any]:
    """Every isolation, ended ones among them, oldest first: its columns, and those of its end (None while it stands).

    The columns are fact_id, machine_id, machine, kind, begun_at, why, tag, back_on, signer, signed_as, entry_no, ended_at,
    tried, ended_by, ended_entry_no, end_id.
    """
    return list(connection.execute(_ALL, view.binds()))


def standing_isolations(connection: Connection, view: View) -> list[Any]:
    """Those that have not ended, as ``isolations`` gives them."""
    return list(connection.execute(_STANDING, view.binds()))


def _question() -> Select[Any]:
    i, end = ISOLATION, ISOLATION_END
    signed, ended, signer, ender = (
        ENTRY.alias("signed"),
        ENTRY.alias("ended"),
        PERSON.alias("signer"),
        PERSON.alias("ender"),
    )
    return (
        select(
            i.c.fact_id, i.c.machine_id, MACHINE.c.code.label("machine"), i.c.kind, i.c.begun_at, i.c.why, i.c.tag,
            i.c.back_on, end.c.fact_id.label("end_id"), signer.c.code.label("signer"), signed.c.rank.label("signed_as"),
            signed.c.no.label("entry_no"), end.c.ended_at, end.c.tried, ender.c.code.label("ended_by"),
            ended.c.no.label("ended_entry_no"),
        )
        .select_from(i)
        .join(MACHINE, MACHINE.c.id == i.c.machine_id)
        .join(signed, signed.c.id == i.c.entry_id)
        .join(signer, signer.c.id == signed.c.person_id)
        .outerjoin(end, (end.c.isolation_id == i.c.fact_id) & (end.c.ended_at <= UNTIL) & live(end))
        .outerjoin(ended, ended.c.id == end.c.entry_id)
        .outerjoin(ender, ender.c.id == ended.c.person_id)
        .where(i.c.begun_at <= UNTIL, live(i))
        .order_by(i.c.begun_at, i.c.id)
    )  # fmt: skip


_ALL = _question()
_STANDING = _ALL.where(ISOLATION_END.c.id.is_(None))
