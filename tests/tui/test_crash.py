"""When something breaks: it is said, the record is kept and named, nothing is silent, and the screens go on."""

from __future__ import annotations

import functools
import shutil
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import platformdirs
import pytest
from command_line import invoke_program
from pilot import make_app, press, run_app, settled, text_of, type_ahead
from textual.app import App
from textual.pilot import Pilot
from watch_ship import watch_ship

from pmsched.domain.errors import Refusal
from pmsched.tui.app import PmschedApp
from pmsched.tui.asking import Answered, Crashed, Refused
from pmsched.tui.gateway import Gateway
from pmsched.tui.screens.base import HouseScreen
from pmsched.tui.screens.round import RoundScreen
from pmsched.tui.screens.watch import WatchScreen
from pmsched.tui.start import run
from pmsched.tui.widgets.lines import Lines
from pmsched.usecases.ask_watch import Watch

LOG = "fault-20250701.log"
TOLD = f"Something broke in pmsched; nothing you entered is lost. The record is in {LOG}."
GO_ON = "Something broke in pmsched. u reads the register again."
NASTY = "pump [/] of [ME-01]"


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel, made once."""
    return watch_ship(tmp_path_factory.mktemp("crash"))


@pytest.fixture
def ship(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own for the test; what the screens keep for the user lies beside it."""
    for place in ("state", "log"):
        monkeypatch.setattr(platformdirs, f"user_{place}_path", lambda *_a, _place=place, **_k: tmp_path / _place)
    return Path(shutil.copy(template, tmp_path / "register.db"))


@pytest.fixture
def logged() -> list[str]:
    """The records kept."""
    return []


@pytest.fixture
def app(ship: Path, logged: list[str]) -> PmschedApp:
    """The app on the vessel; a crash is written into ``logged``."""

    def keep_log(report: str) -> Path:
        logged.append(report)
        return Path(LOG)

    made = make_app(ship, signer="3E")
    made.keep_log = keep_log
    return made


def breaks(*_arguments: Any, **_named: Any) -> Any:
    """A use case with a bug in it."""
    raise ZeroDivisionError(NASTY)


def refuses(*_arguments: Any, **_named: Any) -> Any:
    """A use case that says no."""
    raise Refusal("test", f"There is no {NASTY}.", "Look [again].")


def notices(app: App[Any]) -> list[str]:
    """The notices given and still in sight."""
    return [notice.message for notice in app._notifications]


def front(pilot: Pilot[None]) -> HouseScreen:
    """The screen in front."""
    assert isinstance(pilot.app.screen, HouseScreen)
    return pilot.app.screen


def state_line(pilot: Pilot[None]) -> str:
    """What stands under the top line, in one piece."""
    return " ".join(" ".join(text_of(pilot.app).splitlines()[1:4]).split())


# --- a bug behind a question ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("method", "keys"),
    [
        ("watch", ()),
        ("round_sheet", ("r",)),
        ("machines", ("m",)),
        ("machine", ("m", "enter")),
        ("history", ("c",)),
        ("job_card", ("enter",)),
        ("held", ("h",)),
    ],
)
def test_bug_behind_a_screen_is_told(
    app: PmschedApp, logged: list[str], monkeypatch: pytest.MonkeyPatch, method: str, keys: tuple[str, ...]
) -> None:
    """Each screen says that something broke, where the record lies and how to go on; u does, once it is mended."""

    async def steps(pilot: Pilot[None]) -> None:
        with monkeypatch.context() as broken:
            broken.setattr(Gateway, method, breaks)
            await press(pilot, *(keys or ("u",)))
            assert TOLD in notices(app)
            assert LOG in " ".join(text_of(app).split())
            assert state_line(pilot).startswith(GO_ON)
        await press(pilot, "u")
        assert GO_ON not in state_line(pilot)
        assert app.screen.query(Lines).first().lines

    run_app(app, steps, notices=True)
    assert f"ZeroDivisionError: {NASTY}" in logged[0]
    assert "in breaks" in logged[0]


