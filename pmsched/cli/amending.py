"""What ``settle`` and ``correct reading`` have in common: their options, and what they print."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Any, Literal

import click

from pmsched.cli.asking import ask, on_terminal
from pmsched.cli.words import dial_text, entered
from pmsched.usecases.amend_reading import AmendReading, AmendResult
from pmsched.usecases.touched_words import touched_lines

Decorator = Callable[[Callable[..., Any]], Callable[..., Any]]
Act = Literal["value", "confirm", "strike"]

READING_OPTIONS: tuple[Decorator, ...] = (
    click.option("--value", metavar="V", help="The true value, as the meter shows it."),
    click.option("--strike", is_flag=True, help="The reading is void."),
    click.option("--reason", metavar="TEXT", help="Why; always needed."),
)


def with_options(options: Sequence[Decorator]) -> Decorator:
    """Adds options in the order given."""

    def add(function: Callable[..., Any]) -> Callable[..., Any]:
        for option in reversed(options):
            function = option(function)
        return function

    return add


def stated_reason(reason: str | None) -> str:
    """The reason; asked for on a terminal if it is missing. The deed itself refuses without one."""
    if not reason and on_terminal():
        return ask("Reason")
    return reason or ""


def amend_command(number: str, *, value: str | None, strike: bool, confirm: bool, reason: str | None) -> AmendReading:
    """The deed the options ask for. Raises UsageError unless they ask for exactly one."""
    wanted: list[Act] = []
    if value is not None:
        wanted.append("value")
    if strike:
        wanted.append("strike")
    if confirm:
        wanted.append("confirm")
    if len(wanted) != 1:
        raise click.UsageError("Say what becomes of the reading: one of --value, --strike or (held ones) --confirm.")
    return AmendReading(number, wanted[0], stated_reason(reason), value or "")


def amend_text(result: AmendResult, *, rehearsed: bool = False) -> Iterator[str]:
    """What became of a reading, a line each."""
    before = dial_text(result.before, result.meter)
    after = "struck" if result.after is None else dial_text(result.after, result.meter)
    # A confirmed reading keeps its value; what changes is that it is used.
    changed = f"{before} confirmed" if after == before else f"{before} -> {after}"
    yield f"Reading of {result.counter}: {changed}" + (":" if rehearsed else f"; {entered(result.receipt)}.")
    if not result.receipt.repeated:
        yield from touched_lines(result.touched)
