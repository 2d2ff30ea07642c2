"""``pmsched export``: a list as a CSV file that opens in a spreadsheet."""

from __future__ import annotations

import io
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NamedTuple

import click

from pmsched.cli.access import asked, counter_codes, header_of, open_register, read_option
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import asked_options, command
from pmsched.cli.printing import document, note
from pmsched.cli.shapes import header_shape
from pmsched.cli.words import heading, some
from pmsched.domain.errors import Refusal
from pmsched.exchange.csv_out import write_csv, write_csv_file
from pmsched.exchange.dates import read_date
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueFilter, Header, due_list
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.ask_records import entries_list, readings_history
from pmsched.usecases.export_tables import Table, entries_export, readings_export, table_of
from pmsched.usecases.views import Asked

WHAT = ("due", "history", "readings", "entries")
STANDARD_OUTPUT = "-"


class _Wanted(NamedTuple):
    machine: str | None
    counter: str | None
    history: HistoryFilter


@command(
    "export",
    "pmsched export history --from 2029-01-01 --to 2029-12-31 -o history-2029.csv",
    "pmsched export readings --counter AE2-H -o -",
)
@click.argument("what", type=click.Choice(WHAT))
@click.option("-o", "--output", required=True, metavar="FILE", help="The file to write; - for standard output.")
@click.option("--machine", metavar="M", help="Only this machine (due, history).")
@click.option("--counter", metavar="C", help="Only this counter (readings); all of them if not said.")
@click.option("--from", "first", metavar="DATE", help="Done on this day or later (history).")
@click.option("--to", "last", metavar="DATE", help="Done on this day or earlier (history).")
@click.option("--overwrite", is_flag=True, help="Replace a file that is there.")
@asked_options
@pass_here
def export(
    here: Here,
    what: str,
    output: str,
    machine: str | None,
    counter: str | None,
    first: str | None,
    last: str | None,
    as_of: str | None,
    known_on: str | None,
    *,
    overwrite: bool,
) -> None:
    """Write the due list, the history, the readings or the entries as CSV.

    Every job and every version is written; the first row holds the names of the columns.
    """
    done = HistoryFilter(machine=machine, first=read_option(read_date, first), last=read_option(read_date, last))
    with open_register(here) as register:
        header, table = _collect(what, register, asked(as_of, known_on), _Wanted(machine, counter, done))
    _write(output, table, overwrite=overwrite)
    note(heading(header, f"{some(len(table.rows), 'row')}{_period(table)}"))
    if here.as_json and output != STANDARD_OUTPUT:
        document({"header": header_shape(header), "file": output, "rows": len(table.rows)})


def _collect(what: str, register: Register, question: Asked, wanted: _Wanted) -> tuple[Header, Table]:
    if what == "due":
        found = due_list(register, question, DueFilter(within_days=None, machine=wanted.machine))
        return found.header, table_of(register, found)
    if what == "history":
        done = history(register, question, wanted.history)
        return done.header, table_of(register, done)
    if what == "entries":
        header, rows = entries_list(register, question)
        return header, entries_export(rows)
    codes = [wanted.counter] if wanted.counter else counter_codes(register, question)
    read = [readings_history(register, question, code) for code in codes]
    return header_of(register, question), readings_export(read)


def _write(output: str, table: Table, *, overwrite: bool) -> None:
    if output == STANDARD_OUTPUT:
        text = io.StringIO(newline="")
        write_csv(text, table.heading, table.rows)
        sys.stdout.buffer.write(text.getvalue().encode())
        return
    try:
        write_csv_file(Path(output), table.heading, table.rows, overwrite=overwrite)
    except Refusal as refusal:
        if refusal.code != "file-exists":
            raise
        raise Refusal(refusal.code, refusal.message, "Name another file, or add --overwrite.") from None


def _period(table: Table) -> str:
    """From the first to the last day in the table, where its rows have one."""
    days: Sequence[str] = sorted(table.days)
    return f", {days[0]} to {days[-1]}" if days else ""
