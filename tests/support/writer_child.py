"""A writer that does deeds until it is killed.

Run as ``python writer_child.py REGISTER`` it writes to standard output; ``kill_writers`` forks it instead, which saves
the imports. It knows the register only through ``deeds``.
"""

from __future__ import annotations

import itertools
import os
import sys
from collections.abc import Sequence
from pathlib import Path

import deeds


def write_until_killed(
    register_path: Path, acknowledged_fd: int, *, pragmas: Sequence[str] = (), first: int = 1
) -> None:
    """Do deeds numbered from ``first``; after each acknowledged one write its entry number and a line end.

    The number is written straight to the file descriptor, never before the deed is acknowledged. Does not return.
    """
    register = deeds.open_register(register_path, pragmas=pragmas)
    for n in itertools.count(first):
        number = deeds.do_deed(register, n)
        os.write(acknowledged_fd, f"{number}\n".encode())


if __name__ == "__main__":
    write_until_killed(Path(sys.argv[1]), sys.stdout.fileno())
