"""Rows of a long answer, fetched in parts: what is held at a time does not grow with the answer."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from sqlalchemy import Connection, Select

_AT_A_TIME = 1000


def streamed(connection: Connection, statement: Select[Any], binds: Mapping[str, Any]) -> Iterator[Any]:
    """The rows of a statement, one after the other; the connection must stay open while they are taken."""
    result = connection.execute(statement, dict(binds), execution_options={"yield_per": _AT_A_TIME})
    for part in result.partitions():
        yield from part
