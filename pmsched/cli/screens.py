"""Opening the screens: where there is a terminal to show them on."""

from __future__ import annotations

import gc
import sys
from pathlib import Path

from pmsched.cli.context import PROGRAM, Here, moment

# Nothing that is made while starting is garbage; looking for it takes a tenth of the time. An open register sets it anew.
_NO_GARBAGE_YET = 1_000_000


def have_terminal() -> bool:
    """Whether a person sits at a terminal that can show screens."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def open_screens(here: Here, target: str) -> None:
    """Show the Watch of a register until the person leaves. Raises RegisterUnusable before anything is drawn."""
    gc.set_threshold(_NO_GARBAGE_YET)
    import platformdirs  # noqa: PLC0415 - only for the screens

    from pmsched.tui.start import run  # noqa: PLC0415 - a tenth of a second, only for the screens

    keys = platformdirs.user_config_path(PROGRAM, appauthor=False)
    run(target, moment, _kept, signer=here.by, acting=here.acting, keys_folder=keys)


def _kept(report: str) -> Path:
    from pmsched.cli.faults import keep_report  # noqa: PLC0415 - needed only when something breaks

    return keep_report(report) or Path("(no folder took it)")
