"""Isolating from the Watch and from a machine's card: who must not start what, in as few keys as can be."""

from __future__ import annotations

import shutil
from pathlib import Path

import platformdirs
import pytest
from pilot import make_app, press, run_app, settled, text_of, type_ahead
from registers import AT
from textual.pilot import Pilot
from watch_ship import watch_ship

from pmsched.store.register import Register
from pmsched.tui.app import PmschedApp
from pmsched.tui.widgets.lines import Lines
from pmsched.usecases.ask_isolations import IsolationRow, isolation_list
from pmsched.usecases.isolating import Isolate, isolate
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel, made once."""
    return watch_ship(tmp_path_factory.mktemp("isolate"))


@pytest.fixture
def ship(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own; what the screens keep for the user lies beside it."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    return Path(shutil.copy(template, tmp_path / "register.db"))


@pytest.fixture
def isolated(ship: Path) -> Path:
    """The same, with the steering gear isolated."""
    with Register(str(ship)) as register:
        isolate(register, Isolate("STG", "[rudder] stock \\", tag="14"), Signer("CE", AT))
    return ship


def kept(ship: Path) -> tuple[IsolationRow, ...]:
    """Every isolation the register has."""
    with Register(str(ship)) as register:
        return isolation_list(register, Asked(AT), every=True)[1]


def choose(pilot: Pilot[None], words: str) -> None:
    """Put the cursor on the line that holds the words."""
    lines = pilot.app.screen.query_one(Lines)
    found = next(n for n, line in enumerate(lines.lines) if words in " ".join(line.cells))
    lines.action_go(found)


def app_on(ship: Path) -> PmschedApp:
    """The app, signed for by the third engineer."""
    return make_app(ship, signer="3E")


def test_isolated_from_the_watch(ship: Path) -> None:
    """The machine of the chosen line; three keys beside what is typed, and the Watch says so at once."""

    async def steps(pilot: Pilot[None]) -> None:
        choose(pilot, "STG")
        await press(pilot, "i")
        assert "It locks nothing" in text_of(pilot.app)
        await press(pilot, "enter")
        await type_ahead(pilot, "pump open")
        await press(pilot, "ctrl+s")
        assert "NOT TO BE STARTED (1)" in text_of(pilot.app)

    run_app(app_on(ship), steps)
    (row,) = kept(ship)
    assert (row.machine, row.kind, row.why, row.signer) == ("STG", "isolated", "pump open", "3E")


def test_without_a_reason_nothing_is_kept(ship: Path) -> None:
    """The form stays open, says so at the field, and keeps what was typed."""

    async def steps(pilot: Pilot[None]) -> None:
        choose(pilot, "STG")
        await press(pilot, "i", "enter", "enter")
        await type_ahead(pilot, "14")
        await press(pilot, "ctrl+s")
        assert "The next watch must know why." in text_of(pilot.app)
        assert pilot.app.screen.query_one("#tag").value == "14"  # type: ignore[attr-defined]  # an Input

    run_app(app_on(ship), steps)
    assert kept(ship) == ()


def test_watch_says_do_not_start(isolated: Path) -> None:
    """Exactly as typed, and the job on the machine cannot be ticked."""

    async def steps(pilot: Pilot[None]) -> None:
        choose(pilot, "[rudder]")
        await settled(pilot.app, pilot)
        seen = text_of(pilot.app)
        assert "DO NOT START STG Steering gear: isolated since 2025-07-01" in seen
        assert "[rudder] stock \\; tag 14" in seen

    run_app(app_on(isolated), steps)


def test_critical_machine_is_tried_first(isolated: Path) -> None:
    """Enter on the line; refused until something was tried; then it is back in use."""

    async def steps(pilot: Pilot[None]) -> None:
        choose(pilot, "[rudder]")
        await press(pilot, "enter", "ctrl+s")
        assert "STG is critical: it is tried before it is given back." in " ".join(text_of(pilot.app).split())
        await type_ahead(pilot, "both pumps, hard over to hard over")
        await press(pilot, "ctrl+s")
        assert "NOT TO BE STARTED" not in text_of(pilot.app)

    run_app(app_on(isolated), steps)
    (row,) = kept(isolated)
    assert (row.tried, row.ended_by) == ("both pumps, hard over to hard over", "3E")


def test_from_the_card(isolated: Path) -> None:
    """The card says it first; i on its line gives it back, i elsewhere isolates once more."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash")
        await type_ahead(pilot, "steering")
        await press(pilot, "enter", "enter")
        assert "NOT TO BE STARTED (1)" in text_of(pilot.app)
        await press(pilot, "i")
        assert "Back in use: STG Steering gear" in text_of(pilot.app)
        await press(pilot, "escape")
        choose(pilot, "Test the steering gear")
        await press(pilot, "i")
        assert "Not to be started: STG Steering gear" in text_of(pilot.app)

    run_app(app_on(isolated), steps)


def test_test_of_an_isolated_machine_is_not_ticked(ship: Path) -> None:
    """It would be started by it; the reason is said, and the other routine tests can be ticked."""
    with Register(str(ship)) as register:
        isolate(register, Isolate("BLG", "suction chest open"), Signer("CE", AT))

    async def steps(pilot: Pilot[None]) -> None:
        choose(pilot, "Test the bilge alarms")
        await press(pilot, "space")
        assert [notice.message for notice in pilot.app._notifications] == [
            "Critical and class jobs, and jobs on an isolated machine, are reported one by one."
        ]
        choose(pilot, "Try the standby start")
        await press(pilot, "space")
        assert "1 ticked" in text_of(pilot.app)

    run_app(app_on(ship), steps)
