"""Ways to say that a machine must not be started, and that it is back in use; started from the Watch or a machine's card."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from pmsched.tui.drafts import draft_for
from pmsched.tui.flows_signing import host_of, signed, telling
from pmsched.tui.gateway import new_request
from pmsched.tui.keeping import Keeper

if TYPE_CHECKING:
    from pmsched.tui.app import PmschedApp
    from pmsched.usecases.isolating import EndIsolation, Isolate


def isolate(app: PmschedApp, code: str, machine: str) -> None:
    """Say that a machine must not be started; ``machine`` is its code and name."""
    signed(app, lambda: _isolate(app, code, machine))


def end_isolation(app: PmschedApp, code: str, machine: str, number: str, said: str) -> None:
    """Say that a machine is back in use; ``number`` names the isolation that ends, ``said`` what is known of it."""
    signed(app, lambda: _end(app, code, machine, number, said))


def _isolate(app: PmschedApp, code: str, machine: str) -> None:
    from pmsched.tui.screens.isolate_form import IsolateForm  # noqa: PLC0415 - not needed before the first paint

    gateway, request, today = app.gateway, new_request(), app.today()

    def question() -> tuple[Any, ...]:
        from pmsched.usecases.isolating import KINDS  # noqa: PLC0415 - loads the database, here in a thread

        return KINDS, gateway.ship_clock(), Keeper(draft_for(gateway.target, f"isolate {code}")).load()

    def deed(command: Isolate) -> str:
        return f"{code}: {command.kind}, entry {gateway.isolate(command, request).no}."

    _ask(app, question, lambda kinds, clock, keeper: IsolateForm(machine, code, kinds, today, clock, deed, keeper))


def _end(app: PmschedApp, code: str, machine: str, number: str, said: str) -> None:
    from pmsched.tui.screens.isolate_form import BackForm  # noqa: PLC0415

    gateway, request = app.gateway, new_request()

    def question() -> tuple[Any, ...]:
        return gateway.ship_clock(), Keeper(draft_for(gateway.target, f"end isolation {number}")).load()

    def deed(command: EndIsolation) -> str:
        return f"{code}: back in use, entry {gateway.end_isolation(command, request).no}."

    _ask(app, question, lambda clock, keeper: BackForm(machine, code, number, said, clock, deed, keeper))


def _ask(app: PmschedApp, question: Callable[[], tuple[Any, ...]], form: Callable[..., Any]) -> None:
    def show(answer: tuple[Any, ...]) -> None:
        app.clear_notifications()
        app.push_screen(form(*answer), telling(app))

    host_of(app).ask("isolation", question, show)
