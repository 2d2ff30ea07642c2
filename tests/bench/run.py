"""Measure the budgets: ratios taken side by side in one run, because milliseconds depend on the computer.

    python tests/bench/run.py [FOLDER] [--small]

The registers (10 000 jobs, 500 000 reports, 1 000 000 readings) are built once in FOLDER and kept there.
"""

from __future__ import annotations

import argparse
import gc
import hashlib
import shutil
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import date, timedelta
from pathlib import Path
from typing import NamedTuple

import vessel
from sqlalchemy import Column, Integer, MetaData, Table, Text, insert
from sqlalchemy.dialects import sqlite

from pmsched.store.due_facts import COUNTER_STATEMENT, DUE_STATEMENT
from pmsched.store.engine import BEGIN, connect
from pmsched.store.live import EVERYTHING
from pmsched.store.register import Register
from pmsched.store.tables import FACTS, SETTING
from pmsched.store.verify import verify
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.standings import standings
from pmsched.usecases.views import Asked, scene

RUNS = 7
NOW = vessel.instant(vessel.TODAY, 20)
PAST = vessel.TODAY - timedelta(days=200)


class Measured(NamedTuple):
    """A budget: what was measured, against what, both in milliseconds, and the ratio allowed."""

    what: str
    took: float
    against: str
    floor: float
    budget: float | None

    def line(self) -> str:
        """One line of the table."""
        ratio = self.took / self.floor
        verdict = "-" if self.budget is None else "met" if ratio <= self.budget else "MISSED"
        allowed = "" if self.budget is None else f"{self.budget:.1f}"
        return (
            f"{self.what:34} {self.took:9.2f} {self.against:34} {self.floor:9.2f} {ratio:6.2f} {allowed:>5} {verdict}"
        )


def best_of(action: Callable[[], object], runs: int = RUNS, *, tidy: bool = True) -> float:
    """The median time of an action, in milliseconds, after one warm-up; ``tidy`` empties the garbage before each."""
    action()
    times = []
    for _ in range(runs):
        if tidy:
            gc.collect()
        began = time.perf_counter()
        action()
        times.append((time.perf_counter() - began) * 1000)
    return statistics.median(times)


def due(register: Register, asked: Asked) -> int:
    """The standing of every job; how many."""
    with register.reading() as connection:
        return sum(1 for _ in standings(connection, scene(connection, asked)))


def raw_fetch(path: Path, known: int, until: int, day: date) -> Callable[[], object]:
    """The floor: the raw driver fetching the same live rows with the same statements."""
    values = {"known": known, "until": until, "day": day.isoformat(), "window_days": 90}
    compiled = [statement.compile(dialect=sqlite.dialect()) for statement in (DUE_STATEMENT, COUNTER_STATEMENT)]
    ready = [(str(c), tuple({**c.params, **values}[name] for name in c.positiontup or ())) for c in compiled]
    connection = sqlite3.connect(path)
    return lambda: [connection.execute(sql, binds).fetchall() for sql, binds in ready]


def due_budgets(name: str, path: Path, budget: float) -> list[Measured]:
    """Due today and as known on a past day."""
    with Register(str(path)) as register:
        today = best_of(lambda: due(register, Asked(NOW)))
        past = best_of(lambda: due(register, Asked(NOW, None, PAST.isoformat())))
    floor = best_of(raw_fetch(path, EVERYTHING, NOW, vessel.TODAY))
    return [
        Measured(f"due list, {name}", today, "raw fetch of the same rows", floor, budget),
        Measured(f"known on a past day, {name}", past, "due list today", today, 2.0),
    ]


