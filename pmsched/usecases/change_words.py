"""What a version of the schedule says, field by field, in the words of the input files; and what it is about."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.aims import DoingKind
from pmsched.domain.limbs import write_amount
from pmsched.store.change_facts import Version, typed_totals
from pmsched.store.live import EVERYTHING, View
from pmsched.store.loaded_facts import identities
from pmsched.store.lookups import counters, jobs, machines
from pmsched.store.opening import BEGINNING
from pmsched.store.tables import COUNTER, JOB, MACHINE
from pmsched.usecases.load_changes import amounts_shown, share_shown

_WHOLE_JOB = "(the whole job)"
_COMMON = frozenset({"id", "entry_id", "fact_id", "replaces_id", "struck", "reason"})
_FIELDS = {"parent_id": "parent", "walking_order": "order", "base": "total_start", "valid_from": "acts_from"}


class About(NamedTuple):
    """What a version is about: its kind, code, words and machine, and the counters it concerns."""

    kind: str
    code: str
    title: str
    machine: str
    counters: frozenset[str] = frozenset()


class Names:
    """Codes and words of machines, counters and jobs, by id."""

    def __init__(self, connection: Connection, known: int) -> None:
        tables = {"machine": MACHINE, "counter": COUNTER, "job": JOB}
        self._rows = {
            kind: {row.id: row for row in identities(connection, table) if row.id <= known}
            for kind, table in tables.items()
        }
        last = View(known, EVERYTHING, date.max)
        self._words = {
            "machine": {row.id: row.name for row in machines(connection, last)},
            "counter": {row.id: row.name for row in counters(connection, last)},
            "job": {row.id: row.title for row in jobs(connection, last)},
        }

    def codes(self, kind: str) -> list[str]:
        """The codes of all of a kind."""
        return [row.code for row in self._rows[kind].values()]

    def code(self, kind: str, thing: int | None) -> str:
        """The code of one; empty for none."""
        return str(self._rows[kind][thing].code) if thing is not None else ""

    def unit(self, counter: int) -> str:
        """What a counter counts in."""
        return str(self._rows["counter"][counter].unit)

    def text(self, column: str, value: Any) -> str:
        """A value as it is written in a file."""
        if value is None or (column == "valid_from" and value == BEGINNING):
            return ""
        if column == "parent_id":
            return self.code("machine", value)
        if isinstance(value, bool):
            return "yes" if value else "no"
        return str(value)

    def about(self, version: Version) -> About:
        """What a version is about."""
        row = version.row
        if version.table == "setting":
            return About("setting", row["name"], "", "")
        kind = next(kind for kind in ("job", "machine", "counter") if f"{kind}_id" in row)
        thing = row[f"{kind}_id"]
        machine = thing if kind == "machine" else self._rows[kind][thing].machine_id
        title = row["title"] if version.table == "job_revision" else row.get("name", self._words[kind].get(thing, ""))
        if version.table == "alias":
            title = self._words[kind].get(thing, "")
        counted = {one["counter_id"] for one in (row, version.before or {}) if one.get("counter_id") is not None}
        return About(
            kind,
            self.code(kind, thing),
            title,
            self.code("machine", machine),
            frozenset(self.code("counter", one) for one in counted),
        )


def told(connection: Connection, version: Version, names: Names, *, old: bool) -> dict[str, str]:
    """What a version says, or what stood before it, by field; nothing for what is struck."""
    row = version.before if old else version.row
    if row is None or row["struck"]:
        return {}
    if version.table == "closing":
        known = version.row["entry_id"] - 1 if old else version.signed["last_id"]
        return {"starts": _start(row, typed_totals(connection, row["fact_id"], known))}
    if version.table in _ONE_FIELD:
        field, write = _ONE_FIELD[version.table]
        return {field: write(row, names)}
    if version.table == "meter_period":
        unit = names.unit(row["counter_id"])
        factor = str(Fraction(row["factor_num"], row["factor_den"]))
        return {
            "dial_start": write_amount(row["dial_start"], unit),
            "total_start": write_amount(row["base"], unit),
            "factor": factor,
        }
    owner = f"{version.table.removesuffix('_revision')}_id"
    # A later revision acts from another day by its nature; only a correction changes from when one acts.
    skipped = _COMMON | {owner} | (frozenset() if version.row["replaces_id"] else frozenset({"valid_from"}))
    return {_FIELDS.get(name, name): names.text(name, value) for name, value in row.items() if name not in skipped}


def _start(row: Mapping[str, Any], totals: Mapping[str, int]) -> str:
    if row["kind"] == DoingKind.DUE_AT_ONCE:
        return "due at once"
    at = amounts_shown(totals)
    return f"from {row['done_on']}" + (f" at {at}" if at else "")


def _follow(row: Mapping[str, Any], names: Names) -> str:
    since = "" if row["from_on"] == BEGINNING else f" from {row['from_on']}"
    return (
        f"{names.code('counter', row['counter_id'])}{share_shown(Fraction(row['share_num'], row['share_den']))}{since}"
    )


_ONE_FIELD: dict[str, tuple[str, Callable[[Mapping[str, Any], Names], str]]] = {
    "alias": ("other_names", lambda row, _names: str(row["name"])),
    "counts_on": ("counts_on", _follow),
    "job_unit": ("units", lambda row, _names: row["unit"] or _WHOLE_JOB),
    "setting": ("value", lambda row, _names: str(row["value"])),
}
