"""The form that attaches photos and files to a report that was signed before."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import ComposeResult
from textual.widgets import Static

from pmsched.tui.safe_text import shown
from pmsched.tui.screens.form import DeedForm, Entry
from pmsched.tui.typed_files import FILE_REFUSALS, FILES_HINT, typed_files
from pmsched.tui.words import entitled

if TYPE_CHECKING:
    from pmsched.tui.keeping import Keeper
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.attaching import Attach


class AttachForm(DeedForm):
    """One field: the files.

    Args:
        row: the report, as it stands in the history.
        names: of what is attached to it already.
        deed: keeps an ``Attach``.
        keeper: keeps the draft.
    """

    FAULTS: ClassVar[Mapping[str, str]] = dict.fromkeys(FILE_REFUSALS, "files")
    pages = ("attach",)

    def __init__(
        self, row: HistoryRow, names: Sequence[str], deed: Callable[[Any], Any], keeper: Keeper | None = None
    ) -> None:
        self.row, self.names = row, names
        title = f"Attach to report {row.number}: {entitled(row.job, '', row.title)}, done {row.done_on}"
        super().__init__(title, [Entry("files", "Photo or file", "", "always needed", FILES_HINT)], deed, keeper)

    def above(self) -> ComposeResult:
        """What is attached already."""
        yield Static(shown(f"Attached already: {'; '.join(self.names) or 'nothing'}"), classes="note", markup=False)

    def read(self) -> Attach:
        """The files typed."""
        from pmsched.usecases.attaching import Attach  # noqa: PLC0415 - the database answered already

        return Attach(self.row.number, self.value("files", typed_files) or ())
