"""The program ``pmsched`` in a process of its own, with a clock that stands still: ``python still_command.py AT ARGUMENTS``."""

from __future__ import annotations

import sys

from pmsched import clock
from pmsched.cli.main import main

if __name__ == "__main__":
    moment = int(sys.argv.pop(1))
    clock.now = lambda: moment
    main()
