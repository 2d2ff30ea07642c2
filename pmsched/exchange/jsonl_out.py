"""Exports as JSON lines, for scripts: the header, then an object for each row, then how many rows there were.

The last line is there to be missed: a file that was cut has none. Dates and instants are ISO 8601; hours and other
decimals are text, so that nothing is rounded; what is not known is null. Texts stand as they are in the register.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any, BinaryIO

from pmsched.domain.plain import plain
from pmsched.exchange.exports import Cell, Export
from pmsched.exchange.stamps import utc_text

AT_THE_END = ("rows", "first_day", "last_day", "complete", "left_out", "seal")
"""What the last line says, by names of the header."""


def write_jsonl_export(stream: BinaryIO, export: Export) -> None:
    """Writes an export, a line at a time. Raises OSError as the stream does."""
    head = {name: _value(value) for name, value in export.about.pairs()}
    stream.write(_line({"export": head}))
    stream.writelines(_line(dict(zip(export.heading, map(_value, row), strict=True))) for row in export.rows())
    end = dict(export.ended().pairs())
    stream.write(_line({name: _value(end[name]) for name in AT_THE_END}))


def _line(value: Mapping[str, Any]) -> bytes:
    text = json.dumps(value, ensure_ascii=False)
    # Some readers end a line at other characters than the line feed; these, and halves of characters, become escapes.
    return f"{text if plain(text) == text else json.dumps(value)}\n".encode()


def _value(cell: Cell) -> str | int | None:
    if isinstance(cell, datetime):
        return utc_text(cell)
    if isinstance(cell, date | time):
        return cell.isoformat()
    return f"{cell:f}" if isinstance(cell, Decimal) else cell
