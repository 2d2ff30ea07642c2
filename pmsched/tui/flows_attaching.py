"""The way to attach photos and files to a report that was signed before; started from the Records."""

from __future__ import annotations

from typing import TYPE_CHECKING

from pmsched.tui.drafts import draft_for
from pmsched.tui.flows_signing import host_of, signed, telling
from pmsched.tui.gateway import new_request
from pmsched.tui.keeping import Keeper

if TYPE_CHECKING:
    from pmsched.tui.app import PmschedApp
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.attaching import Attach


def attach_to_report(app: PmschedApp, row: HistoryRow) -> None:
    """Attach files to the report of a line of the history."""
    signed(app, lambda: _attach(app, row))


def _attach(app: PmschedApp, row: HistoryRow) -> None:
    from pmsched.tui.screens.attach_form import AttachForm  # noqa: PLC0415 - not needed before the first paint

    gateway, request = app.gateway, new_request()

    def deed(command: Attach) -> str:
        result = gateway.attach(command, request)
        names = ", ".join(file.name for file in result.attached)
        said = f"Attached to report {result.report}: {names}; entry {result.receipt.no}" if result.receipt else ""
        return ". ".join((*filter(None, (said,)), *result.notes)) + "."

    def question() -> tuple[tuple[str, ...], Keeper]:
        keeper = Keeper(draft_for(gateway.target, f"attach {row.number}")).load()
        return tuple(one.name for one in gateway.attached(row.number)), keeper

    def show(answer: tuple[tuple[str, ...], Keeper]) -> None:
        app.push_screen(AttachForm(row, answer[0], deed, answer[1]), telling(app))

    host_of(app).ask("attach", question, show)
