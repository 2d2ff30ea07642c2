"""Who signs: choosing a person, and asking for one before a deed where nobody was chosen yet.

Who signed last is remembered outside the book, in the user's folder; it is offered the next time, never taken for granted.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, cast

from pmsched.tui.drafts import draft_for

if TYPE_CHECKING:
    from pmsched.tui.app import PmschedApp
    from pmsched.tui.asking import Asking
    from pmsched.tui.screens.people import Signs
    from pmsched.usecases.ask_people import PersonRow

_LAST = "who signed last"
NOTICE_SECONDS = 10
"""How long it is told what a deed left behind."""


def host_of(app: PmschedApp) -> Asking:
    """The screen in front, through which a flow asks the register."""
    return cast("Asking", app.screen)


def signed(app: PmschedApp, then: Callable[[], None]) -> None:
    """Go on as soon as somebody signs: at once, or after it was asked who."""
    if app.gateway.signer:
        then()
    else:
        choose_signer(app, then)


def telling(app: PmschedApp) -> Callable[[str | None], None]:
    """What a form is closed with: it tells what its deed left behind, if there was one."""

    def tell(text: str | None) -> None:
        if text:
            app.notify(text, markup=False, timeout=NOTICE_SECONDS)

    return tell


def choose_signer(app: PmschedApp, then: Callable[[], None] | None = None) -> None:
    """Choose who signs from now on, and in which rank they act; then go on."""
    from pmsched.tui.screens.people import PeopleForm  # noqa: PLC0415 - not needed before the first paint

    host = host_of(app)
    remembered = draft_for(app.gateway.target, _LAST)

    def chosen(signs: Signs | None) -> None:
        if signs is None:
            return
        app.sign_as(signs.person, signs.acting)
        _show_signer(host)
        host.ask("remember", lambda: remembered.save({"code": signs.person.code}), lambda _: None, deed=True)
        if then is not None:
            then()

    def show(answer: tuple[tuple[PersonRow, ...], str]) -> None:
        app.push_screen(PeopleForm(*answer), chosen)

    host.ask("people", lambda: (app.gateway.people(), str(remembered.load().get("code", ""))), show)


def know_signer(app: PmschedApp) -> None:
    """Learn the name and department of whoever was named when the program was started, then load the screen in front."""
    host = host_of(app)
    app.knows_signer = True

    def show(people: Sequence[PersonRow]) -> None:
        code = app.gateway.signer.lower()
        if person := next((person for person in people if person.code.lower() == code), None):
            app.sign_as(person, app.gateway.acting)
        _show_signer(host)

    # Refused, the screen asks all the same, and says why where its list would be.
    host.ask("people", app.gateway.people, show, refused=lambda _: show(()))


def _show_signer(host: Asking) -> None:
    """The top line names the signer, and the list is of their department."""
    from pmsched.tui.screens.base import HouseScreen  # noqa: PLC0415 - it imports the flows itself

    if isinstance(host, HouseScreen):
        host.show_top()
        host.load()
