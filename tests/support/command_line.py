"""A way to run ``pmsched`` in this process and see all it says."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, NamedTuple

from click.testing import CliRunner

from pmsched.cli.main import program


class Said(NamedTuple):
    """What a run of the program left behind: its exit code, data and narration."""

    code: int
    out: str
    err: str

    @property
    def data(self) -> Any:
        """The JSON document printed."""
        return json.loads(self.out)


Run = Callable[..., Said]


def invoke_program(*arguments: str, stdin: Any = None) -> Said:
    """Runs the program in this process."""
    result = CliRunner().invoke(program, list(arguments), input=stdin, prog_name="pmsched")
    return Said(result.exit_code, result.stdout, result.stderr)
