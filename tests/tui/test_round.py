"""Round: forty meters by digits, Enter and arrows; judged as typed, kept at each Enter, signed as one entry."""

from __future__ import annotations

import shutil
import signal
import subprocess
import sys
from pathlib import Path
from typing import NamedTuple

import platformdirs
import pytest
from few_meters import NASTY, make_few
from forty_meters import COUNT, SWAPPED, code, make_forty, new_value, typed_value
from pilot import LARGE, SMALL, make_app, press, run_app, settled, text_of, type_ahead
from registers import AT, make_register
from textual.pilot import Pilot
from textual.widgets import Input

from pmsched.domain.errors import Refusal
from pmsched.tui import flows
from pmsched.tui.gateway import Gateway
from pmsched.tui.screens.round import RoundScreen
from pmsched.tui.screens.round_sign import RoundSigned, SignRound, ThrowAway
from pmsched.usecases.record_round import RoundLine
from pmsched.usecases.round_draft import RoundDraft, TypedValue

TYPIST = Path(__file__).parent.parent / "support" / "round_typist.py"


@pytest.fixture(autouse=True)
def state(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """The user's folder for drafts is the test's."""
    folder = tmp_path / "state"
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: folder)
    return folder


@pytest.fixture(scope="module")
def templates(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Both registers, made once."""
    folder = tmp_path_factory.mktemp("registers")
    make_forty(folder / "forty")
    make_few(folder / "few")
    return folder


@pytest.fixture
def forty(templates: Path, tmp_path: Path) -> Path:
    """Forty meters of a plant."""
    return Path(shutil.copy(templates / "forty" / "register.db", tmp_path))


@pytest.fixture
def few(templates: Path, tmp_path: Path) -> Path:
    """Three meters: GE-H in tenths, ME-H in whole hours, SC-S starts; the last one was never read."""
    return Path(shutil.copy(templates / "few" / "register.db", tmp_path))


class Rounds(NamedTuple):
    """What the register holds of a counter's readings: dial in hours and whether it counts."""

    accepted: list[int]
    held: list[int]


def readings_of(register: Path, counter: str) -> Rounds:
    """The readings of a counter in the register."""
    gateway = Gateway(str(register), lambda: AT)
    rows = gateway.readings(counter).rows
    gateway.close()
    found = {version: [row.dial // 3600 for row in rows if row.version == version] for version in ("accepted", "held")}
    return Rounds(found["accepted"], found["held"])


def screen_of(pilot: Pilot[None]) -> RoundScreen:
    """The Round in front."""
    assert isinstance(pilot.app.screen, RoundScreen)
    return pilot.app.screen


def row_of(pilot: Pilot[None], counter: str) -> list[str]:
    """The words of a counter's line on the screen."""
    return next(line.split() for line in text_of(pilot.app).splitlines() if line.startswith(counter))


def state_line(pilot: Pilot[None]) -> str:
    """The line above the list."""
    return text_of(pilot.app).splitlines()[1].strip()


def detail(pilot: Pilot[None]) -> str:
    """What is said below the list, on one line."""
    return " ".join(" ".join(text_of(pilot.app).splitlines()[-7:-1]).split())


class Typist:
    """Presses keys and counts them."""

    def __init__(self, pilot: Pilot[None]) -> None:
        self.pilot = pilot
        self.keys = 0

    async def type(self, text: str) -> None:
        """Type characters; a line feed is Enter."""
        self.keys += len(text)
        await type_ahead(self.pilot, text)

    async def press(self, *keys: str) -> None:
        """Press keys by name."""
        self.keys += len(keys)
        await press(self.pilot, *keys)


def test_the_months_hours(forty: Path) -> None:
    """40 readings with digits, Enter and arrows; a swapped one held with the right suggestion; one undone; signed.

    Six keys a reading, one to end the round and one to sign it.
    """

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        typist = Typist(pilot)
        for number in range(1, COUNT + 1):
            await typist.type(f"{typed_value(number)}\n")
            if number == SWAPPED:
                assert row_of(pilot, code(SWAPPED))[-2:] == ["31430", "held"]
                assert "226 h in 7 days (168 h on the clock). Did you mean 31 340 (+136 h)?" in detail(pilot)
        assert state_line(pilot) == "Read at now | 40 of 40 typed and saved | 1 held"
        await typist.press("enter")
        assert typist.keys == COUNT * 6 + 1
        assert isinstance(pilot.app.screen, SignRound)

        # Back to the lines: the last one is undone and typed again.
        await typist.press("escape", "up", "minus")
        assert row_of(pilot, code(COUNT))[-1] == "_"
        assert "39 of 40 typed and saved" in state_line(pilot)
        await typist.type(f"{new_value(COUNT) + 1}\n\n")
        said = text_of(pilot.app)
        assert "40 meters: 39 read, 1 held; 2 lines of the due list move" in said
        assert "Sign as A. Ardmore, Chief engineer?" in said

        await typist.press("full_stop")
        assert isinstance(pilot.app.screen, RoundSigned)
        said = text_of(pilot.app)
        assert "40 meters entered as entry 3, seal " in said
        assert "MOVES ON THE DUE LIST (2)" in said
        assert "P01-BRG" in said
        assert "HELD, NOT USED UNTIL SETTLED (1)" in said
        assert "h settles 1 reading held" in said
        assert typist.keys == COUNT * 6 + 2 + 10

        await press(pilot, "h")
        assert code(SWAPPED) in text_of(pilot.app)

    run_app(make_app(forty), steps)
    assert readings_of(forty, code(COUNT)).accepted[-1] == new_value(COUNT) + 1
    assert readings_of(forty, code(SWAPPED)) == Rounds([31_104, 31_204], [31_430])


def test_suggestion_is_taken_by_one_key(forty: Path) -> None:
    """= puts what was meant into the line left a moment ago, = once more takes it back; the cursor does not move."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", *["down"] * (SWAPPED - 1))
        await type_ahead(pilot, "31430\n")
        await press(pilot, "equals_sign")
        assert row_of(pilot, code(SWAPPED))[-2:] == ["31340", "ok"]
        assert "31340 ok (taken for 31430): +136 h. Press = to go back to 31430." in detail(pilot)
        assert screen_of(pilot).chosen == code(SWAPPED + 1)
        await press(pilot, "equals_sign")
        assert row_of(pilot, code(SWAPPED))[-2:] == ["31430", "held"]
        await press(pilot, "equals_sign")
        assert RoundDraft(str(forty)).typed[code(SWAPPED)].value == "31340"

    run_app(make_app(forty), steps)


def test_typing_ahead_of_the_screen(forty: Path) -> None:
    """All forty typed in one go, faster than anything is judged: every value stands in its own line."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "".join(f"{typed_value(n)}\n" for n in range(1, COUNT + 1)))
        assert "40 of 40 typed and saved | 1 held" in state_line(pilot)

    run_app(make_app(forty), steps)
    typed = RoundDraft(str(forty)).typed
    assert [typed[code(n)].value for n in range(1, COUNT + 1)] == [typed_value(n) for n in range(1, COUNT + 1)]


def test_killed_at_the_39th_reading(forty: Path, state: Path) -> None:
    """After kill -9 the 39 lines are there when the screen opens again, and it says so."""
    command = [sys.executable, str(TYPIST), str(forty), str(state)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as typist:
        assert typist.stdout is not None
        said = [typist.stdout.readline().strip() for _ in range(COUNT - 1)]
        typist.send_signal(signal.SIGKILL)
        typist.wait(timeout=10)
    assert said == [str(n) for n in range(1, COUNT)]
    # The fortieth may have reached the disk too before the kill did; never fewer than were said to be kept.
    RoundDraft(str(forty)).take(code(COUNT))

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        assert state_line(pilot) == "Read at now | 39 lines from 07-01 20:00 are kept; go on, or n starts afresh"
        assert screen_of(pilot).chosen == code(COUNT)
        assert row_of(pilot, code(COUNT - 1))[-2:] == [typed_value(COUNT - 1), "ok"]
        await type_ahead(pilot, f"{typed_value(COUNT)}\n")
        assert state_line(pilot) == "Read at now | 40 of 40 typed and saved | 1 held"

    run_app(make_app(forty), steps)


@pytest.mark.parametrize("key", ["ctrl+s", "f10", "e"])
def test_keys_that_end_a_round(few: Path, key: str) -> None:
    """From any line, also with a value in the box, which is entered first."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5100.5")
        await press(pilot, key)
        assert isinstance(pilot.app.screen, SignRound)
        assert "1 meter: 1 read" in text_of(pilot.app)

    run_app(make_app(few), steps)


def test_undo_says_when_there_is_nothing(few: Path) -> None:
    """- in an empty line, and = where nothing is suggested, change nothing."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", "ctrl+z")
        assert state_line(pilot) == "Nothing is typed in this line."
        await press(pilot, "equals_sign")
        assert state_line(pilot) == "Nothing is suggested here."

    run_app(make_app(few), steps)


def test_unread_value_is_not_signed(few: Path) -> None:
    """The round does not end before it is put right; the cursor goes there."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5,100\n12150\n")
        await press(pilot, "e")
        assert screen_of(pilot).chosen == "GE-H"
        assert state_line(pilot) == "GE-H cannot be read: type it again, or take it back with -."
        await press(pilot, "equals_sign", "e")
        assert isinstance(pilot.app.screen, SignRound)

    run_app(make_app(few), steps)


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x36"])
def test_columns(few: Path, size: tuple[int, int]) -> None:
    """Last value, when, how long ago, use, and what is expected, all in sight; names are shown as they are written."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", "down")
        assert row_of(pilot, "ME-H")[-8:] == ["12", "100", "06-24", "7d", "14.3", "~12", "200", "_"]
        assert "2/3 ME-H Main engine hours (ME); dial in whole hours" in text_of(pilot.app)
        assert "Last 12 100 h on 2025-06-24, 7 days ago; 14.3 h/day; about 12 200 now" in text_of(pilot.app)
        await press(pilot, "up")
        assert NASTY in text_of(pilot.app)

    run_app(make_app(few), steps, size)


def test_time_of_the_round(few: Path) -> None:
    """Said once, it counts for every line, is kept in the draft, and what is expected goes with it."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090\n")
        await press(pilot, "i")
        await _fill(pilot, "2025-06-28 20:00")
        assert state_line(pilot).startswith("Read at 2025-06-28 20:00 | 1 of 3 typed")
        assert row_of(pilot, "ME-H")[-6:-1] == ["06-24", "4d", "14.3", "~12", "157"]
        await type_ahead(pilot, "12150\n")
        await press(pilot, "i")
        await _fill(pilot, "")
        assert state_line(pilot).startswith("Read at now | 2 of 3 typed")

    run_app(make_app(few), steps)
    assert {typed.read_at for typed in RoundDraft(str(few)).typed.values()} == {AT}


def test_time_of_the_round_is_kept(few: Path) -> None:
    """After a restart the round still counts for the day on which it was walked."""

    async def first(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090\n")
        await press(pilot, "i")
        await _fill(pilot, "2025-06-28 20:00")

    async def second(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        assert state_line(pilot).startswith("Read at 2025-06-28 20:00 | 1 line from 06-28 20:00 is kept")

    run_app(make_app(few), first)
    run_app(make_app(few), second)


@pytest.mark.parametrize("text", ["2025-07-01 20:01", "tomorrow", "2025-06-28"])
def test_time_that_cannot_be_is_refused(few: Path, text: str) -> None:
    """The form stays open and says why."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", "i")
        await _fill(pilot, text)
        assert pilot.app.screen.query_one(Input).value == text
        await press(pilot, "escape")
        assert state_line(pilot).startswith("Read at now")

    run_app(make_app(few), steps)


async def _fill(pilot: Pilot[None], text: str) -> None:
    """Put a text into the only field of the form in front, and finish it."""
    pilot.app.screen.query_one(Input).value = text
    await press(pilot, "enter")


def test_begun_afresh_only_after_asking(few: Path) -> None:
    """Esc keeps the lines; y throws them away, also on the disk."""
    RoundDraft(str(few)).put("GE-H", TypedValue("5090", AT - 3600))

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", "n")
        assert isinstance(pilot.app.screen, ThrowAway)
        await press(pilot, "escape")
        assert RoundDraft(str(few)).typed
        await press(pilot, "n", "y")
        assert state_line(pilot) == "Read at now | 0 of 3 typed"
        assert screen_of(pilot).chosen == "GE-H"

    run_app(make_app(few), steps)
    assert RoundDraft(str(few)).typed == {}


def test_draft_of_a_counter_that_is_gone_is_told(few: Path) -> None:
    """It is left out of the round, and named with its value."""
    draft = RoundDraft(str(few))
    draft.put("OLD-H", TypedValue("77", AT))
    draft.put("GE-H", TypedValue("5090", AT))

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        assert "OLD-H (77)" in " ".join(text_of(pilot.app).split())
        await press(pilot, "e")
        assert "1 meter: 1 read" in text_of(pilot.app)

    run_app(make_app(few), steps, notices=True)


def test_value_in_the_box_is_kept_on_leaving(few: Path) -> None:
    """Q does not lose what is not entered yet."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090")
        await pilot.press("q")

    run_app(make_app(few), steps)
    assert RoundDraft(str(few)).typed["GE-H"].value == "5090"


def test_value_in_the_box_survives_another_screen(few: Path) -> None:
    """To the Watch and back: the box holds what it held."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090")
        await press(pilot, "w", "r")
        assert row_of(pilot, "GE-H")[-1] == "5090_"

    run_app(make_app(few), steps)


