"""``pmsched attach``: photos and files with a report: attached later, listed, taken out again, struck."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

import click

from pmsched.cli.access import asked, open_register, signer
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import asked_options, command, request_option
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import header_shape, receipt_shape
from pmsched.cli.shapes_deeds import attach_shape
from pmsched.cli.shapes_records import attachment_shape
from pmsched.cli.tables import Column, table, terminal_width
from pmsched.cli.words import attached_lines, entered, heading, some
from pmsched.domain.file_names import size_text
from pmsched.store.register import Register
from pmsched.usecases.ask_attachments import AttachmentRow, attachment_list, save_attachment
from pmsched.usecases.attaching import HASH_SHOWN, Attach, strike_attachment
from pmsched.usecases.attaching import attach as attach_files
from pmsched.usecases.views import Asked

_FILE = click.Path(path_type=Path)
_COLUMNS = (
    Column("number", right=True), Column("report", right=True), Column("job"), Column("name", cut=True),
    Column("size", right=True), Column("attached", spare=True), Column("signed"), Column("hash", spare=True),
)  # fmt: skip


@command(
    "attach",
    "pmsched attach 5133 photo.jpg measurements.pdf",
    "pmsched attach 5133",
    "pmsched attach --save 5201 -o photo.jpg",
)
@click.argument("report", metavar="[REPORT]", required=False)
@click.argument("files", metavar="[FILE]...", nargs=-1, type=_FILE)
@click.option("--save", metavar="NUMBER", help="Write attachment NUMBER to a file of yours.")
@click.option("-o", "--output", type=_FILE, metavar="FILE", help="That file, or a folder; its own name if not said.")
@click.option("--strike", metavar="NUMBER", help="Attachment NUMBER does not belong there.")
@click.option("--reason", default="", metavar="TEXT", help="Why it is struck; always needed.")
@asked_options
@request_option
@pass_here
def attach(
    here: Here,
    report: str | None,
    files: tuple[Path, ...],
    save: str | None,
    output: Path | None,
    strike: str | None,
    reason: str,
    as_of: str | None,
    known_on: str | None,
    request: str | None,
) -> None:
    """Attach photos and files to a report; without a file: list what is attached.

    Report numbers: pmsched history. To attach while reporting: pmsched report JOB --attach FILE
    """
    _check_together(report, save=save, strike=strike, output=output, reason=reason)
    question = asked(as_of, known_on)
    with open_register(here) as register:
        if save is not None:
            _save(here, register, question, save, output)
        elif strike is not None:
            _strike(here, register, strike, reason, request)
        elif files and report is not None:
            _attach(here, register, Attach(report, files), request)
        else:
            _list(here, register, question, report)


def _check_together(
    report: str | None, *, save: str | None, strike: str | None, output: Path | None, reason: str
) -> None:
    if sum(one is not None for one in (report, save, strike)) > 1:
        raise click.UsageError("A report, --save and --strike do not go together.")
    if output is not None and save is None:
        raise click.UsageError("-o goes with --save NUMBER.")
    if reason and strike is None:
        raise click.UsageError("--reason goes with --strike NUMBER.")


def _attach(here: Here, register: Register, wanted: Attach, request: str | None) -> None:
    result = attach_files(register, wanted, signer(here, request))
    if here.as_json:
        document(attach_shape(result))
        return
    for line in attached_lines(result.attached):
        out(line)
    if result.receipt is not None:
        out(f"Report {result.report} of {result.job}: {entered(result.receipt)}.")
    for said in result.notes:
        note(f"Note: {said}.")


def _strike(here: Here, register: Register, number: str, reason: str, request: str | None) -> None:
    result = strike_attachment(register, number, reason, signer(here, request))
    if here.as_json:
        document({"receipt": receipt_shape(result.receipt), "number": number})
        return
    out(f"Attachment {number} is struck; {entered(result.receipt)}.")
    if result.place is not None:
        note(f"Its file stays: {result.place}")


def _save(here: Here, register: Register, question: Asked, number: str, target: Path | None) -> None:
    written = save_attachment(register, question, number, target)
    if here.as_json:
        document({"number": number, "file": str(written)})
        return
    out(f"{written} is attachment {number}, as it was signed.")


def _list(here: Here, register: Register, question: Asked, report: str | None) -> None:
    header, rows = attachment_list(register, question, report)
    if here.as_json:
        document({"header": header_shape(header), "attachments": [attachment_shape(row) for row in rows]})
        return
    of = "" if report is None else f" to report {report}"
    out(heading(header, f"{some(len(rows), 'file')} attached{of}", terminal_width()))
    for line in _lines(rows, terminal_width()):
        out(line)
    if lacking := sum(not row.there for row in rows):
        note(f"{some(lacking, 'file')} not beside the register, marked MISSING. See: pmsched verify")


def _lines(rows: Sequence[AttachmentRow], width: int) -> Iterator[str]:
    if rows:
        yield from table(_COLUMNS, [_cells(row) for row in rows], width)


def _cells(row: AttachmentRow) -> tuple[str, ...]:
    size = size_text(row.size) if row.there else "MISSING"
    hashed = row.sha256[:HASH_SHOWN]
    return (row.number, row.report, row.job, row.name, size, str(row.attached_on), row.signer, hashed)
