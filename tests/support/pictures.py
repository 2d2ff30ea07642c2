"""Every screen as a picture: what the picture tests compare, and a script for looking at all of them in every theme.

``python tests/support/pictures.py FOLDER`` writes an SVG file for each screen, size and theme. The registers are invented
and the clock stands still, so a picture changes only when the screen does.
"""

from __future__ import annotations

import shutil
import sys
import tempfile
import uuid
from collections.abc import Iterator, Mapping
from contextlib import chdir, contextmanager
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple
from unittest.mock import patch

import platformdirs
from audited import audited_register
from few_meters import make_few
from pilot import LARGE, SMALL, Steps, make_app, press, run_app, settled, type_ahead
from registers import empty_register
from textual.pilot import Pilot
from textual.widgets import Input
from watch_ship import watch_ship

from pmsched.tui.app import PmschedApp
from pmsched.tui.themes import THEMES
from pmsched.tui.widgets.lines import Lines

SIZES = {"80x24": SMALL, "120x36": LARGE}


class Scene(NamedTuple):
    """A screen to look at.

    Attributes:
        register: which of the registers, by its folder.
        keys: the way there; text between angle brackets is typed, all else is the name of a key.
        line: the line of the list to stand on before the keys are pressed, by its key.
        signer: who signs.
    """

    register: str
    keys: tuple[str, ...] = ()
    line: str = ""
    signer: str = "CE"


_ISOLATED = ("i", "down", "<pump open, seal renewed>", "down", "<14>", "ctrl+s")
SCENES: Mapping[str, Scene] = {
    "watch": Scene("watch"),
    "watch-nobody-signs": Scene("watch", signer=""),
    "watch-filter": Scene("watch", ("slash", "<bilge>")),
    "watch-ticked": Scene("watch", ("space", "x", "x"), line="BLG-ALM/"),
    "isolate": Scene("watch", ("i",), line="STG-TST/"),
    "watch-isolated": Scene("watch", (*_ISOLATED, "down", "down"), line="STG-TST/"),
    "back-in-use": Scene("watch", (*_ISOLATED, "G", "up", "up", "i"), line="STG-TST/"),
    "watch-empty": Scene("empty"),
    "watch-empty-all": Scene("empty", ("x", "x")),
    "watch-missing-register": Scene("missing"),
    "round": Scene("few", ("r",)),
    "round-held": Scene("few", ("r", "<5100.5\n>", "<12900\n>")),
    "round-unread": Scene("few", ("r", "<5,100\n>", "up")),
    "round-signing": Scene("few", ("r", "<5100.5\n>", "<12900\n>", "<44\n>", "e")),
    "round-signed": Scene("few", ("r", "<5100.5\n>", "<12150\n>", "e", "ctrl+s")),
    "round-read-at": Scene("few", ("r", "i")),
    "round-afresh": Scene("few", ("r", "<5100.5\n>", "n")),
    "round-empty": Scene("empty", ("r",)),
    "machinery": Scene("audited", ("m",)),
    "machinery-none-found": Scene("audited", ("m", "slash", "<zz>")),
    "machinery-empty": Scene("empty", ("m",)),
    "machine-card": Scene("audited", ("m", "down", "enter")),
    "readings": Scene("audited", ("m", "down", "enter", "r")),
    "correct-reading": Scene("audited", ("m", "down", "enter", "r", "down", "v")),
    "records": Scene("audited", ("c",)),
    "records-search": Scene("audited", ("c", "slash", "<stg>")),
    "records-known-on": Scene("audited", ("c", "k")),
    "records-due-list": Scene("audited", ("c", "l")),
    "records-empty": Scene("empty", ("c",)),
    "attach": Scene("audited", ("c", "down", "down", "down", "a", "<sheet.pdf\n>", "ctrl+s")),
    "correct-report": Scene("audited", ("c", "down", "down", "down", "v")),
    "job-card": Scene("watch", ("enter",)),
    "job-card-units": Scene("watch", ("enter",), line="AE1-INJ/3"),
    "report": Scene("watch", ("d",)),
    "report-fault": Scene("watch", ("d", "<2025-13-01\n>", "ctrl+s")),
    "report-units": Scene("watch", ("d",), line="AE1-INJ/3"),
    "ticked": Scene("watch", ("space", "space", "b"), line="BLG-ALM/"),
    "settle": Scene("watch", ("h",)),
    "settle-one": Scene("watch", ("h", "enter")),
    "people": Scene("watch", ("s",)),
    "help": Scene("watch", ("question_mark",)),
    "help-report": Scene("watch", ("d", "f1")),
    "manual": Scene("watch", ("question_mark", "end", "enter")),
    "palette": Scene("watch", ("ctrl+p", "<ti>")),
}


def make_registers(folder: Path) -> None:
    """Make all registers but the missing one; each in a folder of its name, and with the same seals every time."""
    with numbered(1):
        watch_ship(folder / "watch")
        make_few(folder / "few")
        audited_register(folder / "audited")
        empty_register(folder / "empty").close()


def app_of(scene: Scene, registers: Path, folder: Path) -> PmschedApp:
    """The app on a register of its own, copied into an empty folder; nothing on it moves by itself."""
    folder.mkdir(parents=True, exist_ok=True)
    original = registers / scene.register / "register.db"
    if original.exists():
        shutil.copy(original, folder)
    # Without the folder, so that it does not appear in the picture.
    app = make_app("register.db", signer=scene.signer)
    app.papers = folder / "pages"
    app.animation_level = "none"
    return app


def steps_of(scene: Scene) -> Steps:
    """The way to the scene."""

    async def steps(pilot: Pilot[None]) -> None:
        await settled(pilot.app, pilot)
        if scene.line:
            pilot.app.screen.query(Lines).first().choose(scene.line)
            await settled(pilot.app, pilot)
        for key in scene.keys:
            await (type_ahead(pilot, key[1:-1]) if key.startswith("<") else press(pilot, key))

    return steps


@contextmanager
def still(folder: Path) -> Iterator[None]:
    """In the folder of the app: no cursor blinks, drafts are kept there, and no seal depends on chance."""
    drafts: Any = patch.object(platformdirs, "user_state_path", lambda *_a, **_k: folder / "state")
    with chdir(folder), drafts, patch.object(Input, "_toggle_cursor", lambda _self: None), numbered(1_000_000):
        yield


@contextmanager
def numbered(first: int) -> Iterator[None]:
    """Identities are drawn in order from a number on, instead of by chance."""
    numbers = count(first)
    with patch.object(uuid, "uuid4", lambda: uuid.UUID(int=next(numbers))):
        yield


def main(folder: Path) -> None:
    """Write every picture into the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as kept:
        make_registers(Path(kept) / "made")
        for theme in THEMES:
            for name, scene in SCENES.items():
                for size in SIZES:
                    own = Path(kept) / theme.name / name / size
                    (folder / f"{name}.{size}.{theme.name}.svg").write_text(
                        picture(scene, Path(kept) / "made", own, size, theme.name), encoding="utf-8"
                    )


def picture(scene: Scene, registers: Path, folder: Path, size: str, theme: str) -> str:
    """The scene as SVG."""
    app = app_of(scene, registers, folder)
    app.theme = theme
    taken: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        await steps_of(scene)(pilot)
        taken.append(app.export_screenshot(simplify=True))

    with still(folder):
        run_app(app, steps, SIZES[size], notices=True)
    return taken[0]


if __name__ == "__main__":
    main(Path(sys.argv[1]))
