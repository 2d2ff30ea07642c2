"""Faults of the program itself: what happened goes to a file, for those who can mend it."""

from __future__ import annotations

import platform
import sys
import tempfile
import traceback
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pmsched
from pmsched.cli.context import PROGRAM, moment


def keep_fault(error: BaseException) -> Path | None:
    """Writes the trace of a fault to a file of its own; its path, or None if no folder takes it."""
    return keep_report("".join(traceback.format_exception(error)))


def keep_report(report: str) -> Path | None:
    """Writes a report of a fault to a file of its own; its path, or None if no folder takes it."""
    at = datetime.fromtimestamp(moment(), UTC)
    lines = [
        f"pmsched {pmsched.__version__}, Python {platform.python_version()}, {platform.system()}, {at.isoformat()}\n",
        f"arguments: {sys.argv[1:]!r}\n",
        report,
    ]
    for folder in _folders():
        try:
            folder.mkdir(parents=True, exist_ok=True)
            path = folder / f"fault-{at:%Y%m%d-%H%M%S}.log"
            with path.open("a", encoding="utf-8", errors="backslashreplace") as stream:
                stream.writelines(lines)
        except OSError:
            continue
        return path
    return None


def _folders() -> Iterator[Path]:
    import platformdirs  # noqa: PLC0415 - needed only when something breaks

    yield platformdirs.user_log_path(PROGRAM, appauthor=False)
    yield Path(tempfile.gettempdir())
