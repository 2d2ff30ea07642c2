"""What a fresh Python really loads, in a process of its own, so that nothing of the test run is counted."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Sequence
from typing import NamedTuple

_COMMAND = """
import sys
sys.argv = ["pmsched", *{arguments!r}]
from pmsched.cli.main import main
try:
    code = main()
except SystemExit as end:
    code = end.code
"""

# On a line of its own at the end, whatever the statements before it printed.
_REPORT = """
import json, sys
print()
print(json.dumps([globals().get("code") or 0, sorted(sys.modules)]))
"""


class Loaded(NamedTuple):
    """What a fresh process loaded.

    Attributes:
        modules: the full names of all modules.
        exit_code: what ``pmsched`` ended with; 0 when no command was run.
        narration: what was printed on standard error.
    """

    modules: frozenset[str]
    exit_code: int
    narration: str

    def of(self, packages: Sequence[str]) -> list[str]:
        """Those of the packages of which anything was loaded."""
        return [package for package in packages if package in self.modules]


def after(statements: str) -> Loaded:
    """What is loaded after the statements were run by a fresh Python.

    Raises:
        AssertionError: the statements failed; the message is what Python said.
    """
    command = [sys.executable, "-c", statements + _REPORT]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr
    exit_code, modules = json.loads(done.stdout.splitlines()[-1])
    return Loaded(frozenset(modules), exit_code, done.stderr)


def after_command(*arguments: str) -> Loaded:
    """What is loaded after ``pmsched`` ran with these arguments, in the process that was asked."""
    return after(_COMMAND.format(arguments=arguments))
