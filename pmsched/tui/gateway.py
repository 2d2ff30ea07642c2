"""The screens' only door to the use cases. Called in thread workers only, so the database is loaded behind the first paint.

Every method runs one use case, in one transaction, and returns frozen values. Nothing here knows a widget.
"""

from __future__ import annotations

import uuid
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from pmsched.domain.errors import RegisterUnusable

if TYPE_CHECKING:
    from datetime import date, time

    from pmsched.domain.clocks import ShipClock
    from pmsched.store.book import Receipt
    from pmsched.store.register import Register
    from pmsched.usecases.amend_reading import AmendReading, AmendResult, HeldReading
    from pmsched.usecases.ask_attachments import AttachmentRow
    from pmsched.usecases.ask_due import DueList, DueRow, Header
    from pmsched.usecases.ask_history import History, HistoryFilter
    from pmsched.usecases.ask_job import JobCard
    from pmsched.usecases.ask_machines import MachineCard, MachineList
    from pmsched.usecases.ask_people import PersonRow
    from pmsched.usecases.ask_records import ReadingHistory
    from pmsched.usecases.ask_round import SheetLine
    from pmsched.usecases.ask_watch import Watch
    from pmsched.usecases.attaching import Attach, AttachResult
    from pmsched.usecases.correct_report import CorrectReport, CorrectResult
    from pmsched.usecases.isolating import EndIsolation, Isolate
    from pmsched.usecases.record_round import LineResult, RoundLine, RoundResult
    from pmsched.usecases.report_work import CountKept, ReportResult, ReportWork
    from pmsched.usecases.signing import Signer
    from pmsched.usecases.views import Asked


