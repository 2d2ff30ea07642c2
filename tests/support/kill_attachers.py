"""Kill programs that attach files, and report what is left: run as a program, one JSON document comes out.

    kill_attachers.py points  REGISTER REPORT FOLDER             die at each point of a deed, one after the other
    kill_attachers.py chance  REGISTER REPORT FOLDER COUNT SEED  kill -9 at a random moment, again and again

Nothing is open when a program is forked off, and there is one thread: that makes forking safe.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import time
import traceback
from collections.abc import Callable, Sequence
from hashlib import sha256
from pathlib import Path
from typing import Any, NoReturn
from unittest.mock import patch

from attached import attached, listed, made

from pmsched.store.attached_check import check_files
from pmsched.store.book import Work
from pmsched.store.register import Register
from pmsched.store.staged_files import Staged
from pmsched.store.verify import verify

Act = Callable[[], None]


def die() -> NoReturn:
    """End at once, as in a power cut: nothing is tidied up."""
    os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError("nobody survives this")


def _before(_real: Callable[..., Any]) -> Callable[..., Any]:
    return lambda *_arguments, **_more: die()


def _after(real: Callable[..., Any]) -> Callable[..., Any]:
    def called(*arguments: Any, **more: Any) -> NoReturn:
        real(*arguments, **more)
        die()

    return called


POINTS: dict[str, tuple[type, str, Callable[..., Any]]] = {
    "copied": (Staged, "keep", _before),
    "named": (Staged, "keep", _after),
    "entered": (Work, "enter", _after),
}
"""Where a program dies: the method at which, and whether before or after it."""


def forked(act: Act, *, kill_after: float | None = None) -> None:
    """Let another program act; it is killed after so many seconds, or ends by itself."""
    child = os.fork()
    if child == 0:
        try:
            act()
        except BaseException:  # noqa: BLE001 - it is shown, and the process must end here
            traceback.print_exc()
        os._exit(1)
    if kill_after is not None:
        time.sleep(kill_after)
        os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)


def left(register: Path, report: str) -> dict[str, Any]:
    """What is left: names attached, flaws of entries and files, how many files no entry names."""
    with Register(str(register)) as opened:
        found = check_files(opened)
        flaws = [str(flaw) for flaw in (*verify(opened), *found.flaws)]
        return {"attached": listed(opened, report), "flaws": flaws, "unclaimed": found.unclaimed}


def points(register: Path, report: str, folder: Path) -> dict[str, Any]:
    """Die at each point, each with a file of its own; then attach one in peace."""
    report_of = {}
    for point, (owner, name, how) in POINTS.items():
        file = made(folder, f"{point}.jpg", point.encode())

        def act(owner: type = owner, name: str = name, how: Callable[..., Any] = how, file: Path = file) -> None:
            with patch.object(owner, name, how(getattr(owner, name))), Register(str(register)) as opened:
                attached(opened, report, file)

        forked(act)
        report_of[point] = left(register, report)
    with Register(str(register)) as opened:
        attached(opened, report, made(folder, "in peace.jpg", b"peace"))
    report_of["in peace"] = left(register, report)
    return report_of


def chance(register: Path, report: str, folder: Path, count: int, seed: int) -> dict[str, Any]:
    """Kill at random moments; which files were acknowledged, and what is left in the end."""
    moments = random.Random(seed)  # noqa: S311 - repeatable, not secret
    folder.mkdir(parents=True)
    for turn in range(count):
        forked(
            lambda turn=turn: _keep_attaching(register, report, folder, turn), kill_after=moments.uniform(0.03, 0.15)
        )  # type: ignore[misc]
    told = [path.stem for path in folder.glob("*.told")]
    return {"told": sorted(told), **left(register, report)}


def _keep_attaching(register: Path, report: str, folder: Path, turn: int) -> None:
    with Register(str(register)) as opened:
        for number in range(1_000_000):
            name = f"{turn}-{number}"
            content = sha256(name.encode()).digest() * 2000
            attached(opened, report, made(folder, name, content))
            (folder / f"{name}.told").touch()


def main(arguments: Sequence[str]) -> Any:
    """Do what the command line asks for; the result can be written as JSON."""
    task, register, report, folder, *more = arguments
    if task == "points":
        return points(Path(register), report, Path(folder))
    return chance(Path(register), report, Path(folder), *map(int, more))


if __name__ == "__main__":
    print(json.dumps(main(sys.argv[1:])))  # noqa: T201 - the result goes to the test that started this
