"""Names and sizes of files: a name that can be kept and written on any system, a size in words.

Pure text; knows no files.
"""

from __future__ import annotations

import re
import unicodedata

from pmsched.domain.plain import plain

MOST_NAME_BYTES = 200
# Not allowed in a name on Windows; the first two part folders there or elsewhere.
_FORBIDDEN = re.compile(r'[/\\<>:"|?*]')
# Names of devices on Windows, whatever ending follows them.
_DEVICES = re.compile(r"(con|prn|aux|nul|conin\$|conout\$|(com|lpt)[0-9\u00b9\u00b2\u00b3])( *)(\.|$)", re.IGNORECASE)
_NAMELESS = "file"
_KILO = 1000


def safe_name(given: str) -> str:
    """A file's name, without its folders, as it can be kept: what is no part of a name anywhere becomes ``_``.

    Dots and blanks around it go, so that it is never hidden and never means a folder; a device's name gets ``_`` before
    it; a long one is shortened before its ending. Doing it twice changes nothing more.
    """
    text = unicodedata.normalize("NFC", given)
    text = "".join(one if plain(one) == one else "_" for one in text)
    text = _FORBIDDEN.sub("_", text).strip(". ")
    if _DEVICES.match(text):
        text = f"_{text}"
    return _shortened(text) or _NAMELESS


def size_text(size: int) -> str:
    """A size in bytes as people say it, in steps of a thousand: '812 bytes', '2.1 MB'."""
    if size < _KILO:
        return f"{size} byte{'' if size == 1 else 's'}"
    amount, unit = size / _KILO, "kB"
    for larger in ("MB", "GB", "TB"):
        # What would be rounded up to a thousand is told in the larger unit.
        if amount < _KILO - 0.05:
            break
        amount, unit = amount / _KILO, larger
    return f"{amount:.1f} {unit}"


def attached_text(name: str, number: str, size: int) -> str:
    """An attached file in a few words: 'photo.jpg (number 5201, 2.1 MB)'."""
    return f"{name} (number {number}, {size_text(size)})"


def _shortened(name: str) -> str:
    if len(name.encode()) <= MOST_NAME_BYTES:
        return name
    stem, dot, ending = name.rpartition(".")
    # What follows a dot far back is no ending.
    if not stem or len(ending.encode()) > MOST_NAME_BYTES // 10:
        stem, dot, ending = name, "", ""
    room = MOST_NAME_BYTES - len(f"{dot}{ending}".encode())
    return stem.encode()[:room].decode(errors="ignore").rstrip(". ") + dot + ending
