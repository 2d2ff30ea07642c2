"""Set up a register: its site, the ship's clock, and the first person, who signs the first entry."""

from __future__ import annotations

from typing import NamedTuple

from pmsched.domain.clocks import check_offset
from pmsched.domain.errors import Refusal
from pmsched.domain.plain import check_text
from pmsched.store.book import Receipt
from pmsched.store.engine import sqlite_file
from pmsched.store.opening import FirstPerson, open_first_book
from pmsched.store.register import Register


class SetUp(NamedTuple):
    """What a register starts with: the site's name, the first person, and the ship's offset from UTC in minutes."""

    site: str
    code: str
    name: str
    rank: str
    department: str = "engine"
    offset_minutes: int = 0


def set_up(target: str, command: SetUp, at: int) -> Receipt:
    """Make a register at a file or URL and open its first book.

    Raises:
        Refusal: something is missing, or a register is there already.
    """
    for what, said in command._asdict().items():
        if not str(check_text(str(said))).strip():
            raise Refusal("set-up-incomplete", f"The {what} is missing.", "A register needs a site and a first person.")
    check_offset(command.offset_minutes)
    file = sqlite_file(target)
    if file is not None and file.exists():
        raise Refusal("register-exists", f"There is a register at {file} already.", "Choose another with --register.")
    with Register(target, create=True) as register:
        person = FirstPerson(
            command.code.strip(), command.name.strip(), command.rank.strip(), command.department.strip().lower()
        )
        return open_first_book(register, command.site.strip(), person, at=at, offset_minutes=command.offset_minutes)
