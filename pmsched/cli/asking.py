"""Questions to a person at a terminal. They go to standard error, so that standard output stays data."""

from __future__ import annotations

import sys

import click

from pmsched.cli.printing import note

_YES = frozenset({"y", "yes"})


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
