"""A workbook (.xlsx) opened for reading: its sheets, and their rows as the workbook keeps them.

Knows the file, what can be wrong with it as a file, and the library that reads it, which is loaded only here and only when
a workbook is read. Knows nothing of headings and columns. Whatever is in the file, reading it ends with rows or a refusal.
"""

from __future__ import annotations

import warnings
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import IO, Any, NamedTuple, TypeVar
from zipfile import BadZipFile, ZipFile

from pmsched.domain.errors import Refusal
from pmsched.exchange.native_cells import BLANK, Native
from pmsched.exchange.sheet_scan import BLANK_ROWS_AT_END, Scan, broken, formulas_without_result, scan

T = TypeVar("T")

SUFFIX = ".xlsx"
OTHER_SUFFIXES = frozenset((".xls", ".xlsm", ".xlsb", ".xltx", ".xltm", ".ods", ".fods", ".ots", ".numbers"))
"""Kinds of workbook that are not read."""
SAVE_AS = "Open it in the spreadsheet program and save it as an Excel workbook (.xlsx)."

MOST_BYTES = 1_000_000_000
MOST_BYTES_BUT_SHEETS = 150_000_000
"""How large a workbook may be once unpacked; what is not a sheet is held in memory."""
_MOST_PARTS = 10_000
# Whoever only looks for headings need not wait for more.
_ROWS_AT_FIRST, _ROWS_AT_ONCE = 50, 1_000

# What reading a broken archive raises.
_FAULTS = (BadZipFile, zlib.error, EOFError, OSError, RuntimeError, NotImplementedError)
_OLD_FORMAT = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
_ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
_STRICT = b"purl.oclc.org/ooxml"


class Sheet(NamedTuple):
    """One sheet of an open workbook.

    Attributes:
        title: its name.
        hidden: it is not shown in the spreadsheet program.
        since_1904: its day numbers count from 1904.
        source: the library's own sheet.
        archive: the open file.
    """

    title: str
    hidden: bool
    since_1904: bool
    source: Any
    archive: ZipFile

    def scan(self) -> Scan:
        """What stands beside the values. Raises Refusal if it cannot be read."""
        try:
            with self._opened() as stream:
                return scan(stream)
        except _FAULTS as error:
            raise broken("Part of it is broken.") from error

    def rows(self, found: Scan) -> Iterator[tuple[int, list[Native]]]:
        """The rows that hold something, with their numbers; behind a thousand blank ones only those found to hold something.

        Raises:
            Refusal: the rest cannot be read.
        """
        no_result: frozenset[tuple[int, int]] = frozenset()
        if found.has_formulas:
            with self._opened() as stream:
                no_result = _trying(lambda: formulas_without_result(stream, found.last_value))
        numbered = ((row, _natives(cells, row, no_result)) for row, cells in enumerate(self.source.iter_rows(), 1))
        blank, at_once = 0, _ROWS_AT_FIRST
        while block := _trying(lambda: list(islice(numbered, at_once))):  # noqa: B023 - run at once
            at_once = _ROWS_AT_ONCE
            for number, natives in block:
                if all(native.blank for native in natives):
                    blank += 1
                    if blank > BLANK_ROWS_AT_END and number >= found.last_value:
                        return
                    continue
                blank = 0
                yield number, natives

    def _opened(self) -> IO[bytes]:
        return _trying(lambda: self.archive.open(self.source._worksheet_path))  # noqa: SLF001 - the library names it nowhere else


