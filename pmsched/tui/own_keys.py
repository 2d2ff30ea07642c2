"""Keys of one's own: a file that puts actions on other keys.

The file is ``keys.toml`` in the user's configuration folder: one line an action, its name and its keys, such as
``report = "f12,d"``. It is no fact and stands in no book.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from pathlib import Path

from pmsched.domain.errors import Refusal
from pmsched.tui.actions import BY_ID

NAME = "keys.toml"


def own_keys(folder: Path) -> Mapping[str, str]:
    """Which action lies on which keys, from the folder's file; nothing where there is none.

    Raises:
        Refusal: the file cannot be read, or names an action there is not.
    """
    path = folder / NAME
    if not path.exists():
        return {}
    try:
        given = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise Refusal(
            "keys-unreadable", f"{path} cannot be read: {error}.", 'Write lines like: report = "f12,d"'
        ) from error
    for action, keys in given.items():
        if action not in BY_ID or not isinstance(keys, str):
            raise Refusal("keys-unknown", f"{path}: there is no action {action}.", f"Actions: {', '.join(BY_ID)}.")
    return given
