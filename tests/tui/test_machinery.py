"""Machinery: the tree found by any name, a machine's card, and the readings of a counter."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from audited import audited_register
from pilot import LARGE, SMALL, make_app, press, run_app, settled, text_of, type_ahead
from registers import AT, empty_register
from textual.pilot import Pilot

from pmsched.store.loaded_facts import revisions_at_last
from pmsched.store.register import Register
from pmsched.store.tables import MACHINE_REVISION
from pmsched.tui import flows
from pmsched.tui.screens.machine_card import MachineCardScreen
from pmsched.tui.screens.machinery import MachineryScreen
from pmsched.tui.screens.readings import ReadingsScreen
from pmsched.tui.widgets.lines import Lines
from pmsched.usecases.signing import Signer, begin

STATE_ROW = 1


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel with a past, made once."""
    return audited_register(tmp_path_factory.mktemp("audited"))


@pytest.fixture
def register(template: Path, tmp_path: Path) -> Path:
    """A register of its own for the test."""
    return Path(shutil.copy(template, tmp_path / "register.db"))


@pytest.fixture
def called(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[tuple[Any, ...]]]:
    """The flows that were called, by name, with what they were given; none of them runs."""
    calls: list[tuple[Any, ...]] = []
    for name in ("open_job", "report_job", "correct_reading"):
        monkeypatch.setattr(flows, name, lambda _app, *given, _name=name: calls.append((_name, *given)))
    return calls


def codes(pilot: Pilot[None]) -> list[str]:
    """The machines listed."""
    return [line.key for line in pilot.app.screen.query_one("#machines", Lines).lines]


def state_line(pilot: Pilot[None]) -> str:
    """The line under the top."""
    return text_of(pilot.app).splitlines()[STATE_ROW].strip()


def row_with(pilot: Pilot[None], text: str) -> str:
    """The row of the screen that holds the text."""
    return next(row for row in text_of(pilot.app).splitlines() if text in row)


def notices(pilot: Pilot[None]) -> list[str]:
    """What was said in passing."""
    return [notice.message for notice in pilot.app._notifications]


def test_tree_in_walking_order_set_in(register: Path) -> None:
    """Children stand under their parent, each step two blanks further in; state, jobs, critical and department beside."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m")
        assert isinstance(pilot.app.screen, MachineryScreen)
        assert codes(pilot) == ["AE", "AE1", "AE1-LOP", "STG", "OLD"]
        assert row_with(pilot, "AE1 Auxiliary").startswith("  AE1 Auxiliary engine 1")
        assert row_with(pilot, "AE1-LOP").startswith("    AE1-LOP Lube-oil pump of auxiliary")
        assert row_with(pilot, "AE1 Auxiliary").split()[-4:] == ["upcoming", "4", "critical", "engine"]
        assert state_line(pilot).startswith("5 of 5 machines")

    run_app(make_app(register), steps)


@pytest.mark.parametrize(
    ("typed", "found"),
    [
        pytest.param("lop", ["AE1-LOP"], id="code"),
        pytest.param("STEERING", ["STG"], id="name-any-case"),
        pytest.param("no. 1 gen", ["AE1"], id="other-name"),
        pytest.param("oil aux", ["AE1-LOP"], id="words-in-any-order"),
        pytest.param("engine", ["AE", "AE1", "AE1-LOP"], id="several"),
    ],
)
def test_found_as_typed(register: Path, typed: str, found: list[str]) -> None:
    """The tree narrows with each key, by code, name and other names."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash")
        await type_ahead(pilot, typed)
        assert codes(pilot) == found
        assert state_line(pilot).startswith(f"{len(found)} of 5 machines")

    run_app(make_app(register), steps)


def test_the_name_it_was_found_by_is_shown(register: Path) -> None:
    """A machine found by another name says which."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash", "g", "1")
        assert "AE1 Auxiliary engine 1  (G1)" in text_of(pilot.app)

    run_app(make_app(register), steps)


def test_nothing_found_says_what_to_do(register: Path) -> None:
    """Esc brings the whole tree back."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash", "z", "z")
        assert codes(pilot) == []
        assert state_line(pilot) == "Esc shows all lines | no line has all of these words"
        await press(pilot, "escape")
        assert len(codes(pilot)) == 5

    run_app(make_app(register), steps)


def test_empty_register_says_what_to_do(tmp_path: Path) -> None:
    """A register without machines names the command that brings them in."""
    empty_register(tmp_path).close()

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m")
        assert state_line(pilot).startswith("First load machines: pmsched load machines.csv")

    run_app(make_app(tmp_path / "register.db"), steps)