@pytest.mark.parametrize("keys", [("d",), ("s",)], ids=["report", "who-signs"])
def test_bug_before_a_form_leaves_the_screen(
    app: PmschedApp, logged: list[str], monkeypatch: pytest.MonkeyPatch, keys: tuple[str, ...]
) -> None:
    """What a form needs cannot be had: no form, but the list stays and can be used."""

    async def steps(pilot: Pilot[None]) -> None:
        monkeypatch.setattr(Gateway, "why", breaks)
        monkeypatch.setattr(Gateway, "people", breaks)
        before = front(pilot)
        logged.clear()
        await press(pilot, *keys)
        assert len(logged) == 1
        assert TOLD in notices(app)
        assert front(pilot) is before
        chosen = before.query_one(Lines).cursor
        await press(pilot, "down")
        assert before.query_one(Lines).cursor != chosen

    run_app(app, steps)


def test_bug_while_a_round_is_signed_loses_no_line(
    app: PmschedApp, logged: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The deed breaks: it is told, the line typed stands there still, and signing again keeps it."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "r")
        await type_ahead(pilot, "12610\n")
        record = Gateway.record_round
        with monkeypatch.context() as broken:
            broken.setattr(
                Gateway,
                "record_round",
                lambda *given, rehearse=False: record(*given, rehearse=True) if rehearse else breaks(),
            )
            await press(pilot, "e", "ctrl+s")
            assert TOLD in notices(app)
        assert isinstance(app.screen, RoundScreen)
        assert "12610" in text_of(app).replace(" ", "")
        await press(pilot, "e", "ctrl+s")

    run_app(app, steps)
    assert "ZeroDivisionError" in logged[0]
    assert len(logged) == 1
    gateway = app.gateway
    assert 12_610 * 3600 in [row.dial for row in gateway.readings("AE1-H").rows]
    gateway.close()


def test_bug_in_taking_the_answer_is_told(app: PmschedApp, logged: list[str], monkeypatch: pytest.MonkeyPatch) -> None:
    """The register answers, and showing it breaks: told as well, and the app stays open."""

    async def steps(pilot: Pilot[None]) -> None:
        with monkeypatch.context() as broken:
            broken.setattr(WatchScreen, "show", breaks)
            await press(pilot, "u")
        assert TOLD in notices(app)
        await press(pilot, "u")
        assert GO_ON not in state_line(pilot)

    run_app(app, steps)
    assert len(logged) == 1


def test_question_of_a_card_that_was_left_breaks(
    app: PmschedApp, logged: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The card was closed before its question broke: nobody waits for it any more, but a bug is never silent."""
    go = threading.Event()

    def breaks_late(*_arguments: Any) -> Any:
        go.wait(30)
        return breaks()

    async def steps(pilot: Pilot[None]) -> None:
        monkeypatch.setattr(Gateway, "job_card", breaks_late)
        await pilot.press("enter")
        card = app.screen
        await pilot.press("escape")
        await pilot.pause()
        assert not card.is_attached
        go.set()
        await settled(app, pilot)
        assert TOLD in notices(app)

    run_app(app, steps)
    assert len(logged) == 1


@pytest.mark.parametrize("whose", ["screen", "app"])
def test_worker_that_dies_is_told(app: PmschedApp, logged: list[str], whose: str) -> None:
    """A worker not started by a question, of a screen or of the app, dies: textual would say nothing."""

    async def steps(pilot: Pilot[None]) -> None:
        node = app if whose == "app" else app.screen
        node.run_worker(breaks, thread=True, exit_on_error=False)
        # Waiting for the worker as ``settled`` does would raise what it died of.
        await pilot.pause()
        await pilot.pause()
        assert notices(app) == [TOLD]

    run_app(app, steps)
    assert f"ZeroDivisionError: {NASTY}" in logged[0]


# --- a refusal --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("method", "keys"), [("watch", ("u",)), ("machines", ("m",)), ("history", ("c",)), ("round_sheet", ("r",))]
)
def test_refusal_stands_where_the_list_would_be(
    app: PmschedApp, logged: list[str], monkeypatch: pytest.MonkeyPatch, method: str, keys: tuple[str, ...]
) -> None:
    """A rule says no: its sentence and what to do, as written, and no crash."""
    monkeypatch.setattr(Gateway, method, refuses)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, *keys)
        assert f"There is no {NASTY}. Look [again]." in state_line(pilot)

    run_app(app, steps)
    assert logged == []


def test_refusal_without_a_place_is_a_notice(
    app: PmschedApp, logged: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where the screen has no place for it a refusal is shown over it, brackets and all."""
    monkeypatch.setattr(Gateway, "why", refuses)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        shown = " ".join(text_of(app).split())
        assert f"There is no {NASTY}. Look [again]." in shown

    run_app(app, steps, notices=True)
    assert logged == []


# --- answers that come late -------------------------------------------------------------------------------------------


def test_older_slower_answer_is_dropped(app: PmschedApp, monkeypatch: pytest.MonkeyPatch) -> None:
    """The first question answers after the second: what the second showed stays."""
    asked: list[str] = []
    go = threading.Event()
    done = threading.Event()
    quick = Gateway.watch

    def slow_once(gateway: Gateway, reach: str, department: str | None) -> Watch:
        asked.append(reach)
        if len(asked) > 1:
            return quick(gateway, reach, department)
        go.wait(5)
        try:
            return quick(gateway, "watch", department)._replace(bands=(), open=())
        finally:
            done.set()

    async def steps(pilot: Pilot[None]) -> None:
        monkeypatch.setattr(Gateway, "watch", slow_once)
        await pilot.press("u", "x")
        await settled(app, pilot)
        assert not done.is_set()
        listed = front(pilot).query_one(Lines)
        shown = listed.lines
        assert shown
        assert "for seven days" in state_line(pilot)
        go.set()
        assert done.wait(30)
        await settled(app, pilot)
        assert asked == ["watch", "week"]
        assert listed.lines == shown
        assert "for seven days" in state_line(pilot)

    run_app(app, steps)


def test_answer_on_its_way_is_dropped_too(app: PmschedApp) -> None:
    """An answer or refusal that was sent before a newer question was asked comes to nobody."""
    taken: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        screen = front(pilot)
        screen.ask("g", lambda: "newer", taken.append)
        screen.post_message(Answered("g", 0, taken.append, "older"))
        screen.post_message(Refused("g", 0, Refusal("x", "older", ""), lambda refusal: taken.append(str(refusal))))
        await settled(app, pilot)

    run_app(app, steps)
    assert taken == ["newer"]


def test_deeds_are_all_answered(app: PmschedApp) -> None:
    """Two deeds in a row: neither replaces the other, whichever is done first."""
    taken: list[str] = []
    go = threading.Event()

    def first() -> str:
        go.wait(30)
        return "first"

    async def steps(pilot: Pilot[None]) -> None:
        screen = front(pilot)
        screen.ask("sign", first, taken.append, deed=True)
        screen.ask("sign", lambda: "second", taken.append, deed=True)
        go.set()
        await settled(app, pilot)

    run_app(app, steps)
    assert sorted(taken) == ["first", "second"]


# --- a bug that closes the screens ------------------------------------------------------------------------------------


@pytest.fixture
def without_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    """The screens run without a terminal, and a bug strikes as soon as they are open."""
    monkeypatch.setattr("pmsched.cli.screens.have_terminal", lambda: True)
    monkeypatch.setattr(PmschedApp, "run", functools.partialmethod(App.run, headless=True))
    monkeypatch.setattr(WatchScreen, "on_screen_resume", breaks)


@pytest.mark.usefixtures("without_terminal")
def test_bug_outside_of_a_question_is_raised_to_whoever_opened_the_screens(
    ship: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """It is not printed as pages of program text; whoever opened the screens gets it."""
    keep_log: Callable[[str], Path] = lambda _report: Path(LOG)  # noqa: E731
    with pytest.raises(ZeroDivisionError):
        run(str(ship), lambda: 0, keep_log)
    said = capsys.readouterr()
    assert said.out + said.err == ""


@pytest.mark.usefixtures("without_terminal")
def test_command_line_owns_up(ship: Path, tmp_path: Path) -> None:
    """The program says it in a sentence, names the record, and ends with 70."""
    said = invoke_program("--register", str(ship))
    assert said.code == 70
    (record,) = (tmp_path / "log").iterdir()
    assert str(record) in said.err
    assert "ZeroDivisionError" in record.read_text(encoding="utf-8")


def test_crash_reaches_the_app_once(app: PmschedApp, logged: list[str]) -> None:
    """A bug told by a widget deep in a screen is recorded once."""

    async def steps(pilot: Pilot[None]) -> None:
        front(pilot).query_one(Lines).post_message(Crashed("told"))
        await settled(app, pilot)

    run_app(app, steps)
    assert logged == ["told"]
