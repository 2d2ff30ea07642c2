"""The Watch, a job's card and the printed page: what a duty engineer does from the start to the page in the pocket."""

from __future__ import annotations

import re
import shutil
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import platformdirs
import pytest
from pilot import LARGE, SMALL, make_app, press, run_app, settled, text_of, type_ahead
from registers import AT, make_register
from textual.pilot import Pilot
from watch_ship import FILES, watch_ship

from pmsched.store.register import Register
from pmsched.tui.app import PmschedApp
from pmsched.tui.page import WIDTH
from pmsched.tui.screens.job_card import JobCardScreen
from pmsched.tui.screens.settle import SettleScreen
from pmsched.tui.screens.watch import WatchScreen
from pmsched.tui.widgets.lines import Lines
from pmsched.tui.words import when
from pmsched.usecases.ask_history import History, HistoryFilter, history
from pmsched.usecases.views import Asked

NASTY = "[ME-01] Oil [/] \\"


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel, made once."""
    return watch_ship(tmp_path_factory.mktemp("watch"))


@pytest.fixture
def ship(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own for the test; what the screens keep for the user lies beside it."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    return Path(shutil.copy(template, tmp_path / "register.db"))


def app_on(ship: Path, signer: str = "3E") -> PmschedApp:
    """The app; pages go into a folder beside the register."""
    app = make_app(ship, signer=signer)
    app.papers = ship.parent / "pages"
    return app


def keys(pilot: Pilot[None], name: str = "#due") -> list[str]:
    """The keys of the lines listed, bands left out."""
    return [line.key for line in pilot.app.screen.query_one(name, Lines).lines if not line.band]


def bands(pilot: Pilot[None]) -> list[str]:
    """The bands of the Watch."""
    return [line.cells[0] for line in pilot.app.screen.query_one("#due", Lines).lines if line.band]


def chosen(pilot: Pilot[None], name: str = "#due") -> str:
    """The key of the line under the cursor."""
    line = pilot.app.screen.query_one(name, Lines).chosen
    return line.key if line else ""


def state_line(pilot: Pilot[None]) -> str:
    """What stands under the top line."""
    return " ".join(" ".join(text_of(pilot.app).splitlines()[1:3]).split())


def notices(pilot: Pilot[None]) -> str:
    """The notices given and still in sight."""
    return " ".join(notice.message for notice in pilot.app._notifications)


def done(ship: Path, job: str) -> History:
    """What was done of a job."""
    with Register(str(ship)) as register:
        return history(register, Asked(AT), HistoryFilter(job=job))


# --- the walk from hand-over to the page in the pocket ----------------------------------------------------------------


def test_a_watch_is_taken_over_in_fifteen_keys(ship: Path) -> None:
    """Read what is due and open, open the first job, read it, report it, tick four tests in bulk, print the page."""
    app = app_on(ship, signer="")
    pressed: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        async def key(*names: str) -> None:
            pressed.extend(names)
            await press(pilot, *names)

        # Without a key: what is due before the watch ends, and what is open now.
        await settled(app, pilot)
        assert bands(pilot) == ["OVERDUE (3)", "TODAY (5)", "BEFORE THE WATCH ENDS (1)", "OPEN NOW (2)"]
        assert "12 066 h" in text_of(app)
        await key("enter")
        card = text_of(app)
        sum_of_it = "12 000 h + 500 h = 12 500 h"
        assert card.index("CAUTION: Nobody at the rockers") < card.index("WHY") < card.index(sum_of_it)
        await key("d", "down", "enter")  # who signs: the second on the list
        assert "Report done: AE1-VLV" in text_of(app)
        await key("ctrl+s", "escape")
        assert bands(pilot)[0] == "OVERDUE (1)"
        await key("down", "down", "space", "space", "space", "space")
        assert "4 ticked: press b" in state_line(pilot)
        await key("b", "ctrl+s")
        assert "ticked" not in state_line(pilot)
        await key("p")

    run_app(app, steps)
    assert len(done(ship, "AE1-VLV").rows) == 2
    assert [len(done(ship, job).rows) for job in ("AE1-STR", "BLG-ALM", "BLG-PMP", "AE1-TRP")] == [2, 2, 2, 2]
    (page,) = (ship.parent / "pages").iterdir()
    assert "STG-TST Test the" in page.read_text(encoding="utf-8")
    assert len(pressed) == 15


# --- what the list shows ----------------------------------------------------------------------------------------------


def test_own_department_first_and_all_by_one_key(ship: Path) -> None:
    """The Watch shows the jobs of whoever signs; a shows those of every department, and takes it back."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        assert "MSB-LMP/" not in keys(pilot)
        assert "7 jobs until Wed 08:00, engine" in state_line(pilot)
        await press(pilot, "a")
        assert {"MSB-LMP/", "WIN-GRS/"} <= set(keys(pilot))
        assert "all departments" in state_line(pilot)
        await press(pilot, "a")
        assert "WIN-GRS/" not in keys(pilot)

    run_app(app, steps)


