"""Make the register that is kept as this version writes it: ``python make_old_register.py FILE``.

Instants and names are fixed, so that the same program makes the same facts. A kept register is never made again for a
form that was released: it shows that later programs still read it.
"""

from __future__ import annotations

import sys
from pathlib import Path

import small_register

from pmsched.store.files import settle
from pmsched.store.opening import open_next_book
from pmsched.store.register import Register


def make_old_register(path: Path) -> None:
    """A register with a row in every table, every kind of version, and two books; closed, in one file."""
    with small_register.small_register(path) as register:
        signed = small_register.signature(register, small_register.START + 4 * small_register.DAY)
        open_next_book(register, "to have two books", signed, uid="1" * 32)
        with register.reading() as connection:
            counter = connection.exec_driver_sql("SELECT id FROM counter").scalar_one()
        at = small_register.START + 5 * small_register.DAY
        small_register.read_round(register, at, {counter: 120 * small_register.HOUR})
    _shrink(path)


def _shrink(path: Path) -> None:
    settle(path)
    with small_register.plain(path) as connection:
        connection.execute("VACUUM")


if __name__ == "__main__":
    target = Path(sys.argv[1])
    target.unlink(missing_ok=True)
    make_old_register(target)
    Register(str(target)).close()
    settle(target)
