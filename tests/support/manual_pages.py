"""The pages of the manual as tests read them: their text by topic, their points, and which pages belong to what."""

from __future__ import annotations

import re
from pathlib import Path

import pmsched

MANUAL = Path(pmsched.__file__).parent / "manual"
PAGES = {path.stem: path.read_text(encoding="utf-8") for path in sorted(MANUAL.glob("*.md"))}


def flowing(text: str) -> str:
    """The text with every run of blanks and line breaks as one space: where a line ends does not matter."""
    return " ".join(text.split())


def points(page: str) -> dict[str, str]:
    """The points of a list, '- name: what is said of it', by name."""
    found = re.findall(r"^- ([^:\n]+): (.*?)(?=\n- |\n\n|\Z)", page, re.MULTILINE | re.DOTALL)
    return {name: flowing(said) for name, said in found}


def pages_of(topic: str) -> str:
    """All that is written on a topic: its page, and those whose names go on after it with a hyphen."""
    return "\n\n".join(text for name, text in PAGES.items() if name == topic or name.startswith(f"{topic}-"))


def referred_to(topic: str) -> str:
    """All pages that the pages on a topic send their reader to."""
    names = set(re.findall(r"pmsched\s+help\s+([a-z-]+)", pages_of(topic)))
    return "\n\n".join(PAGES[name] for name in sorted(names & PAGES.keys()))


def says(text: str, word: str) -> bool:
    """Whether a word stands in a text by itself, not inside a longer one (an option, a name with underlines)."""
    return re.search(rf"(?<![\w-]){re.escape(word)}(?![\w-])", flowing(text)) is not None


def under(text: str, opening: str) -> str:
    """What stands after the line ``opening`` and before the next line that begins no point and is no part of one."""
    _, found, rest = text.partition(f"\n{opening}\n\n")
    return re.split(r"\n\n(?!- )", rest)[0] if found else ""
