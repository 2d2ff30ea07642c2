"""Driving the screens in tests: an app with a still clock, keys pressed without waiting in vain, and what is visible.

Tests are plain functions::

    def test_something(tmp_path: Path) -> None:
        async def steps(pilot: Pilot[None]) -> None:
            await press(pilot, "down", "enter")
            assert "AE1-OIL" in text_of(pilot.app)

        run_app(make_app(tmp_path / "register.db"), steps)

A crash of the app or of one of its workers fails the test.
"""

from __future__ import annotations

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from contextlib import AsyncExitStack
from pathlib import Path
from typing import Any
from unittest.mock import patch

import textual._wait
from registers import AT
from textual import events
from textual.app import App
from textual.keys import _character_to_key
from textual.pilot import Pilot
from textual.widget import Widget
from textual.worker import WorkerCancelled

from pmsched.tui.app import PmschedApp
from pmsched.tui.gateway import Gateway

Steps = Callable[[Pilot[None]], Awaitable[None]]

SMALL = (80, 24)
LARGE = (120, 36)
# Pilot looks for an idle process in steps of 20 ms; finer steps make a key press four times as fast.
_STEP_SECONDS = 0.005
_NAMED_KEYS = {"\n": "enter", "\b": "backspace"}


def make_app(
    target: Path | str, *, at: int = AT, signer: str = "CE", now: Callable[[], int] | None = None
) -> PmschedApp:
    """The app on a register, at a moment that stands still.

    Args:
        target: file or URL of the register.
        at: the moment, UTC epoch seconds.
        signer: code of the person who signs; empty for nobody.
        now: a clock of the test's own, instead of ``at``.
    """
    return PmschedApp(Gateway(str(target), now or (lambda: at), signer), _fail)


def run_app(app: App[None], steps: Steps, size: tuple[int, int] = SMALL, *, notices: bool = False) -> None:
    """Run the app without a terminal, let it come to rest, and take the steps; ``notices`` are shown if asked for.

    Raises:
        Exception: whatever broke in the app, a worker or the steps.
    """
    run_apps([app], steps, size, notices=notices)


def run_apps(
    apps: Sequence[App[None]],
    steps: Callable[..., Awaitable[None]],
    size: tuple[int, int] = SMALL,
    *,
    notices: bool = False,
) -> None:
    """As ``run_app``, for several apps at once; the steps are given one pilot for each."""

    async def drive() -> None:
        async with AsyncExitStack() as running:
            pilots = [await running.enter_async_context(app.run_test(size=size, notifications=notices)) for app in apps]
            for pilot in pilots:
                await settled(pilot.app, pilot)
            await steps(*pilots)

    # Raises AttributeError when textual renames them: then this needs another look.
    wait = textual._wait
    with patch.object(wait, "SLEEP_GRANULARITY", _STEP_SECONDS), patch.object(wait, "SLEEP_IDLE", _STEP_SECONDS / 4):
        try:
            asyncio.run(drive())
        finally:
            for app in apps:
                if isinstance(app, PmschedApp):
                    app.gateway.close()


async def settled(app: App[None], pilot: Pilot[None]) -> None:
    """Wait until no worker runs and no message waits; answers that lead to further questions are waited for too."""
    await pilot.pause()
    while (workers := list(app.workers)) or _moves(app):
        for worker in workers:
            try:
                await worker.wait()
            except WorkerCancelled:
                # Its question was replaced by a newer one.
                continue
        await pilot.pause()


def _moves(app: App[None]) -> bool:
    """Whether a message waits or a layout is to come: on a busy computer a pause ends before the last of them."""
    nodes = list(app.screen.walk_children(with_self=True))
    waits = any(not node._message_queue.empty() for node in (app, *nodes))
    return waits or any(node._layout_required for node in nodes if isinstance(node, Widget))


async def press(pilot: Pilot[None], *keys: str) -> None:
    """Press keys by name, each after the app came to rest."""
    for key in keys:
        await pilot.press(key)
        await settled(pilot.app, pilot)


async def type_ahead(pilot: Pilot[None], text: str) -> None:
    """Type text faster than the app answers; a line feed is Enter, a backspace character is Backspace."""
    for character in text:
        key = _NAMED_KEYS.get(character) or _character_to_key(character)
        pilot.app.post_message(events.Key(key, None if character in _NAMED_KEYS else character))
    await settled(pilot.app, pilot)


def text_of(app: App[Any]) -> str:
    """What is visible, line by line, without trailing blanks; a form lies over what is below it."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip).rstrip() for strip in strips)


def _fail(report: str) -> Path:
    raise AssertionError(report)
