"""The walk past the meters: what is shown and asked, judged at once, and never lost."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path

import pytest
from small_ship import NOW

from pmsched.cli.round_walk import Walk
from pmsched.store.register import Register
from pmsched.usecases.ask_round import SheetLine, judge_value, round_sheet
from pmsched.usecases.round_draft import RoundDraft, TypedValue
from pmsched.usecases.views import Asked

Walked = tuple[bool, dict[str, str], str]
WalkWith = Callable[..., Walked]


@pytest.fixture
def register(ship: Path) -> Iterator[Register]:
    """The small ship's register, open."""
    with Register(str(ship)) as opened:
        yield opened


@pytest.fixture
def sheet(register: Register) -> tuple[SheetLine, ...]:
    """Three meters: ME-H, GE1-H, GE1-S."""
    return round_sheet(register, Asked(NOW))


@pytest.fixture
def walk(register: Register, sheet: tuple[SheetLine, ...], ship: Path) -> WalkWith:
    """Walks the sheet with the answers given: whether the end was reached, what is typed, what was on the screen."""

    def go(*answers: str, start: int = 0) -> Walked:
        screen = io.StringIO()
        draft = RoundDraft(str(ship))
        walking = Walk(
            sheet,
            draft,
            lambda counter, typed: judge_value(register, Asked(NOW), counter, *typed),
            lambda: NOW,
            date(2030, 1, 15),
            io.StringIO("".join(f"{answer}\n" for answer in answers)),
            screen,
        )
        finished = walking.run(start)
        return finished, {code: typed.value for code, typed in draft.typed.items()}, screen.getvalue()

    return go


def test_a_value_that_can_mean_two_things_names_both(walk: WalkWith) -> None:
    """In one plain sentence, and asks for it again."""
    _, typed, screen = walk("", "5,200", "5200", "")
    assert "'5,200' can be read in two ways: 5200 or 5.2." in " ".join(screen.split())
    assert typed == {"GE1-H": "5200"}


def test_each_meter_shows_what_is_expected(walk: WalkWith) -> None:
    """Name, last value with its day, use, and what the dial should show by now."""
    _, _, screen = walk("", "", "")
    assert "1/3  ME-H  Main engine hours" in screen
    assert "last 12 004 h on 2030-01-08 (7 days ago); 12.0 h/day; about 12 087 h now" in screen
    assert "3/3  GE1-S  Starts" in screen


def test_digits_and_enter(walk: WalkWith) -> None:
    """Values typed one after the other; the rise is told at once."""
    finished, typed, screen = walk("12090", "5160.5", "652")
    assert finished
    assert typed == {"ME-H": "12090", "GE1-H": "5160.5", "GE1-S": "652"}
    assert "+86 h" in screen
    assert "+40.0 h" in screen or "+40 h" in screen
    assert "+12 starts" in screen


def test_enter_alone_skips(walk: WalkWith) -> None:
    """A meter that was not read is left out."""
    finished, typed, _ = walk("", "5160.5", "")
    assert finished
    assert typed == {"GE1-H": "5160.5"}


def test_back_one_line_and_typed_again(walk: WalkWith) -> None:
    """B goes back, the typed value is shown, and another one replaces it."""
    finished, typed, screen = walk("12090", "b", "12091", "", "")
    assert finished
    assert typed == {"ME-H": "12091"}
    assert "typed: 12090 (Enter keeps it)" in screen


def test_back_and_enter_keeps(walk: WalkWith) -> None:
    """Going back and on again changes nothing."""
    assert walk("12090", "b", "", "", "")[1] == {"ME-H": "12090"}


def test_minus_takes_out(walk: WalkWith) -> None:
    """A value typed on the wrong line can be taken out."""
    assert walk("12090", "b", "-", "", "")[1] == {}


def test_back_on_the_first_line_stays(walk: WalkWith) -> None:
    """There is nothing before the first meter."""
    assert walk("b", "12090", "", "")[1] == {"ME-H": "12090"}


@pytest.mark.parametrize("stop", [["q"], []], ids=["q", "end-of-input"])
def test_stopping_keeps_what_was_typed(walk: WalkWith, stop: list[str]) -> None:
    """Q and the end of the input stop the walk; the draft stays."""
    finished, typed, _ = walk("12090", *stop)
    assert not finished
    assert typed == {"ME-H": "12090"}


def test_value_that_cannot_be_true_is_explained(walk: WalkWith) -> None:
    """Two digits exchanged: what is wrong and what was perhaps meant; typed again, the right one counts."""
    finished, typed, screen = walk("12900", "12090", "", "")
    assert finished
    assert typed == {"ME-H": "12090"}
    assert "This cannot be true: 896 h in 6 days 22 h (166 h on the clock)." in screen
    assert "Did you mean 12 090 (+86 h)?" in screen


def test_held_value_is_kept_by_enter(walk: WalkWith) -> None:
    """The person may leave it held."""
    finished, typed, _ = walk("12900", "", "", "")
    assert finished
    assert typed == {"ME-H": "12900"}


@pytest.mark.parametrize("stop", [["q"], ["b", "q"], []], ids=["q", "back", "end-of-input"])
def test_held_value_is_not_lost_by_leaving(walk: WalkWith, stop: list[str]) -> None:
    """It was typed and Enter was pressed: it is in the draft."""
    assert walk("12900", *stop)[1] == {"ME-H": "12900"}


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("many", "'many' is not a number."),
        ("12090.5", "finer than whole hours"),
        ("12,090", "can be read in two ways"),
        ("-5", "below zero"),
    ],
)
def test_what_is_no_count_is_asked_again(walk: WalkWith, typed: str, said: str) -> None:
    """The same meter is asked again, with what would be right."""
    finished, kept, screen = walk(typed, "12090", "", "")
    assert finished
    assert kept == {"ME-H": "12090"}
    assert said in " ".join(screen.split())


def test_question_mark_tells_the_keys(walk: WalkWith) -> None:
    """? explains the keys and asks the same meter again."""
    _, _, screen = walk("?", "", "", "")
    assert screen.count("take out what was typed") == 2


def test_screen_shows_nothing_hidden(walk: WalkWith) -> None:
    """What was typed with an escape in it comes back visible."""
    screen = walk("12\x1b[31m", "", "", "")[2]
    assert "\x1b" not in screen


def test_draft_is_written_at_each_enter(walk: WalkWith, ship: Path) -> None:
    """Another process would find every line that was entered."""
    walk("12090", "5160.5")
    assert RoundDraft(str(ship)).typed == {"ME-H": TypedValue("12090", NOW), "GE1-H": TypedValue("5160.5", NOW)}
