"""The apostrophe that keeps a spreadsheet from running a text as a formula.

Which texts are dangerous follows the public advice on "CSV injection" (OWASP; from memory): those that begin with ``=``,
``+``, ``-``, ``@``, their wide forms, a tab or a line break, also behind blanks, invisible characters or quotes; ``|``
calls other programs. A comma, a semicolon or a line break may part cells where a file is read with other settings than
it was written with, so what stands behind one is looked at too. One apostrophe is put before what is dangerous, and one more
where apostrophes stand there already, so that taking one away always gives the text back.
"""

from __future__ import annotations

import re

# Blanks of every width, characters without any width, and the quote in which a cell may be wrapped.
_PAD = ' "\u00a0\u00ad\u1680\u180e\u2000-\u200f\u202a-\u202f\u205f-\u206f\u3000\ufeff'
# The wide and small forms become the plain ones in some spreadsheets.
_SIGNS = "=+\\-@|\uff1d\uff0b\uff0d\uff20\uff5c\ufe66\ufe62\ufe63\ufe6b"
_STARTS = f"[{_PAD}]*[{_SIGNS}\t\r\n]"
_DANGEROUS = re.compile(f"'*{_STARTS}")
_GUARDED = re.compile(f"'+{_STARTS}")

_MARKS = ",;\r\n"
_PARTING = re.compile(f"([{_MARKS}])")
_AFTER_PARTING = re.compile(f"[{_MARKS}]'*[{_PAD}]*[{_SIGNS}]")
# Inside a text, plus and minus also begin the points of a list: they matter only before a call or a reference.
_LIST_POINT = re.compile(f"'*[{_PAD}]*[+\\-\uff0b\uff0d\ufe62\ufe63]")
_ACTS = re.compile(r"\||[\w.]\(|!\$?[A-Za-z]")


def guarded(text: str) -> str:
    """The text as it may stand in a cell: with an apostrophe before whatever a spreadsheet could run."""
    if _AFTER_PARTING.search(text):
        first, *others = _PARTING.split(text)
        text = first + "".join(f"'{piece}" if _is_dangerous(piece) else piece for piece in others)
    return f"'{text}" if _DANGEROUS.match(text) else text


def unguarded(cell: str) -> str:
    """The text behind a guarded cell; other text unchanged. ``unguarded(guarded(x))`` is always ``x``."""
    text = cell[1:] if _GUARDED.match(cell) else cell
    if not _AFTER_PARTING.search(text):
        return text
    first, *others = _PARTING.split(text)
    return first + "".join(piece[1:] if piece.startswith("'") and _is_dangerous(piece) else piece for piece in others)


def _is_dangerous(piece: str) -> bool:
    """Whether a piece behind a parting mark would run; the mark itself is none."""
    if len(piece) == 1 and piece in _MARKS:
        return False
    return bool(_DANGEROUS.match(piece)) and not (_LIST_POINT.match(piece) and not _ACTS.search(piece))
