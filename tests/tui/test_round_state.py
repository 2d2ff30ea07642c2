"""A round while it is typed, without a screen: what is said of values, what is offered, and what is kept."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from pathlib import Path

import platformdirs
import pytest
from few_meters import NASTY, make_few
from registers import AT, DAY_SECONDS

from pmsched.domain.clocks import ClockChange, ShipClock
from pmsched.domain.counters import Rate
from pmsched.domain.counts import Meter
from pmsched.tui.gateway import Gateway
from pmsched.tui.round_lines import Entry, as_typed, columns, known, sheet_line
from pmsched.tui.round_state import RoundState, Sheet
from pmsched.usecases.record_round import RoundLine
from pmsched.usecases.round_draft import RoundDraft, TypedValue

TODAY = date(2025, 7, 1)
"""The ship's date at ``AT``."""


@pytest.fixture(autouse=True)
def _own_folder(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """The user's folder is the test's."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")


@pytest.fixture(scope="module")
def gateway(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Gateway]:
    """The three meters; these tests only ask."""
    opened = Gateway(str(make_few(tmp_path_factory.mktemp("few"))), lambda: AT, "CE")
    yield opened
    opened.close()


@pytest.fixture
def state(gateway: Gateway) -> RoundState:
    """A round with nothing typed."""
    return open_round(gateway)


def open_round(gateway: Gateway) -> RoundState:
    """The round as it opens."""
    draft = RoundDraft(gateway.target)
    return RoundState(Sheet(gateway.round_sheet(draft.at), gateway.ship_clock(), draft))


def enter(gateway: Gateway, state: RoundState, counter: str, text: str) -> Entry:
    """Enter a value, have it judged if it can be read, and give what is said of it."""
    state.enter(counter, text, AT)
    judge(gateway, state)
    return state.entries[counter]


def judge(gateway: Gateway, state: RoundState) -> None:
    """Judge what waits."""
    for code, entry in state.waiting().items():
        assert state.judge(code, entry, gateway.judge(code, entry.text, entry.read_at))


@pytest.mark.parametrize(
    ("typed", "word", "said"),
    [
        pytest.param("5100.5", "ok", "GE-H 5100.5 ok: +30 h", id="ok"),
        pytest.param("5070,5", "same", "GE-H 5070,5 same: the same as last time", id="same"),
        pytest.param("4000", "held", "GE-H 4000 HELD: lower than the reading of 2025-06-24 by 1 070.5 h", id="held"),
        pytest.param(
            "5069", "held",
            "GE-H 5069 HELD: lower than the reading of 2025-06-24 by 1.5 h. Did you mean 5 096 (+25.5 h)? or the reading of "
            "2025-06-24 (5 070.5) is the wrong one: 5 069 is 69 h above 2025-06-17, in 14 days. Press = to take 5096.",
            id="two-explanations",
        ),
        pytest.param(
            "51005", "held",
            "GE-H 51005 HELD: 45 934.5 h in 7 days (168 h on the clock). Did you mean 5 100.5 (+30 h)? Press = to take 5100.5.",
            id="point-left-out",
        ),
        pytest.param("5:", "unread", "GE-H 5: UNREAD: '5:' is not a number. Write digits, such as 12345 or 12345.5.", id="no-number"),
        pytest.param(
            "5,100", "unread",
            "GE-H 5,100 UNREAD: '5,100' can be read in two ways: 5100 or 5.1. Press = to take 5100.",
            id="two-ways",
        ),
        pytest.param("5100.55", "unread", "GE-H 5100.55 UNREAD: '5100.55' is finer than 0.1 h. Write 5100.5.", id="too-fine"),
    ],
)  # fmt: skip
def test_judged(gateway: Gateway, state: RoundState, typed: str, word: str, said: str) -> None:
    """A word for the line, and a sentence; what was typed stays as it was typed, also in the draft."""
    entry = enter(gateway, state, "GE-H", typed)
    assert (entry.word, entry.text) == (word, typed)
    assert state.said("GE-H", AT).splitlines()[-1] == said
    assert state.draft.typed["GE-H"] == (typed, AT)


def test_first_reading(gateway: Gateway, state: RoundState) -> None:
    """Of a counter never read nothing is expected, and any value can be true."""
    assert "Never read" in state.said("SC-S", AT)
    assert enter(gateway, state, "SC-S", "640").word == "ok"


def test_already_entered(gateway: Gateway, state: RoundState) -> None:
    """The same value for the same instant is there already."""
    state.walked_at(AT - 7 * DAY_SECONDS, AT)
    assert enter(gateway, state, "GE-H", "5070.5").said == "already entered"


def test_offers_go_round(gateway: Gateway, state: RoundState) -> None:
    """Each press takes the next value that may be meant, the last one the value first typed; then it begins anew."""
    enter(gateway, state, "GE-H", "5,100")
    seen = []
    for _ in range(4):
        assert state.take_other("GE-H") is not None
        judge(gateway, state)
        seen.append((state.entries["GE-H"].text, state.entries["GE-H"].word))
    assert seen == [("5100", "ok"), ("5.1", "held"), ("5,100", "unread"), ("5100", "ok")]


def test_taken_value_says_what_it_was_taken_for(gateway: Gateway, state: RoundState) -> None:
    """And which key goes back."""
    enter(gateway, state, "GE-H", "51005")
    state.take_other("")
    judge(gateway, state)
    assert (
        state.said("", AT).splitlines()[-1] == "GE-H 5100.5 ok (taken for 51005): +30 h. Press = to go back to 51005."
    )


def test_nothing_offered(gateway: Gateway, state: RoundState) -> None:
    """A value that can be true has no other to take; neither has a line without a value."""
    assert state.take_other("GE-H") is None
    enter(gateway, state, "GE-H", "5100")
    assert state.take_other("GE-H") is None


def test_value_in_question(gateway: Gateway, state: RoundState) -> None:
    """It is the chosen line's, or else the one entered last."""
    enter(gateway, state, "ME-H", "12150")
    enter(gateway, state, "GE-H", "5100")
    assert [state.in_question(chosen) for chosen in ("ME-H", "SC-S", "")] == ["ME-H", "GE-H", "GE-H"]


def test_late_judgement_is_dropped(gateway: Gateway, state: RoundState) -> None:
    """What is said of a value typed before is not said of what stands there now."""
    old = state.enter("GE-H", "5069", AT)
    new = state.enter("GE-H", "5100", AT)
    assert not state.judge("GE-H", old, gateway.judge("GE-H", "5069", AT))
    assert state.entries["GE-H"] == new


def test_time_of_the_round_counts_for_every_line(gateway: Gateway, state: RoundState) -> None:
    """Said late, it changes the lines already typed, and they are judged again; back to now as well."""
    assert enter(gateway, state, "ME-H", "12250").word == "ok"
    then = AT - 3 * DAY_SECONDS
    state.walked_at(then, AT)
    judge(gateway, state)
    assert (state.entries["ME-H"].word, state.draft.typed["ME-H"].read_at, state.draft.at) == ("held", then, then)
    state.walked_at(None, AT)
    assert (state.draft.typed["ME-H"].read_at, state.draft.at) == (AT, None)


def test_line_taken_back(gateway: Gateway, state: RoundState) -> None:
    """It is gone from the draft too; where nothing was typed nothing is taken."""
    enter(gateway, state, "GE-H", "5100")
    assert state.take_back("GE-H")
    assert not state.take_back("GE-H")
    assert (state.draft.typed, state.entries) == ({}, {})


def test_goes_on_where_it_was_left(gateway: Gateway) -> None:
    """What was kept is there, unread values too; the place is behind the last line typed."""
    draft = RoundDraft(gateway.target)
    for code, value in (("GE-H", "5,100"), ("ME-H", "12150"), ("OLD-H", "77")):
        draft.put(code, TypedValue(value, AT - 3600))
    state = open_round(gateway)
    assert state.told() == "Read at now | 3 lines from 07-01 19:00 are kept; go on, or n starts afresh"
    assert (state.where_left(), state.unread(), state.gone) == ("SC-S", "GE-H", {"OLD-H": "77"})
    judge(gateway, state)
    assert {code: entry.word for code, entry in state.entries.items()} == {"GE-H": "unread", "ME-H": "ok"}


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        pytest.param({}, "Read at now | 0 of 3 typed", id="nothing"),
        pytest.param({"GE-H": "5100"}, "Read at now | 1 of 3 typed and saved", id="one"),
        pytest.param(
            {"GE-H": "5,100", "ME-H": "1"},
            "Read at now | 2 of 3 typed and saved | 1 held, 1 unread",
            id="held-and-unread",
        ),
    ],
)
def test_told(gateway: Gateway, state: RoundState, typed: dict[str, str], told: str) -> None:
    """How far the round is, that it is on the disk, and what waits in it."""
    for counter, text in typed.items():
        enter(gateway, state, counter, text)
    state.kept = len(typed)
    assert state.told() == told


