"""Ways to settle a held reading and to correct what was signed: look, type, see all it touches, sign."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Any

from pmsched.domain.counts import Meter, format_count
from pmsched.domain.errors import NotFound
from pmsched.tui.drafts import draft_for
from pmsched.tui.flows_signing import host_of, signed, telling
from pmsched.tui.gateway import Gateway, new_request
from pmsched.tui.keeping import Keeper

if TYPE_CHECKING:
    from textual.screen import Screen

    from pmsched.tui.app import PmschedApp
    from pmsched.tui.screens.amend_form import Deed
    from pmsched.usecases.amend_reading import AmendReading, AmendResult, HeldReading
    from pmsched.usecases.ask_history import HistoryRow
    from pmsched.usecases.ask_records import ReadingRow
    from pmsched.usecases.correct_report import CorrectReport


def settle(app: PmschedApp) -> None:
    """Open the list of the readings that are held."""
    from pmsched.tui.screens.settle import SettleScreen  # noqa: PLC0415 - not needed before the first paint

    app.push_screen(SettleScreen(getattr(app.screen, "path", "")))


def settle_reading(app: PmschedApp, held: HeldReading) -> None:
    """Say what is to become of one held reading."""
    from pmsched.tui.screens.settle import HELD_CHOICES, ReadingForm, reading_text, said_of  # noqa: PLC0415

    meant = [suggestion.dial for suggestion in held.judgement.suggestions if suggestion.dial is not None]
    value = format_count(meant[0], held.meter) if meant else ""
    said = (reading_text(held.read_at, held.offset_minutes, held.dial, held.meter), *said_of(held))

    def form(keeper: Keeper) -> ReadingForm:
        deed = _reading_deed(app.gateway)
        return ReadingForm(held.number, held.counter, said, value, HELD_CHOICES, deed, keeper)

    _amend(app, f"settle {held.number}", lambda: None, lambda _, keeper: form(keeper))


def correct_reading(app: PmschedApp, number: str, counter: str) -> None:
    """Correct or strike an accepted reading, by its number and the code of its counter."""
    from pmsched.tui.screens.settle import ACCEPTED_CHOICES, HELD_CHOICES, ReadingForm, reading_text  # noqa: PLC0415

    def question() -> tuple[Meter, ReadingRow]:
        found = app.gateway.readings(counter)
        return found.meter, _newest([row for row in found.rows if row.number == number], "reading", number)

    def form(answer: tuple[Meter, ReadingRow], keeper: Keeper) -> ReadingForm:
        meter, row = answer
        read = reading_text(row.read_at, row.offset_minutes, row.dial, meter)
        said = (f"{read}; {row.version}; signed {row.signer} as {row.signed_as}",)
        choices = HELD_CHOICES if row.version == "held" else ACCEPTED_CHOICES
        value = format_count(row.dial, meter)
        return ReadingForm(number, counter, said, value, choices, _reading_deed(app.gateway), keeper)

    _amend(app, f"reading {number}", question, form)


def correct_report(app: PmschedApp, number: str, job: str) -> None:
    """Correct or strike a report, by its number and the code of its job."""
    from pmsched.tui.screens.correct_form import CorrectForm  # noqa: PLC0415

    def question() -> HistoryRow:
        from pmsched.usecases.ask_history import HistoryFilter  # noqa: PLC0415 - loads the database, here in a thread

        found = app.gateway.history(HistoryFilter(job=job))
        newest: HistoryRow = _newest([row for row in found.rows if row.number == number], "report", number)
        return newest

    def form(row: HistoryRow, keeper: Keeper) -> CorrectForm:
        from pmsched.usecases.report_work import CONDITIONS  # noqa: PLC0415

        return CorrectForm(row, CONDITIONS, app.today(), _report_deed(app.gateway), keeper)

    _amend(app, f"correct {number}", question, form)


def _amend(
    app: PmschedApp, draft: str, question: Callable[[], Any], form: Callable[[Any, Keeper], Screen[Any]]
) -> None:
    """Ask who signs if need be, ask for what is to be corrected, open the form, and tell what came of it."""
    host = host_of(app)

    def show(answer: tuple[Any, Keeper]) -> None:
        app.push_screen(form(*answer), telling(app))

    def ask() -> None:
        keeper = Keeper(draft_for(app.gateway.target, draft))
        host.ask("amend", lambda: (question(), keeper.load()), show)

    signed(app, ask)


def _newest(rows: Sequence[Any], what: str, number: str) -> Any:
    """The version of it signed last. Raises NotFound if there is none."""
    if not rows:
        raise NotFound(f"unknown-{what}", f"There is no {what} {number} any more.", "Press u to read the list again.")
    return max(rows, key=lambda row: row.entry_no)


def _reading_deed(gateway: Gateway) -> Deed:
    from pmsched.tui.screens.amend_form import Deed  # noqa: PLC0415

    request = new_request()

    def rehearse(command: AmendReading) -> list[str]:
        from pmsched.usecases.touched_words import touched_lines  # noqa: PLC0415

        result = gateway.amend_reading(command, request, rehearse=True)
        return [f"Reading of {result.counter}: {_became(result)}", *touched_lines(result.touched)]

    def keep(command: AmendReading) -> str:
        result = gateway.amend_reading(command, request)
        return f"Reading of {result.counter}: {_became(result)}; entry {result.receipt.no}."

    return Deed(rehearse, keep)


def _became(result: AmendResult) -> str:
    before = f"{format_count(result.before, result.meter)} {result.meter.unit}"
    if result.after is None:
        return f"{before} struck"
    if result.after == result.before:
        return f"{before} confirmed"
    return f"{before} -> {format_count(result.after, result.meter)} {result.meter.unit}"


def _report_deed(gateway: Gateway) -> Deed:
    from pmsched.tui.screens.amend_form import Deed  # noqa: PLC0415

    request = new_request()

    def rehearse(command: CorrectReport) -> list[str]:
        from pmsched.usecases.touched_words import touched_lines  # noqa: PLC0415

        result = gateway.correct_report(command, request, rehearse=True)
        act = "struck" if command.strike else "corrected"
        return [f"Report {command.report} of {result.job} {act}", *touched_lines(result.touched)]

    def keep(command: CorrectReport) -> str:
        result = gateway.correct_report(command, request)
        act = "struck" if command.strike else "corrected"
        return f"Report {command.report} of {result.job} {act}; entry {result.receipt.no}."

    return Deed(rehearse, keep)
