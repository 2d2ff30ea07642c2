"""Names that are markup, paths or other scripts: every screen shows them exactly as written, and nothing breaks.

The last tests plant what the door refuses (control characters) behind the program's back and run the app on a real
pseudo-terminal: none of it may reach the terminal.
"""

from __future__ import annotations

import csv
import fcntl
import io
import os
import pty
import re
import select
import shutil
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Awaitable, Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, date, datetime
from pathlib import Path

import platformdirs
import pytest
from pilot import LARGE, make_app, press, run_app, settled, text_of, type_ahead
from registers import AT, make_register
from small_register import behind_its_back
from textual.pilot import Pilot
from textual.widgets import Input

from pmsched.store.register import Register
from pmsched.tui import flows
from pmsched.tui.screens.help import HelpScreen
from pmsched.tui.widgets.lines import Lines
from pmsched.usecases.amend_reading import AmendReading, amend_reading
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.ask_records import readings_history
from pmsched.usecases.correct_report import CorrectReport, correct_report
from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

NASTY = (
    "[ME-01] Oil",
    "Pump [/]",
    "C:\\[x]",
    "trailing \\",
    "[@click=app.bell]x[/]",
    "主機 冷却水",
    "[bold red",
    "[link=http://x]y[/link]",
)
CE = Signer("CE", AT)


def _text(rows: Iterable[Sequence[str]]) -> str:
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue()


def _files(names: Sequence[str]) -> dict[str, str]:
    each = list(enumerate(names, 1))
    return {
        "people": _text([
            ("code", "name", "rank", "department"),
            ("CE", "A. Ardmore", "Chief engineer", "engine"),
            *((f"P{n}", name, f"Rank {name}", "engine") for n, name in each),
        ]),
        "machines": _text([("code", "name", "other_names"), *((f"M{n}", name, f"alias {name}") for n, name in each)]),
        "counters": _text([("code", "machine", "name", "unit"), *((f"H{n}", f"M{n}", name, "h") for n, name in each)]),
        "jobs": _text([
            ("code", "machine", "title", "interval", "cautions", "steps", "needs", "rank"),
            *((f"J{n}", f"M{n}", name, "500 h or 1 month", f"caution {name}", f"step {name}", f"needs {name}", name) for n, name in each),
        ]),
        "last_done": _text([
            ("job", "done_on", "by", "remarks"),
            *((f"J{n}", "2025-05-02", f"by {name}", f"old {name}") for n, name in each),
        ]),
        "readings": _text([
            ("counter", "read_on", "value", "note"),
            *((f"H{n}", "2025-05-01", "1000", f"note {name}") for n, name in each),
        ]),
        "parts": _text([
            ("serial", "name", "machine", "since", "note"),
            *((f"S-{n}", f"part {name}", f"M{n}", "2025-01-01", f"part note {name}") for n, name in each),
        ]),
    }  # fmt: skip


def nasty_register(folder: Path) -> Path:
    """A register in which everything that has a name or a text has a nasty one; its file."""
    with make_register(folder, _files(NASTY), site="MV [Bracket/]") as register:
        for n, name in enumerate(NASTY, 1):
            _live_a_little(register, n, name)
    return folder / "register.db"


def _live_a_little(register: Register, n: int, name: str) -> None:
    """A report and its correction, a reading corrected, and one that is held."""
    report_work(register, ReportWork(f"J{n}", date(2025, 6, 30), remarks=f"said {name}", done_by=f"by {name}"), CE)
    number = history(register, Asked(AT), HistoryFilter(job=f"J{n}")).rows[-1].number
    correct_report(register, CorrectReport(number, f"because {name}", remarks=f"better {name}"), CE)
    record_round(register, [RoundLine(f"H{n}", "900", int(datetime(2025, 6, 30, 12, tzinfo=UTC).timestamp()))], CE)
    first = readings_history(register, Asked(AT), f"H{n}").rows[0].number
    amend_reading(register, AmendReading(first, "value", f"misread {name}", "1001"), CE)


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The nasty register, made once."""
    return nasty_register(tmp_path_factory.mktemp("nasty"))


@pytest.fixture
def register(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own for the test; drafts and files are the test's too."""
    for place in ("state", "documents"):
        monkeypatch.setattr(platformdirs, f"user_{place}_path", lambda *_a, _place=place, **_k: tmp_path / _place)
    monkeypatch.chdir(tmp_path)
    return Path(shutil.copy(template, tmp_path / "register.db"))


Walk = Callable[[Pilot[None]], Awaitable[None]]


