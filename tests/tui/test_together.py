"""Two people at two screens and a script, all on one register at once: nobody loses anything, and each sees the others."""

from __future__ import annotations

import asyncio
import os
import random
import subprocess
import sys
from collections import Counter
from collections.abc import Iterable
from pathlib import Path

import platformdirs
import pytest
from pilot import LARGE, make_app, press, run_apps, settled, text_of, type_ahead
from registers import AT, make_register
from textual.pilot import Pilot

from pmsched.store.register import Register
from pmsched.store.verify import verify
from pmsched.tui.screens.report_form import ReportForm
from pmsched.tui.widgets.lines import Lines
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.ask_records import readings_history
from pmsched.usecases.views import Asked

COMMAND = Path(__file__).parent.parent / "support" / "still_command.py"
JOBS = [f"P{n:02d}-CHK" for n in range(1, 11)]
METERS = [f"P{n:02d}-H" for n in range(1, 7)]
VALUE = 1_024
TODAY = "2025-07-01"
FILES = {
    "people": "code,name,rank,department\nCE,A. Ardmore,Chief engineer,engine\n2E,B. Berg,Second engineer,engine\n"
    "3E,C. Coen,Third engineer,engine\n",
    "machines": "code,name,order\n" + "".join(f"P{n:02d},Pump {n},{n}\n" for n in range(1, 11)),
    "counters": "code,machine,unit,reads,dial_start,total_start\n"
    + "".join(f"{meter},{meter[:3]},h,whole,0,0\n" for meter in METERS),
    "jobs": "code,machine,title,interval\n" + "".join(f"{job},{job[:3]},Check the pump,1 month\n" for job in JOBS),
    "last_done": "job,done_on\n" + "".join(f"{job},2025-05-15\n" for job in JOBS),
    "readings": "counter,read_on,time,value\n" + "".join(f"{meter},2025-06-24,20:00,1000\n" for meter in METERS),
}


@pytest.fixture
def register(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Ten pumps, all of their checks overdue, six of them with a meter; drafts lie beside it."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    make_register(tmp_path, FILES).close()
    return tmp_path / "register.db"


def run_command(register: Path, *arguments: str) -> None:
    """Run ``pmsched`` in a process of its own, signed by 3E; it must succeed."""
    command = [sys.executable, str(COMMAND), str(AT), "--register", str(register), "--by", "3E", *arguments]
    environment = {**os.environ, "XDG_STATE_HOME": str(register.parent / "state-3E")}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=60, check=False)
    assert done.returncode == 0, done.stderr


async def run_commands(register: Path, jobs: Iterable[str], meters: Iterable[str]) -> None:
    """A script: reports one after the other, then a round from a file."""
    for job in jobs:
        await asyncio.to_thread(run_command, register, "report", job)
    sheet = register.parent / "round.csv"
    sheet.write_text("counter,value\n" + "".join(f"{meter},{VALUE}\n" for meter in meters), encoding="utf-8")
    await asyncio.to_thread(run_command, register, "round", str(sheet))


async def open_report(pilot: Pilot[None], job: str) -> None:
    """Choose a job on the Watch and open its report."""
    pilot.app.screen.query_one("#due", Lines).choose(f"{job}/")
    await press(pilot, "d")
    assert isinstance(pilot.app.screen, ReportForm)


async def report_by_keys(pilot: Pilot[None], jobs: Iterable[str]) -> None:
    """Report jobs done, one after the other, on the Watch."""
    for job in jobs:
        await open_report(pilot, job)
        await press(pilot, "ctrl+s")
        assert not isinstance(pilot.app.screen, ReportForm), text_of(pilot.app)


async def round_by_keys(pilot: Pilot[None], meters: Iterable[str]) -> None:
    """Type readings on the Round, sign them, and go back to the Watch."""
    await press(pilot, "r")
    for meter in meters:
        pilot.app.screen.query_one(Lines).choose(meter)
        await type_ahead(pilot, f"{VALUE}\n")
    await press(pilot, "e", "ctrl+s", "escape", "w")


def listed(pilot: Pilot[None]) -> set[str]:
    """The jobs on the Watch, without the empty unit."""
    return {line.key.rstrip("/") for line in pilot.app.screen.query_one("#due", Lines).lines if not line.band}


