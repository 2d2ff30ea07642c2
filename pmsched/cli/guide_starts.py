"""The guide on jobs without a last doing and meters without a reading: both are asked, and stand in a copy of the file.

The copy lies open beside the file: it can be looked at, changed, and loaded again. Nothing is hidden in the register.
"""

from __future__ import annotations

from pathlib import Path

from pmsched.cli.access import ship_clock_of
from pmsched.cli.asking import ask_or_stop, choose, say
from pmsched.cli.context import moment
from pmsched.cli.guide_state import GuideState, Typed
from pmsched.cli.printing import note
from pmsched.cli.starts_words import spread_lines, unstarted_lines
from pmsched.cli.tables import terminal_width
from pmsched.cli.words import some
from pmsched.domain.counts import parse_count
from pmsched.domain.errors import Refusal
from pmsched.exchange.filled import TypedReading
from pmsched.store.register import Register
from pmsched.usecases.load_outlook import NeverRead, Outlook
from pmsched.usecases.load_proposals import write_proposals

_MINE, _AT_ONCE, _SPREAD = "1", "2", "3"


def ask_readings(register: Register, state: GuideState, seen: Outlook) -> Path | None:
    """Asks what meters show that have no reading; the copy with the readings, None if all were skipped.

    Raises:
        Refusal: the copy cannot be written.
        StopHere, click.Abort: as ``ask_or_stop``.
    """
    say(f"\n{some(len(seen.never_read), 'counter has', 'counters have')} no reading. What do they show now?")
    say("Without one, jobs by hours have no date. Type it, then Enter; Enter alone skips.")
    for one in seen.never_read:
        if typed := _value_of(one, state.readings.get(one.counter)):
            state.take(one.counter, typed)
    clock = ship_clock_of(register)
    readings = [
        TypedReading(one.counter, shown.date(), shown.time(), typed.value)
        for one in seen.never_read
        if (typed := state.readings.get(one.counter)) and (shown := clock.ship_time(typed.at))
    ]
    if not readings:
        return None
    copy = write_proposals(seen._replace(unstarted=()), spread=False, readings=readings)
    say(f"{copy.name} is written: your file, with {some(len(readings), 'reading')} more. It counts from now on.")
    return copy


def ask_starts(file: Path, seen: Outlook) -> Path | None:
    """Asks what jobs count from of which nothing is known; the copy with their starts, None to mend the file instead.

    Raises:
        Refusal: the copy cannot be written.
        StopHere, click.Abort: as ``ask_or_stop``.
    """
    jobs, every = seen.unstarted, len({(row.job, row.machine) for row in seen.rows})
    say(f"\n{len(jobs)} of {some(every, 'job')} {'has' if len(jobs) == 1 else 'have'} no last doing:")
    for line in unstarted_lines(jobs, terminal_width()):
        note(line)
    while True:
        answer = _what_to_do(file)
        if answer == _MINE:
            say(f"Write when they were last done in the sheet last_done of {file.name}, and save it.")
            return None
        if answer == _SPREAD:
            say("\nIf they are spread, they fall due first:")
            for line in spread_lines(jobs, terminal_width()):
                note(line)
        copy = write_proposals(seen, spread=answer == _SPREAD)
        say(f"{copy.name} is written: your file, with these starts coloured in the column starts of jobs.")
        if choose("Enter: go on with it. b: back to the choice. You may change it first", ("", "b", "back")) == "":
            return copy


def _what_to_do(file: Path) -> str:
    say("Never done must not look like not due. What do they count from?")
    say(f"{_MINE}: I look it up, and write it in {file.name} (the best)", "  ")
    say(f"{_AT_ONCE}: they are due at once, until each is done or looked up (the safe one)", "  ")
    say(
        f"{_SPREAD}: spread them over their first interval, at most a year; critical and class jobs are due at once",
        "  ",
    )
    return choose("1, 2 or 3 (s: stop here)", (_MINE, _AT_ONCE, _SPREAD))


def _value_of(one: NeverRead, before: Typed | None) -> Typed | None:
    """A value that the meter can show; None if it is skipped."""
    while True:
        answer = ask_or_stop(f"  {one.counter}  {one.name}, {one.meter.unit}", before.value if before else "")
        if not answer:
            return None
        if before and answer == before.value:
            return before
        try:
            parse_count(answer, one.meter)
        except Refusal as refusal:
            say(f"{refusal}", "    ")
        else:
            return Typed(answer, moment())