def missing(pilot: Pilot[None], texts: Iterable[str]) -> list[str]:
    """Which of the texts are not on the screen."""
    visible = text_of(pilot.app)
    return [text for text in texts if text not in visible]


def everything(*forms: str) -> list[str]:
    """Every nasty name in each of the forms."""
    return [form.format(name) for name in NASTY for form in forms]


async def _watch(pilot: Pilot[None]) -> None:
    await press(pilot, "x", "x")
    assert missing(pilot, NASTY) == []
    for n, name in enumerate(NASTY, 1):
        pilot.app.screen.query_one("#due", Lines).choose(f"J{n}/")
        await settled(pilot.app, pilot)
        assert missing(pilot, [f"CAUTION: caution {name}", f"Needs: needs {name}"]) == []


async def _tick(pilot: Pilot[None]) -> None:
    await press(pilot, "x", "x")
    pilot.app.screen.query_one("#due", Lines).choose("J1/")
    await press(pilot, *["space"] * len(NASTY), "b")
    assert missing(pilot, NASTY[:6]) == []
    await press(pilot, "end")
    assert missing(pilot, [*NASTY[-6:], f"CAUTION: caution {NASTY[-1]}"]) == []


async def _settle(pilot: Pilot[None]) -> None:
    await press(pilot, "h", "enter")
    assert missing(pilot, ["H1"]) == []


async def _people(pilot: Pilot[None]) -> None:
    await press(pilot, "s")
    assert missing(pilot, NASTY) == []
    for n, name in enumerate(NASTY, 1):
        pilot.app.screen.query_one("#people", Lines).choose(f"P{n}")
        await settled(pilot.app, pilot)
        assert missing(pilot, [f"Rank {name}"]) == []


async def _round(pilot: Pilot[None]) -> None:
    await press(pilot, "f3")
    assert missing(pilot, NASTY) == []


async def _machinery(pilot: Pilot[None]) -> None:
    await press(pilot, "m")
    assert missing(pilot, everything("{}", "alias {}")) == []
    await press(pilot, "slash")
    await type_ahead(pilot, "alias [/]")
    assert missing(pilot, ["M2 Pump [/]"]) == []


async def _machine_card(pilot: Pilot[None]) -> None:
    await press(pilot, "m")
    for n, name in enumerate(NASTY, 1):
        pilot.app.screen.query_one("#machines", Lines).choose(f"M{n}")
        await press(pilot, "enter")
        card = pilot.app.screen.query_one("#card", Lines)
        assert missing(pilot, [f"M{n} {name}", f"J{n} {name}", f"part {name}", f"alias {name}", f"H{n} | {name}"]) == []
        card.choose(f"job J{n}/")
        await settled(pilot.app, pilot)
        assert missing(pilot, [f"CAUTION: caution {name}", f"Needs: needs {name}"]) == []
        await press(pilot, "escape")


async def _readings(pilot: Pilot[None]) -> None:
    await press(pilot, "m")
    for n, name in enumerate(NASTY, 1):
        pilot.app.screen.query_one("#machines", Lines).choose(f"M{n}")
        await press(pilot, "enter", "r", "end", "up")
        assert missing(pilot, [f"misread {name}", f"note {name}"]) == []
        await press(pilot, "escape", "escape")


async def _records(pilot: Pilot[None]) -> None:
    await press(pilot, "c")
    assert missing(pilot, NASTY) == []
    for n, name in enumerate(NASTY, 1):
        await _choose_correction(pilot, n)
        assert missing(pilot, [f"better {name}", f"said {name}", f"because {name}", f"done by by {name}"]) == []


async def _choose_correction(pilot: Pilot[None], n: int) -> None:
    """Put the cursor on the line in force of a job's corrected report."""
    lines = pilot.app.screen.query_one("#records", Lines)
    wanted = next(
        i
        for i, line in enumerate(lines.lines)
        if f" J{n} " in f" {' '.join(line.cells)} " and line.cells[-1] == "in force"
    )
    lines.cursor = wanted
    await settled(pilot.app, pilot)


async def _records_due(pilot: Pilot[None]) -> None:
    await press(pilot, "c", "l")
    assert missing(pilot, NASTY) == []


async def _search_form(pilot: Pilot[None]) -> None:
    await press(pilot, "c")
    for name in NASTY:
        await press(pilot, "slash")
        pilot.app.screen.query_one("#machine", Input).value = f"no {name}"
        await press(pilot, "ctrl+s")
        assert missing(pilot, [f"No machine has 'no {name}'"]) == []
        pilot.app.screen.query_one("#machine", Input).value = f"alias {name}"
        pilot.app.screen.query_one("#words", Input).value = name
        await press(pilot, "ctrl+s")
        assert missing(pilot, [f"words {name}", f"better {name}"]) == []


