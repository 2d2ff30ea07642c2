"""Files named in a form, read: one path or several, as typed or as a terminal writes them when files are dropped on it."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path

FILES_HINT = "Path of a photo or file; several: a ; between. Or drop it on the window."
FILE_REFUSALS = (
    "no-such-file", "not-a-file", "file-empty", "file-too-large", "file-unreadable", "no-place-for-files",
    "attached-already", "no-file-named",
)  # fmt: skip
"""The codes of refusals that belong at the field of the files."""

# In quotes a path may have what else would part it from the next.
_PATH = re.compile(r"""\s*(?:'([^']+)'|"([^"]+)"|([^;]+))""")
_ESCAPED = re.compile(r"\\(.)")


def typed_files(text: str) -> tuple[Path, ...]:
    """The files named, apart by semicolons; ``~`` is the person's own folder. Whether they are there is not asked."""
    return tuple(_paths(text))


def _paths(text: str) -> Iterator[Path]:
    for single, double, bare in _PATH.findall(text):
        said = single or double or bare.strip()
        if said:
            yield _unescaped(_at_home(Path(said)))


def _at_home(path: Path) -> Path:
    try:
        return path.expanduser()
    except RuntimeError:
        # There is nobody of that name here.
        return path


def _unescaped(path: Path) -> Path:
    """The path; where only the same without backslashes before blanks and brackets is there, that one."""
    if os.sep == "\\" or "\\" not in str(path) or path.exists():
        return path
    other = Path(_ESCAPED.sub(r"\1", str(path)))
    return other if other.exists() else path
