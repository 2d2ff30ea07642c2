"""Attaching files in tests: files with a content, and where they lie once kept."""

from __future__ import annotations

from hashlib import sha256
from pathlib import Path

from small_register import START

from pmsched.store.attached_files import folder_of
from pmsched.store.register import Register
from pmsched.usecases.ask_attachments import AttachmentRow, attachment_list
from pmsched.usecases.attaching import Attach, AttachResult, attach
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

NOW = START + 30 * 86_400


def made(folder: Path, name: str, content: bytes = b"a photo") -> Path:
    """A file of that content."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / name
    path.write_bytes(content)
    return path


def place_of(register: Path, content: bytes) -> Path:
    """Where a file of that content is kept beside a register."""
    name = sha256(content).hexdigest()
    return folder_of(register) / name[:2] / name


def kept(register: Path) -> list[str]:
    """Everything beside a register that is a file, by its name."""
    folder = folder_of(register)
    return sorted(path.name for path in folder.rglob("*") if path.is_file()) if folder.exists() else []


def hashes(*contents: bytes) -> list[str]:
    """The names under which these contents are kept."""
    return sorted(sha256(content).hexdigest() for content in contents)


def attached(register: Register, report: str, *files: Path, at: int = NOW) -> AttachResult:
    """Attach files to a report of the register, as its chief engineer."""
    return attach(register, Attach(report, files), Signer("CE", at))


def listed(register: Register, report: str | None = None, *, at: int = NOW, known_on: str | None = None) -> list[str]:
    """The names of what is attached."""
    return [row.name for row in rows(register, report, at=at, known_on=known_on)]


def rows(
    register: Register, report: str | None = None, *, at: int = NOW, known_on: str | None = None
) -> tuple[AttachmentRow, ...]:
    """What is attached."""
    return attachment_list(register, Asked(at, known_on=known_on), report)[1]
