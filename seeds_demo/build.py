"""The demo register: the simulated history entered deed by deed, each signed and recorded on its own day.

Uses the same use cases as everybody else, so that the demo can be asked what was known on any day of its years.
"""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from datetime import date, time, timedelta
from pathlib import Path

from pmsched.usecases.set_up import SetUp, set_up
from pmsched.usecases.signing import Signer
from seeds_demo.catalogue import SITE
from seeds_demo.deeds import Deeds, DemoClock, load_texts
from seeds_demo.events import History
from seeds_demo.one_go import OneGo
from seeds_demo.people import chief
from seeds_demo.simulate import MONTHS, simulate
from seeds_demo.voyage import FIRST_OFFSET

Progress = Callable[[int, int], None]


def build_demo(
    target: Path, today: date, *, seed: int = 7, months: int = MONTHS, progress: Progress | None = None
) -> Path:
    """Make the demo register at ``target``, as it stands on the morning of ``today``; the path again.

    Args:
        target: where it is to be; folders on the way are made.
        today: the ship's date on which it is looked at.
        seed: another seed gives another history.
        months: how far back it goes; the same vessel and the same kind of day, only faster to make with fewer.
        progress: told how many of the events are entered, and of how many.
    """
    return build_register(target, simulate(today, seed, months), progress)


def build_register(target: Path, history: History, progress: Progress | None = None) -> Path:
    """Make the register of that history at ``target``; the path again.

    It is built beside its place and moved there when it is whole, so a broken-off build leaves nothing behind.
    """
    target.parent.mkdir(parents=True, exist_ok=True)
    with tempfile.TemporaryDirectory(dir=target.parent, prefix="building-") as folder:
        made = Path(folder) / "demo.db"
        _build(made, history, progress)
        made.replace(target)
    return target


def _build(made: Path, history: History, progress: Progress | None) -> None:
    person = chief()
    clock = DemoClock()
    setting_up = clock.instant(history.start - timedelta(days=1), time(8))
    first = SetUp(SITE, person.code, person.name, person.rank, person.department, FIRST_OFFSET)
    set_up(str(made), first, setting_up)
    with OneGo(str(made)) as register, register.all_in_one():
        loaded_at = clock.instant(history.start, time(20))
        load_texts(register, history.files, Signer(person.code, loaded_at))
        deeds = Deeds(register, clock, history.start)
        for number, event in enumerate(history.events, 1):
            deeds.enter(event)
            if progress is not None:
                progress(number, len(history.events))
