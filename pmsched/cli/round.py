"""``pmsched round``: the meters read on a walk, from a file or typed line by line, signed as one entry."""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import click

from pmsched.cli.access import asked, instant_of, open_register, ship_clock_of, signer
from pmsched.cli.asking import on_terminal
from pmsched.cli.context import Here, moment, pass_here
from pmsched.cli.house import command, request_option
from pmsched.cli.printing import document
from pmsched.cli.round_file import Moment, read_round_file
from pmsched.cli.round_typed import type_round
from pmsched.cli.round_words import show_round
from pmsched.cli.shapes_deeds import round_shape
from pmsched.domain.errors import Refusal
from pmsched.store.register import Register
from pmsched.usecases.ask_round import round_sheet
from pmsched.usecases.record_round import RoundLine, RoundResult, record_round

STANDARD_INPUT = "-"
_PROBLEMS = 3


@command("round", "pmsched round", "pmsched round readings.csv --at '2030-01-15 08:00' --check")
@click.argument("file", metavar="[FILE.csv | -]", required=False)
@click.option("--at", "when", metavar="'DATE TIME'", help="Ship's time of the walk; now if not said.")
@click.option("--check", is_flag=True, help="Judge and show what would move; keep nothing. Ends with 3 if any is held.")
@request_option
@pass_here
def round_(here: Here, file: str | None, when: str | None, request: str | None, *, check: bool) -> None:
    """Record a round: the meters read on a walk, as one signed entry.

    Without a file the counters are asked for in walking order; what is typed is kept at each Enter, and a round broken
    off goes on where it stopped. A file has the columns counter and value; read_on, time and note may stand beside them.
    A value that cannot be true is kept and held, and waits to be settled.
    """
    with open_register(here) as register:
        clock = ship_clock_of(register)
        at = None if when is None else instant_of(clock, when)
        if at is not None and at > moment():
            raise Refusal("reading-in-future", f"{when} lies ahead of the ship's time.", "Check the date and time.")
        if file is None:
            if not on_terminal():
                raise click.UsageError("Name a file, or - for standard input; without one a terminal is needed.")
            type_round(here, register, at, check=check)
            return
        lines = _read(register, file, at)
        result = record_round(register, lines, signer(here, request), rehearse=check)
    if here.as_json:
        document(round_shape(lines, result, clock, checked_only=check))
    else:
        show_round(result, checked_only=check)
    if check and _any_held(result):
        raise click.exceptions.Exit(_PROBLEMS)


def _any_held(result: RoundResult) -> bool:
    return any(not line.judgement.accepted for line in result.lines)


def _read(register: Register, file: str, at: int | None) -> list[RoundLine]:
    now = moment()
    sheet = round_sheet(register, asked())
    when = Moment(now, now if at is None else at, ship_clock_of(register))
    if file != STANDARD_INPUT:
        return read_round_file(Path(file), file, sheet, when)
    with tempfile.TemporaryDirectory(prefix="pmsched-") as folder:
        path = Path(folder) / "round.csv"
        path.write_bytes(sys.stdin.buffer.read())
        return read_round_file(path, "standard input", sheet, when)
