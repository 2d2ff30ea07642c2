"""Single cells: from the text in a cell to a value, or a refusal that says what would be right.

Every reader takes text that is not blank; what a blank cell means stands in ``columns``. Knows nothing of other cells.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping
from typing import TypeVar, get_args

from pmsched.domain.counts import READS, Reads
from pmsched.domain.errors import Refusal
from pmsched.domain.plain import check_text
from pmsched.domain.rules import CountsFrom
from pmsched.exchange.formula_guard import unguarded

T = TypeVar("T")

MOST_UNITS = 999
LONGEST_LINE = 1_000
LONGEST_TEXT = 20_000
_EDGES = " \t\r\n\u00a0\u202f"

# What spreadsheets show where a formula went wrong; it may stand in a file as text.
ERRORS = frozenset(
    (
        *("#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NUM!", "#NULL!", "#SPILL!", "#CALC!", "#FIELD!"),
        *("#BLOCKED!", "#CONNECT!", "#UNKNOWN!", "#GETTING_DATA"),
    )
)

_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0"})
_WHOLE = re.compile(r"[+-]?[0-9]{1,15}")


def read_text(text: str) -> str:
    """One line of text without blanks around it, as typed otherwise.

    Raises:
        Refusal: it holds hidden characters, more than 1 000 characters, or the error of a formula.
    """
    written = _not_longer(unguarded(text.strip(_EDGES)), LONGEST_LINE)
    check_text(written)
    return written


def read_long_text(text: str) -> str:
    """Text of one or more lines, parted by a line feed each.

    Raises:
        Refusal: it holds hidden characters, more than 20 000 characters, or the error of a formula.
    """
    written = _not_longer(unguarded(text.strip(_EDGES)), LONGEST_TEXT)
    check_text(written, line_breaks=True)
    return "\n".join(written.splitlines())


def read_code(text: str) -> str:
    """A code, as typed but with single blanks inside.

    Raises:
        Refusal: it holds a semicolon (that parts several codes in one cell) or begins with # (that marks a comment).
    """
    code = single_blanks(read_text(text))
    if ";" in code or code.startswith("#"):
        raise Refusal("not-a-code", f"'{code}' cannot be a code.", "A code has no ';' and does not begin with '#'.")
    return code


def read_word(text: str) -> str:
    """One word or short phrase, in lower case."""
    return read_text(text).lower()


def read_yes_no(text: str) -> bool:
    """True for yes, y, true, 1, x; False for no, n, false, 0. Raises Refusal for anything else."""
    written = read_text(text)
    if written.casefold() in _YES:
        return True
    if written.casefold() in _NO:
        return False
    raise Refusal("not-yes-or-no", f"'{written}' is neither yes nor no.", "Write yes or no.")


def read_whole_number(text: str) -> int:
    """A whole number, negative ones too. Raises Refusal for anything else."""
    written = read_text(text)
    if not _WHOLE.fullmatch(written):
        raise Refusal("not-a-whole-number", f"'{written}' is not a whole number.", "Write digits only, such as 40.")
    return int(written)


def read_words(text: str) -> tuple[str, ...]:
    """Names parted by semicolons, with single blanks inside; empty ones fall away. Raises Refusal as ``read_text``."""
    pieces = (single_blanks(piece) for piece in read_text(text).split(";"))
    return tuple(piece for piece in pieces if piece)


def read_lines(text: str) -> tuple[str, ...]:
    """Lines parted by line breaks; where there is no line break, by semicolons. Raises Refusal as ``read_text``."""
    written = read_long_text(text)
    pieces = (piece.strip() for piece in written.split("\n" if "\n" in written else ";"))
    return tuple(piece for piece in pieces if piece)


def read_units(text: str) -> tuple[str, ...]:
    """Names of units parted by semicolons, or a number n that means 1 to n.

    Raises:
        Refusal: a name stands twice, or the number is not between 1 and 999.
    """
    names = read_words(text)
    if len(names) == 1 and names[0].isdecimal():
        return _numbered(names[0])
    if twice := [name for name, times in Counter(names).items() if times > 1]:
        raise Refusal("unit-twice", f"The unit '{twice[0]}' stands there twice.", "Give every unit its own name.")
    return names


def read_reads(text: str) -> Reads:
    """How fine a dial reads: whole, tenths or h:min. Raises Refusal for anything else."""
    return _one_of(read_text(text), {name: name for name in READS})


def read_counts_from(text: str) -> CountsFrom:
    """What a rule counts from: done, grid or aim. Raises Refusal for anything else."""
    choices: tuple[CountsFrom, ...] = get_args(CountsFrom)
    return _one_of(read_text(text), {name: name for name in choices})


def single_blanks(text: str) -> str:
    """The text with every run of blanks made one space, none at the ends."""
    return " ".join(text.split())


def _not_longer(text: str, most: int) -> str:
    if text in ERRORS:
        raise Refusal(
            "error-cell", f"The cell holds the error {text}.", "Mend its formula, or write what it should say."
        )
    if len(text) > most:
        raise Refusal("too-long", f"The text has {len(text)} characters; {most} are the most.", "Shorten it.")
    return text


def _numbered(digits: str) -> tuple[str, ...]:
    if len(digits) > len(str(MOST_UNITS)) or not 1 <= int(digits) <= MOST_UNITS:
        raise Refusal("not-a-number-of-units", f"{digits} units cannot be.", f"Write a number from 1 to {MOST_UNITS}.")
    return tuple(str(number) for number in range(1, int(digits) + 1))


def _one_of(written: str, choices: Mapping[str, T]) -> T:
    chosen = choices.get(written.casefold())
    if chosen is None:
        raise Refusal("not-a-choice", f"'{written}' is not one of the choices.", f"Write one of: {', '.join(choices)}.")
    return chosen
