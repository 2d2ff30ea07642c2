"""Near names: what a person probably meant by a code that is not there."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from pmsched.domain.errors import NotFound


def near(typed: str, known: Iterable[str]) -> str:
    """A hint naming the nearest known codes, or how to list them."""
    by_lower = {code.lower(): code for code in known}
    found = difflib.get_close_matches(typed.lower(), by_lower, n=3, cutoff=0.5)
    if found:
        return f"Did you mean {' or '.join(by_lower[code] for code in found)}?"
    return "See: pmsched machines."


def check_known(what: str, typed: str | None, known: Iterable[str]) -> None:
    """Refuse a code with a slip in it, which must not read as "there is nothing". None passes.

    Raises:
        NotFound: there is no such code, in any case of its letters; with near codes.
    """
    codes = list(known)
    if typed is not None and typed.lower() not in map(str.lower, codes):
        raise NotFound(f"unknown-{what}", f"There is no {what} {typed}.", near(typed, codes))
