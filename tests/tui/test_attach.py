"""Attaching from the Records and from a report: a path is typed or dropped, and the names are shown exactly."""

from __future__ import annotations

import shutil
from pathlib import Path

import platformdirs
import pytest
from attached import kept, listed, made
from audited import audited_register
from pilot import make_app, press, run_app, settled, text_of, type_ahead
from registers import AT
from textual.pilot import Pilot
from textual.widgets import Input, Static

from pmsched.store.register import Register
from pmsched.tui.app import PmschedApp
from pmsched.tui.screens.attach_form import AttachForm
from pmsched.tui.screens.people import PeopleForm
from pmsched.tui.screens.records import RecordsScreen
from pmsched.tui.screens.report_form import ReportForm
from pmsched.tui.typed_files import typed_files
from pmsched.tui.widgets.lines import Lines

A, B = b"first photo", b"second photo"
NASTY = ("[bold red]x[.jpg", "[@click=app.bell]x[;].jpg", "\u4e3b\u6a5f \u51b7\u5374\u6c34.jpg", "it's (2).jpg")
IN_FORCE, CORRECTED, STRUCK = 3, 2, 0


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel with a past, made once."""
    return audited_register(tmp_path_factory.mktemp("audited"))


@pytest.fixture
def ship(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own; the photos lie in the folder the program was started in."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    camera = made(tmp_path / "camera", "a.jpg", A).parent
    made(camera, "b.jpg", B)
    monkeypatch.chdir(camera)
    return Path(shutil.copy(template, tmp_path / "register.db"))


def names(ship: Path) -> list[str]:
    """The names of all that is attached."""
    with Register(str(ship)) as register:
        return listed(register, at=AT)


def said(pilot: Pilot[None], widget: str) -> str:
    """What stands in a widget, all of it."""
    return str(pilot.app.screen.query_one(f"#{widget}", Static).content)


def notices(pilot: Pilot[None]) -> list[str]:
    """What was said in passing."""
    return [notice.message for notice in pilot.app._notifications]


async def choose(pilot: Pilot[None], number: int) -> None:
    """Open the Records, with the cursor on a line, counted from 0."""
    await press(pilot, "c")
    pilot.app.screen.query_one("#records", Lines).cursor = number
    await settled(pilot.app, pilot)


def app_on(ship: Path, signer: str = "CE") -> PmschedApp:
    """The app on the vessel."""
    return make_app(ship, signer=signer)


def test_attached_from_the_records(ship: Path) -> None:
    """One key, the path, and the key that signs; the detail names it with its number and size."""

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, IN_FORCE)
        await press(pilot, "a")
        assert "Attach to report 83: AE1-OIL Change the lube oil, done 2025-06-01" in text_of(pilot.app)
        assert "Attached already: nothing" in text_of(pilot.app)
        await type_ahead(pilot, "a.jpg;b.jpg")
        await press(pilot, "ctrl+s")
        assert isinstance(pilot.app.screen, RecordsScreen)
        assert notices(pilot) == ["Attached to report 83: a.jpg, b.jpg; entry 14."]
        last = said(pilot, "chosen").splitlines()[-1]
        assert last.startswith("Attached: a.jpg (number ")
        assert last.endswith(", 12 bytes)")

    run_app(app_on(ship), steps)
    assert names(ship) == ["a.jpg", "b.jpg"]
    assert len(kept(ship)) == 2


def test_nasty_names_are_shown_exactly(ship: Path) -> None:
    """In the detail, in the form, in the notice and on the job's card: never read as markup."""
    for number, name in enumerate(NASTY):
        made(Path.cwd(), name, f"photo {number}".encode())
    typed = ";".join(f'"{name}"' for name in NASTY)

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, IN_FORCE)
        await press(pilot, "a")
        await type_ahead(pilot, typed)
        await press(pilot, "ctrl+s")
        assert notices(pilot)[0].startswith(f"Attached to report 83: {', '.join(NASTY)};")
        assert [name for name in NASTY if name not in said(pilot, "chosen")] == []
        await press(pilot, "a")
        note = str(pilot.app.screen.query(".note").first(Static).content)
        assert note == f"Attached already: {'; '.join(NASTY)}"
        assert NASTY[0] in text_of(pilot.app)
        await press(pilot, "escape", "enter", "slash")
        await type_ahead(pilot, "attached")
        assert [name for name in NASTY if name not in " ".join(text_of(pilot.app).split())] == []

    run_app(app_on(ship), steps)
    assert names(ship) == list(NASTY)


@pytest.mark.parametrize(
    ("typed", "fault"),
    [
        pytest.param("none.jpg", "There is no file none.jpg. Check its name and folder.", id="missing"),
        pytest.param(".", ". is no file. Name the files one by one.", id="folder"),
        pytest.param("", "No file is named. Name one, for example photo.jpg.", id="empty"),
    ],
)
def test_what_cannot_be_attached_is_said_at_the_field(ship: Path, typed: str, fault: str) -> None:
    """The form stays; left with Esc, what was typed is there the next time."""

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, IN_FORCE)
        await press(pilot, "a")
        await type_ahead(pilot, typed)
        await press(pilot, "ctrl+s")
        assert isinstance(pilot.app.screen, AttachForm)
        assert said(pilot, "fault-files") == fault
        await press(pilot, "escape", "a")
        assert pilot.app.screen.query_one("#files", Input).value == typed

    run_app(app_on(ship), steps)
    assert names(ship) == []


