"""What a shell may complete on the command line: which parameter takes codes of the register, files or words of the house.

A parameter is known by its name, so that a new command has completion without asking for it. Loaded with the program
itself, it imports nothing but click; the register is looked at only when a shell asks, and never touched.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import Any, TypeVar

import click
from click.shell_completion import CompletionItem
from click.types import StringParamType

from pmsched.cli.context import Here
from pmsched.cli.names import COMMANDS

P = TypeVar("P", bound=click.Parameter)

# The names of parameters, and what of the register is meant by them: see ``store.codes.KINDS``.
CODES = {
    "job": "job",
    "machine": "machine",
    "find": "machine",
    "counter": "counter",
    "readings": "counter",
    "person": "person",
    "by": "person",
    "units": "unit",
    "department": "department",
    "acting": "rank",
}
FILES = frozenset({"file", "output", "register"})


class _Codes(StringParamType):
    """Text that is mostly a code of the register."""

    def __init__(self, kind: str) -> None:
        self.kind = kind

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem[str]]:
        """The codes that begin so, each with its name."""
        from pmsched.store.codes import offered  # noqa: PLC0415 - only when a shell asks
        from pmsched.store.engine import sqlite_file  # noqa: PLC0415

        file = sqlite_file((ctx.find_object(Here) or Here()).target)
        if file is None:
            return []
        of = _job_said(ctx) if self.kind == "unit" else ""
        given = ctx.params.get(param.name or "")
        taken = given if isinstance(given, tuple) else ()
        found = offered(file, self.kind, incomplete, of)
        return [CompletionItem(one.code, help=one.said or None) for one in found if one.code not in taken]


class _Files(StringParamType):
    """Text that is mostly the name of a file; the shell itself looks for it."""

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem[str]]:  # noqa: ARG002 - as click asks
        """A word to the shell that files are meant."""
        return [CompletionItem(incomplete, type="file")]


class _Words(StringParamType):
    """Text for which the house has words of its own, told when asked for."""

    def __init__(self, words: Callable[[], Iterable[str]]) -> None:
        self.words = words

    def shell_complete(self, ctx: click.Context, param: click.Parameter, incomplete: str) -> list[CompletionItem[str]]:  # noqa: ARG002 - as click asks
        """The words that begin so."""
        return [CompletionItem(word) for word in self.words() if word.lower().startswith(incomplete.lower())]


def completed(parameters: list[P]) -> list[P]:
    """The same parameters; those that take plain text under a known name can be completed by a shell."""
    for parameter in parameters:
        # Choices, numbers and paths complete themselves.
        if parameter.type is click.STRING and (kind := _KINDS.get(parameter.name or "")):
            parameter.type = kind
    return parameters


def _job_said(context: click.Context) -> str:
    """The job named before the word that is being typed; click leaves it over when an option still lacks its value."""
    said = context.params.get("job")
    return said if isinstance(said, str) else next(iter(context.args), "")


def _conditions() -> Iterable[str]:
    from pmsched.usecases.report_work import CONDITIONS  # noqa: PLC0415 - only when a shell asks

    return CONDITIONS


def _topics() -> Iterable[str]:
    from pmsched.cli.help import topics  # noqa: PLC0415 - only when a shell asks

    return sorted({*topics(), *COMMANDS})


_KINDS: dict[str, click.ParamType[Any]] = {
    **{name: _Codes(kind) for name, kind in CODES.items()},
    **{name: _Files() for name in FILES},
    "condition": _Words(_conditions),
    "topic": _Words(_topics),
}