def test_widening_keeps_what_is_open_before_what_comes_later(ship: Path) -> None:
    """The list looks further ahead; what is open now still stands right after the watch's own bands."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "x", "x")
        assert [re.sub(r" \(.*", "", band) for band in bands(pilot)] == [
            "OVERDUE", "TODAY", "BEFORE THE WATCH ENDS", "OPEN NOW", "AFTER IT",
        ]  # fmt: skip

    run_app(app, steps)


@pytest.mark.parametrize(
    ("line", "screen", "said"),
    [
        pytest.param("held/AE1-H/2025-07-01", SettleScreen, "Held readings", id="held-reading"),
        pytest.param("partly/AE1-INJ", JobCardScreen, "AE1-INJ Renew the injectors", id="partly-done"),
    ],
)
def test_what_is_open_opens(ship: Path, line: str, screen: type, said: str) -> None:
    """Enter on a held reading leads to settling, on a job partly done to its card."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.screen.query_one("#due", Lines).choose(line)
        await settled(app, pilot)
        await press(pilot, "enter")
        assert isinstance(app.screen, screen)
        assert said in text_of(app)

    run_app(app, steps)


def test_units_done_and_not_done_are_named(ship: Path) -> None:
    """A job partly done says how many of its units are done and which are open."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.screen.query_one("#due", Lines).choose("partly/AE1-INJ")
        await settled(app, pilot)
        assert "2 of 3 done, open: 3" in text_of(app)

    run_app(app, steps)


def test_nothing_found_says_what_to_do(ship: Path) -> None:
    """An empty list is not left blank."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "slash")
        await type_ahead(pilot, "no such words\n")
        assert keys(pilot) == []
        assert "Esc shows all lines | no line has all of these words" in state_line(pilot)

    run_app(app, steps)


@pytest.mark.parametrize(
    ("left", "due_on", "expected", "shown"),
    [
        pytest.param("in 1 d", date(2025, 7, 2), False, "in 1 d 07-02", id="fits"),
        pytest.param("100 h overdue", date(2025, 6, 15), True, "100 h over ~06-15", id="shorter-word"),
        pytest.param("12 091 h overdue", date(2020, 6, 13), True, "12 091 h overdue", id="day-left-out"),
    ],
)
def test_a_day_is_never_cut(left: str, due_on: date, shown: str, *, expected: bool) -> None:
    """In the narrow column the day stands whole or not at all."""
    row: Any = SimpleNamespace(left=left, due_on=due_on, expected=expected)
    assert when(row, 17) == shown


