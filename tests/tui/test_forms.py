"""Forms that sign: reports, ticked tests, held readings, corrections, and who signs. Nothing typed is ever lost."""

from __future__ import annotations

import shutil
import threading
from collections.abc import Sequence
from datetime import date
from pathlib import Path

import platformdirs
import pytest
from pilot import make_app, press, run_app, settled, text_of, type_ahead
from registers import AT
from textual.pilot import Pilot
from textual.widgets import Input
from watch_ship import MEANT_VALUE, watch_ship

from pmsched.domain.errors import Refusal
from pmsched.store.drafts import Draft, drafts_folder
from pmsched.store.register import Register
from pmsched.tui import flows
from pmsched.tui.app import PmschedApp
from pmsched.tui.screens.amend_form import AmendForm, TouchedForm
from pmsched.tui.screens.people import PeopleForm
from pmsched.tui.screens.report_form import ReportForm
from pmsched.tui.screens.ticked_form import TickedForm
from pmsched.tui.screens.watch import WatchScreen
from pmsched.tui.widgets.lines import Lines
from pmsched.usecases.amend_reading import held
from pmsched.usecases.ask_history import HistoryFilter, HistoryRow, history
from pmsched.usecases.ask_records import ReadingRow, entries_list, readings_history
from pmsched.usecases.views import Asked


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel, made once."""
    return watch_ship(tmp_path_factory.mktemp("forms"))


@pytest.fixture
def ship(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own for the test; drafts lie beside it."""
    monkeypatch.setattr(platformdirs, "user_state_path", lambda *_a, **_k: tmp_path / "state")
    return Path(shutil.copy(template, tmp_path / "register.db"))


def reports(ship: Path, job: str) -> list[HistoryRow]:
    """The reports of a job, the first doing that was loaded left out."""
    with Register(str(ship)) as register:
        return [row for row in history(register, Asked(AT), HistoryFilter(job=job)).rows if row.entry_no > 3]


def readings(ship: Path) -> list[ReadingRow]:
    """Every version of the readings of the engine."""
    with Register(str(ship)) as register:
        return list(readings_history(register, Asked(AT), "AE1-H").rows)


def count_entries(ship: Path) -> int:
    """How many entries the register holds."""
    with Register(str(ship)) as register:
        return len(entries_list(register, Asked(AT))[1])


async def fill(pilot: Pilot[None], **values: str) -> None:
    """Put values into fields, as if each had been typed."""
    for name, value in values.items():
        field = pilot.app.screen.query_one(f"#{name}", Input)
        field.focus()
        field.value = value
    await settled(pilot.app, pilot)


async def choose(pilot: Pilot[None], key: str) -> None:
    """Put the cursor of the Watch on a line."""
    pilot.app.screen.query_one("#due", Lines).choose(key)
    await settled(pilot.app, pilot)


def value(pilot: Pilot[None], name: str) -> str:
    """What stands in a field."""
    return pilot.app.screen.query_one(f"#{name}", Input).value


def said_under(pilot: Pilot[None], name: str) -> str:
    """What is said on the line under a field."""
    lines = text_of(pilot.app).splitlines()
    label = {"done_on": "Done on", "done_time": "Time", "count0": "Running hours", "units": "Units done",
             "condition": "Condition", "again": "Twice that day?", "reason": "Reason", "value": "True value"}[name]  # fmt: skip
    return next(lines[n + 1] for n, line in enumerate(lines) if f"│ {label} " in line)


def notices(pilot: Pilot[None]) -> str:
    """The notices given and still in sight."""
    return " ".join(notice.message for notice in pilot.app._notifications)


# --- the report -------------------------------------------------------------------------------------------------------


