"""``pmsched report``: work done."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from pmsched.cli.access import asked, open_register, read_option, ship_clock_of, signer
from pmsched.cli.context import Here, moment, pass_here
from pmsched.cli.house import command, request_option
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes_deeds import report_shape
from pmsched.cli.words import attached_lines, due_text, entered, named
from pmsched.domain.counts import format_amount
from pmsched.exchange.dates import read_date, read_time
from pmsched.store.book import label_of
from pmsched.usecases.ask_due import DueRow, why
from pmsched.usecases.report_work import CONDITIONS, ReportResult, ReportWork, report_work


@command(
    "report",
    "pmsched report AE2-EXV --unit 3 --done-on 2030-01-15 --condition 'worn, renewed'",
    "pmsched report ME-LO --count h=12340.5 --remarks 'filter clean' --attach photo.jpg",
)
@click.argument("job", metavar="JOB")
@click.option("--done-on", metavar="DATE", help="Ship's date of the work; today if not said.")
@click.option("--time", "hour", metavar="HH:MM", help="Ship's time of the work; 12:00 counts if not said.")
@click.option("--unit", "units", multiple=True, metavar="U", help="Only this unit; may be given several times.")
@click.option("--count", "counts", multiple=True, metavar="UNIT=N", help="Running total then, such as h=12340.5.")
@click.option("--done-by", default="", metavar="TEXT", help="Who did it; the signer if not said.")
@click.option("--condition", default="", metavar="C", help=f"As found: {'; '.join(CONDITIONS)}.")
@click.option("--remarks", default="", metavar="TEXT", help="Anything worth keeping.")
@click.option(
    "--attach",
    multiple=True,
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="A photo or file that goes with it; may be given several times.",
)
@click.option("--again", is_flag=True, help="It was done twice that day.")
@request_option
@pass_here
def report(
    here: Here,
    job: str,
    done_on: str | None,
    hour: str | None,
    units: tuple[str, ...],
    counts: tuple[str, ...],
    done_by: str,
    condition: str,
    remarks: str,
    attach: tuple[Path, ...],
    request: str | None,
    *,
    again: bool,
) -> None:
    """Report work done: it resets the job, or the units of it that are named.

    Running totals are read off the readings around the time of the work, unless they are given.
    """
    with open_register(here) as register:
        day = read_option(read_date, done_on) or ship_clock_of(register).ship_date(moment())
        done = ReportWork(
            job, day, read_option(read_time, hour), units, read_counts(counts), done_by, condition, remarks, again,
            attach,
        )  # fmt: skip
        result = report_work(register, done, signer(here, request))
        now = [row for row in why(register, asked(), job) if not units or row.unit in units]
    if here.as_json:
        document(report_shape(result, now))
        return
    for line in (*report_lines(job, result, now), *attached_lines(result.attached)):
        out(line)
    for said in result.notes:
        note(f"Note: {said}.")


def read_counts(counts: Sequence[str]) -> dict[str, str]:
    """Running totals by unit of counter, from ``h=12340.5``. Raises BadParameter."""
    found = {}
    for text in counts:
        unit, equals, total = text.partition("=")
        if not equals or not unit.strip() or not total.strip():
            raise click.BadParameter(f"'{text}' is not a unit and a total. Write it like h=12340.5.")
        found[unit.strip()] = total.strip()
    return found


def report_lines(job: str, result: ReportResult, now: Sequence[DueRow]) -> Iterator[str]:
    """A kept report as text: its number, the totals with their basis, and the next due date of each unit."""
    code = now[0].job if now else job
    number = f"report {label_of(result.report_id)} " if result.report_id else ""
    yield f"{code}: {number}{entered(result.receipt)}."
    for count in result.counts:
        yield f"  at {format_amount(count.total, count.unit)} ({count.basis})"
    for row in now:
        due = due_text(row.due_on, expected=row.expected) or "no date"
        yield f"  {named(row.job, row.unit)} next due {due}: {row.sentence}"
