"""Plain text: which characters may be kept, and how any text is made safe to print.

Hidden characters can move the cursor, recolour a terminal or turn the reading direction round, so that a screen shows
something else than what is stored. They are refused on the way in and made visible on the way out.
"""

from __future__ import annotations

import re

from pmsched.domain.errors import Refusal

_CONTROLS = "\x00-\x1f\x7f-\x9f"
# Unicode property Bidi_Control, the two separators that break lines, the byte-order mark, and halves of characters.
_MISLEADING = "\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\u2028\u2029\ufeff\ud800-\udfff"
_HIDDEN = re.compile(f"[{_CONTROLS}{_MISLEADING}]")
_HIDDEN_BUT_LINE_BREAKS = re.compile(f"(?![\r\n])[{_CONTROLS}{_MISLEADING}]")

_PICTURES = 0x2400
_PICTURE_OF_DELETE = "\u2421"
_REPLACEMENT = "\ufffd"
_SPACE, _DELETE = 0x20, 0x7F


def check_text(text: str, *, line_breaks: bool = False) -> str:
    """The text as it is, or a refusal if it has hidden characters; line breaks pass where ``line_breaks`` says that several lines are meant.

    Raises:
        Refusal: ``control-character``, naming the first such character as U+XXXX and its position, counted from 1.
    """
    found = (_HIDDEN_BUT_LINE_BREAKS if line_breaks else _HIDDEN).search(text)
    if found is None:
        return text
    where = f"at position {found.start() + 1}"
    if found[0] in "\r\n":
        raise Refusal("control-character", f"A line break (U+{ord(found[0]):04X}) stands {where}.", "Write one line.")
    raise Refusal(
        "control-character",
        f"The hidden character U+{ord(found[0]):04X} stands {where}.",
        "Delete it, or type the text again.",
    )


def plain(text: str, *, line_breaks: bool = False) -> str:
    """The text, safe to print on one line: control characters as their pictures, misleading ones as U+FFFD.

    With ``line_breaks`` the line breaks stay. Doing it twice changes nothing more.
    """
    return (_HIDDEN_BUT_LINE_BREAKS if line_breaks else _HIDDEN).sub(_visible, text)


def _visible(found: re.Match[str]) -> str:
    code = ord(found[0])
    if code < _SPACE:
        return chr(_PICTURES + code)
    return _PICTURE_OF_DELETE if code == _DELETE else _REPLACEMENT
