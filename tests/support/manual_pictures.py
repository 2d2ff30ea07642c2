"""The pictures of README and manual, made from the demo: ``python tests/support/manual_pictures.py [FOLDER]``.

The demo is built for a fixed day, no identity is drawn by chance and the clock stands still, so the same program makes
the same bytes. They are written to where the manual keeps them unless a folder is named.
"""

from __future__ import annotations

import sys
import tempfile
from collections.abc import Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import NamedTuple

import pictures
from pilot import make_app, run_app
from textual.pilot import Pilot

import pmsched
from seeds_demo.build import build_demo

HERE = Path(pmsched.__file__).parent / "manual" / "pictures"
TODAY = date(2026, 11, 25)
NOW = int(datetime(2026, 11, 25, 2, 30, tzinfo=UTC).timestamp())
SIGNER = "MDO"


class Shot(NamedTuple):
    """A picture: the keys to what it shows (as in ``pictures.Scene``), its size, and its look."""

    keys: tuple[str, ...]
    size: str
    theme: str


SHOTS: Mapping[str, Shot] = {
    "watch": Shot((), "80x24", "night-watch"),
    "watch-wide": Shot(("x", "down"), "120x36", "day-watch"),
    "round": Shot(("r",), "80x24", "night-watch"),
    "job": Shot(("enter",), "80x24", "night-watch"),
    "machine": Shot(("m", "slash", "<generator 2>", "enter", "enter"), "120x36", "night-watch"),
    "records": Shot(("c",), "120x36", "red-lit-room"),
}


def make_demo(folder: Path) -> Path:
    """The demo of the day, with the same seals every time; its file."""
    folder.mkdir(parents=True, exist_ok=True)
    with pictures.numbered(1):
        return build_demo(folder / "register.db", TODAY)


def taken(shot: Shot, demo: Path) -> str:
    """The picture as SVG; what the app keeps for its user goes into the folder of the demo."""
    app = make_app("register.db", at=NOW, signer=SIGNER)
    app.papers = demo.parent / "pages"
    app.animation_level = "none"
    app.theme = shot.theme
    found: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        await pictures.steps_of(pictures.Scene("", shot.keys))(pilot)
        found.append(app.export_screenshot(simplify=True))

    with pictures.still(demo.parent):
        run_app(app, steps, pictures.SIZES[shot.size], notices=True)
    return found[0]


def main(folder: Path) -> None:
    """Write every picture into the folder."""
    folder.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory() as kept:
        demo = make_demo(Path(kept))
        for name, shot in SHOTS.items():
            (folder / f"{name}.svg").write_text(taken(shot, demo), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else HERE)