def seen_as_done(pilot: Pilot[None]) -> dict[str, str]:
    """The jobs done today as the Records show them, and who signed."""
    lines = [line.split() for line in text_of(pilot.app).splitlines() if line.startswith(TODAY)]
    return {words[3]: words[words.index("in") - 1] for words in lines}


def signers(path: Path) -> tuple[dict[str, str], dict[str, int]]:
    """Who signed the report of each job since the register was filled, and how many readings of VALUE each meter has."""
    with Register(str(path)) as register:
        rows = history(register, Asked(AT), HistoryFilter()).rows
        reports = [
            (row.job, row.signer) for row in rows if row.version == "in force" and row.recorded_on == row.done_on
        ]
        assert max(Counter(job for job, _signer in reports).values()) == 1
        readings = {
            meter: sum(row.dial == VALUE * 3600 for row in readings_history(register, Asked(AT), meter).rows)
            for meter in METERS
        }
    return dict(reports), readings


@pytest.mark.parametrize("seed", [11])
def test_all_write_at_once(register: Path, seed: int) -> None:
    """Ten reports and three rounds by three hands at the same time are all kept, signed by whoever did them."""
    chance = random.Random(seed)  # noqa: S311 - shuffles work, keeps no secret
    jobs, meters = chance.sample(JOBS, len(JOBS)), chance.sample(METERS, len(METERS))
    by_hand = {"CE": jobs[:4], "2E": jobs[4:7], "3E": jobs[7:]}
    signed_by = {job: signer for signer, done in by_hand.items() for job in done}

    async def steps(chief: Pilot[None], second: Pilot[None]) -> None:
        async def chief_works() -> None:
            await report_by_keys(chief, by_hand["CE"])
            await round_by_keys(chief, meters[:2])

        async def second_works() -> None:
            await round_by_keys(second, meters[2:4])
            await report_by_keys(second, by_hand["2E"])

        await asyncio.gather(chief_works(), second_works(), run_commands(register, by_hand["3E"], meters[4:]))
        for pilot in (chief, second):
            await press(pilot, "u")
            assert listed(pilot) == set()
            await press(pilot, "c")
            assert seen_as_done(pilot) == signed_by

    run_apps([make_app(register, signer="CE"), make_app(register, signer="2E")], steps, LARGE)
    reports, readings = signers(register)
    assert reports == signed_by
    assert readings == dict.fromkeys(METERS, 1)
    with Register(str(register)) as opened:
        assert verify(opened) == []


def test_both_sign_one_job(register: Path) -> None:
    """Two sign the same job at the same moment: one report is kept, the other one is asked, with all that was typed."""
    job = JOBS[0]

    async def steps(*pilots: Pilot[None]) -> None:
        for pilot in pilots:
            await open_report(pilot, job)
            pilot.app.screen.query_one("#remarks").focus()
            await type_ahead(pilot, "bearing is warm")
        await asyncio.gather(*(press(pilot, "ctrl+s") for pilot in pilots))
        for pilot in pilots:
            await settled(pilot.app, pilot)
        (late,) = (pilot for pilot in pilots if isinstance(pilot.app.screen, ReportForm))
        seen = text_of(late.app)
        assert "bearing is warm" in seen
        assert f"already reported done on {TODAY}" in seen
        await press(late, "escape", "u")
        assert job not in listed(late)

    run_apps([make_app(register, signer="CE"), make_app(register, signer="2E")], steps)
    assert list(signers(register)[0]) == [job]


def test_list_on_the_screen_is_old_until_it_is_read_again(register: Path) -> None:
    """What a script did stands on the Watch after u, and the line is gone while the cursor stays where it was."""
    job, chosen = JOBS[0], JOBS[4]

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.screen.query_one("#due", Lines).choose(f"{chosen}/")
        await asyncio.to_thread(run_command, register, "report", job)
        assert job in listed(pilot)
        await press(pilot, "u")
        assert job not in listed(pilot)
        line = pilot.app.screen.query_one("#due", Lines).chosen
        assert line is not None
        assert line.key == f"{chosen}/"

    run_apps([make_app(register)], steps)
