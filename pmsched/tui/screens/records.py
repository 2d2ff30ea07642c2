"""Records: what was done, by whom, and was it in time? The auditor's desk."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar

from textual import on
from textual.app import ComposeResult
from textual.binding import BindingType
from textual.containers import Horizontal, VerticalScroll
from textual.widgets import Input, Static

from pmsched.domain.words import some
from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.list_paper import list_paper
from pmsched.tui.safe_text import shown as plainly
from pmsched.tui.screens import records_asked as asked
from pmsched.tui.screens.base import HouseScreen
from pmsched.tui.screens.fields import FieldsForm
from pmsched.tui.screens.records_lines import told
from pmsched.tui.screens.records_shown import Shown, ShownDue, ShownHistory
from pmsched.tui.widgets.lines import Lines
from pmsched.tui.widgets.search_line import LinesUnderSearch, SearchLine
from pmsched.tui.words import listed

if TYPE_CHECKING:
    from pathlib import Path

    from pmsched.domain.errors import Refusal
    from pmsched.tui.page import Paper
    from pmsched.usecases.ask_due import DueList
    from pmsched.usecases.ask_history import History, HistoryRow

_NOTICE_SECONDS = 20


class RecordsScreen(HouseScreen):
    """The history, newest first, with every correction; or the due list; both as known now or on a past day."""

    BINDINGS: ClassVar[list[BindingType]] = [*bindings_of("records")]
    path = "Records"
    places = ("everywhere", "lists", "records")
    pages = ("records", "history", "export", "correct", "attach", "facts", "screens")
    about = """\
