"""How commands of this house look: an example in every help text, and the options that all of them take.

Loaded with the program itself; imports nothing heavier than click.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import click
from click.shell_completion import CompletionItem

from pmsched.cli.completing import completed
from pmsched.cli.context import house_options
from pmsched.domain.words import SAFETY as SAFETY  # noqa: PLC0414 - commands take it from here


class HouseCommand(click.Command):
    """A command with an example, which also takes the options of the program.

    Args:
        examples: command lines as people type them; the first is the commonest.
    """

    def __init__(self, *args: Any, examples: Sequence[str] = (), **more: Any) -> None:
        super().__init__(*args, **more)
        self.examples = tuple(examples)
        self.own = tuple(self.params)
        self.params = completed([*self.params, *house_options(variables=False)])

    def format_options(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        """The command's own options first, those of every command after them."""
        own = [record for param in self.own if (record := param.get_help_record(context))]
        house = [record for param in self.params[len(self.own) :] if (record := param.get_help_record(context))]
        if own:
            with formatter.section("Options"):
                formatter.write_dl(own)
        help_option = self.get_help_option(context)
        shown = help_option and help_option.get_help_record(context)
        with formatter.section("Options of every command"):
            formatter.write_dl([*house, *([shown] if shown else [])])

    def format_epilog(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        """The examples, as typed."""
        write_examples(formatter, self.examples)
        super().format_epilog(context, formatter)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem[Any]]:
        """As click does; the options are offered before their first hyphen is typed, too."""
        return super().shell_complete(ctx, incomplete or "-")


class HouseGroup(click.Group):
    """A command with commands under it, and an example."""

    command_class = HouseCommand

    def __init__(self, *args: Any, examples: Sequence[str] = (), **more: Any) -> None:
        super().__init__(*args, **more)
        self.examples = tuple(examples)

    def format_epilog(self, context: click.Context, formatter: click.HelpFormatter) -> None:
        """The examples, as typed."""
        write_examples(formatter, self.examples)
        super().format_epilog(context, formatter)


def write_examples(formatter: click.HelpFormatter, examples: Sequence[str]) -> None:
    """An ``Example:`` block."""
    if examples:
        with formatter.section("Example"):
            for line in examples:
                formatter.write(f"{'':>{formatter.current_indent}}{line}\n")


def command(name: str, *examples: str) -> Callable[[Callable[..., Any]], HouseCommand]:
    """Makes a function a command of this name, with its examples."""
    return click.command(name, cls=HouseCommand, examples=examples)


def asked_options(function: Callable[..., Any]) -> Callable[..., Any]:
    """Adds ``--as-of`` and ``--known-on``: which moment is asked about, and what was known."""
    for option in (
        click.option(
            "--known-on", metavar="WHEN", help="Only what was known then: a date (its end), date and time, or entry 12."
        ),
        click.option(
            "--as-of", metavar="WHEN", help="As it stood then, by what is known now: a date or date and time."
        ),
    ):
        function = option(function)
    return function


def request_option(function: Callable[..., Any]) -> Callable[..., Any]:
    """Adds ``--request``: names the attempt, so that a repeated one adds nothing."""
    return click.option("--request", metavar="ID", help="Names this attempt; trying again adds nothing.")(function)
