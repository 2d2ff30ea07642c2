"""``pmsched history``: what was done, with every correction; the readings of a counter; the entries of the register."""

from __future__ import annotations

from collections.abc import Iterator

import click

from pmsched.cli.access import asked, open_register, read_option
from pmsched.cli.context import Here, pass_here
from pmsched.cli.history_words import entry_lines, history_lines, reading_lines
from pmsched.cli.house import asked_options, command
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes_records import entries_shape, history_shape, readings_shape
from pmsched.cli.tables import terminal_width
from pmsched.exchange.dates import read_date
from pmsched.usecases.ask_history import HistoryFilter
from pmsched.usecases.ask_history import history as ask_history
from pmsched.usecases.ask_records import entries_list, readings_history


@command(
    "history",
    "pmsched history --machine AE2 --from 2029-01-01",
    "pmsched history --readings AE2-H",
    "pmsched history --known-on 2029-12-31",
)
@click.option("--job", metavar="J", help="Only this job.")
@click.option("--machine", metavar="M", help="Only this machine.")
@click.option("--person", metavar="P", help="Only work signed or done by this person.")
@click.option("--words", metavar="W", help="Only with these words in title, remarks, condition or reason.")
@click.option("--from", "first", metavar="DATE", help="Done on this day or later.")
@click.option("--to", "last", metavar="DATE", help="Done on this day or earlier.")
@click.option("--readings", metavar="COUNTER", help="Instead: the readings of this counter.")
@click.option("--entries", is_flag=True, help="Instead: the entries of the register.")
@asked_options
@pass_here
def history(
    here: Here,
    job: str | None,
    machine: str | None,
    person: str | None,
    words: str | None,
    first: str | None,
    last: str | None,
    readings: str | None,
    as_of: str | None,
    known_on: str | None,
    *,
    entries: bool,
) -> None:
    """List what was done: both dates, who signed as what, hours with their basis, and whether it was on time.

    Corrected and struck versions stay in the list, marked as such.
    """
    wanted = HistoryFilter(job, machine, person, words, read_option(read_date, first), read_option(read_date, last))
    if (entries or readings is not None) and any(wanted):
        raise click.UsageError("--readings and --entries go with --as-of and --known-on only.")
    if entries and readings is not None:
        raise click.UsageError("--readings and --entries contradict each other.")
    question, width = asked(as_of, known_on), terminal_width()
    lines: Iterator[str]
    with open_register(here) as register:
        if entries:
            header, rows = entries_list(register, question)
            shape, lines = entries_shape(header, rows), entry_lines(header, rows, width)
        elif readings is not None:
            found = readings_history(register, question, readings)
            shape, lines = readings_shape(found), reading_lines(found, width)
        else:
            done = ask_history(register, question, wanted)
            shape, lines = history_shape(done), history_lines(done, width)
            if not done.rows:
                note("Nothing was done that fits.")
    if here.as_json:
        document(shape)
        return
    for line in lines:
        out(line)