def test_told_while_the_disk_is_behind(gateway: Gateway, state: RoundState) -> None:
    """Nothing is called saved before it is."""
    enter(gateway, state, "GE-H", "5100")
    assert state.told() == "Read at now | 1 of 3 typed"
    enter(gateway, state, "ME-H", "12150")
    state.kept = 1
    assert state.told() == "Read at now | 2 of 3 typed, 1 saved"


def test_signed_lines_leave_the_sheet(gateway: Gateway, state: RoundState) -> None:
    """What was typed while they were being signed stays."""
    enter(gateway, state, "GE-H", "5100")
    enter(gateway, state, "ME-H", "12150")
    state.signed([RoundLine("GE-H", "5100", AT), RoundLine("ME-H", "12140", AT)])
    assert list(state.entries) == list(state.draft.typed) == ["ME-H"]


def test_counter_that_goes_while_the_round_is_open(gateway: Gateway, state: RoundState) -> None:
    """Its line goes; the rest of the round is as it was."""
    enter(gateway, state, "GE-H", "5100")
    enter(gateway, state, "ME-H", "12150")
    state.renew(Sheet(gateway.round_sheet()[1:], gateway.ship_clock(), state.draft))
    assert list(state.entries) == ["ME-H"]
    assert state.said("", AT)


