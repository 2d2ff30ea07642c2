"""Export a list: its rows as they come from the register, under the header that every export carries.

Header and rows are read in one transaction, so that the seal is that of the rows. Knows no file.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import NamedTuple

from sqlalchemy import Connection

import pmsched
from pmsched.domain.clocks import to_utc
from pmsched.domain.errors import Refusal
from pmsched.exchange.exports import About, Export, Tell
from pmsched.exchange.stamps import at_offset
from pmsched.store.lookups import tip
from pmsched.store.register import Register
from pmsched.store.report_facts import count_of
from pmsched.store.tables import ENTRY, READING, REPORT
from pmsched.usecases import export_tables as tables
from pmsched.usecases.ask_due import DueList, Header, header
from pmsched.usecases.ask_history import History
from pmsched.usecases.export_sources import LISTS, NARROWED_BY, WHAT, Listed, Narrowed, What
from pmsched.usecases.signing import person_of
from pmsched.usecases.views import Asked, Scene, scene

NOT_NAMED = "not named"


class ExportList(NamedTuple):
    """What is to be exported.

    Attributes:
        what: which list.
        narrowed: by what.
        person: code of who makes the export; empty if nobody is named.
    """

    what: What
    narrowed: Narrowed = Narrowed()
    person: str = ""


@contextmanager
def exporting(
    register: Register, asked: Asked, command: ExportList, tell: Tell | None = None
) -> Iterator[tuple[Header, Export]]:
    """The header of the answer and the export, whose rows can be taken while the block lasts.

    Args:
        register: the register.
        asked: when, and of which past moment.
        command: what is wanted.
        tell: told how many rows have passed.

    Raises:
        Refusal: the list cannot be narrowed so, or not be asked for a past moment so.
        NotFound: a machine, job, counter or person that there is not.
    """
    _check(asked, command)
    with register.reading() as connection:
        seen = scene(connection, asked)
        answered = header(connection, seen, asked)
        about = _about(connection, answered, asked, command)
        heading, rows = LISTS[command.what](connection, seen, command.narrowed)
        widths = tables.widths_of(heading)
        yield answered, Export(about, heading, rows, widths, _expected(connection, seen, command), tell)


def export_found(
    register: Register, asked: Asked, found: History | DueList, narrowed: Narrowed, person: str = ""
) -> Export:
    """A list that was found already, as an export: what is written is what was shown.

    Args:
        register: the register.
        asked: the question that was answered, with the present moment.
        found: the answer.
        narrowed: what it was narrowed by.
        person: code of who makes the export; empty if nobody is named.

    Raises:
        NotFound: there is no such person.
    """
    what: What = "due" if isinstance(found, DueList) else "history"
    with register.reading() as connection:
        # What was entered since it was shown is not in it: the header is that of the answer.
        about = _about(connection, found.header, asked, ExportList(what, narrowed, person))
    listed: Listed
    if isinstance(found, DueList):
        listed = tables.DUE, map(tables.due_cells, found.rows)
    else:
        listed = tables.HISTORY, map(tables.history_cells, found.rows)
    heading, rows = listed
    return Export(about, heading, rows, tables.widths_of(heading), len(found.rows))


def _check(asked: Asked, command: ExportList) -> None:
    allowed = NARROWED_BY[command.what]
    if wrong := [
        name for name, value in command.narrowed._asdict().items() if value is not None and name not in allowed
    ]:
        named = ", ".join(_OPTIONS.get(name, name) for name in wrong)
        others = sorted(what for what in WHAT if set(wrong) <= NARROWED_BY[what])
        hint = f"It goes with: {', '.join(others)}." if others else "Ask for one list at a time."
        raise Refusal("not-narrowed-so", f"The list '{command.what}' cannot be narrowed by {named}.", hint)
    if command.what == "changes" and asked.as_of is not None:
        raise Refusal(
            "changes-as-of", "Changes are listed as they were signed.", "Ask what was known then: --known-on DATE."
        )


_OPTIONS = {"first": "from", "last": "to"}


def _about(connection: Connection, answered: Header, asked: Asked, command: ExportList) -> About:
    now = scene(connection, Asked(asked.now))
    last = tip(connection, scene(connection, asked).view.known)
    narrowed = command.narrowed
    made_by = NOT_NAMED
    if command.person:
        person = person_of(connection, now.view, command.person)
        made_by = f"{person.code} {person.name}"
    return About(
        program=f"pmsched {pmsched.__version__}",
        site=answered.site,
        what=command.what,
        from_on=narrowed.first,
        to_on=narrowed.last,
        machine=narrowed.machine,
        job=narrowed.job,
        counter=narrowed.counter,
        person=narrowed.person,
        words=narrowed.words,
        as_of=asked.as_of,
        known_on=asked.known_on,
        book=last.book if last else None,
        entry_no=answered.entry_no,
        seal=answered.seal,
        made_by=made_by,
        made_at_ship=at_offset(asked.now, now.clock.offset_at(asked.now)) or "",
        made_at_utc=to_utc(asked.now),
        left_out="; ".join(_left_out(narrowed, asked, answered.entry_no)),
    )


def _left_out(narrowed: Narrowed, asked: Asked, entry_no: int) -> Iterator[str]:
    """What the question itself leaves out, in words."""
    for name in ("machine", "job", "counter"):
        if (value := getattr(narrowed, name)) is not None:
            yield f"all but {name} {value}"
    if narrowed.person is not None:
        yield f"all that was neither signed nor done by {narrowed.person}"
    if narrowed.words is not None:
        yield f"all without the words '{narrowed.words}'"
    if narrowed.first is not None:
        yield f"all before {narrowed.first}"
    if narrowed.last is not None:
        yield f"all after {narrowed.last}"
    if asked.known_on is not None:
        yield f"all that was entered after entry {entry_no}"
    if asked.as_of is not None:
        yield f"all that happened after {asked.as_of}"


def _expected(connection: Connection, seen: Scene, command: ExportList) -> int:
    """About how many rows there will be; 0 where only counting them would tell."""
    table = {"history": REPORT, "readings": READING, "entries": ENTRY}.get(command.what)
    if table is None or any(value is not None for value in command.narrowed):
        return 0
    return count_of(connection, table, seen.view)