def test_draft_that_cannot_be_kept_is_said(few: Path, state: Path) -> None:
    """The screen says so until it is kept; the value stays typed."""
    state.write_text("a file in the way", encoding="utf-8")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090\n")
        assert state_line(pilot).startswith("NOT KEPT: What is typed cannot be kept in")
        assert row_of(pilot, "GE-H")[-2:] == ["5090", "ok"]
        state.rename(few.with_suffix(".aside"))  # noqa: ASYNC240 - nothing waits meanwhile
        await type_ahead(pilot, "12150\n")
        assert state_line(pilot) == "Read at now | 2 of 3 typed and saved"

    run_app(make_app(few), steps)


def test_nobody_signs_yet(few: Path) -> None:
    """Who signs is asked for, and then the round goes on to the signature."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090\n")
        await press(pilot, "e", "enter")
        while not isinstance(pilot.app.screen, SignRound):
            await press(pilot, "ctrl+s")
        assert "Sign as A. Ardmore, Chief engineer?" in text_of(pilot.app)

    run_app(make_app(few, signer=""), steps)


def test_esc_at_the_signature_keeps_nothing_in_the_register(few: Path) -> None:
    """The lines are still there, and the register is as it was."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090\n")
        await press(pilot, "e", "escape")
        assert "1 of 3 typed" in state_line(pilot)

    run_app(make_app(few), steps)
    assert readings_of(few, "GE-H").accepted == [5000, 5070]


