"""The report of one job: when, which units, at what running total, by whom, in what condition."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, time
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

from pmsched.domain.counts import HOURS, format_amount
from pmsched.exchange.dates import read_time
from pmsched.tui import typed_values
from pmsched.tui.keeping import Keeper
from pmsched.tui.screens.form import DeedForm, Entry
from pmsched.tui.typed_files import FILE_REFUSALS, FILES_HINT, typed_files

if TYPE_CHECKING:
    from pmsched.domain.errors import Refusal
    from pmsched.usecases.ask_due import DueRow
    from pmsched.usecases.report_work import CountKept, ReportWork

Offers = Callable[[date, "time | None"], Any]


class Sheet(NamedTuple):
    """What the form is about.

    Attributes:
        units: every unit of the job as it stands; one line for a job without units.
        unit: the unit chosen in the list; empty for all of them.
        offers: the totals that would be kept today.
        today: the ship's date.
        signer: who signs, in words.
        conditions: the grades to choose from.
    """

    units: tuple[DueRow, ...]
    unit: str
    offers: tuple[CountKept, ...]
    today: date
    signer: str
    conditions: tuple[str, ...]


class ReportForm(DeedForm):
    """The form; it returns what the deed gave.

    Args:
        sheet: what it is about.
        deed: keeps a ``ReportWork``; runs in a thread.
        offered: gives the totals of another day and time; runs in a thread.
        keeper: keeps the draft.
    """

    FAULTS: ClassVar[Mapping[str, str]] = {
        "done-in-future": "done_on",
        "unknown-unit": "units",
        "unknown-condition": "condition",
        "already-reported": "again",
        **dict.fromkeys(FILE_REFUSALS, "attach"),
    }
    path = "Report done"
    pages = ("report", "attach")
    about = """\
Report work done. What counts is the day it was DONE, not the day of the
report. Enter goes to the next field. Ctrl+S signs from any field, so a job
with nothing to say needs no more than that.
Running hours are read off the readings; type them if you know them better.
Name the units you did; the others keep their dates.
Condition: type its number. Remarks are what the next engineer reads.
Attach takes the path of a photo or file; it is kept with the report.
Esc closes the form; what was typed is there again the next time.
A wrong report is never changed, but corrected later with a reason."""

    def __init__(self, sheet: Sheet, deed: Callable[[Any], Any], offered: Offers, keeper: Keeper) -> None:
        row = sheet.units[0]
        self.sheet = sheet
        self.offered = offered
        self.counted = {f"count{n}": offer.unit for n, offer in enumerate(sheet.offers)}
        super().__init__(
            f"Report done: {row.job} {row.title} ({row.machine} {row.machine_name})",
            _entries(sheet), deed, keeper, row.cautions,
        )  # fmt: skip

    def on_mount(self) -> None:
        """The question whether it was done twice comes only when it arises."""
        self.query_one("#row-again").display = False

    def entered(self, name: str) -> None:
        """Another day or time offers other totals; a condition is written out."""
        if name in {"done_on", "done_time"}:
            self._offer_again()
        elif name == "condition" and (said := self.value(name, self._condition)):
            self.field(name).value = said

    def read(self) -> ReportWork:
        """The report typed."""
        from pmsched.usecases.report_work import ReportWork  # noqa: PLC0415 - loads the database, which answered already

        counts = {
            unit: said
            for name, unit in self.counted.items()
            if (said := self.value(name, lambda text, unit=unit: typed_values.count(text, unit)))  # type: ignore[misc]
        }
        return ReportWork(
            self.sheet.units[0].job,
            self.value("done_on", self._day) or self.sheet.today,
            self.value("done_time", read_time),
            self._units(),
            counts,
            self.typed("done_by"),
            self.value("condition", self._condition) or "",
            self.typed("remarks"),
            typed_values.is_yes(self.typed("again")),
            self.value("attach", typed_files) or (),
        )

    def refused(self, refusal: Refusal) -> None:
        """As every form; a second report for one day is asked about."""
        if refusal.code == "already-reported":
            self.query_one("#row-again").display = True
            refusal.hint = "Type yes if it was done twice that day; else put the date right, or Esc."
        super().refused(refusal)

    def _offer_again(self) -> None:
        done_on, done_time = self.value("done_on", self._day), self.value("done_time", read_time)
        if done_on is not None:
            self.ask("offer", lambda: self.offered(done_on, done_time), self._show_offers, refused=self.refused)

    def _show_offers(self, offers: Sequence[CountKept]) -> None:
        by_unit = {offer.unit: offer for offer in offers}
        for name, unit in self.counted.items():
            self.field(name).placeholder = offer_text(by_unit[unit]) if unit in by_unit else ""

    def _day(self, text: str) -> date:
        return typed_values.day(text, self.sheet.today)

    def _condition(self, text: str) -> str:
        return typed_values.one_of(text, self.sheet.conditions)

    def _units(self) -> tuple[str, ...]:
        known = [row.unit for row in self.sheet.units if row.unit]
        return (self.value("units", lambda text: typed_values.units(text, known)) or ()) if known else ()


def offer_text(offer: CountKept) -> str:
    """An offered total with its basis: '12 600 h, from a reading'."""
    return f"{format_amount(offer.total, offer.unit)}, {offer.basis}"


def _entries(sheet: Sheet) -> list[Entry]:
    known = [row.unit for row in sheet.units if row.unit]
    entries = [
        Entry("done_on", "Done on", str(sheet.today), "today", "The ship's date of the work; -1 for yesterday."),
        Entry("done_time", "Time", "", "12:00 counts if empty", "Ship's time, such as 14:30, if it is known."),
    ]
    if known:
        hint = f"The units done, such as {known[0]}. Units: {'; '.join(known)}."
        entries.append(Entry("units", "Units done", sheet.unit, "all of them", hint))
    for n, offer in enumerate(sheet.offers):
        label = "Running hours" if offer.unit == HOURS else offer.unit.capitalize()
        hint = "Empty keeps what is offered. Type the true total of that moment if you know it."
        entries.append(Entry(f"count{n}", label, "", offer_text(offer), hint))
    return [
        *entries,
        Entry("done_by", "Done by", "", sheet.signer, "Who did it, if not the one who signs."),
        Entry("condition", "Condition", "", "not said", typed_values.numbered(sheet.conditions)),
        Entry("remarks", "Remarks", "", "nothing to say", "What the next engineer should know."),
        Entry("attach", "Attach", "", "no photo, no file", FILES_HINT),
        Entry("again", "Twice that day?", "", "type yes", "It is reported for that day already."),
    ]
