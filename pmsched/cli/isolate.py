"""``pmsched isolate``: machines that must not be started, and their way back into use."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

import click

from pmsched.cli.access import asked, instant_of, open_register, read_option, ship_clock_of, signer
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import asked_options, command, request_option
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import header_shape, receipt_shape
from pmsched.cli.shapes_records import isolation_shape
from pmsched.cli.tables import Column, table, terminal_width, wrapped
from pmsched.cli.words import entered, heading, ship_time, some
from pmsched.domain.clocks import ShipClock
from pmsched.domain.errors import NotAllowed
from pmsched.exchange.dates import read_date
from pmsched.store.register import Register
from pmsched.usecases.ask_isolations import IsolationRow, isolation_list
from pmsched.usecases.isolating import KINDS, EndIsolation, Isolate, end_isolation, strike_isolation
from pmsched.usecases.isolating import isolate as keep_isolation

_COLUMNS = (
    Column("number", right=True), Column("machine"), Column("name", cut=True, spare=True), Column("is"),
    Column("since"), Column("ended", spare=True), Column("signed"),
)  # fmt: skip
_GOES_WITH = {
    "list": {"all", "as-of", "known-on"},
    "isolate": {"machine", "why", "tag", "at", "back"},
    "end": {"machine", "end", "tried", "at", "number"},
    "mistake": {"number", "end"},
}
_SAID = {"list": "the list", "isolate": "isolating a machine", "end": "--end", "mistake": "--mistake"}


@command(
    "isolate",
    "pmsched isolate",
    "pmsched isolate AE2 --why 'coupling off, alternator bearing' --tag 14 --back 2030-01-20",
    "pmsched isolate AE2 --end --tried 'run 20 min on load, no leak'",
)
@click.argument("machine", metavar="[MACHINE]", required=False)
@click.option("--why", default="", metavar="TEXT", help="The work or the fault; the next watch reads it.")
@click.option("--kind", type=click.Choice(KINDS), default=KINDS[0], help="What it is; isolated if not said.")
@click.option("--tag", default="", metavar="NUMBER", help="Number of the tag or of the permit.")
@click.option("--at", "when", metavar="'DATE TIME'", help="When, in ship's time; now if not said.")
@click.option("--back", metavar="DATE", help="When it is expected back in use.")
@click.option("--end", is_flag=True, help="It is back in use.")
@click.option("--tried", default="", metavar="TEXT", help="What was tried before that; needed for a critical machine.")
@click.option("--number", default="", metavar="N", help="Which isolation, where a machine has several.")
@click.option(
    "--mistake", metavar="TEXT", help="Strike isolation --number, or with --end its end: it never was; say why."
)
@click.option("--all", "every", is_flag=True, help="List those that ended too.")
@asked_options
@request_option
@pass_here
def isolate(
    here: Here,
    machine: str | None,
    why: str,
    kind: str,
    tag: str,
    when: str | None,
    back: str | None,
    tried: str,
    number: str,
    mistake: str | None,
    as_of: str | None,
    known_on: str | None,
    request: str | None,
    *,
    end: bool,
    every: bool,
) -> None:
    """List the machines that must not be started; isolate one; or give it back to use.

    The list tells the next watch. It locks nothing: tags, locks and the permit to work do that.
    """
    doing = "mistake" if mistake is not None else "list" if machine is None else "end" if end else "isolate"
    given = {
        "machine": machine, "why": why, "tag": tag, "at": when, "back": back, "end": end, "tried": tried,
        "number": number, "all": every, "as-of": as_of, "known-on": known_on,
    }  # fmt: skip
    _check_together(doing, {name for name, value in given.items() if value})
    with open_register(here) as register:
        if mistake is not None:
            _strike(here, register, number, mistake, request, end=end)
        elif machine is None:
            _list(here, register, as_of, known_on, every=every)
        elif end:
            _end(here, register, EndIsolation(machine, tried, _instant(register, when), number), request)
        else:
            back_on: date | None = read_option(read_date, back)
            _isolate(here, register, Isolate(machine, why, kind, tag, _instant(register, when), back_on), request)


def _check_together(doing: str, given: set[str]) -> None:
    """An option that does not belong to what is done is a slip, and may mean another machine or another time."""
    if doing == "list" and given & {"why", "end", "tried", "tag", "back", "at", "number"}:
        raise click.UsageError("Name the machine. To list those isolated: pmsched isolate")
    wrong = sorted(given - _GOES_WITH[doing])
    if wrong:
        what = "MACHINE" if wrong[0] == "machine" else f"--{wrong[0]}"
        raise click.UsageError(f"{what} does not go with {_SAID[doing]}.")


def _instant(register: Register, when: str | None) -> int | None:
    return None if when is None else instant_of(ship_clock_of(register), when)


def _isolate(here: Here, register: Register, wanted: Isolate, request: str | None) -> None:
    receipt = keep_isolation(register, wanted, signer(here, request))
    if here.as_json:
        document({"receipt": receipt_shape(receipt), "machine": wanted.machine, "kind": wanted.kind})
        return
    out(f"{wanted.machine}: {wanted.kind}; {entered(receipt)}.")
    note("This tells the next watch; it locks nothing. Back in use: pmsched isolate MACHINE --end")


def _end(here: Here, register: Register, wanted: EndIsolation, request: str | None) -> None:
    receipt = end_isolation(register, wanted, signer(here, request))
    if here.as_json:
        document({"receipt": receipt_shape(receipt), "machine": wanted.machine})
        return
    out(f"{wanted.machine}: back in use; {entered(receipt)}.")


def _strike(here: Here, register: Register, number: str, reason: str, request: str | None, *, end: bool) -> None:
    if not number:
        raise NotAllowed(
            "number-missing", "Which isolation never was?", "Name it: --number N. See: pmsched isolate --all."
        )
    receipt = strike_isolation(register, number, reason, signer(here, request), end=end)
    if here.as_json:
        document({"receipt": receipt_shape(receipt), "number": number})
        return
    what = f"The end of isolation {number}" if end else f"Isolation {number}"
    out(f"{what} is struck; {entered(receipt)}.")


def _list(here: Here, register: Register, as_of: str | None, known_on: str | None, *, every: bool) -> None:
    header, rows = isolation_list(register, asked(as_of, known_on), every=every)
    clock = ship_clock_of(register)
    if here.as_json:
        document({"header": header_shape(header), "isolations": [isolation_shape(row, clock) for row in rows]})
        return
    shown = some(len(rows), "isolation") if every else f"{some(len(rows), 'machine')} not to be started"
    out(heading(header, shown, terminal_width()))
    for line in _lines(rows, clock, terminal_width()):
        out(line)


def _lines(rows: Sequence[IsolationRow], clock: ShipClock, width: int) -> Iterator[str]:
    if not rows:
        return
    cells = [
        (
            row.number, row.machine, row.machine_name, row.kind, ship_time(clock, row.begun_at),
            "" if row.ended_at is None else ship_time(clock, row.ended_at), row.signer,
        )
        for row in rows
    ]  # fmt: skip
    lines = table(_COLUMNS, cells, width)
    yield next(lines)
    for row, line in zip(rows, lines, strict=True):
        yield line
        yield from wrapped(row.said, width, "    ")
        if row.ended_by:
            yield from wrapped(f"back in use, {row.ended_by}{f': {row.tried}' if row.tried else ''}", width, "    ")
