"""The apostrophe that keeps a spreadsheet from running a text as a formula.

Text that begins with ``=``, ``+``, ``-``, ``@``, a tab or a line break is written with an apostrophe before it. A text
that already begins so, apostrophe included, gets one more, so that taking one away always gives the text back.
"""

from __future__ import annotations

import re

_DANGEROUS = re.compile(r"'*[=+\-@\t\r\n]")
_GUARDED = re.compile(r"'+[=+\-@\t\r\n]")


def guarded(text: str) -> str:
    """The text as it may stand in a cell: with an apostrophe before it if a spreadsheet could run it."""
    return f"'{text}" if _DANGEROUS.match(text) else text


def unguarded(cell: str) -> str:
    """The text behind a guarded cell; other text unchanged. ``unguarded(guarded(x))`` is always ``x``."""
    return cell[1:] if _GUARDED.match(cell) else cell
