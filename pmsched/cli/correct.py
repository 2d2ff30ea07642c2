"""``pmsched correct``: correct or strike a reading or a report. What it touches is listed first, then asked about."""

from __future__ import annotations

from collections.abc import Iterable

import click

from pmsched.cli.access import open_register, read_option, signer
from pmsched.cli.amending import READING_OPTIONS, amend_command, amend_text, stated_reason, with_options
from pmsched.cli.asking import agree, on_terminal
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import HouseGroup, command, request_option
from pmsched.cli.printing import document, note, out
from pmsched.cli.report import read_counts
from pmsched.cli.shapes_deeds import amend_shape, correct_shape
from pmsched.cli.words import entered
from pmsched.domain.errors import NotAllowed
from pmsched.exchange.dates import read_date, read_time
from pmsched.usecases.amend_reading import amend_reading
from pmsched.usecases.correct_report import CorrectReport, correct_report
from pmsched.usecases.touched_words import touched_lines

_YES = click.option("--yes", is_flag=True, help="Do it without asking; needed where there is no terminal.")


@click.group(
    "correct",
    cls=HouseGroup,
    examples=("pmsched correct reading 5120 --value 31340 --reason misread",),
)
def correct() -> None:
    """Correct or strike a reading or a report; the old one stays readable for ever.

    Everything that would change is listed first.
    """


@command("reading", "pmsched correct reading 5120 --value 31340 --reason misread")
@click.argument("number", metavar="NUMBER")
@with_options((*READING_OPTIONS, _YES))
@request_option
@pass_here
def reading(
    here: Here, number: str, value: str | None, reason: str | None, request: str | None, *, strike: bool, yes: bool
) -> None:
    """Give the true value of a reading, or strike it.

    Numbers: pmsched history --readings COUNTER
    """
    wanted = amend_command(number, value=value, strike=strike, confirm=False, reason=reason)
    with open_register(here) as register:
        person = signer(here, request)
        rehearsal = amend_reading(register, wanted, person, rehearse=True)
        if not rehearsal.receipt.repeated:
            _ask(here, amend_text(rehearsal, rehearsed=True), yes=yes)
        result = amend_reading(register, wanted, person)
    if here.as_json:
        document(amend_shape(result))
    else:
        out(f"Corrected; {entered(result.receipt)}.")


@command("report", "pmsched correct report 5133 --done-on 2030-01-14 --reason 'wrong date'")
@click.argument("number", metavar="NUMBER")
@click.option("--done-on", metavar="DATE", help="The true ship's date.")
@click.option("--time", "hour", metavar="HH:MM", help="The true ship's time.")
@click.option("--count", "counts", multiple=True, metavar="UNIT=N", help="The true running total, such as h=12340.5.")
@click.option("--remarks", metavar="TEXT", help="The true remarks.")
@click.option("--condition", metavar="C", help="The true condition.")
@click.option("--done-by", metavar="TEXT", help="Who really did it.")
@click.option("--strike", is_flag=True, help="The report is void.")
@click.option("--reason", metavar="TEXT", help="Why; always needed.")
@_YES
@request_option
@pass_here
def report(
    here: Here,
    number: str,
    done_on: str | None,
    hour: str | None,
    counts: tuple[str, ...],
    remarks: str | None,
    condition: str | None,
    done_by: str | None,
    reason: str | None,
    request: str | None,
    *,
    strike: bool,
    yes: bool,
) -> None:
    """Say what was wrong with a report, or strike it; correcting a struck one brings it back.

    Numbers: pmsched history
    """
    if strike and any((done_on, hour, counts, remarks, condition, done_by)):
        raise click.UsageError("--strike makes the whole report void; it goes with --reason only.")
    wanted = CorrectReport(
        number, stated_reason(reason), strike, read_option(read_date, done_on), read_option(read_time, hour),
        read_counts(counts), done_by, condition, remarks,
    )  # fmt: skip
    with open_register(here) as register:
        person = signer(here, request)
        rehearsal = correct_report(register, wanted, person, rehearse=True)
        if not rehearsal.receipt.repeated:
            act = "struck" if strike else "corrected"
            _ask(here, (f"Report {number} of {rehearsal.job} {act}:", *touched_lines(rehearsal.touched)), yes=yes)
        result = correct_report(register, wanted, person)
    if here.as_json:
        document(correct_shape(result))
    else:
        out(f"Corrected; {entered(result.receipt)}.")


def _ask(here: Here, touched: Iterable[str], *, yes: bool) -> None:
    """List what is touched, and go on only if the person agrees. Raises NotAllowed otherwise."""
    show = note if here.as_json else out
    for line in touched:
        show(line)
    if yes:
        return
    if not on_terminal():
        raise NotAllowed(
            "not-agreed", "Nothing was changed: nobody can be asked here.", "To make the correction, add --yes."
        )
    if not agree("Make this correction?"):
        raise NotAllowed("not-agreed", "Nothing was changed.")


correct.add_command(reading)
correct.add_command(report)