def test_register_that_is_not_there(tmp_path: Path) -> None:
    """The refusal stands where the list would be, in words."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m")
        assert state_line(pilot).startswith("Cannot show this: ")
        assert "pmsched init" in " ".join(text_of(pilot.app).split())
        assert codes(pilot) == []

    run_app(make_app(tmp_path / "none.db"), steps)


def test_machine_out_of_use_stays_and_is_marked(register: Path) -> None:
    """Its history may be asked for, so it is not hidden."""
    with Register(str(register)) as opened, opened.locked() as connection:
        work = begin(connection, Signer("CE", AT))
        (row,) = [r for r in revisions_at_last(connection, MACHINE_REVISION).values() if r.name == "Old bilge pump"]
        said = {"name": row.name, "walking_order": row.walking_order, "critical": False, "department": row.department}
        work.add(
            MACHINE_REVISION,
            machine_id=row.machine_id,
            parent_id=None,
            valid_from=date(2025, 6, 1),
            active=False,
            **said,
        )
        work.enter("revise machine")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m")
        assert row_with(pilot, "OLD Old bilge pump").endswith("not in use")

    run_app(make_app(register), steps)


def test_wide_screen_shows_other_names(register: Path) -> None:
    """From 100 columns on all names stand in the list."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m")
        assert row_with(pilot, "AE1 Auxiliary").endswith("No. 1 generator; G1")
        assert row_with(pilot, "also called").startswith("machine")

    run_app(make_app(register), steps, LARGE)


def test_back_from_the_card_everything_is_as_it_was(register: Path) -> None:
    """Filter and chosen line are kept."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m", "slash", "a", "e", "enter", "down", "enter")
        assert isinstance(pilot.app.screen, MachineCardScreen)
        assert "Machinery > AE1 " in text_of(pilot.app).splitlines()[0]
        await press(pilot, "escape")
        assert codes(pilot) == ["AE", "AE1", "AE1-LOP"]
        chosen = pilot.app.screen.query_one("#machines", Lines).chosen
        assert chosen is not None
        assert chosen.key == "AE1"

    run_app(make_app(register), steps)


async def open_card(pilot: Pilot[None], code: str) -> None:
    """Open a machine's card from the tree."""
    await press(pilot, "m")
    pilot.app.screen.query_one("#machines", Lines).choose(code)
    await press(pilot, "enter")


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x36"])
def test_card(register: Path, size: tuple[int, int]) -> None:
    """Counters with total, dial, age and use; jobs with standing; parts; last doings; each under its heading."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        lines = pilot.app.screen.query_one("#card", Lines).lines
        assert [line.cells[0] for line in lines if line.band] == [
            "COUNTERS (2)", "JOBS (4)", "PARTS (1)", "LAST DOINGS (8)", "ALSO CALLED (2)",
        ]  # fmt: skip
        assert lines[1].cells == ("AE1-H", "HELD | total 12 375 h", "read 23 days ago", "10.1 h/day")
        assert lines[2].cells == ("AE1-S", "never read", "", "")
        assert lines[4].cells == ("upcoming", "AE1-OIL Change the lube oil", "435 h", "~2025-07-21")
        assert [line.cells for line in lines if line.cells[0] == "R-118"] == [
            ("R-118", "Turbocharger rotor", "fitted 2023-03-05", "")
        ]
        assert state_line(pilot) == "AE1 Auxiliary engine 1 | critical | engine"
        assert "435 h" in row_with(pilot, "AE1-OIL")

    run_app(make_app(register), steps, size)


def test_card_says_whose_counter_a_machine_counts_on(register: Path) -> None:
    """A machine without a counter of its own."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1-LOP")
        lines = pilot.app.screen.query_one("#card", Lines).lines
        assert lines[0].cells == ("COUNTS ON (1)",)
        assert lines[1].cells[:3] == ("AE1-H", "of AE1", "12 375 h")

    run_app(make_app(register), steps)


def test_empty_card_says_what_to_do(register: Path) -> None:
    """A machine of which nothing is known yet."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "OLD")
        assert state_line(pilot) == "OLD Old bilge pump | engine | first load counters, jobs: pmsched load"

    run_app(make_app(register), steps)


def test_card_explains_the_chosen_job(register: Path) -> None:
    """Why it is due then, and its cautions, stand below the list."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        pilot.app.screen.query_one("#card", Lines).choose("job AE1-OIL/")
        await settled(pilot.app, pilot)
        assert "CAUTION: Hot oil" in text_of(pilot.app)
        assert "435 h left at 10.1 h/day" in text_of(pilot.app)

    run_app(make_app(register), steps)


