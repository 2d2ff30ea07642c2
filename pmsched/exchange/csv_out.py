"""Tables out as CSV (RFC 4180), safe to open in a spreadsheet: no text runs as a formula, no character stays hidden.

Knows cells, quoting and the file; nothing of what the columns mean.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from datetime import date, time
from decimal import Decimal
from pathlib import Path
from typing import TextIO

from pmsched.domain.errors import Refusal
from pmsched.domain.plain import plain
from pmsched.exchange.formula_guard import guarded

Cell = str | int | Decimal | date | time | None
"""What a cell may hold; True and False are written yes and no, None as a blank cell."""

BYTE_ORDER_MARK = "\ufeff"


def write_csv(
    stream: TextIO, heading: Sequence[str], rows: Iterable[Sequence[Cell]], *, byte_order_mark: bool = False
) -> None:
    """Writes the heading and the rows, comma and CRLF.

    Numbers stand as they are, negative ones too. Text that a spreadsheet could run gets an apostrophe before it; hidden
    characters become visible, line breaks stay. Open the stream with ``encoding="utf-8", newline=""``; with
    ``byte_order_mark`` spreadsheets see that it is UTF-8. Raises OSError as the stream does.
    """
    if byte_order_mark:
        stream.write(BYTE_ORDER_MARK)
    writer = csv.writer(stream)
    writer.writerow([_text(name) for name in heading])
    writer.writerows([_written(cell) for cell in row] for row in rows)


def write_csv_file(
    path: Path, heading: Sequence[str], rows: Iterable[Sequence[Cell]], *, overwrite: bool = False
) -> None:
    """Writes a file that a spreadsheet opens, whole or not at all; UTF-8 with its mark.

    Raises:
        Refusal: a file is there and is not to be overwritten, or the place cannot be written to.
    """
    made = False
    try:
        with path.open("w" if overwrite else "x", encoding="utf-8", newline="") as stream:
            made = True
            write_csv(stream, heading, rows, byte_order_mark=True)
    except FileExistsError:
        raise Refusal("file-exists", f"{path} is there already.", "Name another file.") from None
    except OSError as error:
        # Part of a list looks like all of it; what is no file (a device, a pipe) is left alone.
        if made and path.is_file():
            path.unlink(missing_ok=True)
        raise Refusal("cannot-write", f"{path} cannot be written ({error.strerror}).", "Name another file.") from error


def _written(cell: Cell) -> str | int:
    if isinstance(cell, str):
        return _text(cell)
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int):
        return cell
    # Decimals without an exponent, as people write them.
    return f"{cell:f}" if isinstance(cell, Decimal) else cell.isoformat()


def _text(text: str) -> str:
    return plain(guarded(text), line_breaks=True)
