"""Record a round: the meters read on a walk, judged line by line, signed as one entry.

A value that cannot be true is kept and held, not refused and not used; it waits to be settled.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.counts import Meter, parse_count
from pmsched.domain.errors import NotFound, Refusal
from pmsched.domain.plain import check_text
from pmsched.domain.readings import Judgement, Line, Point, exchange_suggestion, find_swapped_lines
from pmsched.store.book import Receipt, Work
from pmsched.store.lookups import counters
from pmsched.store.reading_facts import is_held
from pmsched.store.register import Register
from pmsched.store.tables import READING
from pmsched.usecases.changes import Moved, moved_between, snapshot
from pmsched.usecases.counting import Periods, periods_of
from pmsched.usecases.judging import Typed, judge_line, line_of
from pmsched.usecases.near_names import near
from pmsched.usecases.recounting import Recount, accepted_now, recount_since
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, Scene, scene


class RoundLine(NamedTuple):
    """One line of a round: counter code, the value as typed, the instant it was read (UTC seconds), and a note."""

    counter: str
    value: str
    read_at: int
    note: str = ""


class LineResult(NamedTuple):
    """What became of a line: the counter, the dial value in base units, and the judgement."""

    counter: str
    meter: Meter
    dial: int
    before: Point | None
    judgement: Judgement


class RoundResult(NamedTuple):
    """A recorded round: its receipt (None if nothing was new), its lines, and what moved on the due list.

    ``recounted`` are the totals of work done after the reading before, which can be told now.
    """

    receipt: Receipt | None
    lines: tuple[LineResult, ...]
    moved: tuple[Moved, ...]
    recounted: tuple[Recount, ...] = ()


def record_round(
    register: Register, lines: Iterable[RoundLine], signer: Signer, *, rehearse: bool = False, tell: bool = True
) -> RoundResult:
    """Judge and keep the lines of a round, all in one entry.

    Args:
        register: the open register.
        lines: in the order walked.
        signer: who signs.
        rehearse: judge and show what would move, but write nothing.
        tell: work out what moved; leave it out when many rounds are brought in at once.

    Raises:
        NotFound: an unknown counter or signer.
        Refusal: a value that is not a count, or a reading from the future.
    """
    with register.locked(rehearse=rehearse) as connection:
        seen = scene(connection, Asked(signer.at))
        work = begin(connection, signer, seen)
        if earlier := work.earlier("record round"):
            return RoundResult(earlier, (), ())
        before = snapshot(connection, seen) if tell else {}
        results = _enter_lines(connection, seen, work, list(lines), signer)
        if work.empty:
            return RoundResult(None, results, ())
        work.flush()
        recounted = recount_since(connection, seen, work, accepted_now(work))
        receipt = work.enter("record round")
        moved = moved_between(connection, before, snapshot(connection, seen)) if tell else ()
        return RoundResult(receipt, results, moved, recounted)


def _enter_lines(
    connection: Connection, seen: Scene, work: Work, lines: list[RoundLine], signer: Signer
) -> tuple[LineResult, ...]:
    by_code = {row.code.lower(): row for row in counters(connection, seen.view)}
    periods = periods_of(connection, seen)
    typed = [_typed(by_code, line, signer.at) for line in lines]
    placed = _placed(connection, periods, typed, seen)
    pairs = _pairs(placed, typed)
    results = []
    for line, value, (found, judgement) in zip(lines, typed, placed, strict=True):
        judged = _with_pairs(judgement, pairs.get(id(value)))
        if not judged.accepted and is_held(connection, value.counter.id, value.at, value.dial):
            judged = replace(judged, duplicate=True)
        if not judged.duplicate:
            work.add(
                READING, counter_id=value.counter.id, read_at=value.at, offset_minutes=seen.clock.offset_at(value.at),
                dial=value.dial, status="accepted" if judged.accepted else "held", held_for=judged.code or None,
                note=check_text(line.note) or None,
            )  # fmt: skip
        results.append(LineResult(value.counter.code, value.meter, value.dial, found.before, judged))
    return tuple(results)


def _typed(by_code: dict[str, Any], line: RoundLine, now: int) -> Typed:
    row = by_code.get(line.counter.strip().lower())
    if row is None:
        raise NotFound("unknown-counter", f"There is no counter {line.counter}.", near(line.counter, by_code))
    if line.read_at > now:
        raise Refusal("reading-in-future", f"{row.code} is read later than now.", "Check the date and time.")
    meter = Meter(row.unit, row.reads)
    try:
        return Typed(row, meter, line.read_at, parse_count(line.value, meter))
    except Refusal as refusal:
        refusal.message = f"{row.code}: {refusal.message}"
        raise


def _placed(connection: Connection, periods: Periods, typed: list[Typed], seen: Scene) -> list[tuple[Line, Judgement]]:
    """Every line with its neighbours and judgement; two lines of one counter see each other, in time order."""
    accepted: dict[int, list[Point]] = {}
    placed: dict[int, tuple[Line, Judgement]] = {}
    for value in sorted(typed, key=lambda v: v.at):
        also = accepted.setdefault(value.counter.id, [])
        line = line_of(connection, periods.get(value.counter.id, []), value, also=also)
        judgement = judge_line(line, seen.clock)
        if judgement.accepted and not judgement.duplicate:
            also.append(line.point)
        placed[id(value)] = (line, judgement)
    return [placed[id(value)] for value in typed]


def _pairs(placed: list[tuple[Line, Judgement]], typed: list[Typed]) -> dict[int, list[Any]]:
    """Suggestions that two lines of the round were exchanged, by line."""
    lines = [line for line, _ in placed]
    found: dict[int, list[Any]] = {}
    for first, second in find_swapped_lines(lines):
        if typed[first].counter.id == typed[second].counter.id:
            continue
        for one, other in ((first, second), (second, first)):
            names = (typed[one].counter.code, typed[other].counter.code)
            found.setdefault(id(typed[one]), []).append(exchange_suggestion(names, lines[one], lines[other]))
    return found


def _with_pairs(judgement: Judgement, pairs: list[Any] | None) -> Judgement:
    return replace(judgement, suggestions=(*judgement.suggestions, *pairs)) if pairs else judgement
