"""``pmsched clock``: a change of the ship's clock."""

from __future__ import annotations

import click

from pmsched.cli.access import instant_of, open_register, ship_clock_of, signer
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import command, request_option
from pmsched.cli.printing import document, out
from pmsched.cli.shapes import offset, receipt_shape
from pmsched.cli.words import entered
from pmsched.domain.clocks import format_offset, parse_offset
from pmsched.exchange.stamps import utc
from pmsched.usecases.change_clock import change_clock


@command("clock", "pmsched clock --at '2030-01-15 02:00' --offset +8")
@click.option("--at", "when", required=True, metavar="'DATE TIME'", help="When, by the ship's time before the change.")
@click.option("--offset", "wanted", required=True, metavar="OFFSET", help="The new offset from UTC: +8, -3, UTC+5:30.")
@request_option
@pass_here
def clock(here: Here, when: str, wanted: str, request: str | None) -> None:
    """Record that the ship's clock is put forward or back."""
    minutes = parse_offset(wanted)
    with open_register(here) as register:
        at = instant_of(ship_clock_of(register), when)
        receipt = change_clock(register, at, minutes, signer(here, request))
    if here.as_json:
        document({"receipt": receipt_shape(receipt), "at": utc(at), "offset": offset(minutes)})
        return
    out(f"From {when} ship's time the clock stands at {format_offset(minutes)}; {entered(receipt)}.")
