"""The app: themes, the four screens, who signs, and what happens when something breaks."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta, timezone
from pathlib import Path
from typing import TYPE_CHECKING, Any, ClassVar

from textual.app import App
from textual.binding import BindingType
from textual.command import Provider
from textual.filter import LineFilter
from textual.screen import Screen
from textual.worker import Worker, WorkerState

from pmsched.tui import flows
from pmsched.tui.actions import bindings_of
from pmsched.tui.asking import Crashed
from pmsched.tui.gateway import Gateway
from pmsched.tui.modes import MODES
from pmsched.tui.palette import ActionsProvider
from pmsched.tui.safe_text import NoControls
from pmsched.tui.themes import THEMES, put_on

if TYPE_CHECKING:
    from pmsched.usecases.ask_people import PersonRow


class PmschedApp(App[None]):
    """pmsched in the terminal.

    Args:
        gateway: the door to the register.
        keep_log: writes a crash down and gives the path of the log.
    """

    CSS_PATH = "app.tcss"
    TITLE = "pmsched"
    ENABLE_COMMAND_PALETTE = True
    # Going back is for the screens: they know whether there is a way.
    BINDINGS: ClassVar[list[BindingType]] = [binding for binding in bindings_of("everywhere") if binding.id != "back"]
    MODES: ClassVar[dict[str, str | Callable[[], Screen[Any]]]] = MODES
    DEFAULT_MODE = "watch"
    COMMANDS: ClassVar[set[type[Provider] | Callable[[], type[Provider]]]] = {ActionsProvider}

    def __init__(self, gateway: Gateway, keep_log: Callable[[str], Path]) -> None:
        super().__init__()
        self.gateway = gateway
        self.keep_log = keep_log
        self.site = ""
        self.offset_minutes = 0
        self.oldest_days: int | None = None
        self.department = ""
        self.signer_name = ""
        self.knows_signer = not gateway.signer
        self.papers: Path | None = None
        put_on(self)

    def get_line_filters(self) -> list[LineFilter]:
        """The last look at what is painted: no control character from data reaches the terminal."""
        return [*super().get_line_filters(), NoControls()]

    def on_crashed(self, message: Crashed) -> None:
        """A bug: say so, where the record lies, and go on; nothing typed is lost."""
        path = self.keep_log(message.report)
        self.notify(
            f"Something broke in pmsched; nothing you entered is lost. The record is in {path}.",
            severity="error", markup=False, timeout=15,
        )  # fmt: skip

    def on_worker_state_changed(self, event: Worker.StateChanged) -> None:
        """A worker that died without a word is a bug too."""
        if event.state is WorkerState.ERROR:
            self.post_message(Crashed("".join(traceback.format_exception(event.worker.error))))

    @property
    def fault(self) -> Exception | None:
        """The bug that closed the screens, if one did."""
        return self._exception

    def _fatal_error(self) -> None:
        """A bug outside of any question closes the screens; whoever opened them is given it, says so and records it."""
        self._close_messages_no_wait()

    def know(self, site: str, offset_minutes: int, oldest_days: int | None) -> None:
        """What the top line says, as a screen learned it."""
        self.site, self.offset_minutes, self.oldest_days = site, offset_minutes, oldest_days

    def sign_as(self, person: PersonRow, acting: str | None) -> None:
        """From now on this person signs; the Watch shows their department."""
        self.gateway.signer, self.gateway.acting = person.code, acting
        self.department = person.department.lower()
        self.signer_name = f"{person.name}, {person.rank}{f' acting {acting}' if acting else ''}"

    def now(self) -> datetime:
        """The ship's date and time."""
        moment = datetime.fromtimestamp(self.gateway.now(), UTC)
        return moment.astimezone(timezone(timedelta(minutes=self.offset_minutes)))

    def today(self) -> date:
        """The ship's date."""
        return self.now().date()

    def top_line(self, path: str, width: int) -> str:
        """Site and place to the left; date, signer and age of the oldest reading to the right."""
        signer = self.gateway.signer or "nobody signs (s)"
        age = "" if self.oldest_days is None else f" | oldest reading {self.oldest_days} d"
        # Before the register has answered the ship's offset is not known, and so neither is the ship's date.
        today = f"{self.now():%a %Y-%m-%d} {offset_text(self.offset_minutes)} | " if self.site else ""
        right = f"{today}{signer}{age}"
        room = width - len(right) - 3
        left = f"{self.site} > {path}" if self.site else path
        return f"{left if len(left) <= room else path[: max(room, 0)]:<{max(room, 0)}} {right}"

    def action_mode(self, name: str) -> None:
        """To one of the four screens."""
        while len(self.screen_stack) > 1:
            self.pop_screen()
        self.switch_mode(name)

    def action_help(self) -> None:
        """Explain the screen in front."""
        flows.show_help(self)

    def action_signer(self) -> None:
        """Choose who signs."""
        flows.choose_signer(self)

    def action_next_theme(self) -> None:
        """The next of the four looks."""
        names = [theme.name for theme in THEMES]
        self.theme = names[(names.index(self.theme) + 1) % len(names)]

    def action_leave(self) -> None:
        """Leave; drafts are on the disk already."""
        self.exit()


def offset_text(minutes: int) -> str:
    """The ship's offset as people write it."""
    from pmsched.domain.clocks import format_offset  # noqa: PLC0415 - light, but not needed before the first paint

    return format_offset(minutes)
