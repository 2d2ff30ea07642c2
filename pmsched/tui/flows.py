"""Ways through several screens, started from any of them: open a job, report it, report ticked ones, print, get help.

Deeds run in threads through the screen or form in front; forms stay open until a deed is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any

from pmsched.domain.errors import Refusal
from pmsched.tui.drafts import draft_for, drafts_folder
from pmsched.tui.flows_amending import correct_reading as correct_reading  # noqa: PLC0414 - one door to all flows
from pmsched.tui.flows_amending import correct_report as correct_report  # noqa: PLC0414
from pmsched.tui.flows_amending import settle as settle  # noqa: PLC0414
from pmsched.tui.flows_amending import settle_reading as settle_reading  # noqa: PLC0414
from pmsched.tui.flows_attaching import attach_to_report as attach_to_report  # noqa: PLC0414
from pmsched.tui.flows_isolating import end_isolation as end_isolation  # noqa: PLC0414
from pmsched.tui.flows_isolating import isolate as isolate  # noqa: PLC0414
from pmsched.tui.flows_signing import NOTICE_SECONDS, host_of, telling
from pmsched.tui.flows_signing import choose_signer as choose_signer  # noqa: PLC0414
from pmsched.tui.flows_signing import know_signer as know_signer  # noqa: PLC0414
from pmsched.tui.flows_signing import signed as signed  # noqa: PLC0414
from pmsched.tui.gateway import Gateway, new_request

if TYPE_CHECKING:
    from pathlib import Path

    from pmsched.tui.app import PmschedApp
    from pmsched.tui.page import Paper
    from pmsched.tui.screens.ticked_form import Outcome, Ticked
    from pmsched.usecases.ask_due import DueRow
    from pmsched.usecases.report_work import ReportResult, ReportWork


def open_job(app: PmschedApp, job: str) -> None:
    """Open a job's card: cautions, why, steps, last doings."""
    from pmsched.tui.screens.job_card import JobCardScreen  # noqa: PLC0415 - not needed before the first paint

    app.push_screen(JobCardScreen(job, getattr(app.screen, "path", "")))


def report_job(app: PmschedApp, row: DueRow) -> None:
    """Report a job done: the unit of this line, or all of its units if the line names none."""
    signed(app, lambda: _report(app, row))


def _report(app: PmschedApp, row: DueRow) -> None:
    from pmsched.tui.keeping import Keeper  # noqa: PLC0415
    from pmsched.tui.screens.report_form import ReportForm, Sheet  # noqa: PLC0415

    gateway, today, request = app.gateway, app.today(), new_request()

    def question() -> tuple[Any, ...]:
        from pmsched.usecases.report_work import CONDITIONS  # noqa: PLC0415 - loads the database, here in a thread

        keeper = Keeper(draft_for(gateway.target, f"report {row.job}")).load()
        return gateway.why(row.job), gateway.offered(row.job, today), CONDITIONS, keeper

    def show(answer: tuple[Any, ...]) -> None:
        units, offers, conditions, keeper = answer
        sheet = Sheet(units, row.unit, offers, today, app.signer_name, conditions)
        deed = lambda command: _reported(gateway, command, request)  # noqa: E731 - named for the line below
        app.clear_notifications()
        app.push_screen(
            ReportForm(sheet, deed, lambda day, hour: gateway.offered(row.job, day, hour), keeper), telling(app)
        )

    host_of(app).ask("report", question, show)


def _reported(gateway: Gateway, command: ReportWork, request: str) -> str:
    result = gateway.report(command, request)
    now = [row for row in gateway.why(command.job) if not command.units or row.unit in command.units]
    return reported_text(result, now)


