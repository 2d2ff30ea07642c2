"""Events as deeds: each simulated event is handed to the use case that a person would have used."""

from __future__ import annotations

import tempfile
from collections.abc import Mapping
from datetime import date, time
from pathlib import Path
from random import Random

from pmsched.domain.clocks import ClockChange, ShipClock
from pmsched.domain.counts import Meter, format_count
from pmsched.store.book import label_of
from pmsched.store.register import Register
from pmsched.usecases.amend_reading import AmendReading, amend_reading
from pmsched.usecases.ask_records import readings_history
from pmsched.usecases.change_clock import change_clock
from pmsched.usecases.correct_report import CorrectReport, correct_report
from pmsched.usecases.isolating import Isolate, isolate
from pmsched.usecases.load_register import load
from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked
from seeds_demo.catalogue import counters
from seeds_demo.events import (
    ClockEvent,
    CorrectionEvent,
    Event,
    Isolation,
    ReportCorrectionEvent,
    ReportEvent,
    RoundEvent,
    SheetEvent,
)
from seeds_demo.people import on_board
from seeds_demo.tables import readings_file
from seeds_demo.voyage import FIRST_OFFSET

_TYPED = Meter(reads="h:min")


class DemoClock:
    """The ship's clock as far as it has been entered."""

    def __init__(self) -> None:
        self._changes = [ClockChange(0, FIRST_OFFSET)]
        self._ship = ShipClock(self._changes)

    def instant(self, day: date, time_of_day: time | None) -> int:
        """The instant of a ship's date and time, UTC epoch seconds; noon without a time."""
        return self._ship.instant_of(day, time_of_day)

    def change(self, event: ClockEvent) -> int:
        """Take the change into account; its instant."""
        at = self.instant(event.at_on, event.at_time)
        self._changes.append(ClockChange(at, event.offset_minutes))
        self._ship = ShipClock(self._changes)
        return at


class Deeds:
    """Enters events as deeds.

    Args:
        register: the open register, filled with the files of the history.
        clock: the ship's clock so far.
        start: the first day of the history.
    """

    def __init__(self, register: Register, clock: DemoClock, start: date) -> None:
        self._register = register
        self._clock = clock
        self._start = start
        self._reports: dict[tuple[str, date], int] = {}

    def enter(self, event: Event) -> None:
        """Do what the event says, signed by whom and recorded when it says."""
        if isinstance(event, ClockEvent):
            self._change_clock(event)
            return
        if isinstance(event, Isolation):
            self._isolate(event)
            return
        signer = Signer(event.by, self._clock.instant(event.recorded_on, event.recorded_time))
        if isinstance(event, RoundEvent):
            self._round(event, signer)
        elif isinstance(event, SheetEvent):
            load_texts(self._register, {"readings.csv": readings_file(event.rounds)}, signer)
        elif isinstance(event, ReportEvent):
            self._report(event, signer)
        elif isinstance(event, ReportCorrectionEvent):
            self._correct_report(event, signer)
        else:
            self._correct(event, signer)

    def _change_clock(self, event: ClockEvent) -> None:
        at = self._clock.change(event)
        mate = on_board("Second mate", (event.at_on - self._start).days, Random(0))
        change_clock(self._register, at, event.offset_minutes, Signer(mate.code, at))

    def _isolate(self, event: Isolation) -> None:
        at = self._clock.instant(event.since_on, event.since_time)
        isolate(self._register, Isolate(event.machine, event.why, tag=event.tag), Signer(event.by, at))

    def _round(self, event: RoundEvent, signer: Signer) -> None:
        noon = self._clock.instant(event.recorded_on, None)
        lines = [RoundLine(code, format_count(dial, counters()[code].meter), noon) for code, dial in event.lines]
        record_round(self._register, lines, signer, tell=False)

    def _report(self, event: ReportEvent, signer: Signer) -> None:
        typed = {} if event.count is None else {"h": format_count(event.count, _TYPED)}
        command = ReportWork(
            event.job, event.done_on, event.done_time, event.units, typed, event.done_by,
            condition=event.condition, remarks=event.remarks, again=True,
        )  # fmt: skip
        done = report_work(self._register, command, signer, tell=False)
        self._reports[event.job, event.done_on] = done.report_id

    def _correct_report(self, event: ReportCorrectionEvent, signer: Signer) -> None:
        report = label_of(self._reports[event.job, event.done_on])
        command = CorrectReport(report, event.reason, strike=True)
        if event.condition is not None:
            command = CorrectReport(report, event.reason, condition=event.condition, remarks=event.remarks)
        correct_report(self._register, command, signer)

    def _correct(self, event: CorrectionEvent, signer: Signer) -> None:
        rows = readings_history(self._register, Asked(signer.at), event.counter).rows
        wrong = next(row for row in rows if row.read_on == event.read_on and row.version == "accepted")
        value = format_count(event.dial, counters()[event.counter].meter)
        amend_reading(self._register, AmendReading(wrong.number, "value", event.reason, value), signer)


def load_texts(register: Register, files: Mapping[str, str], signer: Signer) -> None:
    """Load files that exist only as texts (file name to CSV)."""
    with tempfile.TemporaryDirectory(prefix="demo-files-") as folder:
        for name, text in files.items():
            (Path(folder) / name).write_text(text, encoding="utf-8")
        load(register, [Path(folder)], signer)
