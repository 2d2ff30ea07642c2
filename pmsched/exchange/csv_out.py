"""Tables out as CSV (RFC 4180), safe to open in a spreadsheet: no text runs as a formula, no character stays hidden.

An export begins with its header, a row for each name with ``# `` before it, and an empty row; then come the names of
the columns and the rows. Knows cells and quoting; nothing of what the columns mean.
"""

from __future__ import annotations

import csv
import io
import shutil
import tempfile
from collections.abc import Iterable, Sequence
from datetime import datetime
from decimal import Decimal
from pathlib import Path
from typing import BinaryIO, TextIO, cast

from pmsched.domain.plain import plain
from pmsched.exchange.exports import Cell as Cell  # noqa: PLC0414 - who writes a table asks here for its cells
from pmsched.exchange.exports import Export
from pmsched.exchange.formula_guard import guarded
from pmsched.exchange.stamps import utc_text

BYTE_ORDER_MARK = "\ufeff"
HEADER_MARK = "# "
"""Stands before every name of a header; rows that begin with ``#`` are comments wherever files are read here."""


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


def write_csv_export(
    stream: BinaryIO, export: Export, *, bare: bool = False, byte_order_mark: bool = False, beside: Path | None = None
) -> None:
    """Writes an export.

    Args:
        stream: where to.
        export: what.
        bare: without the header: the first row holds the names of the columns.
        byte_order_mark: for spreadsheets; see ``write_csv``.
        beside: a folder for the rows until they are counted, because the header stands before them.

    Raises:
        OSError: as the stream does.
    """
    if bare:
        _write_table(stream, export, byte_order_mark=byte_order_mark)
        return
    with tempfile.TemporaryFile(dir=beside) as body:
        _write_table(cast("BinaryIO", body), export, byte_order_mark=False)
        body.seek(0)
        head = io.StringIO(newline="")
        head.write(BYTE_ORDER_MARK * byte_order_mark)
        pairs = [(HEADER_MARK + name, _written(value)) for name, value in export.ended().pairs()]
        csv.writer(head).writerows([*pairs, ()])
        stream.write(head.getvalue().encode())
        shutil.copyfileobj(body, stream)


def _write_table(stream: BinaryIO, export: Export, *, byte_order_mark: bool) -> None:
    text = io.TextIOWrapper(stream, encoding="utf-8", newline="")
    try:
        write_csv(text, export.heading, export.rows(), byte_order_mark=byte_order_mark)
    finally:
        # The stream is the caller's to close.
        text.detach()


def _written(cell: Cell) -> str | int:
    if isinstance(cell, str):
        return _text(cell)
    if cell is None:
        return ""
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int):
        return cell
    if isinstance(cell, datetime):
        return utc_text(cell)
    # Decimals without an exponent, as people write them.
    return f"{cell:f}" if isinstance(cell, Decimal) else cell.isoformat()


def _text(text: str) -> str:
    # Guarded as it will stand there, so that taking the apostrophe away always gives the visible text.
    return guarded(plain(text, line_breaks=True))
