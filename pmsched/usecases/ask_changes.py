"""Ask what was changed in the schedule: every revision and correction of jobs, machines, counters and settings.

A row for each thing that differs: what it was, what it became, from when it acts, who signed it, when and why. What is
new has one row; its other particulars of that moment are no changes. Fields have the names of the input files.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import NamedTuple

from sqlalchemy import Connection

from pmsched.domain.clocks import date_shown
from pmsched.store.book import label_of
from pmsched.store.change_facts import Version, reason_of_deed, versions
from pmsched.store.opening import BEGINNING
from pmsched.usecases.change_words import About, Names, told
from pmsched.usecases.near_names import check_known
from pmsched.usecases.views import Scene

# What is told of a thing that is new.
_FIRST_SAID = {"job_revision": "rule", "machine_revision": "name", "counter_revision": "name", "setting": "value"}


class ChangeFilter(NamedTuple):
    """Which changes to show; all conditions must hold. The days are ship's dates of the signature."""

    machine: str | None = None
    job: str | None = None
    counter: str | None = None
    first: date | None = None
    last: date | None = None


class ChangeRow(NamedTuple):
    """One thing that was changed.

    Attributes:
        number: of the fact.
        kind, code: 'job', 'machine', 'counter' or 'setting', and which; ``title`` says it in words.
        machine: on which machine; empty for a setting.
        act: 'added', 'revised' (from a day on), 'corrected' (it had been wrong), 'struck' or 'put back'.
        field, old, new: what it was and what it became, as written in input files; all empty if nothing differs.
        acts_from: the day from which it acts; None: from the beginning.
        recorded_at, recorded_offset: when it was signed (UTC instant, and the ship's offset then).
        deed, signer, signed_as, reason, book, entry_no: how, by whom and why.
    """

    number: str
    kind: str
    code: str
    title: str
    machine: str
    act: str
    field: str
    old: str
    new: str
    acts_from: date | None
    recorded_at: int
    recorded_offset: int
    deed: str
    signer: str
    signed_as: str
    reason: str
    book: int
    entry_no: int

    @property
    def recorded_on(self) -> date:
        """The ship's date of the signature."""
        return date_shown(self.recorded_at, self.recorded_offset)


def change_rows(connection: Connection, seen: Scene, wanted: ChangeFilter) -> Iterator[ChangeRow]:
    """The changes known, in the order signed; streamed.

    Raises:
        NotFound: there is no such machine, job or counter; at once, not when the first row is taken.
    """
    names = Names(connection, seen.view.known)
    check_known("machine", wanted.machine, names.codes("machine"))
    check_known("job", wanted.job, names.codes("job"))
    check_known("counter", wanted.counter, names.codes("counter"))
    return _rows(connection, seen, wanted, names)


def _rows(connection: Connection, seen: Scene, wanted: ChangeFilter, names: Names) -> Iterator[ChangeRow]:
    entry_id, deed_reason = 0, ""
    for version in versions(connection, seen.view.known):
        act, about = _act(version), names.about(version)
        if act == "" or not _is_wanted(version, about, wanted):
            continue
        if version.row["entry_id"] != entry_id:
            entry_id, deed_reason = version.row["entry_id"], reason_of_deed(connection, version.row["entry_id"])
        reason = version.row["reason"] or deed_reason
        for field, old, new in _differences(connection, version, act, names):
            yield _row(version, about, act, reason)._replace(field=field, old=old, new=new)


def _row(version: Version, about: About, act: str, reason: str) -> ChangeRow:
    row, signed = version.row, version.signed
    since: date | None = row.get("valid_from", row.get("from_on", row.get("done_on")))
    return ChangeRow(
        label_of(row["fact_id"]), about.kind, about.code, about.title, about.machine, act, "", "", "",
        None if since == BEGINNING else since, signed["recorded_at"], signed["recorded_offset"], signed["deed"],
        signed["signer"] or "", signed["signed_as"], reason, signed["book"], signed["no"],
    )  # fmt: skip


def _act(version: Version) -> str:
    """What was done; empty for a particular of something that is new as a whole."""
    row, before = version.row, version.before
    if row["struck"]:
        return "struck"
    if row["replaces_id"] is not None:
        return "put back" if before and before["struck"] else "corrected"
    if version.came_with_owner:
        return "added" if version.table in _FIRST_SAID else ""
    return "added" if before is None else "revised"


def _is_wanted(version: Version, about: About, wanted: ChangeFilter) -> bool:
    if wanted.first is not None or wanted.last is not None:
        day = date_shown(version.signed["recorded_at"], version.signed["recorded_offset"])
        if day < (wanted.first or day) or day > (wanted.last or day):
            return False
    return (
        (wanted.machine is None or about.machine.lower() == wanted.machine.lower())
        and (wanted.job is None or (about.kind == "job" and about.code.lower() == wanted.job.lower()))
        and (wanted.counter is None or wanted.counter.lower() in map(str.lower, about.counters))
    )


def _differences(connection: Connection, version: Version, act: str, names: Names) -> Iterator[tuple[str, str, str]]:
    """Field, old and new value of everything that differs; one empty triple if nothing does."""
    old, new = told(connection, version, names, old=True), told(connection, version, names, old=False)
    if act == "added" and version.table in _FIRST_SAID:
        field = _FIRST_SAID[version.table]
        yield field, "", new[field]
        return
    fields = [field for field in new or old if old.get(field, "") != new.get(field, "")]
    for field in fields:
        yield field, old.get(field, ""), new.get(field, "")
    if not fields:
        yield "", "", ""
