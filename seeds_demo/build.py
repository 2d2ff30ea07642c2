"""The demo register: the simulated history entered deed by deed, each signed and recorded on its own day.

Uses the same use cases as everybody else, so that the demo can be asked what was known on any day of its two years.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import date, time, timedelta
from functools import partial
from pathlib import Path

from pmsched.domain.clocks import ClockChange, ShipClock
from pmsched.domain.counts import Meter, format_count
from pmsched.store.live import EVERYTHING, View
from pmsched.store.lookups import counters
from pmsched.store.register import Register
from pmsched.usecases.amend_reading import AmendReading, amend_reading
from pmsched.usecases.ask_records import readings_history
from pmsched.usecases.change_clock import change_clock
from pmsched.usecases.load_register import load
from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.set_up import SetUp, set_up
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked
from seeds_demo.catalogue import SITE, chief
from seeds_demo.events import ClockEvent, CorrectionEvent, Event, History, ReportEvent, RoundEvent
from seeds_demo.simulate import simulate

Progress = Callable[[int, int], None]


def build_demo(target: Path, today: date, *, seed: int = 7, progress: Progress | None = None) -> Path:
    """Make the demo register at ``target``, as it stands on the morning of ``today``; the path again.

    It is built beside its place and moved there when it is whole, so a broken-off build leaves nothing behind.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target.parent, prefix="building-") as folder:
        made = Path(folder) / "demo.db"
        _build(made, simulate(today, seed), progress)
        made.replace(target)
    return target


def _build(made: Path, history: History, progress: Progress | None) -> None:
    person = chief()
    clock = _Clock(history)
    setting_up = clock.instant(history.start - timedelta(days=1), time(8))
    first = SetUp(SITE, person.code, person.name, person.rank, person.department, clock.first_offset)
    set_up(str(made), first, setting_up)
    with Register(str(made)) as register:
        sign = partial(Signer, person.code)
        _load_files(register, history, sign(clock.instant(history.start, time(20))))
        deeds = _Deeds(register, clock)
        for number, event in enumerate(history.events, 1):
            deeds.enter(event)
            if progress is not None:
                progress(number, len(history.events))


def _load_files(register: Register, history: History, signer: Signer) -> None:
    with tempfile.TemporaryDirectory(prefix="demo-files-") as folder:
        for name, text in history.files.items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        load(register, [Path(folder)], signer)


class _Clock:
    """The ship's clock as far as it has been entered."""

    def __init__(self, history: History) -> None:
        changes = [event for event in history.events if isinstance(event, ClockEvent)]
        starts = bool(changes) and changes[0].at_on <= history.start
        self.first_offset = changes[0].offset_minutes if starts else 0
        self._changes = [ClockChange(0, self.first_offset)]
        self._ship = ShipClock(self._changes)

    def instant(self, day: date, time_of_day: time | None) -> int:
        return self._ship.instant_of(day, time_of_day)

    def change(self, event: ClockEvent) -> int:
        at = self.instant(event.at_on, event.at_time)
        self._changes.append(ClockChange(at, event.offset_minutes))
        self._ship = ShipClock(self._changes)
        return at


class _Deeds:
    """Enters events as deeds."""

    def __init__(self, register: Register, clock: _Clock) -> None:
        self._register = register
        self._clock = clock
        self._navigator = chief().code
        with register.reading() as connection:
            view = View(EVERYTHING, EVERYTHING, date.max)
            self._meters = {row.code: Meter(row.unit, row.reads) for row in counters(connection, view)}

    def enter(self, event: Event) -> None:
        if isinstance(event, ClockEvent):
            at = self._clock.change(event)
            change_clock(self._register, at, event.offset_minutes, Signer(self._navigator, at))
            return
        signer = Signer(event.by, self._clock.instant(event.recorded_on, event.recorded_time))
        if isinstance(event, RoundEvent):
            self._round(event, signer)
        elif isinstance(event, ReportEvent):
            self._report(event, signer)
        else:
            self._correct(event, signer)

    def _round(self, event: RoundEvent, signer: Signer) -> None:
        noon = self._clock.instant(event.recorded_on, None)
        lines = [RoundLine(code, format_count(dial, self._meters[code]), noon) for code, dial in event.lines]
        record_round(self._register, lines, signer, tell=False)

    def _report(self, event: ReportEvent, signer: Signer) -> None:
        typed = {} if event.count is None else {"h": format_count(event.count, Meter(reads="h:min"))}
        command = ReportWork(
            event.job, event.done_on, event.done_time, event.units, typed,
            condition=event.condition, remarks=event.remarks, again=True,
        )  # fmt: skip
        report_work(self._register, command, signer, tell=False)

    def _correct(self, event: CorrectionEvent, signer: Signer) -> None:
        rows = readings_history(self._register, Asked(signer.at), event.counter).rows
        wrong = next(row for row in rows if row.read_on == event.read_on and row.version == "accepted")
        value = format_count(event.dial, self._meters[event.counter])
        amend_reading(self._register, AmendReading(wrong.number, "value", event.reason, value), signer)
