"""``pmsched why``: why a job falls due then, with the arithmetic of every limb."""

from __future__ import annotations

from collections.abc import Iterator

import click

from pmsched.cli.access import asked, header_of, open_register
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import SAFETY, asked_options, command
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import due_shape, header_shape
from pmsched.cli.tables import terminal_width, wrapped
from pmsched.cli.words import due_text, heading, named, some
from pmsched.domain.sums import sum_lines
from pmsched.usecases.ask_due import DueRow
from pmsched.usecases.ask_due import why as ask_why


@command("why", "pmsched why AE2-EXV", "pmsched why AE2-EXV --as-of 2025-12-31")
@click.argument("job", metavar="JOB")
@asked_options
@pass_here
def why(here: Here, job: str, as_of: str | None, known_on: str | None) -> None:
    """Say why a job falls due then: every limit, what it counts from, and the sum."""
    question = asked(as_of, known_on)
    with open_register(here) as register:
        rows = ask_why(register, question, job)
        header = header_of(register, question)
    if here.as_json:
        document({"header": header_shape(header), "lines": [due_shape(row) for row in rows]})
    else:
        out(heading(header, some(len(rows), "unit"), terminal_width()))
        for row in rows:
            out()
            for line in why_lines(row, terminal_width()):
                out(line)
    note(SAFETY)


def why_lines(row: DueRow, width: int) -> Iterator[str]:
    """One job unit in full: cautions first, then how it stands, then the sum."""
    yield f"{named(row.job, row.unit)}  {row.title}  ({row.machine} {row.machine_name})"
    if row.cautions:
        yield "  CAUTION"
        yield from wrapped(row.cautions, width, "    ")
    if row.needs:
        yield from wrapped(f"Needs: {row.needs}", width, "  ")
    due = due_text(row.due_on, expected=row.expected) or "no date"
    yield f"  {'; '.join((row.state, *row.marks))}; due {due}; {row.left}"
    yield from wrapped(row.sentence, width, "  ")
    yield from (f"  {line}" for line in sum_lines(row.because))
