"""Near names: what a person probably meant by a code that is not there."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def near(typed: str, known: Iterable[str]) -> str:
    """A hint naming the nearest known codes, or how to list them."""
    by_lower = {code.lower(): code for code in known}
    found = difflib.get_close_matches(typed.lower(), by_lower, n=3, cutoff=0.5)
    if found:
        return f"Did you mean {' or '.join(by_lower[code] for code in found)}?"
    return "See: pmsched machines."