def deed_budgets(path: Path) -> list[Measured]:
    """A signed deed (its facts and its entry), durable, against a bare one-row commit through the same engine.

    The second line is the whole use case of reporting work, which also asks: the job, its units, what was reported that
    day, whose counters count and what they showed. It has no budget of its own.
    """
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        copy = Path(folder) / "copy.db"
        shutil.copyfile(path, copy)
        number = iter(range(10_000))
        with Register(str(copy)) as register:

            def deed() -> None:
                with register.locked() as connection:
                    work = begin(connection, Signer("CE", NOW))
                    work.add(SETTING, name="upcoming_days", valid_from=vessel.TODAY, value=30)
                    work.enter("change setting")

            def report() -> None:
                n = next(number)
                report_work(register, ReportWork(f"J{n:05}", vessel.TODAY), Signer("CE", NOW + n), tell=False)

            floor = best_of(_one_row(Path(folder) / "bare.db"), 300, tidy=False)
            took = best_of(deed, 300, tidy=False)
            reported = best_of(report, 300, tidy=False)
    return [
        Measured("one signed deed, durable", took, "one-row FULL commit", floor, 2.5),
        Measured("report work, all of it", reported, "one-row FULL commit", floor, None),
    ]


def _one_row(path: Path) -> Callable[[], object]:
    engine = connect(str(path)).execution_options(**{BEGIN: "IMMEDIATE"})
    table = Table("bare", MetaData(), Column("id", Integer, primary_key=True), Column("text", Text))
    table.create(engine)

    def one_row() -> None:
        with engine.connect() as connection, connection.begin():
            connection.execute(insert(table), {"text": "a row"})

    return one_row


def verify_budgets(path: Path) -> list[Measured]:
    """Verify against reading the same bytes with the raw driver: every body, which is hashed, and every row.

    The second line, against the bodies alone, has no budget: reading the rows costs more than twice that by itself.
    """
    with Register(str(path)) as register:
        took = best_of(lambda: verify(register), 3)
    connection = sqlite3.connect(path)

    def hash_bodies() -> None:
        for (body,) in connection.execute("SELECT body FROM entry ORDER BY book, no"):
            hashlib.sha256(body).digest()

    def read_everything() -> None:
        hash_bodies()
        for name in FACTS:
            for _row in connection.execute(f"SELECT * FROM {name} ORDER BY id"):  # noqa: S608 - our own names
                pass

    return [
        Measured("verify", took, "read bodies and rows, hash bodies", best_of(read_everything, 3), 3.0),
        Measured("verify", took, "read and hash bodies alone", best_of(hash_bodies, 3), None),
    ]


def process_budget() -> Measured:
    """The whole process of ``pmsched due`` on the demo against importing sqlalchemy and click."""
    with tempfile.TemporaryDirectory() as folder:
        target = Path(folder) / "demo.db"
        build = "import sys, datetime, pathlib; from seeds_demo.build import build_demo; "
        build += f"build_demo(pathlib.Path({str(target)!r}), datetime.date.today())"
        subprocess.run([sys.executable, "-c", build], check=True)
        due_command = [sys.executable, "-m", "pmsched", "--register", str(target), "due"]
        imports = [sys.executable, "-c", "import sqlalchemy, click"]
        took = best_of(lambda: subprocess.run(due_command, check=True, capture_output=True), 15)
        floor = best_of(lambda: subprocess.run(imports, check=True, capture_output=True), 15)
    return Measured("pmsched due on the demo, process", took, "import sqlalchemy, click", floor, 2.0)


def main() -> None:
    """Build what is missing, measure, print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", default=".bench", type=Path)
    parser.add_argument("--small", action="store_true", help="a register of 400 jobs, to try the script itself")
    given = parser.parse_args()
    size = vessel.SMALL if given.small else vessel.VESSEL
    print(f"{'what':34} {'ms':>9} {'against':34} {'ms':>9} {'ratio':>6} {'max':>5}")
    for name, rules in vessel.names():
        path = vessel.kept(given.folder, name, size, rules)
        for measured in due_budgets(name, path, 2.0 if name == "two-limbs" else 3.0):
            print(measured.line())
        if name == "two-limbs":
            for measured in deed_budgets(path):
                print(measured.line())
            for measured in verify_budgets(path):
                print(measured.line())
    print(process_budget().line())


if __name__ == "__main__":
    main()
