"""``pmsched people``: who is on the books."""

from __future__ import annotations

from pmsched.cli.access import asked, open_register
from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import asked_options, command
from pmsched.cli.printing import document, out
from pmsched.cli.shapes import header_shape
from pmsched.cli.tables import Column, table, terminal_width
from pmsched.cli.words import heading, some
from pmsched.usecases.ask_people import people_list

_COLUMNS = (Column("code"), Column("name", cut=True), Column("rank"), Column("department"), Column("", spare=True))


@command("people", "pmsched people")
@asked_options
@pass_here
def people(here: Here, as_of: str | None, known_on: str | None) -> None:
    """List the people on the books, with the codes by which they sign."""
    with open_register(here) as register:
        header, rows = people_list(register, asked(as_of, known_on))
    if here.as_json:
        document({"header": header_shape(header), "people": [row._asdict() for row in rows]})
        return
    out(heading(header, some(len(rows), "person", "people"), terminal_width()))
    cells = [(r.code, r.name, r.rank, r.department, "" if r.active else "left") for r in rows]
    for line in table(_COLUMNS, cells, terminal_width()):
        out(line)