def test_cells(gateway: Gateway, state: RoundState) -> None:
    """Counter, last value, day, how long ago, use, what is expected (marked as an estimate), typed, and the word."""
    assert state.line("GE-H", AT).cells == (
        f"GE-H {NASTY}", "5 070.5", "06-24", "7d", "10.1", "~5 141", "", "",
    )  # fmt: skip
    enter(gateway, state, "SC-S", "640")
    assert state.line("SC-S", AT).cells == ("SC-S Starts", "never read", "", "", "", "", "640", "ok")


@pytest.mark.parametrize(
    ("read_on", "cell", "said"),
    [
        pytest.param(TODAY, "today", "on 2025-07-01, today", id="today"),
        pytest.param(date(2025, 6, 30), "1d", "on 2025-06-30, 1 day ago", id="yesterday"),
        pytest.param(date(2025, 6, 1), "30d", "on 2025-06-01, 30 days ago", id="a-month"),
        pytest.param(date(2025, 7, 2), "", "on 2025-07-02;", id="after-the-round-was-walked"),
    ],
)
def test_age_is_told_in_ships_dates(gateway: Gateway, read_on: date, cell: str, said: str) -> None:
    """The hours between count for nothing, as in the top line and on the command line."""
    line = gateway.round_sheet()[1]._replace(read_on=read_on)
    assert sheet_line(line, None, TODAY).cells[3] == cell
    assert said in known(line, "2/3", TODAY)[1]


def test_read_late_in_the_evening_is_a_day_ago_in_the_morning(state: RoundState) -> None:
    """Nine hours lie between, and a midnight of the ship's clock."""
    state.clock = ShipClock((ClockChange(0, 120),))
    state.lines["ME-H"] = state.lines["ME-H"]._replace(read_on=TODAY)
    six_in_the_morning = AT + 8 * 3600
    assert state.line("ME-H", AT).cells[3] == "today"
    assert state.line("ME-H", six_in_the_morning).cells[3] == "1d"
    assert "1 day ago" in state.said("ME-H", six_in_the_morning)


def test_little_use(gateway: Gateway) -> None:
    """A counter that hardly moves is not shown as standing still."""
    rate = Rate(3600, 100 * DAY_SECONDS, *[gateway.round_sheet()[1].read_on] * 2)  # type: ignore[arg-type]  # it was read
    line = gateway.round_sheet()[1]._replace(rate=rate)
    assert sheet_line(line, None, TODAY).cells[4] == "<0.1"


@pytest.mark.parametrize(
    ("hours", "cell"),
    [(123_456, "123 456"), (1_234_567, "1 234 567"), (12_345_678, "12 345 678"), (123_456_789, "123456789")],
)
def test_wide_numbers_lose_spaces_first(gateway: Gateway, hours: int, cell: str) -> None:
    """A number is never cut where it could be read as a smaller one."""
    line = gateway.round_sheet()[1]._replace(dial=hours * 3600)
    assert sheet_line(line, None, TODAY).cells[1] == cell


def test_number_too_wide_is_marked(gateway: Gateway) -> None:
    """Beyond that a mark says that digits are missing."""
    line = gateway.round_sheet()[1]._replace(dial=12_345_678_901 * 3600)
    assert sheet_line(line, None, TODAY).cells[1] == "123456789>"


@pytest.mark.parametrize(
    ("dial", "meter", "text"),
    [
        (31_340 * 3600, Meter(), "31340"),
        (12_367 * 360, Meter("h", "tenths"), "1236.7"),
        (12_345 * 3600 + 1800, Meter("h", "h:min"), "12345:30"),
        (1_234_567, Meter("starts"), "1234567"),
    ],
    ids=["whole", "tenths", "minutes", "starts"],
)
def test_as_typed(dial: int, meter: Meter, text: str) -> None:
    """A value taken from an offer reads as if a person had typed it."""
    assert as_typed(dial, meter) == text


@pytest.mark.parametrize("width", [80, 81, 100, 120, 200])
def test_columns_fit_the_screen(width: int) -> None:
    """With a blank behind each and the scroll bar at the side."""
    assert sum(column.width + 1 for column in columns(width)) <= width - 1


def test_offer_already_tried_comes_last(gateway: Gateway, state: RoundState) -> None:
    """Judged again, a line does not offer first what was just left."""
    entry = enter(gateway, state, "GE-H", "51005")
    again = replace(entry, offers=("5000", *entry.offers))
    state.entries["GE-H"] = again
    assert state.judge("GE-H", again, gateway.judge("GE-H", "51005", AT))
    assert state.entries["GE-H"].offers == ("5000", "5100.5")
