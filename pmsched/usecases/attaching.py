"""Attach photos and files to a report, later than it was signed; strike one that was attached by mistake.

Each file is kept beside the register by the hash of its content, and the hash stands in the signed entry.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.errors import NotAllowed, NotFound, Refusal
from pmsched.domain.plain import check_text
from pmsched.store.attached_files import folders_of, kept_at
from pmsched.store.attachment_facts import attachment_version, hashes_of_report
from pmsched.store.book import Receipt, Work, id_of, label_of
from pmsched.store.lookups import jobs
from pmsched.store.register import Register
from pmsched.store.report_facts import version_of
from pmsched.store.staged_files import Staged, StagedFile, staged
from pmsched.store.tables import ATTACHMENT, REPORT
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, scene

HASH_SHOWN = 12
"""How many digits of a hash are shown, where all of them would not fit."""

_ATTACH, _STRIKE = "attach files", "strike attachment"


class Attach(NamedTuple):
    """Files for a report that is signed already: its number as listed, and where the files are."""

    report: str
    files: tuple[Path, ...]


class AttachedFile(NamedTuple):
    """A file attached: the number that names it in commands, its name, size in bytes, and hash."""

    number: str
    name: str
    size: int
    sha256: str


class AttachResult(NamedTuple):
    """What was attached.

    Attributes:
        receipt: None where every file was attached already, and only put back where it was lost or altered.
        report, job: the report's number, and the code of its job.
        attached: the files, in the order given.
        notes: what was left out or put back, a sentence each.
    """

    receipt: Receipt | None
    report: str
    job: str
    attached: tuple[AttachedFile, ...]
    notes: tuple[str, ...]


def attach(register: Register, command: Attach, signer: Signer) -> AttachResult:
    """Attach files to a report. A file that it has already is left out; where it was lost or altered it is put back.

    A struck report takes no new file; what it has can be put back.

    Raises:
        NotFound: no such report, file or signer.
        NotAllowed: the report is struck, it has every one of these files already, a file is not fit to be kept, or the
            request id was used for something else.
        Refusal: no file is named.
        RegisterUnusable: files cannot be written beside the register.
    """
    if not command.files:
        raise Refusal("no-file-named", "No file is named.", "Name one, for example photo.jpg.")
    with staged(register, command.files) as files, register.locked() as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        report = _report(connection, work, command.report)
        job = next(iter(jobs(connection, seen.view, [report.job_id]))).code
        number = label_of(report.fact_id)
        about = {"report": number, "files": {file.sha256: file.name for file in files.files}}
        if earlier := work.earlier(_ATTACH, about=about):
            return AttachResult(earlier, number, job, (), ("already entered",))
        has = hashes_of_report(connection, report.fact_id)
        new = [file for file in files.files if file.sha256 not in has]
        if report.struck and new:
            raise _report_struck(number)
        put_back = {file.sha256 for file in files.files if file.sha256 in has and files.keep([file])}
        notes = tuple(_left_out(files, has, put_back))
        if not new and not put_back:
            raise NotAllowed("attached-already", f"Nothing is new: {'; '.join(notes)}.", "Name another file.")
        attached = add_attachments(work, report.fact_id, new)
        files.keep(new)
        receipt = work.enter(_ATTACH, about) if new else None
        return AttachResult(receipt, number, job, attached, notes)


class StrikeResult(NamedTuple):
    """What was struck: the receipt, and where its file stays; None where it is not there, or it was struck before."""

    receipt: Receipt
    place: Path | None


def strike_attachment(register: Register, number: str, reason: str, signer: Signer) -> StrikeResult:
    """Strike what was attached by mistake; it stays readable, and its file stays.

    Raises:
        NotFound: no such attachment, or it is struck already.
        NotAllowed: no reason, or the request id was used for something else.
    """
    with register.locked() as connection:
        work = begin(connection, signer)
        fact_id, said = id_of(number, work.book), check_text(reason).strip()
        about = {"attachment": number if fact_id is None else label_of(fact_id), "reason": said}
        if earlier := work.earlier(_STRIKE, about=about):
            return StrikeResult(earlier, None)
        version = attachment_version(connection, fact_id) if fact_id is not None else None
        if version is None:
            raise unknown_attachment(number)
        work.strike(ATTACHMENT, version, said)
        folders = folders_of(register.file) if register.file else ()
        return StrikeResult(work.enter(_STRIKE, about), next(kept_at(folders, version["sha256"]), None))


def add_attachments(work: Work, report_id: int, files: Iterable[StagedFile]) -> tuple[AttachedFile, ...]:
    """Add the facts of files attached to a report (by its fact id); the files themselves are kept by the caller."""
    added = []
    for file in files:
        said = {"name": file.name, "media_type": file.media_type, "size": file.size, "sha256": file.sha256}
        number = label_of(work.add(ATTACHMENT, report_id=report_id, **said))
        added.append(AttachedFile(number, file.name, file.size, file.sha256))
    return tuple(added)


def unknown_attachment(number: str) -> NotFound:
    """The refusal of a number that names no attachment, or one that is struck."""
    return NotFound("unknown-attachment", f"There is no attachment {number}.", "See: pmsched attach.")


def _report(connection: Connection, work: Work, label: str) -> Any:
    report_id = id_of(label, work.book)
    row = None if report_id is None else version_of(connection, REPORT, report_id)
    if row is None:
        raise NotFound("unknown-report", f"There is no report {label}.", "See: pmsched history.")
    return row


def _report_struck(number: str) -> NotAllowed:
    return NotAllowed(
        "report-struck",
        f"Report {number} is struck.",
        "Correct it first, which brings it back; or name the report that is true.",
    )


def _left_out(files: Staged, has: Mapping[str, int], put_back: Collection[str]) -> Iterator[str]:
    """What is said of files that the report has already; one that was lost or altered was put back."""
    for file in files.files:
        if file.sha256 in has:
            back = file.sha256 in put_back
            said = "was not as it was signed, and is put back" if back else "is attached already"
            yield f"{file.name} (number {label_of(has[file.sha256])}) {said}"