def test_nothing_typed_is_not_signed(few: Path) -> None:
    """Enter to the end and once more."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", "enter", "enter", "enter", "enter")
        assert state_line(pilot) == "Nothing is typed yet."

    run_app(make_app(few), steps)


def test_signed_round_leaves_an_empty_sheet(few: Path, state: Path) -> None:
    """The draft is gone, the boxes are empty, and the new readings are the last ones."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090\n12150\n640\n\n")
        await press(pilot, "ctrl+s")
        assert "3 meters entered as entry 3, seal " in text_of(pilot.app)
        assert "upcoming 07-29 -> 08-12" in text_of(pilot.app)
        await press(pilot, "enter")
        assert state_line(pilot) == "Read at now | 0 of 3 typed"
        assert row_of(pilot, "ME-H")[-7:] == ["12", "150", "07-01", "today", "10.7", "~12", "150"]

    run_app(make_app(few), steps)
    assert list(state.glob("round*")) == []


def test_repeated_attempt_adds_nothing(few: Path) -> None:
    """Signed, and killed before the draft was forgotten: signing again names the entry that is there."""
    draft = RoundDraft(str(few))
    draft.put("GE-H", TypedValue("5090", AT))
    gateway = Gateway(str(few), lambda: AT, "CE")
    gateway.record_round([RoundLine("GE-H", "5090", AT)], draft.request_id())
    gateway.close()

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", "e")
        assert "1 meter already entered as entry 3, seal " in text_of(pilot.app)
        await press(pilot, "escape")
        assert "0 of 3 typed" in state_line(pilot)

    run_app(make_app(few), steps)
    assert readings_of(few, "GE-H").accepted == [5000, 5070, 5090]
    assert RoundDraft(str(few)).typed == {}