This list answers: what was done, by whom, and was it in time?
The newest is on top. late and early are told against the limits of that day.
A corrected or struck version stays in the list, marked; reasons stand below.
/ searches by machine, job, person, words and days; empty fields mean any.
k shows what was known on a past day, or by an entry: the top line says so
until k is pressed again and the field left empty.
l changes to the due list as it was known then, and back. There / narrows it.
e writes all of what is shown to a file: .csv, .xlsx or .jsonl by its name.
v corrects the chosen report; a attaches a photo or file to it.
Below: all of the chosen version, others beside it. Tab goes there to scroll."""

    def __init__(self) -> None:
        super().__init__()
        self.wanted: Mapping[str, Any] | None = None
        self.known_on: str | None = None
        self.shows_due = False
        self.typed: dict[str, str] = {}
        self.written = ""
        self._shown: Shown | None = None
        self._due: DueList | None = None

    def body(self) -> ComposeResult:
        """The search, the list, and below it what is said of the chosen line, other versions of it beside that."""
        yield SearchLine(id="search")
        yield LinesUnderSearch((), id="records")
        with Horizontal(id="told"):
            yield VerticalScroll(Static(id="chosen", markup=False))
            yield VerticalScroll(Static(id="versions", markup=False), id="beside")

    def on_mount(self) -> None:
        """The list has the keyboard first; the search stands above it."""
        self._show_beside("")
        self.focus_list()

    def load(self) -> None:
        """Ask for the list shown."""
        gateway, known_on = self.house.gateway, self.known_on
        if self.shows_due:
            self.ask("records", lambda: gateway.due_known_on(known_on), self.show_due, refused=self.failed)
        else:
            self.ask("records", self._history_question(), lambda found: self.show_history(*found), refused=self.failed)

    def _history_question(self) -> Callable[[], tuple[Mapping[str, Any], History]]:
        gateway, known_on, wanted = self.house.gateway, self.known_on, self.wanted

        def question() -> tuple[Mapping[str, Any], History]:
            from pmsched.usecases.ask_history import HistoryFilter  # noqa: PLC0415 - loads the database; in a thread

            search = wanted if wanted is not None else asked.last_months(gateway.header().today)
            return search, gateway.history(HistoryFilter(**search), known_on)

        return question

    def show_history(self, wanted: Mapping[str, Any], found: History) -> None:
        """Show the history found by a search."""
        if self.wanted is None:
            self.wanted = wanted
            self.typed = {name: str(value) for name, value in wanted.items()} | self.typed
        self._show(ShownHistory(wanted, found))

    def show_due(self, found: DueList) -> None:
        """Show the due list, narrowed by the words typed."""
        self._due = found
        self._show(ShownDue(found, self.words))

    def _show(self, shown: Shown) -> None:
        self._shown = shown
        if shown.header.known_on is None:
            self.house.know(shown.header.site, shown.header.offset_minutes, self.house.oldest_days)
        self.fill()

    def failed(self, refusal: Refusal) -> None:
        """A question was refused; nothing old is left standing."""
        self._shown = None
        self.path = "Records"
        self.show_top()
        self.query_one("#records", Lines).show([])
        super().failed(refusal)

    def filtered(self, words: str) -> None:
        """Narrow the due list to lines with these words."""
        self.words = words
        if self._shown is not None and self._shown.is_due and self._due is not None:
            self._show(ShownDue(self._due, words))

    def fill(self) -> None:
        """Lay out what is shown."""
        if self._shown is None:
            return
        known = self._shown.header.known_on
        self.path = f"KNOWN ON {known}, Records" if known else "Records"
        self.show_top()
        sheet = self._shown.sheet(self.size.width)
        self.query_one("#search", SearchLine).say(self._shown.above)
        self.query_one("#records", Lines).show(sheet.lines, sheet.columns)
        other = self.written or "l: due list" * (not self._shown.is_due)
        self.say(
            listed((sheet.summary, other, f"seal {self._shown.header.seal}")) if sheet.lines else self._shown.empty
        )

    def paper(self) -> Paper | None:
        """All of what is shown; below each doing who signed it, when and why, below each job why it is due."""
        if (shown := self._shown) is None:
            return None
        sheet = shown.sheet(0)
        return list_paper(
            "records", shown.title, sheet.columns, sheet.lines, shown.header.seal, lambda line: shown.below(line.key)
        )

    @on(Lines.Chosen, "#records")
    def _explain(self, event: Lines.Chosen) -> None:
        key = event.line.key if event.line else ""
        detail = self._shown.detail(key) if self._shown else ""
        self.query_one("#chosen", Static).update(plainly(detail, line_breaks=True))
        self._show_beside("")
        row = self._shown.report(key) if self._shown else None
        if row is not None and (row.reason or row.version != "in force"):
            self.ask("versions", self._versions_question(row), self._show_beside)

    def _versions_question(self, row: HistoryRow) -> Callable[[], str]:
        gateway, known_on = self.house.gateway, self._shown.header.known_on if self._shown else None

        def question() -> str:
            from pmsched.usecases.ask_history import HistoryFilter  # noqa: PLC0415 - loads the database; in a thread

            # The search may leave out the versions that a correction moved to another day or other words.
            every = gateway.history(HistoryFilter(job=row.job), known_on).rows
            others = {other.entry_no: other for other in every if other.number == row.number}
            # The title is the same, and stands beside them.
            texts = {no: told(other).partition("\n")[2] for no, other in others.items() if no != row.entry_no}
            return "\n\n".join(texts[no] for no in sorted(texts, reverse=True))

        return question

    def _show_beside(self, text: str) -> None:
        self.query_one("#beside").display = bool(text)
        self.query_one("#versions", Static).update(plainly(text, line_breaks=True))

    @on(Lines.Opened, "#records")
    def _open(self, event: Lines.Opened) -> None:
        if self._shown is not None:
            flows.open_job(self.house, self._shown.job(event.line.key))

    @on(SearchLine.Opened)
    def action_filter(self) -> None:
        """Search the history; in the due list: type to narrow it."""
        if self.shows_due:
            super().action_filter()
            return
        form = FieldsForm(
            "Search the history. Empty fields mean any.", asked.search_fields(self.house.gateway), self.typed
        )
        self.app.push_screen(form, self._search)

    def _search(self, wanted: Mapping[str, Any] | None) -> None:
        if wanted is not None:
            self.wanted, self.written = wanted, ""
            self.load()

    def action_known_on(self) -> None:
        """Ask for the day of which the knowledge is wanted; an empty field clears it."""
        typed = {"known": self.known_on or ""}
        form = FieldsForm(
            "Show what was known on a past day.", [asked.known_field(self.house.gateway)], typed, "show it"
        )
        self.app.push_screen(form, self._know_on)

    def _know_on(self, read: Mapping[str, Any] | None) -> None:
        if read is not None:
            self.known_on, self.written = read["known"], ""
            self.load()

    def action_other_list(self) -> None:
        """From the history to the due list as known then, and back."""
        self.shows_due, self.written = not self.shows_due, ""
        # Its words narrow the due list only; the line they stand on goes and comes with it.
        self.query_one("#filter", Input).display = self.shows_due and bool(self.words)
        self.focus_list()
        self.load()

    def action_export(self) -> None:
        """Ask for a file and write all of what is shown."""
        shown = self._shown
        if shown is None or not shown.found.rows:
            self.app.notify("Nothing is shown that could be written.", markup=False)
            return
        title = f"Write {some(len(shown.found.rows), 'row')} to a file."

        def ask(path: Path) -> None:
            form = FieldsForm(title, [asked.file_field()], {"file": str(path)}, "write")
            self.app.push_screen(form, lambda read: self._export(shown, read["file"]) if read else None)

        self.ask("name", lambda: asked.proposed_file(shown.header, shown.what, shown.days), ask)

    def _export(self, shown: Shown, path: Path) -> None:
        def done(rows: int) -> None:
            self.written = f"wrote {some(rows, 'row')}"
            text = f"{some(rows, 'row')} written to {path}, seal {shown.header.seal}."
            self.app.notify(text, markup=False, timeout=_NOTICE_SECONDS)
            self.fill()

        self.ask("export", lambda: self.house.gateway.export(shown.found, path, shown.narrowed), done, deed=True)

    def action_correct(self) -> None:
        """Correct or strike the chosen report, as it is known now."""
        if row := self._report_for("A correction is made"):
            flows.correct_report(self.house, row.number, row.job)

    def action_attach(self) -> None:
        """Attach photos or files to the chosen report, as it is known now."""
        if row := self._report_for("A file is attached"):
            flows.attach_to_report(self.house, row)

    def _report_for(self, deed: str) -> HistoryRow | None:
        """The report chosen for a deed; None where there is none, which is said."""
        line = self.query_one("#records", Lines).chosen
        row = self._shown.report(line.key) if line and self._shown else None
        if self.known_on is not None:
            self.app.notify(f"{deed} to what is known now: press k and leave the day empty.", markup=False)
        elif row and row.number:
            return row
        else:
            self.app.notify("Choose a report in the history first.", markup=False)
        return None
