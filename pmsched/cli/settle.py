"""``pmsched settle``: readings that are held because they cannot be true, and what becomes of them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import click

from pmsched.cli.access import asked, header_of, open_register, ship_clock_of, signer
from pmsched.cli.amending import READING_OPTIONS, amend_command, amend_text, with_options
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import command, request_option
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import header_shape
from pmsched.cli.shapes_deeds import amend_shape, held_shape
from pmsched.cli.tables import Column, table, terminal_width, wrapped
from pmsched.cli.words import dial_text, heading, ship_time, some
from pmsched.domain.clocks import ShipClock
from pmsched.domain.errors import NotAllowed, Refusal
from pmsched.store.book import id_of, writing_book
from pmsched.store.reading_facts import reading_version
from pmsched.store.register import Register
from pmsched.usecases.amend_reading import AmendReading, HeldReading, amend_reading, held
from pmsched.usecases.signing import Signer

_COLUMNS = (Column("number", right=True), Column("counter"), Column("read at"), Column("value", right=True))


@command("settle", "pmsched settle", "pmsched settle 5120 --value 31340 --reason 'two digits exchanged'")
@click.argument("number", metavar="[NUMBER]", required=False)
@with_options(READING_OPTIONS)
@click.option("--confirm", is_flag=True, help="The value is true as it stands.")
@request_option
@pass_here
def settle(
    here: Here,
    number: str | None,
    value: str | None,
    reason: str | None,
    request: str | None,
    *,
    strike: bool,
    confirm: bool,
) -> None:
    """List the readings that are held, or settle one: give the true value, confirm it, or strike it.

    A held reading is kept and not used. Which of two readings is wrong is for a person to say.
    """
    with open_register(here) as register:
        if number is None:
            if value or strike or confirm:
                raise click.UsageError("Name the number of the reading. To list them: pmsched settle")
            _list(here, register)
            return
        amend = amend_command(number, value=value, strike=strike, confirm=confirm, reason=reason)
        person = signer(here, request)
        _check_held(register, amend, person)
        result = amend_reading(register, amend, person)
    if here.as_json:
        document(amend_shape(result))
        return
    for line in amend_text(result):
        out(line)


def _check_held(register: Register, amend: AmendReading, person: Signer) -> None:
    """Accepted readings are not settled: correcting one lists first what it touches."""
    with register.reading() as connection:
        book = writing_book(connection)
        number = id_of(amend.reading, book)
        version = None if number is None else reading_version(connection, number)
    if version is None:
        return  # There is no such reading; the deed itself says so.
    waiting = {id_of(row.number, book) for row in held(register, asked())}
    if version.fact_id in waiting or _settled_before(register, amend, person):
        return
    raise NotAllowed(
        "not-held",
        f"Reading {amend.reading} is not held.",
        f"To correct an accepted reading: pmsched correct reading {amend.reading} ...",
    )


def _settled_before(register: Register, amend: AmendReading, person: Signer) -> bool:
    """Whether this is the repeated attempt of a deed done before."""
    if not person.request_id:
        return False
    try:
        return amend_reading(register, amend, person, rehearse=True).receipt.repeated
    except Refusal:
        return False


def _list(here: Here, register: Register) -> None:
    question = asked()
    rows = held(register, question)
    clock, header = ship_clock_of(register), header_of(register, question)
    if here.as_json:
        document({"header": header_shape(header), "held": [held_shape(row, clock) for row in rows]})
        return
    out(heading(header, f"{some(len(rows), 'reading')} held", terminal_width()))
    for line in _lines(rows, clock, terminal_width()):
        out(line)
    if rows:
        note("To settle one: pmsched settle NUMBER --value V, --confirm or --strike, each with --reason TEXT")


def _lines(rows: Sequence[HeldReading], clock: ShipClock, width: int) -> Iterator[str]:
    if not rows:
        return
    cells = [(row.number, row.counter, ship_time(clock, row.read_at), dial_text(row.dial, row.meter)) for row in rows]
    lines = table(_COLUMNS, cells, width)
    yield next(lines)
    for row, line in zip(rows, lines, strict=True):
        yield line
        yield from wrapped(_judged(row), width, "    ")
        for suggestion in row.judgement.suggestions:
            yield from wrapped(suggestion.text, width, "    ")


def _judged(row: HeldReading) -> str:
    return row.judgement.message or "It can be true beside the readings as they are now; confirm it."