async def _export_form(pilot: Pilot[None]) -> None:
    await press(pilot, "c", "e")
    for name in NASTY:
        pilot.app.screen.query_one("#file", Input).value = f"none/{name}/x.csv"
        await press(pilot, "enter")
        assert missing(pilot, [name]) == []


async def _job_card(pilot: Pilot[None]) -> None:
    for n, name in enumerate(NASTY, 1):
        flows.open_job(pilot.app, f"J{n}")  # type: ignore[arg-type] - the app is ours
        await settled(pilot.app, pilot)
        shown = "\n".join(line.cells[0] for line in pilot.app.screen.query_one("#text", Lines).lines)
        texts = [
            f"CAUTION: caution {name}",
            f"1. step {name}",
            f"needs {name}",
            f"better {name}",
            f"reason: because {name}",
        ]
        assert [text for text in texts if text not in shown] == []
        assert missing(pilot, [f"J{n} {name}", f"CAUTION: caution {name}", f"M{n} {name}"]) == []
        await press(pilot, "escape")


async def _report_form(pilot: Pilot[None]) -> None:
    for n, name in enumerate(NASTY, 1):
        flows.open_job(pilot.app, f"J{n}")  # type: ignore[arg-type] - the app is ours
        await settled(pilot.app, pilot)
        await press(pilot, "d")
        assert missing(pilot, [name, f"CAUTION: caution {name}"]) == []
        pilot.app.screen.query_one("#remarks", Input).value = f"typed {name}"
        await settled(pilot.app, pilot)
        assert missing(pilot, [f"typed {name}"]) == []
        await press(pilot, "escape", "escape")


async def _correct_form(pilot: Pilot[None]) -> None:
    await press(pilot, "c")
    for n, name in enumerate(NASTY, 1):
        await _choose_correction(pilot, n)
        await press(pilot, "v")
        assert missing(pilot, [f"J{n} {name}", f"better {name}"]) == []
        await press(pilot, "escape")


async def _help(pilot: Pilot[None]) -> None:
    for keys in (["w"], ["m"], ["enter"], ["escape", "c"], ["slash"]):
        await press(pilot, *keys, "f1")
        assert isinstance(pilot.app.screen, HelpScreen)
        await press(pilot, "escape")


WALKS = (
    _watch, _tick, _settle, _people, _round, _machinery, _machine_card, _readings, _records, _records_due, _search_form,
    _export_form, _job_card, _report_form, _correct_form, _help,
)  # fmt: skip


@pytest.mark.parametrize("walk", WALKS, ids=[walk.__name__.lstrip("_") for walk in WALKS])
def test_names_are_shown_exactly(register: Path, walk: Walk) -> None:
    """Nothing is read as markup, nothing is eaten, nothing crashes."""
    run_app(make_app(register), walk, LARGE)


def test_signing_with_nasty_texts(register: Path) -> None:
    """What was typed is kept and shown as it was typed; the notice is no markup either."""

    async def steps(pilot: Pilot[None]) -> None:
        flows.open_job(pilot.app, "J5")  # type: ignore[arg-type] - the app is ours
        await settled(pilot.app, pilot)
        await press(pilot, "d")
        pilot.app.screen.query_one("#remarks", Input).value = "[@click=app.quit]done[/] \\"
        pilot.app.screen.query_one("#done_on", Input).value = "2025-07-01"
        await press(pilot, "ctrl+s")
        await press(pilot, "escape", "c")
        assert missing(pilot, ["[@click=app.quit]done[/] \\"]) == []

    run_app(make_app(register), steps, LARGE)


# What may reach a terminal: text, and the sequences the screens themselves send (colours, cursor, modes, queries).
HIDDEN = ("\x1b]0;owned\x07", "\x9b31m", "\u202e", "\x1b[2J", "\x00", "\x7f", "\u2066", "\x85")
PLANTED = "".join(f"<{text}>" for text in HIDDEN)
SENT = re.compile(
    rb"\x1b(\[[0-9;:?<>=]*[ -/]*[@-~]|[()][0AB]|[78=>MDEHc]|P[^\x07\x1b]*\x1b\\|_[^\x1b]*\x1b\\|\]22;[a-z-]+\x07)"
)
RUN = """
import sys
from pathlib import Path
from pmsched.tui.app import PmschedApp
from pmsched.tui.gateway import Gateway
PmschedApp(Gateway(sys.argv[1], lambda: int(sys.argv[2]), "CE"), lambda report: Path(report)).run()
"""