def test_values_in_each_others_place(forty: Path) -> None:
    """Two meters read into each other's line are seen when the round is looked at; = in each line exchanges them."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, f"{new_value(2)}\n{new_value(1)}\n\n")
        await press(pilot, "e")
        assert "P01-H and P02-H exchanged?" in " ".join(text_of(pilot.app).split())
        await press(pilot, "escape", "home", "equals_sign")
        assert row_of(pilot, "P01-H")[-2:] == [f"{new_value(1)}_", "ok"]
        await press(pilot, "down", "equals_sign")
        assert row_of(pilot, "P02-H")[-2:] == [f"{new_value(2)}_", "ok"]

    run_app(make_app(forty), steps)


def test_filter_narrows_the_lines(few: Path) -> None:
    """By any name; what is in the box when its line goes is entered."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090")
        await press(pilot, "slash", *"main", "enter")
        assert [line.key for line in screen_of(pilot).sheet.lines] == ["ME-H", ""]
        await type_ahead(pilot, "12150\n")

    run_app(make_app(few), steps)
    assert set(RoundDraft(str(few)).typed) == {"GE-H", "ME-H"}


def test_register_without_counters(tmp_path: Path) -> None:
    """It says what to do; digits and the end do nothing."""
    make_register(tmp_path / "bare", {}).close()

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        assert state_line(pilot) == "First load counters: pmsched load counters.csv (see: pmsched help files)"
        await type_ahead(pilot, "12\n")
        await press(pilot, "e")
        assert state_line(pilot) == "Nothing is typed yet."

    run_app(make_app(tmp_path / "bare" / "register.db"), steps)


