"""Pages of plain text, as they lie beside the machine: 78 columns, black on white, complete, each page says whose it is.

Plain functions: what is to be printed comes in as blocks of lines, the text of the pages goes out. A block, such as a
job with its cautions, is not broken over two pages. Knows no screens and no register.
"""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from rich.cells import cell_len

from pmsched.domain.errors import Refusal
from pmsched.domain.words import SAFETY
from pmsched.tui.folding import folded

WIDTH = 78
HEIGHT = 60
"""Lines on a page: A4 at 12 point."""
_RULE = "-" * WIDTH
_PAGE_BREAK = "\f"
_MOST_COPIES = 1000

Block = tuple[str, ...]


class Paper(NamedTuple):
    """What is to be printed.

    Attributes:
        name: begins the name of the file.
        title: what the list shows.
        heads: the line of column names, repeated on each page; empty for none.
        blocks: lines that stay together, at most ``WIDTH`` cells wide.
        seal: short form of the book's last hash; empty where the list shows nothing of the register.
    """

    name: str
    title: str
    heads: str
    blocks: tuple[Block, ...]
    seal: str = ""


class Printed(NamedTuple):
    """Whose page it is: site, ship's date and time with offset, and who signs."""

    site: str
    when: str
    signer: str


def page_text(paper: Paper, printed: Printed) -> str:
    """The pages as one text, a page break between them."""
    top, bottom = list(_top(paper, printed)), folded(SAFETY, WIDTH)
    room = HEIGHT - len(top) - len(bottom) - 2
    pages = list(_pages(paper.blocks, room))
    texts = []
    for number, lines in enumerate(pages, 1):
        foot = spread(f"Page {number} of {len(pages)}", f"seal {paper.seal}" if paper.seal else "")
        texts.append("\n".join((*top, *lines, _RULE, *bottom, foot, "")))
    return _PAGE_BREAK.join(texts)


def write_page(folder: Path, name: str, text: str) -> Path:
    """Write the text into a new file of the folder and give its path; nothing there is overwritten.

    Raises:
        Refusal: the file cannot be written.
    """
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for number in range(1, _MOST_COPIES):
            path = folder / f"{name}{f'-{number}' if number > 1 else ''}.txt"
            try:
                with path.open("x", encoding="utf-8") as stream:
                    stream.write(text)
                    stream.flush()
                    os.fsync(stream.fileno())
            except FileExistsError:
                continue
            return path
        raise Refusal("page-not-written", f"{folder} holds too many pages named {name}.", "Clear it out.")
    except OSError as error:
        raise Refusal(
            "page-not-written", f"The page cannot be written in {folder} ({error.strerror}).", "Make room there."
        ) from error


def spread(left: str, right: str) -> str:
    """Two texts at the ends of a line; on two lines if they do not fit on one."""
    gap = WIDTH - cell_len(left) - cell_len(right)
    return f"{left}{' ' * gap}{right}".rstrip() if gap > 0 else f"{left}\n{right}"


def _top(paper: Paper, printed: Printed) -> Iterator[str]:
    yield from spread(printed.site, printed.when).splitlines()
    yield from folded(paper.title, WIDTH)
    yield from folded(f"Signed: {printed.signer or 'nobody'} ______________________", WIDTH)
    yield _RULE
    if paper.heads:
        yield paper.heads
        yield _RULE


def _pages(blocks: Sequence[Block], room: int) -> Iterator[list[str]]:
    page: list[str] = []
    for block in blocks:
        if page and len(page) + len(block) > room:
            yield page
            page = []
        page += block
        # Only a block longer than a page is broken.
        while len(page) > room:
            yield page[:room]
            page = page[room:]
    if page or not blocks:
        yield page
