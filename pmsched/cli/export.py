"""``pmsched export``: a list as a file for spreadsheets, auditors and scripts."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, NamedTuple

import click

from pmsched.cli.access import asked, open_register, read_option
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import asked_options, command
from pmsched.cli.printing import document, note
from pmsched.cli.progress import Progress
from pmsched.cli.shapes import day, header_shape
from pmsched.cli.words import heading, some
from pmsched.domain.errors import Refusal
from pmsched.exchange.dates import read_date
from pmsched.exchange.export_files import (
    FORMATS,
    Format,
    check_streamable,
    format_of,
    write_export_file,
    write_export_stream,
)
from pmsched.exchange.exports import About, Export
from pmsched.usecases.ask_due import Header
from pmsched.usecases.export_list import ExportList, exporting
from pmsched.usecases.export_sources import WHAT, Narrowed, What

STANDARD_OUTPUT = "-"


class _Into(NamedTuple):
    """Where the list goes, and how."""

    output: str
    format: Format
    overwrite: bool
    bare: bool


def _narrowing_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Adds the options that narrow a list."""
    for option in (
        click.option("--to", "last", metavar="DATE", help="That day or earlier."),
        click.option("--from", "first", metavar="DATE", help="Done, read or recorded on that day or later."),
        click.option("--words", metavar="W", help="Only with these words (history)."),
        click.option("--person", metavar="P", help="Only work signed or done by this person (history)."),
        click.option("--counter", metavar="C", help="Only this counter (readings, changes)."),
        click.option("--job", metavar="J", help="Only this job (due, history, changes)."),
        click.option("--machine", metavar="M", help="Only this machine (all lists but entries)."),
    ):
        function = option(function)
    return function


@command(
    "export",
    "pmsched export history --from 2029-01-01 --to 2029-12-31 -o history-2029.xlsx",
    "pmsched export changes -o changes.csv",
    "pmsched export readings --counter AE2-H -o - --format csv --bare",
)
@click.argument("what", type=click.Choice(WHAT))
@click.option("-o", "--output", required=True, metavar="FILE", help="The file to write; - for standard output.")
@click.option("--format", "wanted", type=click.Choice(FORMATS), help="The format, where the file's name does not say.")
@_narrowing_options
@click.option("--bare", is_flag=True, help="CSV without its header: the first row holds the names of the columns.")
@click.option("--overwrite", is_flag=True, help="Replace a file that is there.")
@asked_options
@pass_here
def export(
    here: Here,
    what: What,
    output: str,
    wanted: str | None,
    as_of: str | None,
    known_on: str | None,
    *,
    bare: bool,
    overwrite: bool,
    **narrowed: Any,
) -> None:
    """Write the due list, the history, readings, entries or changes of the schedule to a file.

    The ending of its name says the format: .csv, .xlsx (spreadsheet) or .jsonl (JSON lines). Every job and every
    version is written, under a header that says what the list is and what is left out.
    """
    into = _Into(output, _format(output, wanted, bare=bare), overwrite, bare)
    days = (read_option(read_date, narrowed.pop("first")), read_option(read_date, narrowed.pop("last")))
    asked_for = ExportList(what, Narrowed(**narrowed)._replace(first=days[0], last=days[1]), here.by)
    with (
        _stoppable(output),
        open_register(here) as register,
        Progress(f"export {what}") as progress,
        exporting(register, asked(as_of, known_on), asked_for, progress) as (header, found),
    ):
        _write(into, found)
    _tell(header, found.ended(), into, as_json=here.as_json)


def _format(output: str, wanted: str | None, *, bare: bool) -> Format:
    """The format, checked before anything is read."""
    if output == STANDARD_OUTPUT and wanted is None:
        raise click.UsageError("-o - needs a format: --format csv or --format jsonl.")
    found = format_of(output, wanted)
    if output == STANDARD_OUTPUT:
        check_streamable(found)
    if bare and found != "csv":
        raise click.UsageError("--bare is for CSV; the other formats keep header and rows apart by themselves.")
    return found


@contextmanager
def _stoppable(output: str) -> Iterator[None]:
    """Says what became of the file when the person stops the export."""
    try:
        yield
    except KeyboardInterrupt:
        piped = output == STANDARD_OUTPUT
        note(f"Stopped; {'what came out is not the whole list' if piped else f'{output} was not written'}.")
        raise


def _write(into: _Into, found: Export) -> None:
    if into.output == STANDARD_OUTPUT:
        _write_out(found, into)
        return
    try:
        write_export_file(Path(into.output), found, into.format, overwrite=into.overwrite, bare=into.bare)
    except Refusal as refusal:
        if refusal.code != "file-exists":
            raise
        raise Refusal(refusal.code, refusal.message, "Name another file, or add --overwrite.") from None


def _write_out(found: Export, into: _Into) -> None:
    try:
        write_export_stream(sys.stdout.buffer, found, into.format, bare=into.bare)
        sys.stdout.buffer.flush()
    except BrokenPipeError:
        raise
    except OSError as error:
        message = f"Standard output cannot be written ({error.strerror}); what came out is not the whole list."
        raise Refusal("cannot-write", message, "Make room, and write it again.") from error


def _tell(header: Header, about: About, into: _Into, *, as_json: bool) -> None:
    if into.bare:
        for name, value in about.pairs():
            note(f"{name}: {'' if value is None else value}")
    note(heading(header, f"{some(about.rows or 0, 'row')}{_period(about)}"))
    if about.left_out:
        note(f"Not in it: {about.left_out}.")
    if as_json and into.output != STANDARD_OUTPUT:
        document({
            "header": header_shape(header), "file": into.output, "rows": about.rows, "format": into.format,
            "first_day": day(about.first_day), "last_day": day(about.last_day), "complete": about.complete,
            "left_out": about.left_out,
        })  # fmt: skip


def _period(about: About) -> str:
    """From the first to the last day in the list, where its rows have one."""
    return f", {about.first_day} to {about.last_day}" if about.first_day else ""
