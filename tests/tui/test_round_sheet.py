"""The entry sheet by itself: which keys go into the box, and what leaves it when a line is left."""

from __future__ import annotations

import pytest
from pilot import press, run_app, text_of, type_ahead
from textual.app import App, ComposeResult
from textual.pilot import Pilot

from pmsched.tui.round_lines import TYPED, columns, end_line
from pmsched.tui.widgets.lines import Line
from pmsched.tui.widgets.round_sheet import RoundSheet

ARROWS = {"U": "up", "D": "down", " ": "space"}


def line_of(counter: str, text: str = "") -> Line:
    """A line with a text in its box."""
    return Line(counter, tuple(text if place == TYPED else "" for place in range(8)))


class SheetApp(App[None]):
    """Three counters, A to C; what is entered goes back into its line, as the Round does it."""

    def __init__(self) -> None:
        super().__init__()
        self.entered: dict[str, str] = {}
        self.ended = 0
        self.passed: list[str] = []

    def compose(self) -> ComposeResult:
        """The sheet alone."""
        yield RoundSheet(columns(80))

    def on_mount(self) -> None:
        """Fill it."""
        self.query_one(RoundSheet).show([*map(line_of, "ABC"), end_line(0, 3)])

    def on_round_sheet_entered(self, event: RoundSheet.Entered) -> None:
        """Keep what was entered."""
        self.entered[event.typed.key] = event.typed.text
        self.query_one(RoundSheet).put(line_of(event.typed.key, event.typed.text))

    def on_round_sheet_ended(self) -> None:
        """Count."""
        self.ended += 1

    def on_key(self, event: object) -> None:
        """What the sheet leaves to others."""
        self.passed.append(event.key)  # type: ignore[attr-defined]  # textual calls it with a key


def drive(keys: str) -> tuple[SheetApp, str]:
    """The app after these keys, and what was visible; U and D are the arrows."""
    app = SheetApp()
    seen = []

    async def steps(pilot: Pilot[None]) -> None:
        for part in _parts(keys):
            await (press(pilot, ARROWS[part]) if part in ARROWS else type_ahead(pilot, part))
        seen.append(text_of(app))

    run_app(app, steps)
    return app, seen[0]


def _parts(keys: str) -> list[str]:
    """Runs of typing and single arrows."""
    parts = [""]
    for key in keys:
        if key in ARROWS:
            parts += [key, ""]
        else:
            parts[-1] += key
    return [part for part in parts if part]


@pytest.mark.parametrize(
    ("keys", "entered"),
    [
        pytest.param("5100\n", {"A": "5100"}, id="enter"),
        pytest.param("5100\b1\n", {"A": "5101"}, id="backspace-while-typing"),
        pytest.param("5100\nU\b1\n", {"A": "5101"}, id="backspace-edits-what-was-entered"),
        pytest.param("5100\nU5101\n", {"A": "5101"}, id="digit-begins-anew"),
        pytest.param("5100\nUD", {"A": "5100"}, id="only-looked-at"),
        pytest.param("5100D12150U", {"A": "5100", "B": "12150"}, id="arrows-enter"),
        pytest.param("\n12150\n", {"B": "12150"}, id="enter-alone-skips"),
        pytest.param("5\nU\b\n", {"A": ""}, id="erased"),
        pytest.param("\b\b\n", {}, id="nothing-to-erase"),
        pytest.param("5 100\n", {"A": "5100"}, id="space-is-nothing"),
        pytest.param("1\n2\n3\n9", {"A": "1", "B": "2", "C": "3"}, id="no-box-at-the-end"),
        pytest.param("1\n2\n3\n\b", {"A": "1", "B": "2", "C": "3"}, id="nothing-to-erase-at-the-end"),
        pytest.param("1U", {}, id="first-line-cannot-be-left-upwards"),
    ],
)
def test_what_is_entered(keys: str, entered: dict[str, str]) -> None:
    """A line that is left is entered, in whatever way it is left; nothing else is."""
    assert drive(keys)[0].entered == entered


def test_parts_of_numbers_stay_in_the_box() -> None:
    """Digits and marks never reach a binding, also not the first ones of an empty box."""
    app, seen = drive(".,:0123456789")
    assert app.passed == []
    assert "<123456789_" in seen


def test_other_keys_go_on() -> None:
    """Letters, = and - belong to the actions of the screen."""
    assert drive("e=-")[0].passed == ["e", "equals_sign", "minus"]


@pytest.mark.parametrize(("keys", "ended"), [("\n\n\n", 0), ("\n\n\n\n", 1), ("DDDD", 0)], ids=["to", "at", "arrows"])
def test_end_of_the_round(keys: str, ended: int) -> None:
    """Enter below the last counter ends the round; arriving there does not."""
    assert drive(keys)[0].ended == ended


@pytest.mark.parametrize(
    ("keys", "box"),
    [("", "_"), ("12", "12_"), ("1234567890", "1234567890_"), ("12345678901", "<345678901_")],
    ids=["empty", "short", "full", "too-long"],
)
def test_box(keys: str, box: str) -> None:
    """The chosen line shows its box with a caret; of a long text the end is seen, marked as cut."""
    seen = drive(keys)[1].splitlines()[1]
    assert seen.split()[-1] == box


def test_line_taken_away_is_entered() -> None:
    """Narrowing the list does not drop what stands in a box."""
    app = SheetApp()

    async def steps(pilot: Pilot[None]) -> None:
        await type_ahead(pilot, "51")
        app.query_one(RoundSheet).show([line_of("B"), end_line(0, 3)])
        await pilot.pause()

    run_app(app, steps)
    assert app.entered == {"A": "51"}
