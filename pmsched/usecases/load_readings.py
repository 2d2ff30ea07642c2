"""Loading readings: every counter's readings judged in time order, against each other and against the register.

One counter's readings are held in memory together, so that a hundred thousand take no question each. A value that
cannot be true is kept and held, as on a round.
"""

from __future__ import annotations

from bisect import bisect_right
from collections import defaultdict
from typing import Any

from pmsched.domain.clocks import format_offset
from pmsched.domain.counters import MeterPeriod, period_at
from pmsched.domain.counts import Meter, format_count
from pmsched.domain.readings import Judgement, Line, Point
from pmsched.store.book import label_of
from pmsched.store.loaded_facts import reading_versions, readings_under_counts
from pmsched.store.reading_facts import neighbours
from pmsched.store.tables import READING
from pmsched.usecases.counting import Periods, periods_of
from pmsched.usecases.judging import judge_line
from pmsched.usecases.load_changes import Change, Held
from pmsched.usecases.load_given import Given, GivenReadings
from pmsched.usecases.load_scene import Loading, key_of
from pmsched.usecases.recounting import Recount, recount

# A reading taken by another offset can lie more than a day from where the ship's clock puts it now.
_MARGIN_SECONDS = 2 * 86_400
_END_OF_TIME = 1 << 62


class _Known:
    """What the register holds of one counter around the readings of the files."""

    def __init__(self, load: Loading, counter: int, given: list[Given]) -> None:
        first, last = given[0].at - _MARGIN_SECONDS, given[-1].at + _MARGIN_SECONDS
        self.now: dict[int, Any] = {}
        self.said: dict[int, Any] = {}
        self.entered: set[tuple[int, int]] = set()
        for version in reading_versions(load.connection, counter, first, last):
            self.now[version.fact_id] = version
            self.entered.add((version.read_at, version.dial))
            if load.before.loads.wrote(version.id):
                self.said[version.fact_id] = version
        before, _ = neighbours(load.connection, counter, first)
        _, after = neighbours(load.connection, counter, last)
        outside = [row for row in (*before, *after) if row.fact_id not in self.now]
        self.accepted = [*outside, *(row for row in self.now.values() if _counts(row))]
        self._by_instant: dict[int, list[Any]] = defaultdict(list)
        self._by_shown: dict[int, list[Any]] = defaultdict(list)
        for version in self.said.values():
            self._by_instant[version.read_at].append(version)
            self._by_shown[version.read_at + version.offset_minutes * 60].append(version)

    def said_of(self, given: Given) -> Any:
        """What a load said of this reading last.

        A row without an offset is found by the ship's time that it names: the ship's clock may have been put right
        since, which moves the instant but not the row.
        """
        found = self._by_shown.get(given.shown_at, []) if given.row.offset_minutes is None else []
        found = found or self._by_instant.get(given.at, [])
        return max(found, key=lambda v: (v.read_at == given.at, v.dial == given.dial), default=None)


def load_readings(load: Loading, given: GivenReadings) -> None:
    """Judge and keep the readings, counter by counter. The counters must be flushed."""
    periods = periods_of(load.connection, load.seen)
    done, total = 0, sum(map(len, given.by_counter.values()))
    for key, readings in given.by_counter.items():
        _Counter(load, load.names.ids["counters"][key], given.meters[key], periods).load(readings)
        done += len(readings)
        load.progress("readings", done, total)


def recount_corrected(load: Loading) -> list[Recount]:
    """Work out again the totals kept with doings that rest on corrected readings, or on counters whose start changed."""
    readings = list(load.corrected)
    for counter in load.shifted:
        readings += readings_under_counts(load.connection, counter)
    load.work.flush()
    return [one for reading in readings for one in recount(load.connection, load.seen, load.work, reading, load.reason)]


