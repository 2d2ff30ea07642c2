"""The CSV files of this package, read and written as plain rows. Knows nothing of what stands in them."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from functools import cache
from importlib.resources import files

Row = Mapping[str, str]
"""One row: heading to cell."""


@cache
def rows(name: str) -> tuple[Row, ...]:
    """The rows of one file of this package, as they stand."""
    text = files("seeds_demo").joinpath("files", name).read_text("utf-8")
    return tuple(csv.DictReader(io.StringIO(text)))


def write_csv(head: Iterable[str], lines: Iterable[Iterable[str]]) -> str:
    """CSV text with a heading."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(head)
    writer.writerows(lines)
    return text.getvalue()
