"""The program ``pmsched``: finds the command, imports it only then, and is the one boundary where errors end.

Exit codes: 0 ok, 1 refused, 2 wrong usage, 3 problems in data, 4 register missing or of another version, 70 a fault of
the program, 130 stopped by the person, 141 nobody reads the output any more. Standard output carries data only.
"""

from __future__ import annotations

import difflib
import importlib
import io
import os
import sys
from typing import Any, cast

import click
from click.shell_completion import CompletionItem

import pmsched
from pmsched.cli.completing import completed
from pmsched.cli.context import COMPLETE_VARIABLE, PROGRAM, Here, house_options
from pmsched.cli.house import write_examples
from pmsched.cli.names import COMMANDS
from pmsched.cli.printing import make_printable, note
from pmsched.domain.errors import ProblemsFound, Refusal

OK, REFUSED, USAGE, PROBLEMS, UNUSABLE, FAULT, STOPPED, NOT_READ = 0, 1, 2, 3, 4, 70, 130, 141
_EXAMPLES = ("pmsched init", "pmsched due --within 14", "pmsched help round")


class _NotReadError(Exception):
    """Whoever read our output has stopped reading."""


class Program(click.Group):
    """The group of all commands; each is imported when it is called."""

    def list_commands(self, _context: click.Context) -> list[str]:
        """The names, in the order of the help text."""
        return list(COMMANDS)

    def get_command(self, _context: click.Context, name: str) -> click.Command | None:
        """The command of that name, imported now; None for an unknown name."""
        entry = COMMANDS.get(name)
        if entry is None:
            return None
        module, _, attribute = entry.place.partition(":")
        return cast("click.Command", getattr(importlib.import_module(module), attribute))

    def resolve_command(
        self, context: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does, with near names for a slip."""
        if args and args[0] not in COMMANDS and not args[0].startswith("-"):
            near = difflib.get_close_matches(args[0], COMMANDS, n=2)
            hint = f" Did you mean {' or '.join(near)}?" if near else ""
            context.fail(f"There is no command '{args[0]}'.{hint}")
        return super().resolve_command(context, args)

    def format_commands(self, _context: click.Context, formatter: click.HelpFormatter) -> None:
        """The commands with their short texts, from the table: nothing is imported."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, entry.short) for name, entry in COMMANDS.items()])
        write_examples(formatter, _EXAMPLES)

    def shell_complete(self, ctx: click.Context, incomplete: str) -> list[CompletionItem[Any]]:
        """The commands from the table, with nothing imported, or the options of the program."""
        names = [CompletionItem(name, help=COMMANDS[name].short) for name in COMMANDS if name.startswith(incomplete)]
        return names or click.Command.shell_complete(self, ctx, incomplete)

    def invoke(self, context: click.Context) -> Any:
        """As click does; a reader that has gone away is told apart from a failing disk."""
        try:
            result = super().invoke(context)
            sys.stdout.flush()
        except BrokenPipeError as error:
            raise _NotReadError from error
        return result

    def main(self, *args: Any, **more: Any) -> Any:
        """Run, and leave the process with an exit code."""
        make_printable()
        if instruction := os.environ.get(COMPLETE_VARIABLE):
            from pmsched.cli.shells import answer  # noqa: PLC0415 - only when a shell asks

            sys.exit(answer(self, instruction))
        sys.exit(self._run(*args, **{**more, "standalone_mode": False}))

    def _run(self, *args: Any, **more: Any) -> int:
        try:
            code = super().main(*args, **more)
        except click.Abort:
            return STOPPED
        except click.ClickException as error:
            _tell_usage(error)
            return error.exit_code
        except Refusal as refusal:
            _tell(refusal)
            return refusal.exit_code
        except _NotReadError:
            # Python would try once more at its end, and complain.
            os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
            return NOT_READ
        except Exception as error:  # noqa: BLE001 - the boundary: anything else is a fault of ours
            _own_up(error)
            return FAULT
        return code if isinstance(code, int) else OK


def _tell(refusal: Refusal) -> None:
    if isinstance(refusal, ProblemsFound):
        for told in (*refusal.notes, *refusal.problems):
            note(str(told))
    note(f"{refusal.message} [{refusal.code}]")
    if refusal.hint:
        note(refusal.hint)


def _tell_usage(error: click.ClickException) -> None:
    """What click says of wrong usage. It repeats what was typed, which may hold hidden characters; ``note`` shows them."""
    said = io.StringIO()
    error.show(said)
    note(said.getvalue().rstrip("\n"))


def _own_up(error: Exception) -> None:
    from pmsched.cli.faults import keep_fault  # noqa: PLC0415 - needed only when something breaks

    where = keep_fault(error)
    note(f"This is a fault of pmsched: {type(error).__name__}.")
    note(
        f"What happened is written in {where}. Please pass that file on."
        if where
        else "The details could not be written to a file."
    )
    note("Nothing half-done was kept: a deed is entered whole or not at all.")


@click.group(
    PROGRAM,
    cls=Program,
    invoke_without_command=True,
    params=completed(house_options(variables=True)),
    context_settings={"help_option_names": ["-h", "--help"]},
)
@click.version_option(pmsched.__version__, prog_name=PROGRAM)
@click.pass_context
def program(context: click.Context) -> None:
    """Planned maintenance by running hours and calendar.

    Without a command, at a terminal, it opens the screens. Every answer shows its arithmetic: ask why.
    """
    here = context.ensure_object(Here)
    if context.invoked_subcommand is not None:
        return
    from pmsched.cli.screens import have_terminal, open_screens  # noqa: PLC0415 - only where no command is given

    if have_terminal():
        open_screens(here, here.target)
    else:
        click.echo(context.get_help())


def main() -> None:
    """The entry point; leaves the process with one of the exit codes above."""
    program.main(prog_name=PROGRAM)