def test_only_keys_that_work_while_typing_are_shown(ship: Path) -> None:
    """In the filter a letter is text, so the last line names the keys that are not."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "slash")
        assert text_of(app).splitlines()[-1].strip() == "Enter To the list  Esc Clear  F1 Help  ^q Leave"
        await press(pilot, "escape")
        assert text_of(app).splitlines()[-1].startswith(" Enter Open  ? Help  q Leave  / Filter")

    run_app(app, steps)


def test_a_list_that_cannot_be_read_says_so(tmp_path: Path) -> None:
    """A register that is not there is told in the place of the list, and the program goes on."""
    app = make_app(tmp_path / "missing.db", signer="")

    async def steps(pilot: Pilot[None]) -> None:
        assert "Cannot show this" in state_line(pilot)
        await press(pilot, "u")
        assert isinstance(app.screen, WatchScreen)

    run_app(app, steps)


@pytest.mark.parametrize(
    ("job", "refused"), [pytest.param("STG-TST/", True, id="critical"), pytest.param("BLG-ALM/", False, id="routine")]
)
def test_only_routine_tests_are_ticked(ship: Path, job: str, *, refused: bool) -> None:
    """A critical job is reported by itself, and the notice says so."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        pilot.app.screen.query_one("#due", Lines).choose(job)
        await settled(app, pilot)
        await press(pilot, "space")
        assert ("one by one" in notices(pilot)) is refused
        assert ("1 ticked" in state_line(pilot)) is not refused

    run_app(app, steps)


def test_reporting_ticked_ones_without_any_explains(ship: Path) -> None:
    """The key that reports ticked ones says how to tick where nothing is ticked."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "b")
        assert "Space ticks" in notices(pilot)

    run_app(app, steps)


# --- the card ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x36"])
def test_card_tells_in_the_order_of_safety(ship: Path, size: tuple[int, int]) -> None:
    """Cautions, then why with the sum, needs, steps, last doings; every line fits the screen."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "enter")
        lines = [line.cells[0] for line in app.screen.query_one("#text", Lines).lines]
        text = " ".join(" ".join(lines).split())
        order = [
            "CAUTION: Starting air shut", "CAUTION: Nobody at the rockers", "pmsched advises", "overdue; held reading",
            "WHY: 500 h from 12 000 h", "12 500 h - 12 600 h = 100 h past", "NEEDS: Engine stopped", "1. Turn to firing top",
            "3. Set", "LAST DONE", "2025-03-01; 12 000 h (typed)", "unit 4 was tight",
        ]  # fmt: skip
        places = [text.find(words) for words in order]
        assert -1 not in places, order[places.index(-1)]
        assert places == sorted(places)
        assert max(map(len, lines)) <= size[0] - 1

    run_app(app, steps, size)


def test_card_moves_by_keys_and_goes_back_to_the_same_line(ship: Path) -> None:
    """PgDn shows the rest of a long card; Esc returns to the line it was opened from."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "down", "down", "up")
        before = chosen(pilot)
        await press(pilot, "enter")
        assert before == "AE1-INJ/3"
        assert "CAUTION: Hot parts" in text_of(app)
        await press(pilot, "pagedown")
        assert "LAST DONE" in text_of(app)
        assert "CAUTION" not in text_of(app)
        await press(pilot, "escape")
        assert isinstance(app.screen, WatchScreen)
        assert chosen(pilot) == before

    run_app(app, steps)


def test_card_of_a_job_with_units_tells_why_of_each(ship: Path) -> None:
    """The most urgent unit is told first; Enter on the line of another one tells of that one."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "down", "enter")
        assert "3 months from 2025-03-20 -> 2025-06-20" in text_of(app)
        lines = app.screen.query_one("#text", Lines)
        wanted = next(line.key for line in lines.lines if line.key.endswith("unit 1"))
        lines.choose(wanted)
        await press(pilot, "enter")
        await press(pilot, "home")
        assert "3 months from 2025-06-28 -> 2025-09-28" in text_of(app)

    run_app(app, steps)


def test_card_narrows_to_words(ship: Path) -> None:
    """The filter leaves the lines with the words, Esc brings the others back."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "enter", "slash")
        await type_ahead(pilot, "rockers")
        assert [line.cells[0] for line in app.screen.query_one("#text", Lines).lines] == [
            "CAUTION: Nobody at the rockers"
        ]
        await press(pilot, "escape")
        assert "STEPS" in " ".join(line.cells[0] for line in app.screen.query_one("#text", Lines).lines)

    run_app(app, steps)


def test_card_of_a_job_that_is_gone_says_so(ship: Path) -> None:
    """A card that cannot be read is not left blank."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await app.push_screen(JobCardScreen("AE1-VLX", "Watch"))
        await settled(app, pilot)
        assert "There is no job AE1-VLX" in state_line(pilot)
        await press(pilot, "d", "p")
        assert "nothing to print" in notices(pilot)

    run_app(app, steps)


