"""Questions to a person at a terminal. They go to standard error, so that standard output stays data."""

from __future__ import annotations

import sys
from collections.abc import Collection

import click

from pmsched.cli.printing import note
from pmsched.cli.tables import terminal_width, wrapped

_YES = frozenset({"y", "yes"})
_NO = frozenset({"n", "no"})
_STOP = frozenset({"s", "stop"})


def say(text: str = "", indent: str = "") -> None:
    """Something said to the person, in lines that fit the terminal; blank lines stay."""
    for line in wrapped(text, terminal_width(), indent) if text else [""]:
        note(line)


class StopHere(Exception):  # noqa: N818 - no error: the person wants to go on another time
    """The person stops at a question of a guide; what was done until then stays."""


def on_terminal() -> bool:
    """Whether a person can be asked: what is typed comes from a terminal, and questions can be seen."""
    return sys.stdin.isatty() and sys.stderr.isatty()


def ask(question: str, default: str = "") -> str:
    """The answer, without blanks around it; the default if only Enter is pressed.

    Raises:
        click.Abort: the input has ended.
    """
    note(f"{question}{f' [{default}]' if default else ''}: ", newline=False)
    line = sys.stdin.readline()
    if not line:
        note()
        raise click.Abort
    return line.strip() or default


def agree(question: str) -> bool:
    """Whether the person says yes; only Enter means no."""
    return ask(f"{question} [y/N]").lower() in _YES


def ask_or_stop(question: str, default: str = "") -> str:
    """As ``ask``; ``s`` stops the guide.

    Raises:
        StopHere: the person stops.
        click.Abort: the input has ended.
    """
    answer = ask(question, default)
    if answer.casefold() in _STOP:
        raise StopHere
    return answer


def choose(question: str, answers: Collection[str], default: str = "") -> str:
    """One of the answers, asked for until it is one; raises as ``ask_or_stop``."""
    while True:
        answer = ask_or_stop(question, default).casefold()
        if answer in answers:
            return answer
        say(f"Type {', '.join(answers)}, or s to stop here.")


def agree_usually(question: str) -> bool:
    """Whether the person says yes; only Enter means yes too. Raises as ``ask_or_stop``."""
    while True:
        answer = ask_or_stop(f"{question} [Y/n]").casefold()
        if not answer or answer in _YES:
            return True
        if answer in _NO:
            return False
        note("Type y or n, or s to stop here.")
