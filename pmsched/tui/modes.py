"""The four screens by name, each loaded when it is first opened: only the Watch is needed for the first paint."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from textual.screen import Screen

from pmsched.tui.screens.watch import WatchScreen


def _round() -> Screen[Any]:
    from pmsched.tui.screens.round import RoundScreen  # noqa: PLC0415 - see the module

    return RoundScreen()


def _machinery() -> Screen[Any]:
    from pmsched.tui.screens.machinery import MachineryScreen  # noqa: PLC0415

    return MachineryScreen()


def _records() -> Screen[Any]:
    from pmsched.tui.screens.records import RecordsScreen  # noqa: PLC0415

    return RecordsScreen()


MODES: dict[str, str | Callable[[], Screen[Any]]] = {
    "watch": WatchScreen,
    "round": _round,
    "machinery": _machinery,
    "records": _records,
}
