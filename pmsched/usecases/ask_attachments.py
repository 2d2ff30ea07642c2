"""Ask what is attached to reports, and take a copy of an attached file out of the register's folder."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.clocks import date_shown
from pmsched.domain.errors import NotAllowed, NotFound
from pmsched.store.attached_files import folders_of, kept_at, write_out
from pmsched.store.attachment_facts import attachment, attachments
from pmsched.store.book import id_of, label_of, writing_book
from pmsched.store.live import View
from pmsched.store.register import Register
from pmsched.store.report_facts import version_of
from pmsched.store.tables import REPORT
from pmsched.usecases.ask_due import Header, header
from pmsched.usecases.attaching import AttachedFile, unknown_attachment
from pmsched.usecases.views import Asked, scene


class AttachmentRow(NamedTuple):
    """One file attached to a report.

    Attributes:
        number: names it in commands; ``report`` is the report's number, ``job`` the code of its job.
        name, media_type: as it was given (made safe), and what its ending stands for.
        size: bytes; ``sha256`` is the hash of the content, hexadecimal.
        signer, signed_as, entry_no: who attached it.
        attached_on: ship's date of that entry.
        there: whether the file lies beside the register; its content is not looked at.
    """

    number: str
    report: str
    job: str
    name: str
    media_type: str
    size: int
    sha256: str
    signer: str
    signed_as: str
    entry_no: int
    attached_on: date
    there: bool


def attachment_list(
    register: Register, asked: Asked, report: str | None = None
) -> tuple[Header, tuple[AttachmentRow, ...]]:
    """What is attached to a report, or to any, in the order attached. Raises NotFound for a report there is not."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        report_id = None if report is None else _report_id(connection, seen.view, report)
        found = tuple(_row(register, row) for row in attachments(connection, seen.view, report_id=report_id))
        return header(connection, seen, asked), found


def attached_to(
    connection: Connection, view: View, job_ids: list[int] | None = None
) -> Mapping[int, tuple[AttachedFile, ...]]:
    """What is attached to each report (by its fact id), of some jobs or of all; reports without any are left out."""
    found: dict[int, tuple[AttachedFile, ...]] = {}
    for row in attachments(connection, view, job_ids=job_ids):
        one = AttachedFile(label_of(row.fact_id), row.name, row.size, row.sha256)
        found[row.report_id] = (*found.get(row.report_id, ()), one)
    return found


def save_attachment(register: Register, asked: Asked, number: str, target: Path | None = None) -> Path:
    """Copy an attached file out, after its content was held against its hash; where it was written.

    Args:
        register: it may be a back-up.
        asked: whether it was known then.
        number: of the attachment.
        target: a file that is not there yet, or a folder, in which it gets its own name; by default this folder.

    Raises:
        NotFound: no such attachment, or its file is not there.
        NotAllowed: no copy is as it was signed and can be read; the first is told.
        Refusal: the target is there already, or cannot be written.
    """
    with register.reading() as connection:
        seen = scene(connection, asked)
        fact_id = id_of(number, writing_book(connection))
        row = None if fact_id is None else attachment(connection, seen.view, fact_id)
    if row is None:
        raise unknown_attachment(number)
    if register.file is None:
        raise NotAllowed(
            "no-place-for-files", "A register in a database server keeps no files.", "Look at its remarks."
        )
    place = target or Path()
    if place.is_dir():
        place /= row.name
    _write_a_good_one(kept_at(folders_of(register.file), row.sha256), place, row)
    return place


def _write_a_good_one(copies: Iterable[Path], place: Path, row: Any) -> None:
    """Write out the first copy that is as it was signed."""
    first: NotAllowed | None = None
    for kept in copies:
        try:
            return write_out(kept, place, row.sha256)
        except NotAllowed as error:
            first = first or error
    raise first or NotFound(
        "attachment-missing", f"The file {row.name} is not beside the register.", "Run: pmsched verify."
    )


def _report_id(connection: Connection, view: View, label: str) -> int:
    fact = id_of(label, writing_book(connection))
    row = None if fact is None else version_of(connection, REPORT, fact)
    if row is None or row.fact_id > view.known:
        raise NotFound("unknown-report", f"There is no report {label}.", "See: pmsched history.")
    return int(row.fact_id)


def _row(register: Register, row: Any) -> AttachmentRow:
    there = register.file is not None and any(kept_at(folders_of(register.file), row.sha256))
    return AttachmentRow(
        label_of(row.fact_id), label_of(row.report_id), row.job, row.name, row.media_type, row.size, row.sha256,
        row.signer, row.signed_as, row.entry_no, date_shown(row.recorded_at, row.recorded_offset), there,
    )  # fmt: skip