def reported_text(result: ReportResult, now: Sequence[DueRow]) -> str:
    """What is said after a report: the entry's number, when the job is due next, the totals kept, and notes."""
    from pmsched.domain.counts import format_amount  # noqa: PLC0415
    from pmsched.domain.words import due_text  # noqa: PLC0415

    row = min(now, key=lambda row: row.due_on or date.max)
    again = "already entered as" if result.receipt.repeated else "reported done,"
    due = due_text(row.due_on, expected=row.expected) or "no date"
    counts = [f"{format_amount(count.total, count.unit)} ({count.basis})" for count in result.counts]
    attached = ", ".join(file.name for file in result.attached)
    said = [f"{row.job} {again} entry {result.receipt.no}", f"Next due {due}, {row.left}"]
    kept = [f"Kept: {', '.join(counts)}"] if counts else []
    return ". ".join((*said, *kept, *([f"Attached: {attached}"] if attached else []), *result.notes)) + "."


def report_ticked(app: PmschedApp, rows: Sequence[DueRow], kept: Callable[[set[str]], None]) -> None:
    """Report several routine tests done at once, after one look; ``kept`` is told the jobs that were."""
    signed(app, lambda: _report_ticked(app, rows, kept))


def _report_ticked(app: PmschedApp, rows: Sequence[DueRow], kept: Callable[[set[str]], None]) -> None:
    from pmsched.tui.screens.ticked_form import TickedForm  # noqa: PLC0415

    gateway, today = app.gateway, app.today()
    requests = {row.job: new_request() for row in rows}

    def told(outcomes: Sequence[Outcome] | None) -> None:
        done = [outcome for outcome in outcomes or () if not outcome.refusal]
        if done:
            kept({outcome.key for outcome in done})
            listed = ", ".join(f"{outcome.key} (entry {outcome.entry})" for outcome in done)
            app.notify(f"Reported done: {listed}.", markup=False, timeout=NOTICE_SECONDS)

    app.push_screen(TickedForm(rows, lambda jobs: _all_reported(gateway, jobs, today, requests)), told)


def _all_reported(gateway: Gateway, jobs: Sequence[Ticked], today: date, requests: dict[str, str]) -> list[Outcome]:
    from pmsched.tui.screens.ticked_form import Outcome  # noqa: PLC0415
    from pmsched.usecases.report_work import ReportWork  # noqa: PLC0415

    outcomes = []
    for job in jobs:
        units = tuple(row.unit for row in job.rows if row.unit)
        try:
            result = gateway.report(ReportWork(job.key, today, units=units, remarks=job.remarks), requests[job.key])
        except Refusal as refusal:
            again = "Report it by itself if it was done twice." if refusal.code == "already-reported" else refusal.hint
            outcomes.append(Outcome(job.key, 0, f"{refusal.message} {again}".rstrip()))
        else:
            outcomes.append(Outcome(job.key, result.receipt.no))
    return outcomes


def print_page(app: PmschedApp, paper: Paper | None) -> None:
    """Write what is shown as a page of text into the folder for pages, and say where."""
    from pmsched.domain.clocks import format_offset  # noqa: PLC0415
    from pmsched.tui.page import Printed, page_text, write_page  # noqa: PLC0415

    if paper is None:
        app.notify("There is nothing to print here.", markup=False)
        return
    when = f"{app.now():%a %Y-%m-%d %H:%M} {format_offset(app.offset_minutes)}"
    printed = Printed(app.site, when, app.signer_name or app.gateway.signer)
    name = f"{paper.name}-{app.now():%Y-%m-%d-%H%M}"
    host_of(app).ask(
        "print",
        lambda: write_page(app.papers or _usual_folder(), name, page_text(paper, printed)),
        lambda path: app.notify(f"Page written: {path}", markup=False, timeout=NOTICE_SECONDS),
        deed=True,
    )


def _usual_folder() -> Path:
    """The user's documents, or where drafts lie if there is no such folder."""
    import platformdirs  # noqa: PLC0415 - only where something is printed

    documents = platformdirs.user_documents_path()
    return documents if documents.is_dir() else drafts_folder() / "pages"


def show_help(app: PmschedApp) -> None:
    """Explain the screen in front, its keys, and where more is written."""
    from pmsched.tui.screens.help import HelpScreen  # noqa: PLC0415

    if not isinstance(app.screen, HelpScreen):
        app.push_screen(HelpScreen.of(app))