def test_report_with_nothing_to_say_takes_two_keys(ship: Path) -> None:
    """Done today, hours from the readings, by whoever signs; the notice names entry and next date."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d", "ctrl+s")
        assert isinstance(app.screen, WatchScreen)
        assert "AE1-VLV reported done, entry 4. Next due ~2025-09-" in notices(pilot)

    run_app(app, steps)
    (row,) = reports(ship, "AE1-VLV")
    assert (row.done_on, row.signer, row.done_by, row.condition) == (date(2025, 7, 1), "3E", "C. Coen", "")
    assert [(count.unit, count.total // 3600, count.basis) for count in row.counts] == [("h", 12600, "from a reading")]


def test_report_keeps_all_that_is_typed(ship: Path) -> None:
    """Enter goes from field to field; yesterday, the time, true hours, who, the grade by its number, and remarks."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await type_ahead(pilot, "-1\n1430\n12590\nFitter\n3\nunit 4 tight\n\n")
        assert value(pilot, "condition") == "worn, watch"
        # The keyboard is on the last line now.
        await press(pilot, "enter")

    run_app(app, steps)
    (row,) = reports(ship, "AE1-VLV")
    assert (row.done_on, row.time_stated, row.done_by) == (date(2025, 6, 30), True, "Fitter")
    assert (row.condition, row.remarks) == ("worn, watch", "unit 4 tight")
    assert [(count.total // 3600, count.basis) for count in row.counts] == [(12590, "typed")]


def test_offered_hours_follow_the_date(ship: Path) -> None:
    """What would be kept is shown with its basis, and another day offers other hours."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        assert "12 600 h, from a reading" in text_of(app)
        await type_ahead(pilot, "2025-06-16\n")
        assert "12 500 h, interpolated" in text_of(app)

    run_app(app, steps)


@pytest.mark.parametrize(
    ("field", "typed", "said"),
    [
        pytest.param("done_on", "2025-02-30", "February 2025 has no day 30", id="no-such-date"),
        pytest.param("done_on", "01/02/2025", "which number is the month", id="two-ways-date"),
        pytest.param("done_on", "2025-07-02", "lies ahead of the ship's date", id="future-date"),
        pytest.param("done_time", "25:00", "There is no time 25:00", id="no-such-time"),
        pytest.param("count0", "12,345", "can be read in two ways", id="two-ways-number"),
        pytest.param("count0", "many", "is not a number", id="not-a-number"),
        pytest.param("condition", "w", "1 as new; 2 fair wear", id="two-grades"),
        pytest.param("condition", "6", "1 as new; 2 fair wear", id="no-such-grade"),
    ],
)
def test_what_is_wrong_is_said_under_its_field(ship: Path, field: str, typed: str, said: str) -> None:
    """Nothing is signed, nothing typed is lost, and the keyboard is in the field that is wrong."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await fill(pilot, remarks="kept", **{field: typed})
        await press(pilot, "ctrl+s")
        assert isinstance(app.screen, ReportForm)
        assert said[:40] in said_under(pilot, field)
        assert (value(pilot, field), value(pilot, "remarks")) == (typed, "kept")
        assert app.focused is not None
        assert app.focused.id == field
        await fill(pilot, **{field: ""})
        await press(pilot, "ctrl+s")

    run_app(app, steps)
    (row,) = reports(ship, "AE1-VLV")
    assert row.remarks == "kept"


def test_every_fault_is_said_at_once(ship: Path) -> None:
    """Two wrong fields, two lines; the keyboard is in the first."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await fill(pilot, done_time="x", condition="x")
        await press(pilot, "ctrl+s")
        assert "not a time" in said_under(pilot, "done_time")
        assert "none of the choices" in said_under(pilot, "condition")
        assert app.focused is not None
        assert app.focused.id == "done_time"

    run_app(app, steps)


def test_second_report_of_a_day_is_asked_about(ship: Path) -> None:
    """The refusal names the entry and keeps what was typed; yes reports it twice."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, "BLG-ALM/")
        await press(pilot, "enter", "d", "ctrl+s", "d")
        await fill(pilot, remarks="once more")
        await press(pilot, "ctrl+s")
        assert "already reported done on 2025-07-01 (entry 4)" in said_under(pilot, "again")
        assert value(pilot, "remarks") == "once more"
        await type_ahead(pilot, "yes")
        await press(pilot, "ctrl+s")

    run_app(app, steps)
    assert [row.remarks for row in reports(ship, "BLG-ALM")] == ["", "once more"]


def test_signing_twice_makes_one_entry(ship: Path) -> None:
    """Ctrl+S pressed again before the answer does nothing more."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        form = app.screen
        assert isinstance(form, ReportForm)
        form.action_submit()
        form.action_submit()
        await settled(app, pilot)

    run_app(app, steps)
    assert len(reports(ship, "AE1-VLV")) == 1


def test_form_stays_until_it_is_signed(ship: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Esc and F1 while it is being signed do nothing: what came of it is told in the form or as a notice."""
    app = make_app(ship, signer="3E")
    go_on = threading.Event()
    keep = type(app.gateway).report
    monkeypatch.setattr(type(app.gateway), "report", lambda *given: (go_on.wait(10), keep(*given))[1])

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        form = app.screen
        await pilot.press("ctrl+s", "escape", "f1")
        assert app.screen is form
        assert "Signing" in text_of(app)
        go_on.set()
        await settled(app, pilot)
        assert isinstance(app.screen, WatchScreen)

    run_app(app, steps)
    assert len(reports(ship, "AE1-VLV")) == 1


@pytest.mark.parametrize(
    ("from_card", "typed", "units"),
    [
        pytest.param(False, None, ["3"], id="unit-of-the-line"),
        pytest.param(True, None, ["1", "2", "3"], id="all-from-the-card"),
        pytest.param(True, "1 3", ["1", "3"], id="typed"),
    ],
)
def test_units_reported(ship: Path, typed: str | None, units: list[str], *, from_card: bool) -> None:
    """From a unit's line that unit, from the card all of them, unless others are named."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, "AE1-INJ/3")
        await press(pilot, *(["enter"] if from_card else []), "d")
        if typed is not None:
            await fill(pilot, units=typed)
        await press(pilot, "ctrl+s")

    run_app(app, steps)
    assert sorted(row.unit for row in reports(ship, "AE1-INJ")) == units


def test_unknown_unit_names_the_units(ship: Path) -> None:
    """The fault lists what there is."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await choose(pilot, "AE1-INJ/3")
        await press(pilot, "d")
        await fill(pilot, units="4")
        await press(pilot, "ctrl+s")
        assert "There is no unit 4. The units are: 1; 2; 3." in said_under(pilot, "units")

    run_app(app, steps)


# --- drafts -----------------------------------------------------------------------------------------------------------


def test_escape_keeps_what_was_typed(ship: Path) -> None:
    """Closed and opened again, also in another run of the program, everything is there; signed, it is gone."""
    first, second = make_app(ship, signer="3E"), make_app(ship, signer="3E")

    async def leave(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await type_ahead(pilot, "\n\n\n\n4\nnozzle 2 drips")
        await press(pilot, "escape")
        assert isinstance(first.screen, WatchScreen)

    async def come_back(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        assert (value(pilot, "condition"), value(pilot, "remarks")) == ("worn, renewed", "nozzle 2 drips")
        assert "is here again" in text_of(second)
        await press(pilot, "ctrl+s")
        await press(pilot, "d", "escape")

    run_app(first, leave)
    assert reports(ship, "AE1-VLV") == []
    run_app(second, come_back)
    (row,) = reports(ship, "AE1-VLV")
    assert row.remarks == "nozzle 2 drips"
    assert list(drafts_folder().glob("report-AE1-VLV*")) == []


def test_each_enter_keeps_the_draft(ship: Path) -> None:
    """After Enter the draft is on the disk: a kill loses nothing."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await type_ahead(pilot, "-2\n")
        (draft,) = drafts_folder().glob("report-AE1-VLV*")
        assert '"done_on": "-2"' in draft.read_text(encoding="utf-8")

    run_app(app, steps)


def test_a_date_left_alone_is_no_draft(ship: Path) -> None:
    """A form that was only looked at begins with the day on which it is opened the next time."""
    first, later = make_app(ship, signer="3E"), make_app(ship, signer="3E", at=AT + 3 * 86_400)

    async def leave(pilot: Pilot[None]) -> None:
        await choose(pilot, "AE1-VLV/")
        await press(pilot, "d")
        await fill(pilot, remarks="begun")
        await press(pilot, "escape")

    async def come_back(pilot: Pilot[None]) -> None:
        await choose(pilot, "AE1-VLV/")
        await press(pilot, "d")
        assert (value(pilot, "done_on"), value(pilot, "remarks")) == ("2025-07-04", "begun")

    run_app(first, leave)
    run_app(later, come_back)


def _full(*_args: object) -> None:
    raise Refusal("draft-not-kept", "What is typed cannot be kept.", "Make room.")


def test_full_disk_does_not_keep_a_deed_from_being_signed(ship: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Esc warns and does not close at first; Ctrl+S signs although no draft can be kept."""
    monkeypatch.setattr(Draft, "save", _full)
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await fill(pilot, remarks="kept in the book")
        await press(pilot, "escape")
        assert "Esc once more" in " ".join(text_of(app).split())
        assert isinstance(app.screen, ReportForm)
        await press(pilot, "ctrl+s")

    run_app(app, steps)
    assert [row.remarks for row in reports(ship, "AE1-VLV")] == ["kept in the book"]


def test_a_crash_leaves_the_form_as_it_was(ship: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Something breaks while signing: it is told, everything typed is there, and it can be signed again."""
    app = make_app(ship, signer="3E")
    logged: list[str] = []
    app.keep_log = lambda report: (logged.append(report), ship)[1]

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await fill(pilot, remarks="still here")
        with monkeypatch.context() as broken:
            broken.setattr(type(app.gateway), "report", lambda *_a: 1 / 0)
            await press(pilot, "ctrl+s")
        assert "ZeroDivisionError" in logged[0]
        assert "something broke" in text_of(app)
        assert value(pilot, "remarks") == "still here"
        await press(pilot, "ctrl+s")

    run_app(app, steps)
    assert [row.remarks for row in reports(ship, "AE1-VLV")] == ["still here"]


# --- ticked tests -----------------------------------------------------------------------------------------------------


async def tick(pilot: Pilot[None], jobs: Sequence[str]) -> None:
    """Tick lines of the Watch and open the form."""
    for job in jobs:
        await choose(pilot, f"{job}/")
        await press(pilot, "space")
    await press(pilot, "b")


def test_ticked_tests_are_reported_but_for_those_taken_out(ship: Path) -> None:
    """One remark for all, an entry each; what was left out stays ticked."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await tick(pilot, ["BLG-ALM", "BLG-PMP", "AE1-STR"])
        assert isinstance(app.screen, TickedForm)
        assert "CAUTION: It starts by itself" in text_of(app)
        await press(pilot, "down", "enter", "tab")
        await type_ahead(pilot, "all good")
        await press(pilot, "ctrl+s")
        assert "AE1-STR (entry 4), BLG-PMP (entry 5)" in notices(pilot)
        assert "1 ticked" in text_of(app)

    run_app(app, steps)
    assert [row.remarks for job in ("AE1-STR", "BLG-PMP") for row in reports(ship, job)] == ["all good"] * 2
    assert reports(ship, "BLG-ALM") == []


def test_lists_in_forms_tell_the_whole_of_the_chosen_line(ship: Path) -> None:
    """Below the fields while the list has the keyboard; in a field, what may be typed there."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await tick(pilot, ["BLG-ALM", "BLG-PMP"])
        assert "BLG-ALM Test the bilge alarms | BLG Bilge system | today" in text_of(app)
        await press(pilot, "down")
        assert "BLG-PMP Try the bilge pump | BLG Bilge system | today" in text_of(app)
        await press(pilot, "tab")
        assert "BLG-PMP Try the bilge pump |" not in text_of(app)
        assert "One remark, kept with each of them." in text_of(app)
        await press(pilot, "escape", "s", "end")
        assert "CM M. Marchetti | Chief mate | deck" in text_of(app)

    run_app(app, steps)


def test_refused_test_is_told_and_the_others_are_kept(ship: Path) -> None:
    """One was reported already by somebody else: the list says so, and the form closes with Esc."""
    app, other = make_app(ship, signer="3E"), make_app(ship, signer="CE")

    async def elsewhere(pilot: Pilot[None]) -> None:
        await choose(pilot, "BLG-ALM/")
        await press(pilot, "d", "ctrl+s")

    async def steps(pilot: Pilot[None]) -> None:
        for job in ("BLG-ALM/", "BLG-PMP/"):
            await choose(pilot, job)
            await press(pilot, "space")
        flows.report_ticked(app, [app.screen._rows[job] for job in ("BLG-ALM/", "BLG-PMP/")], app.screen.untick)
        await settled(app, pilot)
        await press(pilot, "full_stop")
        text = " ".join(text_of(app).split())
        assert "1 report refused" in text
        assert "REFUSED: BLG-ALM is already reported done on 2025-07-01 (entry 4)" in text.replace("│ │ ", "")
        assert "entry 5" in text
        await press(pilot, "escape")
        assert "BLG-PMP (entry 5)" in notices(pilot)

    async def both(pilot: Pilot[None]) -> None:
        run_beside(other, elsewhere)
        await steps(pilot)

    run_app(app, both)
    assert len(reports(ship, "BLG-ALM")) == 1


def run_beside(app: PmschedApp, steps: object) -> None:
    """Run another app to its end in a thread of its own."""
    thread = threading.Thread(target=run_app, args=(app, steps))
    thread.start()
    thread.join()


def test_nothing_left_to_report_is_said(ship: Path) -> None:
    """All taken out: nothing is signed."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await tick(pilot, ["BLG-ALM"])
        await press(pilot, "space", "ctrl+s")
        assert "No test is left" in text_of(app)
        await press(pilot, "escape")

    run_app(app, steps)
    assert count_entries(ship) == 3


# --- held readings and corrections ------------------------------------------------------------------------------------


def test_held_reading_is_settled_after_a_look(ship: Path) -> None:
    """The first suggestion stands in the field, a reason is needed, all it touches is listed, then it is signed."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "h")
        assert "lower than the reading" in text_of(app)
        await press(pilot, "enter")
        assert value(pilot, "value") == MEANT_VALUE
        await press(pilot, "ctrl+s")
        assert "Say why" in said_under(pilot, "reason")
        await type_ahead(pilot, "two digits exchanged")
        await press(pilot, "ctrl+s")
        assert isinstance(app.screen, TouchedForm)
        assert "12 066 h -> 12 606 h" in text_of(app)
        assert "On the due list" in text_of(app)
        await press(pilot, "escape")
        assert value(pilot, "reason") == "two digits exchanged"
        assert count_entries(ship) == 3
        await press(pilot, "ctrl+s", "ctrl+s")
        assert "12 066 h -> 12 606 h; entry 4" in notices(pilot)
        assert "No reading is held" in text_of(app)

    run_app(app, steps)
    assert [(row.version, row.dial // 3600, row.reason) for row in readings(ship)][-1] == (
        "accepted", 12606, "two digits exchanged",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("choice", "left", "said"),
    [
        pytest.param("3", 0, "12 066 h struck", id="strike"),
        pytest.param("2", 1, "That value cannot be true", id="confirm-what-cannot-be"),
    ],
)
def test_other_choices_for_a_held_reading(ship: Path, choice: str, left: int, said: str) -> None:
    """Struck, it is gone; a value that goes backwards cannot be confirmed, and the form says why."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "h", "enter")
        await fill(pilot, act=choice, reason="log book")
        await press(pilot, "ctrl+s")
        assert said in text_of(app)
        await press(pilot, "full_stop" if left == 0 else "escape")

    run_app(app, steps)
    with Register(str(ship)) as register:
        assert len(held(register, Asked(AT))) == left


def test_value_that_cannot_be_true_is_refused_at_its_field(ship: Path) -> None:
    """The form stays as it was."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "h", "enter")
        await fill(pilot, value="12000", reason="guess")
        await press(pilot, "ctrl+s")
        assert "cannot be true" in said_under(pilot, "value")
        assert value(pilot, "reason") == "guess"

    run_app(app, steps)
    assert count_entries(ship) == 3


def amended(ship: Path, start: object, *keys: str, **values: str) -> str:
    """Open a correction, type, press keys; what was said at the end."""
    app = make_app(ship, signer="CE")
    said: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        start(app)  # type: ignore[operator]
        await settled(app, pilot)
        assert isinstance(app.screen, AmendForm)
        await fill(pilot, **values)
        await press(pilot, *keys)
        said.append(" ".join(f"{notices(pilot)} {text_of(app)}".split()))

    run_app(app, steps)
    return said[0]


def test_accepted_reading_is_corrected(ship: Path) -> None:
    """The value signed stands in the field; the corrected one replaces it, and the old one stays readable."""
    number = readings(ship)[1].number
    said = amended(
        ship, lambda app: flows.correct_reading(app, number, "AE1-H"), "ctrl+s", "ctrl+s", value="12410", reason="misread"
    )  # fmt: skip
    assert "12 400 h -> 12 410 h; entry 4" in said
    assert [(row.version, row.dial // 3600) for row in readings(ship) if row.number == number] == [
        ("corrected", 12400), ("accepted", 12410),
    ]  # fmt: skip


def test_reading_left_as_it_is_is_no_correction(ship: Path) -> None:
    """The same value again is refused, and said so."""
    number = readings(ship)[1].number
    said = amended(ship, lambda app: flows.correct_reading(app, number, "AE1-H"), "ctrl+s", reason="no idea")
    assert "already shows that value" in said


def reported(ship: Path) -> str:
    """Report the valve clearances with something to correct; the number of the report."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d")
        await fill(pilot, done_time="09:15", remarks="unit 4", condition="1")
        await press(pilot, "ctrl+s")

    run_app(app, steps)
    return reports(ship, "AE1-VLV")[0].number


def test_report_is_corrected_where_it_was_changed(ship: Path) -> None:
    """The date moves and the hours with it; what was not changed stays, and the time is not lost."""
    number = reported(ship)
    said = amended(
        ship, lambda app: flows.correct_report(app, number, "AE1-VLV"), "ctrl+s", "ctrl+s",
        done_on="2025-06-16", reason="log book",
    )  # fmt: skip
    assert f"Report {number} of AE1-VLV corrected; entry 5" in said
    row = next(row for row in reports(ship, "AE1-VLV") if row.version == "in force")
    assert (row.done_on, row.time_stated, row.remarks, row.condition) == (date(2025, 6, 16), True, "unit 4", "as new")
    assert row.counts[0].total // 3600 == 12499
    assert row.reason == "log book"


def test_touched_lines_are_seen_before_a_report_is_struck(ship: Path) -> None:
    """Striking tells what it does to the due list; Esc twice leaves everything as it was."""
    number = reported(ship)

    def start(app: PmschedApp) -> None:
        flows.correct_report(app, number, "AE1-VLV")

    said = amended(ship, start, "ctrl+s", act="2", reason="another engine")
    assert f"Report {number} of AE1-VLV struck" in said
    assert "-> overdue" in said
    assert [row.version for row in reports(ship, "AE1-VLV")] == ["in force"]
    amended(ship, start, "ctrl+s", "full_stop", act="2", reason="another engine")
    assert {row.version for row in reports(ship, "AE1-VLV")} == {"corrected", "struck"}


def test_correction_of_something_gone_says_so(ship: Path) -> None:
    """A number that is not there any more is told, and no form opens."""
    app = make_app(ship, signer="CE")

    async def steps(pilot: Pilot[None]) -> None:
        flows.correct_report(app, "999", "AE1-VLV")
        await settled(app, pilot)
        assert "There is no report 999 any more" in notices(pilot)
        assert isinstance(app.screen, WatchScreen)

    run_app(app, steps)


# --- who signs --------------------------------------------------------------------------------------------------------


def test_a_deed_first_asks_who_signs(ship: Path) -> None:
    """Nobody was chosen: the people are listed, and after the choice the report goes on."""
    app = make_app(ship, signer="")

    async def steps(pilot: Pilot[None]) -> None:
        assert "nobody signs (s)" in text_of(app)
        await press(pilot, "d")
        assert isinstance(app.screen, PeopleForm)
        await press(pilot, "down", "tab")
        await type_ahead(pilot, "Second engineer")
        await press(pilot, "ctrl+s")
        assert isinstance(app.screen, ReportForm)
        await press(pilot, "ctrl+s")

    run_app(app, steps)
    (row,) = reports(ship, "AE1-VLV")
    assert (row.signer, row.signed_as) == ("3E", "Third engineer acting Second engineer")


def test_closing_the_people_does_nothing(ship: Path) -> None:
    """Esc on the list of people leaves nobody signing, and the deed is not begun."""
    app = make_app(ship, signer="")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "d", "escape")
        assert isinstance(app.screen, WatchScreen)
        assert app.gateway.signer == ""

    run_app(app, steps)


def test_whoever_signs_sees_their_department(ship: Path) -> None:
    """Changing the signer changes top line and list at once."""
    app = make_app(ship, signer="3E")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "s", "end", "enter")
        assert "| CM |" in text_of(app).splitlines()[0]
        assert "Grease the windlass" in text_of(app)
        assert "Set the valve" not in text_of(app)

    run_app(app, steps)


def test_last_signer_is_offered_and_not_taken_for_granted(ship: Path) -> None:
    """The next start signs nobody; the cursor stands on whoever signed last."""
    first, second = make_app(ship, signer=""), make_app(ship, signer="")

    async def choose_one(pilot: Pilot[None]) -> None:
        await press(pilot, "s", "down", "down", "enter")
        assert first.gateway.signer == "EO"

    async def look(pilot: Pilot[None]) -> None:
        assert second.gateway.signer == ""
        await press(pilot, "s")
        chosen = second.screen.query_one("#people", Lines).chosen
        assert chosen is not None
        assert chosen.key == "EO"

    run_app(first, choose_one)
    run_app(second, look)