def test_names_are_shown_as_they_are(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Brackets and backslashes in names pass through list, card, form, notice and page unchanged."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    files = FILES | {
        "jobs": FILES["jobs"].replace("Set the valve clearances", NASTY).replace("Starting air shut", NASTY)
    }
    make_register(tmp_path, files).close()
    app = app_on(tmp_path / "register.db")

    async def steps(pilot: Pilot[None]) -> None:
        for key in ("enter", "d"):
            await press(pilot, key)
            assert text_of(app).count(NASTY) >= 2
        await press(pilot, "ctrl+s", "p", "escape")
        assert isinstance(app.screen, WatchScreen)

    run_app(app, steps)
    (page,) = (tmp_path / "pages").iterdir()
    assert NASTY in page.read_text(encoding="utf-8")


# --- the page ---------------------------------------------------------------------------------------------------------


def printed(app: PmschedApp, *keys_pressed: str) -> str:
    """The page printed after these keys."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, *keys_pressed, "p")
        assert "Page written" in notices(pilot)

    run_app(app, steps)
    assert app.papers is not None
    (page,) = app.papers.iterdir()
    return page.read_text(encoding="utf-8")


def test_page_of_the_watch_is_complete(ship: Path) -> None:
    """Whose it is, when, who signs, the seal, every job with its cautions, nothing cut; 78 columns."""
    text = printed(app_on(ship))
    flowing = " ".join(text.split())
    for words in (
        "MV Invented", "Tue 2025-07-01 20:00 UTC", "until 2025-07-02 08:00, engine", "C. Coen, Third engineer",
        "AE1-INJ 3 Renew", "HELD READING: 500 h from 12 000 h", "! CAUTION: Nobody at the rockers", "2025-06-20",
        "Needs: Engine stopped; 2 people, 3 h", "OPEN NOW (2)", "partly", "Page 1 of 1", "seal ",
    ):  # fmt: skip
        assert words in flowing, words
    assert max(map(len, text.splitlines())) <= WIDTH
    with Register(str(ship)) as register:
        assert f"seal {history(register, Asked(AT)).header.seal}" in text


def test_page_shows_what_the_list_shows(ship: Path) -> None:
    """A narrowed list prints narrowed, and says so."""
    app = app_on(ship)

    async def narrow(pilot: Pilot[None]) -> None:
        await press(pilot, "slash")
        await type_ahead(pilot, "bilge\n")
        await press(pilot, "p")

    run_app(app, narrow)
    (page,) = (ship.parent / "pages").iterdir()
    text = page.read_text(encoding="utf-8")
    assert "only lines with 'bilge'" in text
    assert "AE1-VLV" not in text


def test_page_is_never_written_over_another(ship: Path) -> None:
    """Printed twice in a minute, there are two pages."""
    app = app_on(ship)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "p", "p")

    run_app(app, steps)
    assert sorted(page.name for page in (ship.parent / "pages").iterdir()) == [
        "watch-2025-07-01-2000-2.txt", "watch-2025-07-01-2000.txt",
    ]  # fmt: skip


def test_page_that_cannot_be_written_says_why(ship: Path) -> None:
    """A folder that is a file is told as a notice, and the program goes on."""
    app = app_on(ship)
    app.papers = ship

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "p")
        assert "cannot be written" in notices(pilot)

    run_app(app, steps)


def test_the_list_is_put_in_another_order(ship: Path) -> None:
    """By each column in turn, then as it came; the chosen line stays chosen."""

    async def steps(pilot: Pilot[None]) -> None:
        lines = pilot.app.screen.query_one("#due", Lines)
        usual, chosen = keys(pilot), lines.chosen
        await press(pilot, "o", "o")
        assert sorted(keys(pilot)) == sorted(usual)
        cells = [line.cells[1] for line in lines.lines]
        assert cells == sorted(cells)
        assert bands(pilot) == []
        assert lines.chosen == chosen
        for _ in range(4):
            await press(pilot, "o")
        assert keys(pilot) == usual
        assert bands(pilot) != []

    run_app(app_on(ship), steps)
