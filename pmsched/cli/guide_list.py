"""The guide on a list of jobs: what is unclear in it is asked, then it becomes a workbook with a sheet for each thing.

The list itself is never changed. Every answer settles all cells like it; what is left as it is written is told of by the
check of the new workbook.
"""

from __future__ import annotations

from datetime import datetime
from itertools import count
from pathlib import Path

from pmsched.cli.asking import agree_usually, ask_or_stop, choose, say
from pmsched.cli.printing import note
from pmsched.cli.words import some
from pmsched.domain.errors import Refusal
from pmsched.exchange.cells import read_code
from pmsched.exchange.dates import read_date
from pmsched.exchange.list_cells import YES, Doubt
from pmsched.exchange.list_jobs import MACHINE_CODE
from pmsched.exchange.list_read import FoundLists
from pmsched.exchange.list_sheets import Parts, take_apart
from pmsched.exchange.template_workbook import write_template_workbook
from pmsched.exchange.workbooks import SUFFIX

_MOST_SHOWN = 40
_AS_IT_IS = "leave it as it is"
_INTERVAL = "interval "
_WORDS = {"machines": "machine", "counters": "counter", "jobs": "job", "last_done": "last doing", "readings": "reading"}


def bring_in_list(found: FoundLists, now: datetime) -> Path:
    """Asks, and writes the workbook beside the list; its path.

    Args:
        found: the list.
        now: the ship's date and time.

    Raises:
        Refusal: the workbook cannot be written.
        StopHere, click.Abort: as ``ask_or_stop``.
    """
    say(
        f"\n{found.path.name} is a list of jobs. pmsched makes a workbook of its own from it; your list stays as it is."
    )
    target = write_list(found, free_name(found.path), now, ask_doubts=True)
    say("From now on this workbook counts. Its codes stay for life; titles and intervals can change later.")
    return target


def write_list(found: FoundLists, target: Path, now: datetime, *, ask_doubts: bool) -> Path:
    """Writes the workbook under a name; its path. What is in doubt and not asked stays as it is written, and is said.

    Raises:
        Refusal: a file of that name is there, or the place cannot be written to.
        StopHere, click.Abort: as ``ask_or_stop``.
    """
    answers: dict[str, str] = {}
    parts = _settled(found, answers, now) if ask_doubts else take_apart(found, answers, now)
    while ask_doubts and _changes_code(parts, answers):
        parts = take_apart(found, answers, now)
    write_template_workbook(target, parts.sheets)
    say(f"\n{target.name} is written: {contents(parts)}.")
    for said in (*parts.notes, *(f"In doubt, and left as it is: {doubt.question}" for doubt, _ in parts.doubts)):
        say(said)
    return target


def free_name(path: Path) -> Path:
    """A name beside the list that nothing has."""
    names = (f"{path.stem}-for-pmsched{f'-{number}' if number > 1 else ''}{SUFFIX}" for number in count(1))
    return next(found for name in names if not (found := path.with_name(name)).exists())


def contents(parts: Parts) -> str:
    """How many of each thing: '14 machines, 9 counters, 60 jobs'."""
    return ", ".join(some(len(rows), _WORDS[kind]) for kind, rows in parts.sheets.items() if rows)


def _settled(found: FoundLists, answers: dict[str, str], now: datetime) -> Parts:
    """The sheets once nothing is in doubt any more."""
    while True:
        parts = take_apart(found, answers, now)
        if not parts.doubts:
            return parts
        # Which column is which comes first: other doubts may go with it. Intervals come last, all in one.
        doubts = sorted(parts.doubts, key=lambda one: (not one[0].key.startswith("column"), _is_interval(one[0])))
        doubt, times = doubts[0]
        if _is_interval(doubt):
            _ask_intervals(doubts, answers)
        else:
            answers[doubt.key] = _asked(doubt, times)


def _is_interval(doubt: Doubt) -> bool:
    return doubt.key.startswith(_INTERVAL)


def _ask_intervals(doubts: list[tuple[Doubt, int]], answers: dict[str, str]) -> None:
    """All intervals with one meaning are shown together; each of the others is asked by itself."""
    plain = [(doubt, times) for doubt, times in doubts if len(doubt.choices) == 1]
    if plain:
        say("\nSome intervals are not written as pmsched needs them. Counted from the last doing they are:")
        for doubt, times in plain:
            say(f"{doubt.example} ({some(times, 'row')}): {doubt.choices[0][0]}", "  ")
        if agree_usually("Take them so?"):
            answers.update({doubt.key: doubt.choices[0][0] for doubt, _ in plain})
    for doubt, times in doubts:
        if doubt.key not in answers:
            answers[doubt.key] = _asked(doubt, times)


def _asked(doubt: Doubt, times: int) -> str:
    say()
    if not doubt.choices:
        return _asked_day(doubt)
    question = f"{doubt.question} ({some(times, 'cell')})" if times > 1 else doubt.question
    if doubt.usual == YES:
        why, _, asked = question.rpartition(". ")
        if why:
            say(f"{why}.")
        return YES if agree_usually(asked) else ""
    say(question)
    for number, (_, meaning) in enumerate(doubt.choices, 1):
        say(f"{number}: {meaning}", "  ")
    say(f"0: {_AS_IT_IS}", "  ")
    numbers = [str(number) for number in range(len(doubt.choices) + 1)]
    chosen = int(choose(f"Which one ({', '.join(numbers[1:])} or 0)", numbers))
    return doubt.choices[chosen - 1][0] if chosen else ""


def _asked_day(doubt: Doubt) -> str:
    """A date, in any writing that can be read or asked about."""
    while True:
        answer = ask_or_stop(doubt.question, doubt.usual)
        try:
            read_date(answer)
        except Refusal as refusal:
            if refusal.code not in {"ambiguous-date", "two-digit-year"}:
                say(str(refusal))
                continue
        return answer


def _changes_code(parts: Parts, answers: dict[str, str]) -> bool:
    """Shows the codes of the machines; true if one was changed, and they are to be shown again."""
    say("\nThe machines and their codes:")
    width = max((len(code) for code, _ in parts.machines), default=0)
    for code, name in parts.machines[:_MOST_SHOWN]:
        note(f"  {code:<{width}}  {name}")
    if (more := len(parts.machines) - _MOST_SHOWN) > 0:
        say(f"and {more} more", "  ")
    say("To change one, type the old and the new code, such as ME1 ME. Enter: they are good.")
    while True:
        answer = ask_or_stop("Old and new code")
        if not answer:
            return False
        try:
            old, new = answer.split(maxsplit=1)
            new = read_code(new)
        except (ValueError, Refusal):
            say("Type the old code, a blank, and the new code.")
            continue
        by_code = {code.casefold(): name for code, name in parts.machines}
        if old.casefold() not in by_code:
            say(f"There is no machine {old}.")
        elif by_code.get(new.casefold(), by_code[old.casefold()]) != by_code[old.casefold()]:
            say(f"{new} is the code of another machine.")
        else:
            answers[f"{MACHINE_CODE}{by_code[old.casefold()]}"] = new
            return True
