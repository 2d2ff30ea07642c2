"""What every command is given: which register, who signs, whether JSON is wanted, and what time it is.

Loaded with the program itself, so it imports nothing but click and the clock. What needs the database is in ``access``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import click

from pmsched import clock

REGISTER_VARIABLE = "PMSCHED_REGISTER"
SIGNER_VARIABLE = "PMSCHED_BY"
COMPLETE_VARIABLE = "_PMSCHED_COMPLETE"
"""Set by a shell that asks how what is being typed may go on; never by a person."""
PROGRAM = "pmsched"


@dataclass
class Here:
    """Where and for whom a command runs.

    Attributes:
        register: file name or database URL as typed; None for the usual place.
        by: code of the person who signs; empty when nobody is named.
        acting: the rank they act in, if it is not their own.
        as_json: one JSON document is wanted instead of text.
    """

    register: str | None = None
    by: str = ""
    acting: str | None = None
    as_json: bool = False

    @property
    def target(self) -> str:
        """The register's file name or URL."""
        return self.register or usual_register()


def usual_register() -> str:
    """Where the register lies when none is named: in the user's data folder."""
    import platformdirs  # noqa: PLC0415 - only where no register is named

    return str(platformdirs.user_data_path(PROGRAM, appauthor=False) / "register.db")


def moment() -> int:
    """The present instant, in UTC epoch seconds: the one place where the command line looks at the clock."""
    return clock.now()


def house_options(*, variables: bool) -> list[click.Parameter]:
    """The options that the program and every command take; a command's own come last and win.

    Args:
        variables: whether environment variables stand in for options that are not given.
    """
    register_variable, signer_variable = (REGISTER_VARIABLE, SIGNER_VARIABLE) if variables else (None, None)
    return [
        _option("register", "The register: a file or a database URL.", metavar="FILE-or-URL", envvar=register_variable),
        _option("by", "Code of the person who signs.", metavar="CODE", envvar=signer_variable),
        _option("acting", "Rank acted in, if it is not the person's own.", metavar="RANK"),
        _option("as_json", "Print one JSON document instead of text.", name="--json", is_flag=True),
    ]


def pass_here(function: Callable[..., Any]) -> Callable[..., Any]:
    """Gives the command's function its ``Here`` as first argument."""
    return click.make_pass_decorator(Here, ensure=True)(function)


def _option(field: str, text: str, *, name: str | None = None, **more: Any) -> click.Option:
    def keep(context: click.Context, _option: click.Parameter, value: Any) -> None:
        if value:
            setattr(context.ensure_object(Here), field, value)

    return click.Option([field, name or f"--{field}"], expose_value=False, callback=keep, help=text, **more)