def test_same_file_again(ship: Path) -> None:
    """Refused at the field; also on the line of the corrected version, which tells what the report has."""

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, IN_FORCE)
        await press(pilot, "a")
        await type_ahead(pilot, "a.jpg\n")
        await press(pilot, "enter")
        await choose(pilot, CORRECTED)
        assert "Attached:" not in said(pilot, "chosen")
        await press(pilot, "a")
        assert "Attached already: a.jpg" in text_of(pilot.app)
        await type_ahead(pilot, "a.jpg")
        await press(pilot, "ctrl+s")
        assert said(pilot, "fault-files").startswith("Nothing is new: a.jpg (number ")

    run_app(app_on(ship), steps)
    assert names(ship) == ["a.jpg"]


def test_struck_report_is_told(ship: Path) -> None:
    """It takes no files until it is brought back."""

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, STRUCK)
        await press(pilot, "a")
        await type_ahead(pilot, "a.jpg")
        await press(pilot, "ctrl+s")
        assert said(pilot, "said").startswith("Report 94 is struck.")

    run_app(app_on(ship), steps)


def test_only_to_what_is_known_now(ship: Path) -> None:
    """Not to the due list, and not while a past day is shown."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "l", "a", "l", "k")
        await type_ahead(pilot, "2025-06-05\n")
        await press(pilot, "a")
        assert isinstance(pilot.app.screen, RecordsScreen)
        assert notices(pilot) == [
            "Choose a report in the history first.",
            "A file is attached to what is known now: press k and leave the day empty.",
        ]

    run_app(app_on(ship), steps)


def test_somebody_signs(ship: Path) -> None:
    """Where nobody is named it is asked first."""

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, IN_FORCE)
        await press(pilot, "a")
        assert isinstance(pilot.app.screen, PeopleForm)

    run_app(app_on(ship, signer=""), steps)


def test_attached_with_a_report(ship: Path) -> None:
    """The field Attach; what is wrong with the file is said there, and nothing is reported without it."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "x", "x")
        pilot.app.screen.query_one(Lines).choose("AE1-OIL/")
        await press(pilot, "d")
        form = pilot.app.screen
        assert isinstance(form, ReportForm)
        form.field("attach").focus()
        await type_ahead(pilot, "none.jpg")
        await press(pilot, "ctrl+s")
        assert said(pilot, "fault-attach").startswith("There is no file none.jpg.")
        assert form.focused is form.field("attach")
        form.field("attach").value = "b.jpg"
        await press(pilot, "ctrl+s")
        assert "Attached: b.jpg." in notices(pilot)[-1]
        await press(pilot, "enter", "slash")
        await type_ahead(pilot, "attached")
        assert "attached: b.jpg (number " in text_of(pilot.app)

    run_app(app_on(ship), steps)
    assert names(ship) == ["b.jpg"]


@pytest.mark.parametrize(
    ("text", "paths"),
    [
        pytest.param("a.jpg", ["a.jpg"], id="one"),
        pytest.param(" a.jpg ; my photo.jpg;", ["a.jpg", "my photo.jpg"], id="several"),
        pytest.param("'a;b.jpg' 'c d.jpg'", ["a;b.jpg", "c d.jpg"], id="dropped-in-quotes"),
        pytest.param('"C:\\ship\\a.jpg";b.jpg', ["C:\\ship\\a.jpg", "b.jpg"], id="double-quotes"),
        pytest.param("it's mine.jpg", ["it's mine.jpg"], id="quote-in-a-name"),
        pytest.param("my\\ photo\\(1\\).jpg", ["my photo(1).jpg"], id="dropped-with-backslashes"),
        pytest.param("back\\slash.jpg", ["back\\slash.jpg"], id="backslash-in-a-name"),
        pytest.param("none\\ there.jpg", ["none\\ there.jpg"], id="neither-is-there"),
        pytest.param("~nobody-of-that-name/a.jpg", ["~nobody-of-that-name/a.jpg"], id="nobody"),
        pytest.param(" ; ", [], id="nothing"),
    ],
)
def test_typed_files(text: str, paths: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """As people type paths, and as terminals write them when files are dropped."""
    monkeypatch.chdir(tmp_path)
    for name in ("my photo(1).jpg", "back\\slash.jpg"):
        made(tmp_path, name)
    assert typed_files(text) == tuple(map(Path, paths))


def test_own_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The sign ~ is the person's own folder."""
    monkeypatch.setenv("HOME", str(tmp_path))
    assert typed_files("~/a.jpg") == (tmp_path / "a.jpg",)
