"""Codes for machines and jobs of a list that has none: short, told apart, and the same each time the list is read."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping

from pmsched.domain.errors import Refusal
from pmsched.exchange.cells import read_code

_LONGEST_NAME, _LONGEST_TAG = 6, 10
_LETTERS = 4
_SKIPPED = frozenset({"no", "nr", "number", "of", "the", "and", "for", "to", "in", "on", "with"})
_WORD = re.compile(r"[^\W\d_]+|\d+")


def machine_codes(names: Iterable[str], wanted: Mapping[str, str]) -> dict[str, str]:
    """A code for every name, in their order.

    Args:
        names: names of machines.
        wanted: codes that are known, by name; no other name gets one of them.
    """
    codes: dict[str, str] = {}
    taken = {code.casefold() for code in wanted.values()}
    for name in names:
        if name in codes:
            continue
        code = wanted.get(name) or _free(short_code(name), taken)
        codes[name] = code
        taken.add(code.casefold())
    return codes


def short_code(name: str) -> str:
    """A name that is short enough as it is; else its initials and figures: ``Main engine No 1`` is ``ME1``."""
    whole = " ".join(name.split())
    is_tag = any(letter.isdecimal() for letter in whole)
    if len(whole) <= (_LONGEST_TAG if is_tag else _LONGEST_NAME) and " " not in whole and _is_code(whole):
        return whole.upper()
    words = [word for word in _WORD.findall(whole) if word.casefold() not in _SKIPPED] or _WORD.findall(whole)
    letters: list[str] = [word for word in words if not word.isdecimal()]
    if len(letters) == 1:
        figures = "".join(word for word in words if word.isdecimal())
        return f"{letters[0][:_LETTERS].upper()}{figures}"
    return "".join(word if word.isdecimal() or _is_short(word, whole) else word[0].upper() for word in words) or "M"


def job_code(machine: str, nth: int) -> str:
    """The code of the nth job of a machine."""
    return f"{machine}-{nth:02d}"


def counter_code(machine: str, unit: str) -> str:
    """The code of a machine's counter of that unit."""
    return f"{machine}-{'H' if unit == 'h' else unit[0].upper()}"


def _is_short(word: str, whole: str) -> bool:
    """Whether a word is an abbreviation already: two or three capitals, in a name that is not all in capitals."""
    return word.isupper() and 1 < len(word) < _LETTERS and not whole.isupper()


def _is_code(text: str) -> bool:
    try:
        return read_code(text) == text
    except Refusal:
        return False


def _free(code: str, taken: set[str]) -> str:
    number, found = 1, code
    while found.casefold() in taken:
        number += 1
        found = f"{code}-{number}"
    return found
