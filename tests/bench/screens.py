"""Measure the budgets of the screens: what a person waits for, through a real pseudo-terminal.

    python tests/bench/screens.py [FOLDER]

Ratios are taken side by side in one run: every program is started in turn, and the two lists get their keys in turn.
The demo register is built once in FOLDER and kept there. Takes about a minute; needs a POSIX system.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import pty
import re
import select
import signal
import statistics
import struct
import sys
import tempfile
import termios
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from typing import NamedTuple

from run import RUNS, Measured

from seeds_demo.build import build_demo

SIZES = ((120, 40), (80, 24))
KEYS = 150
DOWN = b"\x1b[B"
PATIENCE_SECONDS = 20.0
# Longer than one key takes and shorter than anything an app does by itself, such as a blinking cursor.
QUIET_SECONDS = 0.06
BYTES_ALLOWED = 700

_ESCAPES = re.compile(rb"\x1b\[[0-9;?<>=$:!]*[ -/]*[@-~]|\x1b\][^\x07\x1b]*(?:\x07|\x1b\\)|\x1bP[^\x1b]*\x1b\\|\x1b.")
PAINT = re.compile(rb" {20}")  # an empty app paints nothing but blanks
TEXT = re.compile(rb"[A-Za-z]{3}")
# The word of a state stands in a job's line and nowhere else in what is painted before.
JOB_LINE = re.compile(rb"\b(?:overdue|due) ")

EMPTY_APP = """
from textual.app import App
App().run()
"""

# The floor of the keys: the plainest list whose lines are drawn only where they can be seen.
PLAIN_LIST = """
from rich.cells import set_cell_size
from rich.segment import Segment
from textual.app import App
from textual.binding import Binding
from textual.geometry import Region, Size
from textual.reactive import reactive
from textual.scroll_view import ScrollView
from textual.strip import Strip

WIDTHS = (10, 17, 27, 17, 4)
ROWS = [("due", f"M{n:05}", f"Job number {n}", f"{n} h 03-01", "stop") for n in range(10_000)]


class PlainList(ScrollView, can_focus=True):
    DEFAULT_CSS = '''
    PlainList { height: 1fr; background: $surface; color: $foreground; scrollbar-gutter: stable; }
    PlainList > .plain--names { background: $panel; text-style: bold; }
    PlainList > .plain--cursor { background: $primary; color: $text; text-style: bold; }
    '''
    COMPONENT_CLASSES = {"plain--names", "plain--cursor"}
    BINDINGS = [Binding("down", "step(1)", show=False), Binding("up", "step(-1)", show=False)]
    at = reactive(0, repaint=False, init=False)

    def on_mount(self):
        self.virtual_size = Size(sum(width + 1 for width in WIDTHS), len(ROWS) + 1)

    def render_line(self, y):
        left, top = self.scroll_offset
        row = top + y - 1
        if y == 0:
            style, cells = self.get_component_rich_style("plain--names"), ("state", "machine", "job", "left", "need")
        elif row < len(ROWS):
            on_cursor = row == self.at and self.has_focus
            style = self.get_component_rich_style("plain--cursor") if on_cursor else self.rich_style
            cells = ROWS[row]
        else:
            return Strip.blank(self.size.width, self.rich_style)
        text = " ".join(set_cell_size(cell, width) for cell, width in zip(cells, WIDTHS)) + " "
        strip = Strip([Segment(text, style)])
        return strip.extend_cell_length(left + self.size.width, style).crop(left, left + self.size.width)

    def validate_at(self, wanted):
        return max(0, min(wanted, len(ROWS) - 1))

    def watch_at(self, old, new):
        room, top = self.scrollable_content_region.height - 1, self.scroll_offset.y
        if new < top:
            self.scroll_to(y=new, animate=False, force=True)
        elif new >= top + room:
            self.scroll_to(y=new - room + 1, animate=False, force=True)
        for row in (old, new):
            self.refresh(Region(0, row - self.scroll_offset.y + 1, self.size.width, 1))

    def action_step(self, step):
        self.at += step


class Plain(App):
    def compose(self):
        yield PlainList()


Plain().run()
"""

OUR_LIST = """
from textual.app import App
from pmsched.tui.themes import THEMES
from pmsched.tui.widgets.lines import Column, Line, Lines

COLUMNS = (Column("state", 10), Column("machine", 17), Column("job", 27), Column("left", 17), Column("need", 4))
ROWS = [
    Line(str(n), ("due", f"M{n:05}", f"Job number {n}", f"{n} h 03-01", "stop"), ("due", "overdue", "soon")[n % 3])
    for n in range(10_000)
]


class Ours(App):
    def compose(self):
        yield Lines(COLUMNS)

    def on_mount(self):
        for theme in THEMES:
            self.register_theme(theme)
        self.theme = THEMES[0].name
        self.query_one(Lines).show(ROWS)