@pytest.fixture
def planted(register: Path) -> Path:
    """The register with control characters written into texts where the door would have refused them."""
    columns = {
        "job_revision": ("title", "cautions", "steps", "needs"),
        "machine_revision": ("name",),
        "alias": ("name",),
        "person_revision": ("name", "rank"),
        "part_revision": ("name",),
        "counter_revision": ("name",),
        "report": ("remarks", "done_by", "reason"),
        "reading": ("note", "reason"),
    }
    with behind_its_back(register) as connection:
        for table, names in columns.items():
            for name in names:
                connection.execute(f"UPDATE {table} SET {name} = ?", (f"planted {PLANTED}",))  # noqa: S608 - our own names
    return register


_MOST_SECONDS, _QUIET_SECONDS = 30.0, 0.2
_COLUMNS, _ROWS = LARGE


class Terminal:
    """A program on a pseudo-terminal of 120 x 36: what it writes, and keys for it."""

    def __init__(self, command: Sequence[str], folder: Path) -> None:
        self.written = b""
        self._master, slave = pty.openpty()
        fcntl.ioctl(slave, termios.TIOCSWINSZ, struct.pack("HHHH", _ROWS, _COLUMNS, 0, 0))
        places = {"XDG_STATE_HOME": str(folder), "XDG_DOCUMENTS_DIR": str(folder), "HOME": str(folder)}
        environment = (
            os.environ | places | {"TERM": "xterm-256color", "PYTHONWARNINGS": "error", "COLUMNS": "120", "LINES": "36"}
        )
        self.process = subprocess.Popen(
            command, stdin=slave, stdout=slave, stderr=slave, env=environment, start_new_session=True
        )
        os.close(slave)

    def press(self, keys: bytes) -> None:
        """Send keys."""
        os.write(self._master, keys)

    def read_until(self, text: bytes, start: int) -> None:
        """Take in what is written from a point on until the text has come and nothing follows for a moment."""
        end = time.monotonic() + _MOST_SECONDS
        while text not in self.written[start:]:
            assert self._wait(end - time.monotonic()), f"{text!r} did not come; the last was {self.written[-2000:]!r}"
        while self._wait(_QUIET_SECONDS):
            continue

    def _wait(self, seconds: float) -> bool:
        """Take in what comes within so many seconds; False if nothing comes."""
        ready, _, _ = select.select([self._master], [], [], max(0.0, seconds))
        if ready:
            self.written += self._more()
        return bool(ready)

    def close(self) -> None:
        """Take in the last words and let the terminal go."""
        while more := self._more():
            self.written += more
        os.close(self._master)

    def _more(self) -> bytes:
        try:
            return os.read(self._master, 65536)
        except OSError:
            # The other end has gone: that is how a pseudo-terminal ends.
            return b""


@contextmanager
def terminal(register: Path) -> Iterator[Terminal]:
    """The app on a register, on a terminal of its own; it is ended afterwards if it does not end itself."""
    opened = Terminal([sys.executable, "-c", RUN, str(register), str(AT)], register.parent)
    try:
        yield opened
    finally:
        opened.process.kill()
        opened.process.wait()


def test_no_control_character_from_data_reaches_the_terminal(planted: Path) -> None:
    """Every screen that shows planted texts is walked through; the raw output holds nothing of them but pictures."""
    with terminal(planted) as screen:
        # (keys, what must be seen afterwards): each screen is really there before the next key.
        for keys, seen in (
            (b"", b"oldest reading"),
            (b"xx", b"jobs in all"),
            (b"\x1b[F", b"CAUTION: planted"),
            (b"\r", b"STEPS"),
            (b"\x1b", b"CAUTION: planted"),
            (b"m", b"Also called"),
            (b"\r", b"LAST DOINGS"),
            (b"r", b"read at"),
            (b"\x1b\x1b", b"also called"),
            (b"c", b"Signed by"),
            (b"l", b"CAUTION: planted"),
            (b"s", b"Who signs"),
            (b"\x1b", b"most urgent first"),
        ):
            start = len(screen.written)
            screen.press(keys)
            screen.read_until(seen, start)
        screen.press(b"q")
        assert screen.process.wait(timeout=20) == 0
        screen.close()
    written = screen.written
    assert "planted <\u241b]0;owned\u2407>".encode() in written
    assert [text for text in HIDDEN if f"<{text}>".encode() in written] == []
    left = SENT.sub(b"", written).decode()
    hidden = {c for c in left if (ord(c) < 0x20 and c not in "\r\n") or 0x7F <= ord(c) < 0xA0 or c in "\u202e\u2066"}
    assert hidden == set()