@pytest.mark.parametrize(
    ("line", "key", "call"),
    [
        pytest.param("job AE1-OIL/", "enter", ("open_job", "AE1-OIL"), id="enter-on-a-job"),
        pytest.param("job AE1-EXV/2", "enter", ("open_job", "AE1-EXV"), id="enter-on-a-unit"),
        pytest.param("job AE1-EXV/2", "d", ("report_job", "AE1-EXV", "2"), id="d-on-a-unit"),
    ],
)
def test_card_starts_flows(register: Path, called: list[Any], line: str, key: str, call: tuple[str, ...]) -> None:
    """Enter opens the job, d reports the chosen line."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        pilot.app.screen.query_one("#card", Lines).choose(line)
        await press(pilot, key)

    run_app(make_app(register), steps)
    given = [(name, *((row.job, row.unit) if name == "report_job" else (row,))) for name, row in called]
    assert given == [call]


def test_nothing_to_report_on_a_counter(register: Path, called: list[Any]) -> None:
    """D on a line that is no job says which line it takes."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        await press(pilot, "d")
        assert notices(pilot) == ["Choose a line under JOBS first."]

    run_app(make_app(register), steps)
    assert called == []


def test_card_is_narrowed_without_empty_headings(register: Path) -> None:
    """A heading goes with its lines."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        await press(pilot, "slash", "r", "o", "t", "o", "r")
        assert [line.cells[0] for line in pilot.app.screen.query_one("#card", Lines).lines] == ["PARTS (1)", "R-118"]

    run_app(make_app(register), steps)


def test_readings_with_every_version(register: Path) -> None:
    """Newest first: held, struck and corrected versions stay, each by its word; below who signed, when and why."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        await press(pilot, "r")
        assert isinstance(pilot.app.screen, ReadingsScreen)
        assert "Machinery > AE1 > AE1-H" in text_of(pilot.app).splitlines()[0]
        lines = pilot.app.screen.query_one("#readings", Lines)
        assert [line.cells[:4] for line in lines.lines[:5]] == [
            ("2025-06-22 12:00", "held", "11 900", ""),
            ("2025-06-15 12:00", "struck", "12 440", ""),
            ("2025-06-15 12:00", "corrected", "12 440", ""),
            ("2025-06-08 12:00", "accepted", "12 375", "12 375 h"),
            ("2025-06-08 12:00", "corrected", "12 370", ""),
        ]
        assert state_line(pilot) == "9 lines | 1 held | 2 corrected | 1 struck"
        await press(pilot, "down")
        assert "STRUCK" in text_of(pilot.app)
        assert "Signed by CE as Chief engineer, 2025-06-24 18:00 UTC, entry" in text_of(pilot.app)
        assert "Reason: wrong line" in text_of(pilot.app)

    run_app(make_app(register), steps)


def test_readings_are_corrected_by_number(register: Path, called: list[Any]) -> None:
    """V gives the chosen reading to the flow."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        await press(pilot, "r", "down", "v")

    run_app(make_app(register), steps)
    ((name, number, counter),) = called
    assert (name, counter) == ("correct_reading", "AE1-H")
    assert number.isdigit()


def test_counter_never_read_says_what_to_do(register: Path) -> None:
    """An empty list of readings points at the round."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        pilot.app.screen.query_one("#card", Lines).choose("counter AE1-S")
        await press(pilot, "r")
        assert state_line(pilot) == "First enter it in the Round (F3) | AE1-S was never read"

    run_app(make_app(register), steps)


def test_machine_without_a_counter_has_no_readings(register: Path) -> None:
    """R says so and stays on the card."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "OLD")
        await press(pilot, "r")
        assert isinstance(pilot.app.screen, MachineCardScreen)
        assert notices(pilot) == ["This machine has no counter and counts on none."]

    run_app(make_app(register), steps)


def test_machine_that_is_gone_is_said(register: Path) -> None:
    """A card of a machine that is not in the register says so in words."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "m")
        pilot.app.push_screen(MachineCardScreen("NONE"))
        await settled(pilot.app, pilot)
        assert state_line(pilot).startswith("Cannot show this: There is no machine NONE.")

    run_app(make_app(register), steps)


def test_paper_holds_the_whole_card(register: Path) -> None:
    """Nothing shown is left out on paper, and each line carries what is said below the list."""

    async def steps(pilot: Pilot[None]) -> None:
        await open_card(pilot, "AE1")
        screen = pilot.app.screen
        assert isinstance(screen, MachineCardScreen)
        paper = screen.paper()
        assert paper is not None
        text = "\n".join(line for block in paper.blocks for line in block)
        for line in screen.query_one("#card", Lines).lines:
            assert line.cells[0] in text
        assert "CAUTION: Hot oil" in text
        assert paper.seal

    run_app(make_app(register, at=AT), steps)
