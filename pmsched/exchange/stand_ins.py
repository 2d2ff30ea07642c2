"""Marks that people write instead of a name: ditto marks for what stands above, dashes for nothing.

Taken for names they would become departments and ranks of their own. They are refused, as either may mean the other.
"""

from __future__ import annotations

import re

from pmsched.domain.errors import Refusal

_DITTO = re.compile(
    r"[-\u2013\u2014\s]*(?:[\"\u201c\u201d\u201e\u2033\u3003]+|''|,,)[-\u2013\u2014\s]*|do\.|ditto", re.IGNORECASE
)
_NOTHING = re.compile(r"[-\u2013\u2014\u2212]+|n/a|n\.a\.", re.IGNORECASE)


def check_written_out(text: str) -> None:
    """Refuse a mark that stands instead of a name.

    Raises:
        Refusal: ``stands-for-another``.
    """
    written = text.strip()
    if _DITTO.fullmatch(written):
        message = f"'{written}' seems to mean the same as above."
        raise Refusal("stands-for-another", message, "Write it out, or leave it blank.")
    if _NOTHING.fullmatch(written):
        message = f"'{written}' is no name."
        raise Refusal(
            "stands-for-another",
            message,
            "Leave it blank if it means nothing; if it means the same as above, write it out.",
        )