@contextmanager
def opened(path: Path) -> Iterator[list[Sheet]]:
    """The sheets of a workbook, in its order.

    Raises:
        Refusal: it cannot be read: protected, broken, of another kind, or much too large.
    """
    from openpyxl import load_workbook  # noqa: PLC0415 - costs 150 ms, and most loads read no workbook
    from openpyxl.utils.datetime import CALENDAR_MAC_1904  # noqa: PLC0415

    try:
        stream = path.open("rb")
    except OSError as error:
        message = f"The file cannot be read ({error.strerror})."
        raise Refusal("cannot-read", message, "Close it elsewhere, then try again.") from error
    with stream, _archive(stream) as archive:
        _check_size(archive)
        with _sizes_not_asked():
            book = _trying(lambda: load_workbook(stream, read_only=True, data_only=True, keep_links=False))
        since_1904 = book.epoch == CALENDAR_MAC_1904
        sheets = [Sheet(one.title, one.sheet_state != "visible", since_1904, one, archive) for one in book.worksheets]
        if not sheets:
            raise broken("It has no sheets.")
        try:
            yield sheets
        finally:
            book.close()


@contextmanager
def _sizes_not_asked() -> Iterator[None]:
    """The size that a sheet claims may be wrong; and where it claims none, the library reads all of it to find out."""
    from openpyxl.worksheet._read_only import ReadOnlyWorksheet  # noqa: PLC0415

    library: Any = ReadOnlyWorksheet
    asking = library._get_size  # noqa: SLF001 - there is no other way to leave it out
    try:
        library._get_size = lambda _: None  # noqa: SLF001
        yield
    finally:
        library._get_size = asking  # noqa: SLF001


def quietly(work: Callable[[], T]) -> T:
    """Runs what the library does without its warnings, which speak to programmers."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return work()


def _trying(work: Callable[[], T]) -> T:
    try:
        return quietly(work)
    except Refusal:
        raise
    except Exception as error:  # the library raises whatever the broken part happens to cause
        raise broken("Part of it is broken.") from error


def _archive(stream: IO[bytes]) -> ZipFile:
    start = stream.read(1 << 20)
    if start.startswith(_OLD_FORMAT):
        if _ENCRYPTED in start:
            raise Refusal(
                "protected-workbook",
                "The workbook is protected with a password.",
                "Open it in the spreadsheet program, take the password off, and save it.",
            )
        raise Refusal("old-workbook", "This is a workbook of the old kind (.xls).", SAVE_AS)
    stream.seek(0)
    try:
        archive = ZipFile(stream)
    except (*_FAULTS, ValueError) as error:
        raise broken("It is no workbook, or only part of one.") from error
    if "mimetype" in archive.namelist():
        raise Refusal("old-workbook", "This is a workbook of another kind (such as .ods).", SAVE_AS)
    return archive


def _check_size(archive: ZipFile) -> None:
    """Refuses what would fill the memory. What a part claims to be unpacked is the most that is ever unpacked of it."""
    parts = archive.infolist()
    others = sum(part.file_size for part in parts if "/worksheets/" not in f"/{part.filename}")
    if len(parts) > _MOST_PARTS or others > MOST_BYTES_BUT_SHEETS or sum(p.file_size for p in parts) > MOST_BYTES:
        hint = "Copy the rows that are filled in into a new workbook, without pictures, and load that."
        raise Refusal("workbook-too-large", "The workbook is much too large once it is unpacked.", hint)
    names = [part.filename for part in parts if part.filename.endswith("workbook.xml")]
    if any(_STRICT in _trying(lambda name=name: archive.read(name)) for name in names):  # type: ignore[misc]
        message = "The workbook is of a kind that is not read ('Strict Open XML')."
        raise Refusal("old-workbook", message, "Save it as 'Excel workbook (.xlsx)'.")


def _natives(cells: Sequence[Any], row: int, no_result: frozenset[tuple[int, int]]) -> list[Native]:
    natives = [_native(cell) for cell in cells]
    if no_result:
        for at, native in enumerate(natives):
            if native.value is None and (row, at) in no_result:
                natives[at] = native._replace(no_result=True)
    return natives


def _native(cell: Any) -> Native:
    value = cell.value
    if value is None:
        return BLANK
    # The format of a text says nothing, and looking it up takes time.
    return Native(value) if isinstance(value, str) else Native(value, cell.number_format)
