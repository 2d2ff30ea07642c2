"""The refusals of pmsched: a rule of the trade or of the register says no.

    Refusal                  a rule says no; exit code 1
    |-- NotFound             the thing named is not in the register
    |-- Ambiguous            the words can mean more than one thing; the choices are named
    |-- NotAllowed           the deed contradicts a fact or a rule
    |-- ProblemsFound        data brought in has problems; exit code 3, all of them listed
    `-- RegisterUnusable     the register is missing, damaged, or of another version; exit code 4

A Refusal always has a stable ``code`` (for scripts and tests), says what is wrong, and what to do next.
Anything else that is raised is a bug.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Sequence

    from pmsched.domain.problems import Problem


class Refusal(Exception):  # noqa: N818 - the house's word; "refused" is what the user reads
    """A rule says no.

    Args:
        code: stable short name, e.g. ``reading-goes-backwards``.
        message: what is wrong, in words a person can act on.
        hint: what to do next; may be empty when the message already says it.
    """

    exit_code = 1

    def __init__(self, code: str, message: str, hint: str = "") -> None:
        super().__init__(message)
        self.code = code
        self.message = message
        self.hint = hint

    def __str__(self) -> str:
        return f"{self.message} {self.hint}".rstrip()


class NotFound(Refusal):
    """The thing named is not in the register."""


class Ambiguous(Refusal):
    """The words can mean more than one thing; ``choices`` are written so that one can be typed instead."""

    def __init__(self, code: str, message: str, choices: Sequence[str]) -> None:
        self.choices = tuple(choices)
        super().__init__(code, message, f"Write one of: {'; '.join(self.choices)}." if self.choices else "")

    @property
    def either(self) -> str:
        """The message with its few choices, as people are told: 'This can be read in two ways: 5100 or 5.1'."""
        if len(self.choices) > 1:
            return f"{self.message.rstrip('.')}: {' or '.join(self.choices)}."
        return f"{self.message} Write {self.choices[0]}." if self.choices else self.message


class NotAllowed(Refusal):
    """The deed contradicts a fact or a rule of the register."""


class ProblemsFound(Refusal):
    """Data brought in has problems.

    Args:
        problems: every one of them, not only the first.
        notes: what was passed over or read in a way of its own, a sentence each; it may explain the problems.
    """

    exit_code = 3

    def __init__(self, problems: Sequence[Problem], notes: Sequence[str] = ()) -> None:
        self.problems = tuple(problems)
        self.notes = tuple(notes)
        count = len(self.problems)
        super().__init__(
            "problems-found",
            f"{count} problem{'' if count == 1 else 's'} found; nothing was written.",
            "Put them right and load again.",
        )


class RegisterUnusable(Refusal):
    """The register is missing, damaged, or written by another version of the program."""

    exit_code = 4