@dataclass
class Gateway:
    """One open register, a clock, and who signs.

    Attributes:
        target: file or URL of the register.
        now: the clock, in UTC epoch seconds.
        signer: code of the person who signs; empty until somebody is chosen.
        acting: the rank they act in, if not their own.
    """

    target: str
    now: Callable[[], int]
    signer: str = ""
    acting: str | None = None
    _register: Register | None = None
    _opening: Lock = field(default_factory=Lock)

    def watch(self, reach: str, department: str | None) -> Watch:
        """What must be done before the watch ends, or further ahead."""
        from pmsched.usecases.ask_watch import watch  # noqa: PLC0415 - loads the database; see the module

        return watch(self._open(), self._asked(), reach, department)

    def why(self, job: str) -> tuple[DueRow, ...]:
        """Every unit of a job with the sum behind its date."""
        from pmsched.usecases.ask_due import why  # noqa: PLC0415

        return why(self._open(), self._asked(), job)

    def job_card(self, job: str) -> JobCard:
        """Everything about one job."""
        from pmsched.usecases.ask_job import job_card  # noqa: PLC0415

        return job_card(self._open(), self._asked(), job)

    def offered(self, job: str, done_on: date, done_time: time | None = None) -> tuple[CountKept, ...]:
        """The running totals that would be kept with work done then."""
        from pmsched.usecases.ask_offer import offered  # noqa: PLC0415

        return offered(self._open(), self._asked(), job, done_on, done_time)

    def people(self) -> tuple[PersonRow, ...]:
        """The people who may sign."""
        from pmsched.usecases.ask_people import people_list  # noqa: PLC0415

        return people_list(self._open(), self._asked())[1]

    def machines(self, words: str) -> MachineList:
        """The machines, or those found by any of their names."""
        from pmsched.usecases.ask_machines import machine_list  # noqa: PLC0415

        return machine_list(self._open(), self._asked(), words)

    def machine(self, code: str) -> MachineCard:
        """A machine's card."""
        from pmsched.usecases.ask_machines import machine_card  # noqa: PLC0415

        return machine_card(self._open(), self._asked(), code)

    def history(self, wanted: HistoryFilter, known_on: str | None = None) -> History:
        """What was done, with every correction showing."""
        from pmsched.usecases.ask_history import history  # noqa: PLC0415

        return history(self._open(), self._asked(known_on), wanted)

    def header(self, known_on: str | None = None) -> Header:
        """Site, ship's date and seal, as known now or then."""
        from pmsched.usecases.ask_due import header_of  # noqa: PLC0415

        return header_of(self._open(), self._asked(known_on))

    def due_known_on(self, known_on: str | None) -> DueList:
        """Every job as it stood, by what was known then; None for now."""
        from pmsched.usecases.ask_due import DueFilter, due_list  # noqa: PLC0415

        return due_list(self._open(), self._asked(known_on), DueFilter(within_days=None))

    def export(self, found: History | DueList, path: Path, narrowed: Mapping[str, Any]) -> int:
        """Write what was found as a file, whole or not at all; how many rows were written.

        Args:
            found: what is shown.
            path: where to; the ending of its name says the format.
            narrowed: what it was searched by.
        """
        from pmsched.exchange.export_files import format_of, write_export_file  # noqa: PLC0415
        from pmsched.usecases.export_list import export_found  # noqa: PLC0415
        from pmsched.usecases.export_sources import Narrowed  # noqa: PLC0415

        asked = self._asked(found.header.known_on)
        export = export_found(self._open(), asked, found, Narrowed(**narrowed), self.signer)
        write_export_file(path, export, format_of(path.name))
        return export.ended().rows or 0

    def readings(self, counter: str) -> ReadingHistory:
        """The readings of a counter with every version."""
        from pmsched.usecases.ask_records import readings_history  # noqa: PLC0415

        return readings_history(self._open(), self._asked(), counter)

    def held(self) -> tuple[HeldReading, ...]:
        """The readings that wait to be settled."""
        from pmsched.usecases.amend_reading import held  # noqa: PLC0415

        return held(self._open(), self._asked())

    def round_sheet(self, at: int | None = None) -> tuple[SheetLine, ...]:
        """The counters in walking order, with what is expected of them now, or at another instant."""
        from pmsched.usecases.ask_round import round_sheet  # noqa: PLC0415

        asked = self._asked()
        return round_sheet(self._open(), asked if at is None else asked._replace(now=at))

    def ship_clock(self) -> ShipClock:
        """The ship's clock as known now."""
        from pmsched.usecases.views import ship_clock_of  # noqa: PLC0415

        return ship_clock_of(self._open())

    def judge(self, counter: str, value: str, read_at: int) -> LineResult:
        """What is said of a value while the round is still open."""
        from pmsched.usecases.ask_round import judge_value  # noqa: PLC0415

        return judge_value(self._open(), self._asked(), counter, value, read_at)

    def record_round(self, lines: Sequence[RoundLine], request: str, *, rehearse: bool = False) -> RoundResult:
        """Keep a round, or (rehearsed) see what it would move."""
        from pmsched.usecases.record_round import record_round  # noqa: PLC0415

        return record_round(self._open(), lines, self._signed(request), rehearse=rehearse)

    def report(self, command: ReportWork, request: str) -> ReportResult:
        """Keep a report of work."""
        from pmsched.usecases.report_work import report_work  # noqa: PLC0415

        return report_work(self._open(), command, self._signed(request))

    def amend_reading(self, command: AmendReading, request: str, *, rehearse: bool = False) -> AmendResult:
        """Settle, correct or strike a reading, or see what it would touch."""
        from pmsched.usecases.amend_reading import amend_reading  # noqa: PLC0415

        return amend_reading(self._open(), command, self._signed(request), rehearse=rehearse)

    def correct_report(self, command: CorrectReport, request: str, *, rehearse: bool = False) -> CorrectResult:
        """Correct or strike a report, or see what it would touch."""
        from pmsched.usecases.correct_report import correct_report  # noqa: PLC0415

        return correct_report(self._open(), command, self._signed(request), rehearse=rehearse)

    def attached(self, report: str) -> tuple[AttachmentRow, ...]:
        """What is attached to a report."""
        from pmsched.usecases.ask_attachments import attachment_list  # noqa: PLC0415

        return attachment_list(self._open(), self._asked(), report)[1]

    def attach(self, command: Attach, request: str) -> AttachResult:
        """Attach files to a report that was signed before."""
        from pmsched.usecases.attaching import attach  # noqa: PLC0415

        return attach(self._open(), command, self._signed(request))

    def isolate(self, command: Isolate, request: str) -> Receipt:
        """Keep that a machine must not be started."""
        from pmsched.usecases.isolating import isolate  # noqa: PLC0415

        return isolate(self._open(), command, self._signed(request))

    def end_isolation(self, command: EndIsolation, request: str) -> Receipt:
        """Keep that a machine is back in use."""
        from pmsched.usecases.isolating import end_isolation  # noqa: PLC0415

        return end_isolation(self._open(), command, self._signed(request))

    def check(self) -> None:
        """Whether there is a file to open at all, without loading the database. Raises RegisterUnusable."""
        if "://" not in self.target and not Path(self.target).exists():
            raise RegisterUnusable(
                "no-register",
                f"There is no register at {self.target}.",
                "Run: pmsched init. To look at an invented vessel: pmsched demo.",
            )

    def close(self) -> None:
        """Let the register go."""
        with self._opening:
            if self._register is not None:
                self._register.close()
                self._register = None

    def _open(self) -> Register:
        with self._opening:
            if self._register is None:
                from pmsched.store.register import Register  # noqa: PLC0415

                self._register = Register(self.target)
            return self._register

    def _asked(self, known_on: str | None = None) -> Asked:
        from pmsched.usecases.views import Asked  # noqa: PLC0415

        return Asked(self.now(), None, known_on)

    def _signed(self, request: str) -> Signer:
        from pmsched.usecases.signing import Signer  # noqa: PLC0415

        return Signer(self.signer, self.now(), self.acting, request)


def new_request() -> str:
    """A name for an attempt at a deed: pressed twice, it is done once."""
    return uuid.uuid4().hex