def test_register_that_cannot_be_read(few: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reason stands where the counts would be."""

    def refuse(*_arguments: object) -> None:
        raise Refusal("register-locked", "The register is locked.", "Try again.")

    monkeypatch.setattr(Gateway, "round_sheet", refuse)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        assert state_line(pilot) == "Cannot show this: The register is locked. Try again."

    run_app(make_app(few), steps)


def test_h_settles(few: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Held readings of earlier rounds are marked, and can be settled from here."""
    gateway = Gateway(str(few), lambda: AT, "CE")
    gateway.record_round([RoundLine("ME-H", "13000", AT - 3600)], "round-1")
    gateway.close()
    opened: list[object] = []
    monkeypatch.setattr(flows, "settle", opened.append)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r", "down")
        assert row_of(pilot, "ME-H")[-2:] == ["_", "(held)"]
        assert "1 held (h)" in detail(pilot)
        await press(pilot, "h")
        await settled(pilot.app, pilot)

    run_app(make_app(few), steps)
    assert len(opened) == 1


def test_sheet_to_walk_with(few: Path, tmp_path: Path) -> None:
    """Printed, every meter has what it showed last and a line to write on; what is typed already stands there."""
    app = make_app(few)
    app.papers = tmp_path / "pages"

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "5090\n")
        await press(pilot, "p")

    run_app(app, steps)
    (page,) = (tmp_path / "pages").iterdir()
    lines = [line.split() for line in page.read_text(encoding="utf-8").splitlines()]
    assert ["GE-H", *NASTY.split(), "5", "070.5", "06-24", "~5", "141", "5090"] in lines
    assert ["ME-H", "Main", "engine", "hours", "12", "100", "06-24", "~12", "200", "_" * 12] in lines
