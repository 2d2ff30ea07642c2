"""Headings that stand once more among the rows: the same ones are passed over, others begin a list of their own.

Rows below other headings would be read by the wrong columns, so nothing below them is taken from that sheet.
"""

from __future__ import annotations

from collections.abc import Sequence

from pmsched.exchange.columns import InputFile
from pmsched.exchange.faults import Faults
from pmsched.exchange.headings import Heading, count_known, read_heading
from pmsched.exchange.tables import Record

SECOND_HEADING = "second-heading"
"""Code of the problem; rows below it are missing that nothing is known of."""


def heading_in(texts: Sequence[str], file: InputFile) -> Heading | None:
    """The row as a heading: all its cells are names of columns, or every column is named that each row needs."""
    filled = [text for text in texts if text.strip()]
    if len(filled) < 2 or (known := count_known(filled, file)) < 2:  # noqa: PLR2004 - one name may be a value
        return None
    found = read_heading(Record(0, list(texts)), file, Faults("", []), may_have_gaps=True)
    named = {place.column.name for place in found.places}
    is_heading = known == len(filled) or all(column.name in named for column in file.columns if column.required)
    return found if is_heading and len(named) > 1 else None


def says_the_same(again: Heading, heading: Heading) -> bool:
    """Whether all its columns stand where they stood, with the same units."""
    return set(again.places) <= set(heading.places) and all(
        unit == heading.units.get(name, "") for name, unit in again.units.items()
    )


def tell_second_heading(again: Heading, row: int, faults: Faults) -> None:
    """Tells that another list begins here."""
    faults.tell(
        SECOND_HEADING,
        "Headings stand here once more, in another order or with other units; the rows below them are not read.",
        "Keep one list in each sheet: move the rows below under the headings at the top, column by column.",
        row=row,
        column=min(again.places).column.name,
    )
