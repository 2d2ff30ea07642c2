"""Ask who is on the books."""

from __future__ import annotations

from typing import NamedTuple

from pmsched.store.lookups import people
from pmsched.store.register import Register
from pmsched.usecases.ask_due import Header, header
from pmsched.usecases.views import Asked, scene


class PersonRow(NamedTuple):
    """A person: the code they sign by, name, rank and department, and whether they still sign."""

    code: str
    name: str
    rank: str
    department: str
    active: bool


def people_list(register: Register, asked: Asked) -> tuple[Header, tuple[PersonRow, ...]]:
    """Everybody on the books at that moment, in the order they came."""
    with register.reading() as connection:
        seen = scene(connection, asked)
        rows = tuple(PersonRow(p.code, p.name, p.rank, p.department, p.active) for p in people(connection, seen.view))
        return header(connection, seen, asked), rows
