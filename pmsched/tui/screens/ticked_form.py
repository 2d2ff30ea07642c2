"""Routine tests reported together: all done today, all good, except those taken out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any, ClassVar, NamedTuple

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.widgets import Static

from pmsched.domain.words import named, some
from pmsched.tui.actions import bindings_of
from pmsched.tui.keeping import Keeper
from pmsched.tui.safe_text import shown
from pmsched.tui.screens.form import DeedForm, Entry
from pmsched.tui.widgets.lines import Column, Line, Lines
from pmsched.tui.words import listed

if TYPE_CHECKING:
    from pmsched.usecases.ask_due import DueRow

_COLUMNS = (Column("report", 6), Column("job", 13), Column("title", 33), Column("said", 17))


class Ticked(NamedTuple):
    """What is to be reported: these units of this job done today."""

    rows: tuple[DueRow, ...]
    remarks: str

    @property
    def key(self) -> str:
        """The job."""
        return self.rows[0].job


class Outcome(NamedTuple):
    """What became of one of them: the entry's number, or why it was refused."""

    key: str
    entry: int
    refusal: str = ""


class TickedForm(DeedForm):
    """The form; it returns the outcomes.

    Args:
        rows: the ticked lines; units of one job are reported together.
        deed: reports a list of ``Ticked``, one entry each, and gives an outcome each; runs in a thread.
        keeper: keeps the draft.
    """

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("ticked")]
    path = "Report ticked"
    keys = "Enter or Space takes out, or back in | Tab remark | Esc close | F1 help"
    places = ("forms", "ticked", "moves")
    about = """\
The ticked tests, all reported done today by the one who signs.
Enter or Space on a line takes a test out, or puts it back.
One remark stands for all of them; leave it empty if there is nothing to say.
Below the list stand the cautions of the chosen test.
Ctrl+S, or . in the list, signs all of them; each becomes an entry of its own.
If one is refused, the others are kept, and the list says why it was refused."""

    def __init__(
        self, rows: Sequence[DueRow], deed: Callable[[Any], Sequence[Outcome]], keeper: Keeper | None = None
    ) -> None:
        self.jobs: dict[str, tuple[DueRow, ...]] = {}
        for row in rows:
            self.jobs[row.job] = (*self.jobs.get(row.job, ()), row)
        self.left_out: set[str] = set()
        self.outcomes: dict[str, Outcome] = {}
        remark = Entry(
            "remarks", "Remark for all", "", "all good, nothing to say", "One remark, kept with each of them."
        )
        super().__init__("Done today, all good, except those taken out", [remark], deed, keeper)

    def above(self) -> ComposeResult:
        """The tests, and the cautions of the chosen one."""
        yield Lines(_COLUMNS, id="ticked")
        yield Static(id="cautions", classes="caution", markup=False)

    def begin(self) -> None:
        """Show the tests; the keyboard is in the list."""
        self._fill()
        self.query_one(Lines).focus()

    def read(self) -> list[Ticked]:
        """The tests still ticked."""
        wanted = [rows for key, rows in self.jobs.items() if self._is_open(key)]
        if not wanted:
            self.fault("remarks", "No test is left to report. Esc closes the form.")
        return [Ticked(rows, self.typed("remarks")) for rows in wanted]

    def run_deed(self, command: Any) -> None:
        """As every form; it stays open if one of them was refused."""
        super().run_deed(command)
        self.say(f"Signing {some(len(command), 'report')} ...")

    def kept(self, result: Sequence[Outcome]) -> None:
        """Close with all outcomes; stay open if one of them is a refusal."""
        self.outcomes |= {outcome.key: outcome for outcome in result}
        refused = sum(bool(outcome.refusal) for outcome in result)
        if not refused:
            self.dismiss(tuple(self.outcomes.values()))
            return
        self._busy = False
        self._fill()
        lines = self.query_one(Lines)
        lines.choose(next(outcome.key for outcome in result if outcome.refusal))
        lines.focus()
        self.say(f"{some(refused, 'report')} refused, see the list; the others are kept. Esc closes the form.")

    def action_back(self) -> None:
        """Close the form; what was kept before a refusal is told."""
        if self.outcomes:
            self.dismiss(tuple(self.outcomes.values()))
        else:
            super().action_back()

    def action_untick(self) -> None:
        """Take the chosen test out, or put it back."""
        chosen = self.query_one(Lines).chosen
        if chosen and chosen.key not in self.outcomes:
            self.left_out ^= {chosen.key}
            self._fill()

    @on(Lines.Opened, "#ticked")
    def _untick(self) -> None:
        self.action_untick()

    @on(Lines.Chosen, "#ticked")
    def _caution(self, event: Lines.Chosen) -> None:
        key = event.line.key if event.line else ""
        outcome, rows = self.outcomes.get(key), self.jobs.get(key, ())
        said = f"CAUTION: {'; '.join(rows[0].cautions.splitlines())}" if rows and rows[0].cautions else ""
        self.query_one("#cautions", Static).update(
            shown(f"REFUSED: {outcome.refusal}" if outcome and outcome.refusal else said)
        )

        self.show_hint()

    def hint(self, name: str) -> str:
        """Of the list: the whole name of the chosen test."""
        chosen = self.query_one(Lines).chosen
        if name != "ticked" or chosen is None:
            return super().hint(name)
        row = self.jobs[chosen.key][0]
        return listed((f"{row.job} {row.title}", f"{row.machine} {row.machine_name}", row.left))

    def _is_open(self, key: str) -> bool:
        """Whether it is still to be reported; a refused one may be tried again."""
        outcome = self.outcomes.get(key)
        return key not in self.left_out and (outcome is None or bool(outcome.refusal))

    def _fill(self) -> None:
        self.query_one(Lines).show([self._line(key, rows) for key, rows in self.jobs.items()])

    def _line(self, key: str, rows: Sequence[DueRow]) -> Line:
        outcome = self.outcomes.get(key)
        if outcome is not None:
            said = "refused, see below" if outcome.refusal else f"entry {outcome.entry}"
        else:
            said = "left out" if key in self.left_out else rows[0].left
        mark = "yes" if self._is_open(key) else "no" if key in self.left_out else "done"
        units = ", ".join(row.unit for row in rows if row.unit)
        return Line(key, (mark, named(key, units), rows[0].title, said), "" if mark == "yes" else "quiet")
