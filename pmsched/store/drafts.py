"""What was typed and is not signed yet, kept so that a kill loses nothing.

A draft is no fact: it lies outside the book, in the user's state folder, one file each, and is removed once signed. Knows
files only; loads no database, so that a screen may use it before its first paint.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
from pathlib import Path
from threading import Lock
from typing import Any

from pmsched.domain.errors import Refusal

_PROGRAM = "pmsched"
_SAFE_NAME = re.compile(r"[A-Za-z0-9_-]{1,80}")
_UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")
_LONGEST_SLUG = 40


class Draft:
    """One draft: values by name, as JSON. Threads may save at the same time.

    Args:
        folder: where drafts lie; made when first needed.
        name: names the draft in the folder; any text.
    """

    def __init__(self, folder: Path, name: str) -> None:
        self.path = folder / f"{_file_name(name)}.json"
        self._saving = Lock()

    def save(self, values: dict[str, Any]) -> None:
        """Keep these values instead of earlier ones; they are on the disk when this returns.

        Raises:
            Refusal: the file cannot be written; what was kept before is still there.
        """
        with self._saving:
            try:
                self._write(json.dumps(values))
            except OSError as error:
                raise Refusal(
                    "draft-not-kept",
                    f"What is typed cannot be kept in {self.path} ({error.strerror}).",
                    "Make room there, or have that folder made writable.",
                ) from error

    def load(self) -> dict[str, Any]:
        """The values kept; empty if there are none. A file that is no draft is put aside, not thrown away."""
        try:
            values = json.loads(self.path.read_text(encoding="utf-8"))
        except OSError:
            return {}
        except ValueError:
            values = None
        if isinstance(values, dict):
            return values
        self.put_aside()
        return {}

    def put_aside(self) -> None:
        """Move the file out of the way: it does not hold what its owner understands."""
        self.path.replace(self.path.with_suffix(".unreadable"))

    def clear(self) -> None:
        """Forget the draft: it is signed, or thrown away on purpose."""
        with self._saving:
            self.path.unlink(missing_ok=True)

    def _write(self, text: str) -> None:
        self.path.parent.mkdir(parents=True, exist_ok=True)
        # A name of this process: another one may be keeping the same draft at this moment.
        beside = self.path.with_suffix(f".{os.getpid()}")
        with beside.open("w", encoding="utf-8") as stream:
            stream.write(text)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(self.path)


def drafts_folder() -> Path:
    """The folder of the user's drafts."""
    import platformdirs  # noqa: PLC0415 - only where a draft is kept

    return platformdirs.user_state_path(_PROGRAM, appauthor=False)


def draft_for(target: str, name: str) -> Draft:
    """A draft in the user's folder that belongs to one register, however its file is named, or to a database URL."""
    place = target if "://" in target else str(Path(target).resolve())
    return Draft(drafts_folder(), f"{_slug(name)}-{_short_hash(f'{place} {name}')}")


def _file_name(name: str) -> str:
    """The name where it can be one of a file anywhere, else one made from it that no other name shares."""
    return name if _SAFE_NAME.fullmatch(name) else f"{_slug(name)}-{_short_hash(name)}"


def _slug(name: str) -> str:
    return _UNSAFE.sub("-", name)[:_LONGEST_SLUG]


def _short_hash(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]
