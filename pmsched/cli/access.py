"""The open register, the question and the signer of a command, put together from its options."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TypeVar

from pmsched.cli.asking import ask, on_terminal
from pmsched.cli.context import Here, moment
from pmsched.domain.clocks import ShipClock
from pmsched.exchange.dates import read_date_time
from pmsched.store.lookups import machines
from pmsched.store.register import Register
from pmsched.usecases.ask_due import header_of as header_of  # noqa: PLC0414 - one door for the commands
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked, scene
from pmsched.usecases.views import ship_clock_of as ship_clock_of  # noqa: PLC0414

T = TypeVar("T")


@contextmanager
def open_register(here: Here) -> Iterator[Register]:
    """The register the command was given, closed at the end. Raises RegisterUnusable."""
    with Register(here.target) as register:
        yield register


def asked(as_of: str | None = None, known_on: str | None = None) -> Asked:
    """A question asked now."""
    return Asked(moment(), as_of, known_on)


def signer(here: Here, request: str | None = None) -> Signer:
    """Who signs, now; asked for on a terminal if nobody is named. Without one the deed itself refuses."""
    if not here.by and on_terminal():
        here.by = ask("Who signs (code)")
    return Signer(here.by, moment(), here.acting, request)


def instant_of(clock: ShipClock, text: str) -> int:
    """The instant of a ship's date and time as typed: ``2030-01-15 10:00``. Raises Refusal."""
    return clock.instant_of(*read_date_time(text))


def read_option(read: Callable[[str], T], text: str | None) -> T | None:
    """An option read by one of the readers of the house; None if it was not given. Raises Refusal."""
    return None if text is None else read(text)


def has_machines(register: Register, question: Asked) -> bool:
    """Whether anything is loaded: a register that is only set up has no machines."""
    with register.reading() as connection:
        return any(True for _ in machines(connection, scene(connection, question).view))