class _Counter:
    """One counter's readings being loaded."""

    def __init__(self, load: Loading, counter: int, meter: Meter, periods: Periods) -> None:
        self._load = load
        self._counter = counter
        self._meter = meter
        self._periods: list[MeterPeriod] = list(periods.get(counter, ()))
        self._points: list[Point] = []
        self._entered: set[tuple[int, int]] = set()

    def load(self, readings: list[Given]) -> None:
        """Keep what is new, correct what the files say otherwise than before, pass over the rest."""
        known = _Known(self._load, self._counter, readings)
        self._entered = known.entered
        fates = [(one, *self._fate(known, one)) for one in readings]
        # What is being corrected is no witness against what corrects it.
        gone = {now.fact_id for one, now, changes in fates if changes and _revalued(now, one)}
        counting = (row for row in known.accepted if row.fact_id not in gone)
        self._points = sorted({Point(row.read_at, self._total(row.read_at, row.dial)) for row in counting})
        for one, now, changes in fates:
            if now is None:
                self._add(one)
            elif changes:
                self._correct(one, now, changes)
            else:
                self._load.tally.saw("readings", _name(one), one.row)

    def _fate(self, known: _Known, one: Given) -> tuple[Any, list[Change]]:
        """The version in force of the reading that the row means, None if it has none, and what changes in it."""
        said = known.said_of(one)
        if said is None:
            return None, []
        now = known.now[said.fact_id]
        if _agrees(said, one) or (not now.struck and _agrees(now, one)):
            return now, []
        old = "struck" if now.struck else format_count(now.dial, self._meter)
        changes = [
            Change("value", old, format_count(one.dial, self._meter)),
            Change("note", now.note or "", one.row.note),
            Change("offset", format_offset(now.offset_minutes), format_offset(_offset(now, one))),
        ]
        return now, [change for change in changes if change.old != change.new]

    def _add(self, one: Given) -> None:
        if (one.at, one.dial) in self._entered:
            self._load.tally.saw("readings", _name(one), one.row)
            return
        self._entered.add((one.at, one.dial))
        judged = self._judge(one)
        added = self._load.work.add(
            READING, counter_id=self._counter, read_at=one.at, offset_minutes=one.offset_minutes, dial=one.dial,
            status=_status(judged), held_for=judged.code or None, note=one.row.note or None,
        )  # fmt: skip
        self._load.tally.saw("readings", _name(one), one.row, new=True)
        self._tell_held(one, added, judged)

    def _correct(self, one: Given, now: Any, changes: list[Change]) -> None:
        columns: dict[str, Any] = {"note": one.row.note or None, "offset_minutes": _offset(now, one)}
        judged = None
        if _revalued(now, one):
            judged = self._judge(one)
            columns |= {"dial": one.dial, "status": _status(judged), "held_for": judged.code or None}
            self._load.corrected.append(now.fact_id)
        added = self._load.work.replace(READING, now._mapping, self._load.reason, **columns)  # noqa: SLF001 - SQLAlchemy's public accessor
        self._load.tally.saw("readings", _name(one), one.row, changes)
        if judged is not None:
            self._tell_held(one, added, judged)

    def _judge(self, one: Given) -> Judgement:
        """As ``judging.line_of`` places a value between its neighbours, but in memory."""
        total = self._total(one.at, one.dial)
        at = bisect_right(self._points, Point(one.at, _END_OF_TIME))
        before, earlier = (self._points[at - n] if at >= n else None for n in (1, 2))
        after = self._points[at] if at < len(self._points) else None
        line = Line(one.at, one.dial, self._meter, before, after, total - one.dial, earlier)
        judged = judge_line(line, self._load.seen.clock)
        if judged.accepted and not judged.duplicate:
            self._points.insert(at, line.point)
        return judged

    def _total(self, at: int, dial: int) -> int:
        period = period_at(self._periods, at)
        return period.total(dial) if period else dial

    def _tell_held(self, one: Given, added: int, judged: Judgement) -> None:
        if not judged.accepted:
            said = "; ".join((judged.message, *(suggestion.text for suggestion in judged.suggestions)))
            code = self._load.names.counter_code(key_of(one.row.counter))
            self._load.tally.held.append(Held(label_of(added), code, said, one.row.file, one.row.row))


def _counts(row: Any) -> bool:
    return not row.struck and row.status == "accepted"


def _offset(row: Any, one: Given) -> int:
    """The ship's offset that a reading keeps: as the file says, else as it was."""
    return int(row.offset_minutes) if one.row.offset_minutes is None else one.row.offset_minutes


def _agrees(row: Any, one: Given) -> bool:
    return (row.dial, row.note or "", row.offset_minutes) == (one.dial, one.row.note, _offset(row, one))


def _revalued(now: Any, one: Given) -> bool:
    return bool(now.struck or now.dial != one.dial)


def _status(judged: Judgement) -> str:
    return "accepted" if judged.accepted else "held"


def _name(one: Given) -> str:
    row = one.row
    return f"{row.counter} {row.read_on} {row.time_of_day:%H:%M}"
