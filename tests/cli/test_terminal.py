"""A real terminal and a real kill: what was typed on a round survives both."""

from __future__ import annotations

import os
import select
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from small_ship import NOW

pty = pytest.importorskip("pty", reason="there are no pseudo-terminals here")


# A process of its own has the computer's clock; the ship's readings lie in 2030.
_PROGRAM = f"""
import pmsched.clock
pmsched.clock.now = lambda: {NOW}
from pmsched.cli.main import main
main()
"""


class Terminal:
    """``pmsched`` at a pseudo-terminal."""

    def __init__(self, environment: dict[str, str], arguments: tuple[str, ...]) -> None:
        self._ours, theirs = pty.openpty()
        self.process = subprocess.Popen(
            [sys.executable, "-c", _PROGRAM, *arguments],
            stdin=theirs,
            stdout=subprocess.PIPE,
            stderr=theirs,
            env=environment,
        )
        os.close(theirs)
        self.screen = ""

    def until(self, text: str) -> None:
        """Reads the screen until the text stands on it. Raises AssertionError if it never does."""
        while text not in self.screen:
            ready, _, _ = select.select([self._ours], [], [], 30)
            try:
                shown = os.read(self._ours, 4096) if ready else b""
            except OSError:
                shown = b""
            assert shown, self.screen
            self.screen += shown.decode().replace("\r\n", "\n")

    def type(self, text: str) -> None:
        """Types a line, and forgets what stood on the screen before."""
        self.screen = ""
        os.write(self._ours, f"{text}\n".encode())

    def close(self) -> None:
        """Ends the program if it still runs."""
        if self.process.poll() is None:
            self.process.kill()
        self.process.communicate(timeout=60)
        os.close(self._ours)


@pytest.fixture
def start(ship: Path, tmp_path: Path) -> Iterator[Callable[..., Terminal]]:
    """Starts ``pmsched`` at a terminal, with folders of the test's own."""
    folders = {f"XDG_{name}_HOME": str(tmp_path / name) for name in ("STATE", "DATA", "CONFIG", "CACHE")}
    environment = {**os.environ, **folders, "HOME": str(tmp_path), "PMSCHED_REGISTER": str(ship), "PMSCHED_BY": "CE"}
    started: list[Terminal] = []

    def go(*arguments: str) -> Terminal:
        started.append(Terminal(environment, arguments))
        return started[-1]

    yield go
    for terminal in started:
        terminal.close()


def test_kill_loses_nothing(start: Callable[..., Terminal]) -> None:
    """Killed after the second Enter: the next run offers both values and goes on at the third meter."""
    first = start("round")
    first.until("1/3  ME-H")
    first.type("99999")
    first.until("Enter to keep it held > ")
    first.type("")
    first.until("2/3  GE1-H")
    first.type("5160.5")
    first.until("3/3  GE1-S")
    first.process.send_signal(signal.SIGKILL)
    first.process.wait(timeout=60)

    second = start("round")
    second.until("A round is begun and not signed: 2 meters typed.")
    second.until("Go on with it? [Y/n]: ")
    second.type("")
    second.until("3/3  GE1-S")
    second.type("")
    second.until("Sign this round as CE?")
    second.type("y")
    stdout, _ = second.process.communicate(timeout=60)
    assert second.process.returncode == 0
    assert b"2 meters entered as entry 3" in stdout


def test_interrupt_at_a_question(start: Callable[..., Terminal]) -> None:
    """Ctrl-C ends with 130, says that what was typed is kept, and shows no trace."""
    terminal = start("round")
    terminal.until("1/3  ME-H")
    terminal.type("99999")
    terminal.until("Enter to keep it held > ")
    terminal.process.send_signal(signal.SIGINT)
    terminal.until("What was typed is kept.")
    terminal.process.communicate(timeout=60)
    assert terminal.process.returncode == 130
    assert "Traceback" not in terminal.screen


def test_the_guide_broken_off_and_gone_on_with(start: Callable[..., Terminal], tmp_path: Path) -> None:
    """Ctrl-C at a question ends with 130 and says how to go on; the people who were typed are on the books."""
    path = str(tmp_path / "new.db")
    first = start("--register", path, "init", "--site", "MV New", "--name", "A. Ny", "--rank", "C/E", "--offset", "UTC")
    first.until("Your department [engine]: ")
    first.type("")
    first.until("Bring in your machinery now? [Y/n]: ")
    first.type("")
    first.until("Code of the next person")
    for answer, question in (("2E", "Name: "), ("Bo Lind", "Rank: "), ("2/E", "Department [engine]: ")):
        first.type(answer)
        first.until(question)
    first.type("")
    first.until("2E Bo Lind is on the books; entered as entry 2")
    first.process.send_signal(signal.SIGINT)
    first.until("To go on: pmsched init")
    first.process.communicate(timeout=60)
    assert first.process.returncode == 130
    assert "Traceback" not in first.screen

    second = start("--register", path, "init")
    second.until("The register of MV New is set up; it has no machines yet. Bring them in now? [Y/n]: ")
    second.type("n")
    second.process.communicate(timeout=60)
    assert second.process.returncode == 0
