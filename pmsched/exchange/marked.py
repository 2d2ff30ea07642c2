"""Marked copies: what was checked, as a workbook in which every problem is marked where it stands, and all are listed.

A copy never takes the place of a file that is there. It keeps the sheets of the workbook it was made of; files that are no
workbooks become sheets. Knows where problems stand, and nothing of what they are about.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import NamedTuple

from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem
from pmsched.exchange.input_files import without_marked
from pmsched.exchange.marked_book import MarkedBook
from pmsched.exchange.places import Source
from pmsched.exchange.whole_files import whole_file
from pmsched.exchange.workbooks import SUFFIX

_MOST_NAMES = 1_000


class Copy(NamedTuple):
    """A marked copy to be made.

    Attributes:
        target: where to.
        workbook: of which workbook; None if there is none.
        texts: the files that become sheets.
        problems: those that it lists.
    """

    target: Path
    workbook: Path | None
    texts: tuple[Source, ...]
    problems: tuple[Problem, ...]


def write_marked_copies(
    sources: Sequence[Source], problems: Sequence[Problem], target: Path | None = None
) -> list[Path]:
    """Writes the copies; their paths.

    Args:
        sources: the files and sheets that were read.
        problems: what is wrong with them.
        target: one copy of everything, under this name; of several workbooks the others get a number behind it. By
            default a copy of each workbook with problems is made next to it, and none of other files.

    Raises:
        Refusal: a file of that name is there, the place cannot be written to, or a workbook cannot be copied.
    """
    copies = list(_next_to(sources, problems) if target is None else _under(target, sources, problems))
    for copy in copies:
        try:
            _write(copy, sources)
        except Refusal:
            raise
        except Exception:  # noqa: BLE001 - the library may fail on saving what it could read
            _write(copy, sources, rows_only=True)
    return [copy.target for copy in copies]


def check_target(target: Path) -> None:
    """Refuses a name that no marked copy can have. Raises Refusal."""
    if target.suffix.casefold() != SUFFIX:
        raise Refusal("not-a-workbook-name", f"{target} does not end in {SUFFIX}.", f"Name it like marked{SUFFIX}.")
    if target.exists():
        raise Refusal("file-exists", f"{target} is there already.", "Name another file.")


def _write(copy: Copy, sources: Sequence[Source], *, rows_only: bool = False) -> None:
    book = MarkedBook(copy.workbook, copy.problems, rows_only=rows_only)
    for source in copy.texts:
        book.add_text(source)
    for source in sources:
        if source.path == copy.workbook:
            book.mark(source, source.sheet)
    book.list_problems()
    with whole_file(copy.target) as stream:
        book.save(stream)


def _next_to(sources: Sequence[Source], problems: Sequence[Problem]) -> Iterator[Copy]:
    for path in _workbooks(sources):
        own = tuple(problem for problem in problems if problem.file == str(path))
        if own:
            yield Copy(_free(path), path, (), own)


def _under(target: Path, sources: Sequence[Source], problems: Sequence[Problem]) -> Iterator[Copy]:
    workbooks: list[Path | None] = [*_workbooks(sources)] or [None]
    for number, path in enumerate(workbooks, 1):
        first = number == 1
        others = {str(other) for other in workbooks if other != path}
        own = tuple(
            problem for problem in problems if problem.file == str(path) or (first and problem.file not in others)
        )
        texts = tuple(source for source in sources if not source.sheet) if first else ()
        yield Copy(target if first else target.with_stem(f"{target.stem}-{number}"), path, texts, own)


def _workbooks(sources: Iterable[Source]) -> list[Path]:
    return list(dict.fromkeys(source.path for source in sources if source.sheet))


def _free(path: Path) -> Path:
    """A name next to the workbook that nothing has."""
    stem = f"{without_marked(path.name)}-problems"
    names = (stem, *(f"{stem}-{number}" for number in range(2, _MOST_NAMES)))
    free = (found for name in names if not (found := path.with_name(name + SUFFIX)).exists())
    return next(free, path.with_name(f"{stem}{SUFFIX}"))
