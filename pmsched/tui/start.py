"""Starting the screens on a register."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from pmsched.tui.app import PmschedApp
from pmsched.tui.gateway import Gateway
from pmsched.tui.own_keys import own_keys


def run(
    target: str,
    now: Callable[[], int],
    keep_log: Callable[[str], Path],
    *,
    signer: str = "",
    acting: str | None = None,
    keys_folder: Path | None = None,
) -> None:
    """Open the Watch and stay until the person leaves.

    Args:
        target: file or URL of the register.
        now: the clock, in UTC epoch seconds.
        keep_log: writes down a crash and says where.
        signer: code of the person who signs, if known.
        acting: the rank they act in, if not their own.
        keys_folder: where the person's own keys are kept.

    Raises:
        RegisterUnusable: there is no register there.
        Refusal: the person's own keys cannot be read.
        Exception: the bug that closed the screens, if one did.
    """
    gateway = Gateway(target, now, signer, acting)
    try:
        gateway.check()
        app = PmschedApp(gateway, keep_log)
        app.set_keymap(own_keys(keys_folder) if keys_folder else {})
        app.run()
        if app.fault is not None:
            raise app.fault
    finally:
        gateway.close()