Ours().run()
"""


class Terminal:
    """A program in a pseudo-terminal of its own."""

    def __init__(self, command: Sequence[str], size: tuple[int, int], home: Path) -> None:
        self.began = time.perf_counter()
        self.output = b""
        columns, rows = size
        environment = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor", "XDG_STATE_HOME": str(home)}
        self.pid, self.fd = pty.fork()
        if not self.pid:
            fcntl.ioctl(0, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
            os.execvpe(command[0], list(command), environment)  # noqa: S606 - our own command

    def read(self, seconds: float) -> bytes:
        """What comes next; empty if nothing comes in time or the program has ended."""
        if not select.select([self.fd], [], [], seconds)[0]:
            return b""
        try:
            return os.read(self.fd, 65536)
        except OSError:
            return b""

    def until(self, wanted: re.Pattern[bytes]) -> float:
        """Milliseconds from the start until this is painted."""
        while time.perf_counter() - self.began < PATIENCE_SECONDS:
            self.output += self.read(1)
            if wanted.search(_ESCAPES.sub(b"", self.output)):
                return (time.perf_counter() - self.began) * 1000
        message = f"never painted: {wanted.pattern!r}; seen: {self.output[-500:]!r}"
        raise TimeoutError(message)

    def settle(self) -> int:
        """Read until nothing comes any more; how many bytes came."""
        count = 0
        while part := self.read(QUIET_SECONDS):
            count += len(part)
        return count

    def press(self, key: bytes) -> tuple[float, int]:
        """Milliseconds from the key to the first bytes of its paint, and how many bytes came in all."""
        began = time.perf_counter()
        os.write(self.fd, key)
        first = self.read(1)
        took = (time.perf_counter() - began) * 1000
        return took, len(first) + self.settle()

    def end(self) -> None:
        """Stop the program: it holds nothing that could be lost."""
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self.fd)


@contextmanager
def terminal(command: Sequence[str], size: tuple[int, int]) -> Iterator[Terminal]:
    """A program in a terminal, with a folder of its own for what it keeps; stopped at the end."""
    with tempfile.TemporaryDirectory() as home:
        opened = Terminal(command, size, Path(home))
        try:
            yield opened
        finally:
            opened.end()


class Start(NamedTuple):
    """How long each start took, in milliseconds: an empty app's paint, our first text, our first job."""

    floor: float
    text: float
    jobs: float


def start_once(empty: Sequence[str], ours: Sequence[str], size: tuple[int, int]) -> Start:
    """One start of each."""
    with terminal(empty, size) as opened:
        floor = opened.until(PAINT)
    with terminal(ours, size) as opened:
        text = opened.until(TEXT)
        return Start(floor, text, opened.until(JOB_LINE))


def start_budgets(empty: Sequence[str], ours: Sequence[str], size: tuple[int, int], runs: int) -> list[Measured]:
    """First text and first job on the screen."""
    start_once(empty, ours, size)
    starts = [start_once(empty, ours, size) for _ in range(runs)]
    floor, text, jobs = (statistics.median(column) for column in zip(*starts, strict=True))
    against = "first paint, empty textual app"
    return [
        Measured(f"first text, {named(size)}", text, against, floor, 1.5),
        Measured(f"first job on screen, {named(size)}", jobs, against, floor, 3.0),
    ]


def key_budgets(plain: Sequence[str], ours: Sequence[str], size: tuple[int, int]) -> list[Measured]:
    """Down in 10 000 lines: the first keys move the cursor, the later ones also scroll the list."""
    with terminal(plain, size) as floor, terminal(ours, size) as list_of_ours:
        both = (floor, list_of_ours)
        for one in both:
            one.until(re.compile(rb"M00000"))
            one.settle()
            one.press(DOWN)
        pressed = [[one.press(DOWN) for one in both] for _ in range(KEYS)]
    inside = size[1] - 4
    rows: list[Measured] = []
    for what, part in (("Down", pressed[:inside]), ("Down, scrolling", pressed[inside:])):
        took = [statistics.median(pair[i][0] for pair in part) for i in (0, 1)]
        sent = [statistics.median(pair[i][1] for pair in part) for i in (0, 1)]
        rows.append(Measured(f"{what}, {named(size)}", took[1], "the plain list", took[0], 1.5))
        rows.append(Measured(f"{what}, {named(size)}, bytes", sent[1], "the plain list, bytes", sent[0], None))
        if what == "Down":
            rows.append(Measured(f"{what}, {named(size)}, bytes", sent[1], "bytes allowed", BYTES_ALLOWED, 1.0))
    return rows


def named(size: tuple[int, int]) -> str:
    """A size as people write it."""
    return f"{size[0]}x{size[1]}"


def demo_in(folder: Path) -> Path:
    """The demo register, built if it is not there yet."""
    path = folder / "demo.db"
    if not path.exists():
        folder.mkdir(parents=True, exist_ok=True)
        build_demo(path, date.today())  # noqa: DTZ011 - a measurement, not a domain date
    return path


def main() -> None:
    """Build what is missing, measure, print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", default=".bench", type=Path)
    parser.add_argument("--runs", type=int, default=RUNS, help="starts of each program")
    given = parser.parse_args()
    register = demo_in(given.folder.resolve())
    os.chdir(Path(__file__).parents[2])
    ours = [sys.executable, "-m", "pmsched", "--register", str(register)]
    print(f"{'what':34} {'ms':>9} {'against':34} {'ms':>9} {'ratio':>6} {'max':>5}")
    with tempfile.TemporaryDirectory() as folder:
        empty, plain, our_list = (Path(folder) / f"{name}.py" for name in ("empty", "plain", "ours"))
        for path, text in ((empty, EMPTY_APP), (plain, PLAIN_LIST), (our_list, OUR_LIST)):
            path.write_text(text, encoding="utf-8")
        for size in SIZES:
            rows = start_budgets([sys.executable, str(empty)], ours, size, given.runs)
            rows += key_budgets([sys.executable, str(plain)], [sys.executable, str(our_list)], size)
            for measured in rows:
                print(measured.line())


if __name__ == "__main__":
    main()
