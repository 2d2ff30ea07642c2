"""What is asked at the auditor's desk: the search, the day of knowledge, and the file to write; and the forms for them.

Machines are found by any of their names, so that nobody needs to know a code. What cannot be found is refused at the
field, never answered by an empty list.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from pmsched.domain.errors import Ambiguous, NotFound, Refusal
from pmsched.tui.screens.fields import Field
from pmsched.tui.words import listed

if TYPE_CHECKING:
    from datetime import date

    from pmsched.tui.gateway import Gateway
    from pmsched.usecases.ask_due import Header

LAST_MONTHS = 12
_MOST_CHOICES = 6
_NOT_IN_NAMES = re.compile(r"[^\w-]+")
_ENTRY = re.compile(r"(?:entry\s+)?#?(\d{1,9})")


def search_fields(gateway: Gateway) -> tuple[Field, ...]:
    """The fields of a search; empty means any."""
    return (
        Field(
            "machine", "machine", "A code, or words of any of its names. Empty: all machines.", find_machine(gateway)
        ),
        Field("job", "job", "The code of a job. Empty: all jobs.", find_job(gateway)),
        Field("person", "person", "Code of who signed, or part of the name of who did it. Empty: anybody."),
        Field("words", "words", "Words in title, remarks, condition or reason. Empty: any."),
        Field("first", "from", "Done on this day or later: 2025-03-04 or 4 Mar 2025. Empty: from the first.", _date),
        Field("last", "to", "Done on this day or earlier. Empty: to the last.", _date),
    )


def known_field(gateway: Gateway) -> Field:
    """The field for the day, or the entry, of which the knowledge is asked."""
    hint = "A day, such as 2026-03-01 (its end is meant), or 'entry 12'. Empty: what is known now."
    return Field("known", "known on", hint, _known_on(gateway))


def file_field() -> Field:
    """The field for the file to write."""
    hint = "End it in .csv, .xlsx (spreadsheet) or .jsonl (scripts). Nothing is overwritten."
    return Field("file", "file", hint, new_file, needed=True)


def last_months(today: date) -> dict[str, Any]:
    """The search nobody typed: everything done in the last twelve months."""
    from pmsched.domain.periods import add_months  # noqa: PLC0415 - only needed here

    return {"first": add_months(today, -LAST_MONTHS)}


def search_text(wanted: Mapping[str, Any]) -> str:
    """A search in words: 'machine AE2 | from 2025-11-25'."""
    labels = {"machine": "machine", "job": "job", "person": "person", "words": "words", "first": "from", "last": "to"}
    said = listed(f"{label} {wanted[name]}" for name, label in labels.items() if wanted.get(name) is not None)
    return said or "everything"


def find_machine(gateway: Gateway) -> Callable[[str], str]:
    """A reader that gives the code of the one machine meant.

    Raises:
        NotFound: no machine has these words in its code or a name of it.
        Ambiguous: several have; their codes are the choices.
    """

    def read(words: str) -> str:
        found = gateway.machines(words).rows
        named = [
            row for row in found if words.lower() in {name.lower() for name in (row.code, row.name, *row.other_names)}
        ]
        rows = named or found
        if not rows:
            raise NotFound("unknown-machine", f"No machine has '{words}' in its code or a name.", "m lists them.")
        if len(rows) > 1:
            choices = [row.code for row in rows[:_MOST_CHOICES]]
            raise Ambiguous("several-machines", f"{len(rows)} machines have '{words}' in a name.", choices)
        return rows[0].code

    return read


def find_job(gateway: Gateway) -> Callable[[str], str]:
    """A reader that gives the code of a job. Raises NotFound with near codes."""

    def read(code: str) -> str:
        return next((row.job for row in gateway.why(code)), code)

    return read


def _date(text: str) -> date:
    from pmsched.exchange.dates import read_date  # noqa: PLC0415 - not needed before the first paint

    return read_date(text)


def _known_on(gateway: Gateway) -> Callable[[str], str]:
    """A reader of a day, a time or an entry; refuses what is still to come, and a day before the first entry."""

    def read(text: str) -> str:
        then = gateway.header(text)
        if then.today > gateway.header().today:
            raise Refusal("still-to-come", f"{then.today} is still to come.", "Name a day that is past, or today.")
        if not then.entry_no:
            raise NotFound("nothing-known", f"Nothing was in the register yet on {then.today}.", "Name a later day.")
        if entry := _ENTRY.fullmatch(text):
            return f"entry {entry[1]}"
        return text if ":" in text else str(then.today)

    return read


def new_file(text: str) -> Path:
    """The file named, as a whole path; CSV without an ending.

    Raises:
        Refusal: its ending means no format, it is there already, or its folder is not.
    """
    from pmsched.exchange.export_files import format_of  # noqa: PLC0415 - not needed before the first paint

    path = Path(text).expanduser().absolute()
    path = path if path.suffix else path.with_suffix(".csv")
    format_of(path.name)
    if path.exists():
        raise Refusal("file-exists", f"{path} is there already.", "Name another file; nothing is overwritten.")
    if not path.parent.is_dir():
        raise Refusal("no-folder", f"There is no folder {path.parent}.", "Name a folder that is there.")
    return path


def proposed_file(header: Header, what: str, days: tuple[date, date] | None) -> Path:
    """A name that is free: 'mv-invented-history-2024-07-01-2025-07-01.csv', here or with the person's documents.

    Without days the list is of one moment, and its day is named.
    """
    known = f"known-on-{header.known_on}" if header.known_on is not None else ""
    of = map(str, days) if days else [] if known else [str(header.today)]
    parts = filter(None, (header.site.lower(), what, *of, known))
    name = _NOT_IN_NAMES.sub("-", "-".join(parts)).strip("-")
    numbers = ["", *(f"-{number}" for number in range(2, 1000))]
    folder = _folder()
    free = (path for number in numbers if not (path := folder / f"{name}{number}.csv").exists())
    return next(free, folder / f"{name}.csv")


def _folder() -> Path:
    here = Path.cwd()
    if os.access(here, os.W_OK):
        return here
    import platformdirs  # noqa: PLC0415 - only where this folder cannot be written to

    return platformdirs.user_documents_path()
