"""The form that corrects or strikes a report: what stands in it is what was signed; what is changed is corrected."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, ClassVar

from pmsched.domain.counts import HOURS, format_amount
from pmsched.domain.plain import check_text
from pmsched.domain.words import named
from pmsched.exchange.dates import read_time
from pmsched.tui import typed_values
from pmsched.tui.screens.amend_form import AmendForm, Deed
from pmsched.tui.screens.form import Entry
from pmsched.tui.words import listed

if TYPE_CHECKING:
    from pmsched.tui.keeping import Keeper
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.correct_report import CorrectReport

_CORRECT, _STRIKE = "put right what is changed below", "strike it: the report is void"


class CorrectForm(AmendForm):
    """The form.

    Args:
        row: the report as it stands.
        conditions: the grades to choose from.
        today: the ship's date.
        deed: what a ``CorrectReport`` would touch, and doing it.
        keeper: keeps the draft.
    """

    FAULTS: ClassVar[Mapping[str, str]] = {"done-in-future": "done_on", "unknown-condition": "condition"}

    def __init__(
        self, row: HistoryRow, conditions: tuple[str, ...], today: date, deed: Deed, keeper: Keeper | None = None
    ) -> None:
        self.row = row
        self.conditions = conditions
        self.today = today
        self.counted = {f"count{n}": count.unit for n, count in enumerate(row.counts)}
        said = f"{row.version}; signed {row.signer} as {row.signed_as} on {row.recorded_on}, entry {row.entry_no}"
        title = f"Report {row.number}: {named(row.job, row.unit)} {row.title}"
        super().__init__(title, (said,), _entries(row, conditions), deed, keeper)

    def entered(self, name: str) -> None:
        """A choice made by its number is written out."""
        if name in {"act", "condition"} and (said := self.value(name, self._act if name == "act" else self._condition)):
            self.field(name).value = said

    def _act(self, text: str) -> str:
        return typed_values.one_of(text, (_CORRECT, _STRIKE))

    def _condition(self, text: str) -> str:
        return typed_values.one_of(text, self.conditions)

    def read(self) -> CorrectReport:
        """The correction typed; what was not changed is left out of it."""
        from pmsched.usecases.correct_report import CorrectReport  # noqa: PLC0415 - the database answered already

        if self.value("act", self._act) == _STRIKE:
            return CorrectReport(self.row.number, self.reason(), strike=True)
        changed = self.changed()
        # A date corrected alone would lose the time, so the two are always given together.
        moved = bool(changed.keys() & {"done_on", "done_time"})
        done_on = self.value("done_on", lambda text: typed_values.day(text, self.today))
        done_time = self.value("done_time", read_time)
        counts = {unit: said for name, unit in self.counted.items() if (said := self._count(name, unit))}
        condition = self.value("condition", self._condition) or ""
        return CorrectReport(
            self.row.number, self.reason(),
            done_on=(done_on or self.row.done_on) if moved else None,
            done_time=done_time if moved else None,
            counts=counts,
            done_by=self._text("done_by") if "done_by" in changed else None,
            condition=condition if "condition" in changed else None,
            remarks=self._text("remarks") if "remarks" in changed else None,
        )  # fmt: skip

    def _count(self, name: str, unit: str) -> str | None:
        found: str | None = self.value(name, lambda text: typed_values.count(text, unit))
        return found

    def _text(self, name: str) -> str:
        return self.value(name, check_text) or ""


def _entries(row: HistoryRow, conditions: tuple[str, ...]) -> list[Entry]:
    hour = typed_values.shown_time(row.done_at, row.offset_minutes)[-5:] if row.time_stated else ""
    counts = [
        Entry(
            f"count{n}", "Running hours" if count.unit == HOURS else count.unit.capitalize(), "",
            listed((format_amount(count.total, count.unit), count.basis), ", "),
            "Empty leaves it, or reads it off the readings again if the day changes. Type the true total if you know it.",
        )
        for n, count in enumerate(row.counts)
    ]  # fmt: skip
    return [
        Entry("act", "What is so", _CORRECT, _CORRECT, typed_values.numbered((_CORRECT, _STRIKE))),
        Entry("done_on", "Done on", str(row.done_on), str(row.done_on), "The true ship's date of the work."),
        Entry("done_time", "Time", hour, "12:00 counts if empty", "Ship's time, such as 14:30, if it is known."),
        *counts,
        Entry("done_by", "Done by", row.done_by, "", "Who really did it."),
        Entry("condition", "Condition", row.condition, "not said", typed_values.numbered(conditions)),
        Entry("remarks", "Remarks", " ".join(row.remarks.splitlines()), "", "What the next engineer should know."),
    ]
