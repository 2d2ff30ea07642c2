"""The guide on what is wrong with a file: alike problems together, the marked copy, and where jobs stand that lack a doing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from pathlib import Path

from pmsched.cli.asking import say
from pmsched.cli.printing import note
from pmsched.cli.tables import terminal_width, wrapped
from pmsched.cli.words import some
from pmsched.domain.errors import Refusal
from pmsched.domain.problems import Problem
from pmsched.usecases.load_outlook import Outlook

_MOST_SHOWN = 10
_MOST_PLACES = 4


def show_problems(file: Path, seen: Outlook, before: Sequence[Problem]) -> None:
    """Tells what is wrong, and writes a marked copy unless the same was wrong before."""
    say(f"\n{some(len(seen.problems), 'problem')} in {file.name}; nothing is loaded yet.")
    for line in problem_lines(seen.problems, terminal_width()):
        note(line)
    if tuple(before) != seen.problems:
        for path in _marked(seen):
            say(f"All of them are marked in {path.name}, each with what to do.")
    if any(problem.code == "no-total" and problem.column == "count" for problem in seen.problems):
        say(
            "If nobody knows the hours at a last doing, take that row out of last_done: where the job begins is asked then."
        )
    if seen.without_doing:
        say(f"{some(seen.without_doing, 'job has', 'jobs have')} no last doing; that is asked afterwards.")


def problem_lines(problems: Sequence[Problem], width: int) -> Iterator[str]:
    """The first problems, those that say the same in one."""
    alike: dict[tuple[str, ...], list[Problem]] = defaultdict(list)
    for problem in problems:
        alike[problem.file, problem.sheet, problem.column, problem.message, problem.hint].append(problem)
    for found in list(alike.values())[:_MOST_SHOWN]:
        yield from wrapped(_told(found), width, "  ")
    if (more := sum(map(len, list(alike.values())[_MOST_SHOWN:]))) > 0:
        yield f"  and {more} more"


def _told(found: list[Problem]) -> str:
    first = found[0]
    places = [problem.place or (f"row {problem.row}" if problem.row else "") for problem in found[:_MOST_PLACES]]
    where = ", ".join(filter(None, places)) or (f"sheet {first.sheet}" if first.sheet else Path(first.file).name)
    if not first.sheet and first.row:
        where = f"{Path(first.file).name}, {where}"
    if (more := len(found) - _MOST_PLACES) > 0:
        where += f" and {some(more, 'more cell')}"
    column = f" ({first.column})" if first.column else ""
    return f"{where}{column}: {first.message} {first.hint}".rstrip()


def _marked(seen: Outlook) -> list[Path]:
    from pmsched.exchange.marked import write_marked_copies  # noqa: PLC0415 - only where something is wrong

    try:
        return write_marked_copies(seen.sources, seen.problems)
    except Refusal as refusal:
        say(f"No marked copy was made: {refusal}")
        return []
