"""Are the attached files what was signed? Each is read whole and its hash compared; what is not is named.

Also brings the files of one register to the folder of another, as a back-up and a restore do. A file that is missing or
altered concerns itself alone: the entries are read, backed up and restored without it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from itertools import accumulate, groupby
from pathlib import Path
from typing import Any, NamedTuple

from pmsched.store.attached_files import bring, clear_parts, files_in, folders_of, hash_of, kept_at
from pmsched.store.attachment_facts import named_files
from pmsched.store.book import label_of
from pmsched.store.flaws import Flaw
from pmsched.store.register import Register

Progress = Callable[[float], None]


class FilesChecked(NamedTuple):
    """What was found in the folder of attached files.

    Attributes:
        read: how many files were read and are what was signed.
        size: their bytes.
        flaws: those that are not: missing, altered or unreadable.
        struck_lacking: how many of struck attachments are missing or altered; that is no flaw.
        unclaimed: how many lie there that no entry names; they do no harm.
    """

    read: int
    size: int
    flaws: tuple[Flaw, ...]
    struck_lacking: int
    unclaimed: int


class FilesBrought(NamedTuple):
    """What came of bringing files along: how many there are now, and a sentence for each that is lacking."""

    there: int
    lacking: tuple[str, ...]


def check_files(register: Register, progress: Progress | None = None) -> FilesChecked:
    """Read every attached file of a register and compare it with its hash.

    Args:
        register: its entries are sound; it may be written to meanwhile.
        progress: told the share done, 0 to 1.
    """
    if register.file is None:
        return FilesChecked(0, 0, (), 0, 0)
    folders, wanted = folders_of(register.file), _wanted(register)
    flaws: list[Flaw] = []
    read, size, struck_lacking = 0, 0, 0
    for file, share in zip(wanted, _shares(wanted), strict=True):
        found = _flaw(file, folders)
        if found is None:
            read, size = read + 1, size + file.size
        elif file.reports:
            flaws.append(found)
        else:
            struck_lacking += 1
        if progress is not None:
            progress(share)
    return FilesChecked(read, size, tuple(flaws), struck_lacking, _unclaimed(register, folders[0]))


def bring_files(register: Register, sources: Sequence[Path], folder: Path, progress: Progress) -> FilesBrought:
    """Copy what the register's attachments name into a folder, as far as it is not there.

    What is there already is read too, and put back where it was altered.

    Args:
        register: its attachments say what is wanted.
        sources: folders to take it from, the first that has it whole.
        folder: where it is wanted; made when first needed.
        progress: told the share done, 0 to 1.

    Raises:
        OSError: the folder cannot be written.
    """
    there, lacking, wanted = 0, list[str](), _wanted(register)
    clear_parts(folder)
    for file, share in zip(wanted, _shares(wanted), strict=True):
        brought = (bring(place, folder, file.sha256) for place in kept_at(sources, file.sha256))
        if _is_whole(file, folder) or any(brought):
            there += 1
        elif file.reports:
            lacking.append(f"{file.name}, attached to {_listed(file.reports)}")
        progress(share)
    progress(1.0)
    return FilesBrought(there, tuple(lacking))


class _Wanted(NamedTuple):
    """A file that entries name: as the first of them has it, and the reports it is attached to.

    ``reports`` is empty where every attachment of it is struck.
    """

    fact_id: int
    entry: str
    name: str
    size: int
    sha256: str
    reports: tuple[str, ...]


def _wanted(register: Register) -> list[_Wanted]:
    with register.reading() as connection:
        return [_file(list(same)) for _, same in groupby(named_files(connection), key=lambda row: row.sha256)]


def _shares(wanted: Sequence[_Wanted]) -> Iterator[float]:
    """How much of all bytes is done after each file, 0 to 1."""
    total = sum(file.size for file in wanted) or 1
    return (done / total for done in accumulate(file.size for file in wanted))


def _file(same: Sequence[Any]) -> _Wanted:
    # Those that are not struck come first.
    row = same[0]
    reports = tuple(label_of(one.report_id) for one in same if not one.struck)
    return _Wanted(row.fact_id, f"book {row.book} entry {row.entry_no}", row.name, row.size, row.sha256, reports)


def _flaw(file: _Wanted, folders: Sequence[Path]) -> Flaw | None:
    """What is wrong with a file; None where the first of the folders that has it has it as it was signed.

    A good copy in a later folder does not hide that the one before it is bad; it is told where it lies.
    """
    bad: tuple[str, str] | None = None
    for place in kept_at(folders, file.sha256):
        try:
            found = hash_of(place)
        except OSError as error:
            bad = bad or ("attachment-unreadable", f"cannot be read ({error.strerror}: {place})")
        else:
            if found == file.sha256:
                return bad and _named(file, *bad, good=f" A good copy is {place}.")
            bad = bad or ("attachment-altered", f"was altered since it was signed ({place})")
    return _named(file, *(bad or ("attachment-missing", f"is not in {folders[0]} ({file.sha256})")))


def _named(file: _Wanted, code: str, said: str, good: str = "") -> Flaw:
    message = (
        f"{file.entry.capitalize()}: the file {file.name}, attached to {_listed(file.reports)}, {said}.{good}"
        f" Put it back: pmsched attach {file.reports[0] if file.reports else 'NUMBER'} FILE, with the same file."
    )
    return Flaw(code, file.entry, "file", "attachment", file.fact_id, "sha256", message)


def _listed(reports: Sequence[str]) -> str:
    return f"report{'' if len(reports) == 1 else 's'} {', '.join(reports)}"


def _unclaimed(register: Register, folder: Path) -> int:
    # Looked for first: what is attached meanwhile is then among the entries.
    here = [path.name for path in files_in(folder)]
    claimed = {file.sha256 for file in _wanted(register)} if here else set()
    return sum(name not in claimed for name in here)


def _is_whole(file: _Wanted, folder: Path) -> bool:
    try:
        return any(hash_of(place) == file.sha256 for place in kept_at((folder,), file.sha256))
    except OSError:
        return False
