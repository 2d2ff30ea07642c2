"""Records: the auditor's desk. Search, corrections showing, what was known on a past day, and the file that is written."""

from __future__ import annotations

import csv
import io
import shutil
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from audited import audited_register
from command_line import invoke_program
from pilot import LARGE, SMALL, make_app, press, run_app, settled, text_of, type_ahead
from registers import AT, empty_register
from textual.pilot import Pilot
from textual.widgets import Input, Static

from pmsched.tui import flows
from pmsched.tui.screens.fields import FieldsForm
from pmsched.tui.screens.records import RecordsScreen
from pmsched.tui.widgets.lines import Lines
from pmsched.tui.widgets.search_line import SearchLine

STATE_ROW, SEARCH_ROW = 1, 2
OIL, TEST, VALVES, GREASE = "AE1-OIL", "STG-TST", "AE1-EXV", "STG-LUB"


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The vessel with a past, made once."""
    return audited_register(tmp_path_factory.mktemp("audited"))


@pytest.fixture
def register(template: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A register of its own for the test; files are written into an empty folder."""
    out = tmp_path / "out"
    out.mkdir()
    monkeypatch.chdir(out)
    return Path(shutil.copy(template, tmp_path / "register.db"))


def shown(pilot: Pilot[None]) -> list[tuple[str, str, str]]:
    """The lines listed: day done, job, version."""
    lines = pilot.app.screen.query_one("#records", Lines).lines
    return [(line.cells[0], line.cells[1].split()[0], line.cells[-1]) for line in lines]


def row_of(pilot: Pilot[None], number: int) -> str:
    """A row of the screen, counted from 0."""
    return text_of(pilot.app).splitlines()[number].strip()


def said(pilot: Pilot[None], widget: str) -> str:
    """What stands in a widget of the screen, all of it."""
    return str(pilot.app.screen.query_one(f"#{widget}", Static).content)


def notices(pilot: Pilot[None]) -> list[str]:
    """What was said in passing."""
    return [notice.message for notice in pilot.app._notifications]


async def search(pilot: Pilot[None], **typed: str) -> None:
    """Fill in the search and finish it."""
    await press(pilot, "slash")
    for name, text in typed.items():
        pilot.app.screen.query_one(f"#{name}", Input).value = text
    await press(pilot, "ctrl+s")


async def choose(pilot: Pilot[None], number: int) -> None:
    """Put the cursor on a line, counted from 0."""
    pilot.app.screen.query_one("#records", Lines).cursor = number
    await settled(pilot.app, pilot)


def test_the_last_twelve_months_newest_first(register: Path) -> None:
    """Nothing needs to be typed; what was done before that is left out, and the line above says so."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        assert shown(pilot) == [
            ("2025-06-11", VALVES, "struck"),
            ("2025-06-11", VALVES, "corrected"),
            ("2025-06-02", OIL, "corrected"),
            ("2025-06-01", OIL, "in force"),
            ("2025-05-19", TEST, "in force"),
            ("2025-05-15", OIL, "in force"),
            *[("2024-11-20", VALVES, "in force")] * 3,
        ]
        assert row_of(pilot, SEARCH_ROW).startswith("from 2024-07-01 | / or Enter here searches")
        assert row_of(pilot, STATE_ROW).startswith("9 lines: 1 late, 2 corrected, 1 struck | l: due list | seal ")

    run_app(make_app(register), steps)


@pytest.mark.parametrize(
    ("typed", "jobs"),
    [
        pytest.param({"machine": "stg"}, {TEST}, id="machine-by-code"),
        pytest.param({"machine": "g1"}, {OIL, VALVES}, id="machine-by-other-name"),
        pytest.param({"machine": "steering"}, {TEST}, id="machine-by-a-word-of-its-name"),
        pytest.param({"job": "stg-tst"}, {TEST}, id="job"),
        pytest.param({"person": "bødal"}, {OIL, VALVES}, id="person-who-did-it"),
        pytest.param({"person": "2e"}, {OIL, VALVES}, id="person-who-signed"),
        pytest.param({"words": "rudder hard"}, {TEST}, id="words-in-remarks"),
        pytest.param({"words": "another engine"}, {VALVES}, id="words-in-reason"),
        pytest.param({"first": "2025-05-16", "last": "20 May 2025"}, {TEST}, id="days"),
        pytest.param({"machine": "STG", "first": ""}, {TEST, GREASE}, id="empty-means-any"),
    ],
)
def test_search(register: Path, typed: dict[str, str], jobs: set[str]) -> None:
    """Every field narrows; all conditions hold together."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        await search(pilot, **typed)
        assert isinstance(pilot.app.screen, RecordsScreen)
        assert {job for _, job, _ in shown(pilot)} == jobs

    run_app(make_app(register), steps)


@pytest.mark.parametrize(
    ("typed", "field", "fault"),
    [
        pytest.param({"machine": "zz"}, "machine", "No machine has 'zz' in its code or a name.", id="no-such-machine"),
        pytest.param({"machine": "engine"}, "machine", "3 machines have 'engine' in a name. Write one of: AE; AE1; AE1-LOP.", id="several-machines"),
        pytest.param({"job": "AE1-OLI"}, "job", "There is no job AE1-OLI. Did you mean AE1-OIL", id="no-such-job"),
        pytest.param({"first": "03/04/2025"}, "first", "'03/04/2025' does not say which number is the month.", id="unclear-day"),
        pytest.param({"last": "31 Jun 2025"}, "last", "June 2025 has no day 31. Its last day is 2025-06-30.", id="no-such-day"),
    ],
)  # fmt: skip
def test_what_cannot_be_searched_for_is_said_at_the_field(
    register: Path, typed: dict[str, str], field: str, fault: str
) -> None:
    """The form stays open with the keyboard in the field; the list is not answered by nothing."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        await search(pilot, **typed)
        assert isinstance(pilot.app.screen, FieldsForm)
        assert said(pilot, "fault").startswith(fault)
        assert pilot.app.screen.focused is pilot.app.screen.query_one(f"#{field}")

    run_app(make_app(register), steps)


def test_enter_goes_through_the_fields(register: Path) -> None:
    """Enter is the next field and on the last one searches; nothing but Enter and letters is needed."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "slash", "s", "t", "g", "enter", "enter", "enter", "enter", "enter")
        assert pilot.app.screen.focused is pilot.app.screen.query_one("#last")
        await press(pilot, "enter")
        assert {job for _, job, _ in shown(pilot)} == {TEST}

    run_app(make_app(register), steps)


def test_the_line_above_the_list_opens_the_search(register: Path) -> None:
    """Up from the first line gets there, Enter opens it, Down comes back."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "up")
        assert isinstance(pilot.app.screen.focused, SearchLine)
        await press(pilot, "down")
        assert isinstance(pilot.app.screen.focused, Lines)
        await press(pilot, "up", "enter")
        assert isinstance(pilot.app.screen, FieldsForm)

    run_app(make_app(register), steps)


def test_escape_keeps_what_was_typed(register: Path) -> None:
    """The search opens again as it was left, and was not done."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "slash", "s", "t", "g", "escape")
        assert len(shown(pilot)) == 9
        await press(pilot, "slash")
        assert pilot.app.screen.query_one("#machine", Input).value == "stg"

    run_app(make_app(register), steps)


@pytest.mark.parametrize(
    ("line", "words"),
    [
        pytest.param(4, "late 3 d", id="late"),
        pytest.param(3, "early 75 d, 330 h", id="early"),
        pytest.param(2, "", id="corrected-is-not-judged"),
    ],
)
def test_late_and_early_in_words(register: Path, line: int, words: str) -> None:
    """Against the limits of that day, days and hours."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        assert pilot.app.screen.query_one("#records", Lines).lines[line].cells[2] == words

    run_app(make_app(register), steps)


def test_everything_is_said_of_the_chosen_line(register: Path) -> None:
    """Title, reason, both dates with the delay, who signed as what, hours with basis, condition, remarks."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        await choose(pilot, 3)
        assert said(pilot, "chosen").splitlines() == [
            "AE1-OIL Change the lube oil",
            "in force | AE1 | critical | early 75 d, 330 h",
            "Reason: log book says the 1st",
            "Done 2025-06-01, reported 2025-06-03 (2 days later)",
            "Signed by CE as Chief engineer on 2025-06-10, entry 7, report 83",
            "At 12 310 h (from a reading)",
            "Condition: fair wear, will last | done by B. Bødal",
            "Remarks: Filter torn.",
        ]
        await choose(pilot, 4)
        assert said(pilot, "chosen").splitlines()[1:3] == [
            "in force | STG | critical | late 3 d",
            "Done 2025-05-19 09:00 (09:00 UTC), reported 2025-05-20 (1 day later)",
        ]

    run_app(make_app(register), steps)


@pytest.mark.parametrize("size", [SMALL, LARGE], ids=["80x24", "120x36"])
def test_signature_and_reason_are_in_sight(register: Path, size: tuple[int, int]) -> None:
    """Where two versions stand beside each other there is little room; who signed and why is not below the edge."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        await choose(pilot, 3)
        text = " ".join(text_of(pilot.app).replace("│", " ").split())
        assert "log book says the 1st" in text
        assert "Signed by CE as Chief engineer" in text
        assert "Signed by 2E as Second engineer" in text

    run_app(make_app(register), steps, size)


def test_other_versions_stand_beside_the_chosen_one(register: Path) -> None:
    """Also a version that the search leaves out, because the correction moved it to another day."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        await search(pilot, first="2025-06-01", last="2025-06-01")
        assert shown(pilot) == [("2025-06-01", OIL, "in force")]
        assert said(pilot, "versions").splitlines()[:3] == [
            "CORRECTED | AE1 | critical",
            "Done 2025-06-02, reported 2025-06-03 (1 day later)",
            "Signed by 2E as Second engineer, entry 5, report 83",
        ]

    run_app(make_app(register), steps)


def test_nothing_stands_beside_what_was_never_corrected(register: Path) -> None:
    """The detail then has the whole width."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        await choose(pilot, 4)
        assert not pilot.app.screen.query_one("#beside").display

    run_app(make_app(register), steps)


def test_known_on_a_past_day_until_it_is_cleared(register: Path) -> None:
    """The correction and the strike were not known then; the top line says so all the time."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "k")
        await type_ahead(pilot, "5 Jun 2025")
        await press(pilot, "enter")
        assert shown(pilot)[0] == ("2025-06-02", OIL, "in force")
        assert row_of(pilot, 0).startswith("KNOWN ON 2025-06-05, Records")
        await press(pilot, "w", "c")
        assert row_of(pilot, 0).startswith("KNOWN ON 2025-06-05, Records")
        await press(pilot, "k", "delete", "enter")
        assert row_of(pilot, 0).startswith("MV Invented > Records")
        assert shown(pilot)[0] == ("2025-06-11", VALVES, "struck")

    run_app(make_app(register), steps)


def test_known_by_an_entry(register: Path) -> None:
    """An entry number is as good as a day: entry 7 corrected the report, entry 8 came later."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "k")
        await type_ahead(pilot, "entry 7")
        await press(pilot, "enter")
        assert shown(pilot)[:2] == [("2025-06-02", OIL, "corrected"), ("2025-06-01", OIL, "in force")]
        assert row_of(pilot, 0).startswith("KNOWN ON entry 7, Records")

    run_app(make_app(register), steps)


@pytest.mark.parametrize(
    ("typed", "fault"),
    [
        pytest.param("2026-01-01", "2026-01-01 is still to come.", id="to-come"),
        pytest.param("2024-01-01", "Nothing was in the register yet on 2024-01-01.", id="before-the-first-entry"),
        pytest.param("entry 999", "There is no entry 999.", id="no-such-entry"),
        pytest.param("soon", "'soon' is not a date.", id="no-day"),
    ],
)
def test_known_on_refuses_what_cannot_be_known(register: Path, typed: str, fault: str) -> None:
    """The form says why and stays open."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "k")
        await type_ahead(pilot, typed)
        await press(pilot, "enter")
        assert said(pilot, "fault").startswith(fault)

    run_app(make_app(register), steps)


def test_due_list_as_known_then(register: Path) -> None:
    """The standing of a past day, by what was known that day: the correction of 10 June moved the date."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "l")
        lines = pilot.app.screen.query_one("#records", Lines)
        assert lines.lines[0].cells == ("upcoming", "AE1", "AE1-OIL Change the lube oil", "435 h", "~2025-07-21")
        await press(pilot, "k")
        await type_ahead(pilot, "2025-06-05")
        await press(pilot, "enter")
        assert lines.lines[0].cells == ("upcoming", "AE1", "AE1-OIL Change the lube oil", "500 h", "~2025-07-19")
        assert row_of(pilot, 0).startswith("KNOWN ON 2025-06-05, Records")
        assert "CAUTION: Hot oil" in said(pilot, "chosen")
        await press(pilot, "l")
        assert shown(pilot)[0] == ("2025-06-02", OIL, "in force")

    run_app(make_app(register), steps)


def test_due_list_is_narrowed_as_typed(register: Path) -> None:
    """There / narrows, as in every other list; Esc shows all again."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "l", "slash")
        await type_ahead(pilot, "steering")
        assert [line.key for line in pilot.app.screen.query_one("#records", Lines).lines] == ["STG-TST/", "STG-LUB/"]
        await press(pilot, "escape")
        assert len(pilot.app.screen.query_one("#records", Lines).lines) == 7

    run_app(make_app(register), steps)


def test_words_narrow_the_due_list_only(register: Path) -> None:
    """The history is never narrowed by what was typed in the other list; coming back, the words are there again."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "l", "slash")
        await type_ahead(pilot, "steering\n")
        await press(pilot, "l")
        assert len(shown(pilot)) == 9
        assert not pilot.app.screen.query_one("#filter").display
        await press(pilot, "l")
        assert len(pilot.app.screen.query_one("#records", Lines).lines) == 2
        assert pilot.app.screen.query_one("#filter").display

    run_app(make_app(register), steps)


def rows_of(text: str) -> list[dict[str, str]]:
    """The rows of a CSV text by column, below its header."""
    table = text.partition("\n\n" if "\n\n" in text else "\r\n\r\n")[2]
    return list(csv.DictReader(io.StringIO(table, newline="")))


def cli(register: Path, *arguments: str, monkeypatch: pytest.MonkeyPatch, ending: str = ".csv") -> bytes:
    """The same list as the command writes it."""
    monkeypatch.setattr("pmsched.clock.now", lambda: AT)
    path = register.parent / f"by-command{ending}"
    said = invoke_program("--register", str(register), "--by", "CE", "export", *arguments, "-o", str(path))
    assert said.code == 0, said.err
    return path.read_bytes()


@pytest.mark.parametrize(
    ("keys", "file", "arguments"),
    [
        pytest.param((), "mv-invented-history-2024-07-01-2025-07-01.csv", ("history", "--from", "2024-07-01"), id="history"),
        pytest.param(("l",), "mv-invented-due-2025-07-01.csv", ("due",), id="due-list"),
    ],
)  # fmt: skip
def test_export_is_the_same_file_as_the_command_writes(
    register: Path, monkeypatch: pytest.MonkeyPatch, keys: Sequence[str], file: str, arguments: Sequence[str]
) -> None:
    """All of what is shown, corrections included, byte for byte; rows and seal are told."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", *keys, "e", "enter")
        count = len(pilot.app.screen.query_one("#records", Lines).lines)
        (notice,) = notices(pilot)
        assert notice.startswith(f"{count} rows written to {Path.cwd() / file}, seal ")
        assert f"wrote {count} rows | seal " in row_of(pilot, STATE_ROW)

    run_app(make_app(register), steps)
    assert Path(file).read_bytes() == cli(register, *arguments, monkeypatch=monkeypatch)


@pytest.mark.parametrize("ending", [".csv", ".xlsx", ".jsonl"])
def test_ending_of_the_name_chooses_the_format(register: Path, monkeypatch: pytest.MonkeyPatch, ending: str) -> None:
    """The same file as the command writes under such a name."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "e")
        pilot.app.screen.query_one("#file", Input).value = f"list{ending}"
        await press(pilot, "enter")

    run_app(make_app(register), steps)
    wanted = cli(register, "history", "--from", "2024-07-01", monkeypatch=monkeypatch, ending=ending)
    assert Path(f"list{ending}").read_bytes() == wanted


def test_unknown_ending_is_refused_at_the_field(register: Path) -> None:
    """With the endings there are; nothing is written."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "e")
        pilot.app.screen.query_one("#file", Input).value = "list.pdf"
        await press(pilot, "enter")
        assert "End the name in .csv, .xlsx or .jsonl." in said(pilot, "fault")

    run_app(make_app(register), steps)
    assert list(Path().iterdir()) == []


def test_export_holds_the_search_and_the_day_of_knowledge(register: Path) -> None:
    """What is written is what is shown, no more and no less."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        await search(pilot, machine="G1", first="2025-06-01")
        await press(pilot, "k")
        await type_ahead(pilot, "2025-06-11")
        await press(pilot, "enter", "e", "enter")

    run_app(make_app(register), steps)
    (file,) = Path().iterdir()
    assert file.name == "mv-invented-history-2025-06-01-2025-06-11-known-on-2025-06-11.csv"
    assert [(row["done_on"], row["version"]) for row in rows_of(file.read_text(encoding="utf-8"))] == [
        ("2025-06-01", "in force"),
        ("2025-06-02", "corrected"),
    ]


def test_narrowed_due_list_is_written_narrowed(register: Path) -> None:
    """The lines that were typed away are not in the file."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "l", "slash")
        await type_ahead(pilot, "steering\n")
        await press(pilot, "e", "enter")

    run_app(make_app(register), steps)
    (file,) = Path().iterdir()
    assert [row["job"] for row in rows_of(file.read_text(encoding="utf-8"))] == [TEST, GREASE]
    assert "# left_out,all without the words 'steering'" in file.read_text(encoding="utf-8").splitlines()


def test_nothing_is_overwritten(register: Path) -> None:
    """A free name is proposed; a name that is taken is refused at the field, and the file stays as it is."""
    taken = Path("mv-invented-history-2024-07-01-2025-07-01.csv")
    taken.write_text("mine", encoding="utf-8")

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "e")
        field = pilot.app.screen.query_one("#file", Input)
        assert field.value.endswith("mv-invented-history-2024-07-01-2025-07-01-2.csv")
        field.value = str(taken)
        await press(pilot, "enter")
        assert "is there already." in said(pilot, "fault")
        field.value = "none/history.csv"
        await press(pilot, "enter")
        assert said(pilot, "fault").startswith("There is no folder ")
        field.value = "history"
        await press(pilot, "enter")

    run_app(make_app(register), steps)
    assert taken.read_text(encoding="utf-8") == "mine"
    assert sorted(path.name for path in Path().iterdir()) == ["history.csv", taken.name]


def test_export_that_fails_is_said(register: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A full disk leaves no part of a file, and the screen goes on."""
    from pmsched.exchange import csv_out  # noqa: PLC0415 - this test alone breaks it

    def full(*_given: Any, **_named: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(csv_out, "write_csv", full)

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", "e", "enter")
        (notice,) = notices(pilot)
        assert "cannot be written (No space left on device); no part of it was kept." in notice
        assert row_of(pilot, STATE_ROW).startswith("9 lines")

    run_app(make_app(register), steps)
    assert list(Path().iterdir()) == []


@pytest.fixture
def called(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, ...]]:
    """The flows that were called, by name, with what they were given; none of them runs."""
    calls: list[tuple[str, ...]] = []
    for name in ("open_job", "correct_report"):
        monkeypatch.setattr(flows, name, lambda _app, *given, _name=name: calls.append((_name, *given)))
    return calls


@pytest.mark.parametrize(
    ("keys", "call"),
    [
        pytest.param(["v"], ("correct_report", "94", VALVES), id="correct-the-struck-one"),
        pytest.param(["enter"], ("open_job", VALVES), id="open-from-history"),
        pytest.param(["l", "enter"], ("open_job", OIL), id="open-from-due-list"),
    ],
)
def test_flows_are_started(register: Path, called: list[Any], keys: Sequence[str], call: tuple[str, ...]) -> None:
    """Enter opens the job's card, v corrects the chosen report."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", *keys)

    run_app(make_app(register), steps)
    assert called == [call]


@pytest.mark.parametrize(
    ("keys", "notice"),
    [
        pytest.param(["l", "v"], "Choose a report in the history first.", id="due-list"),
        pytest.param(["k", *"2025-06-05", "enter", "v"], "A correction is made to what is known now", id="known-on"),
    ],
)
def test_what_cannot_be_corrected_is_said(register: Path, called: list[Any], keys: list[str], notice: str) -> None:
    """A correction goes to the version known now, never to a list of a past day."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c", *("minus" if key == "-" else key for key in keys))
        assert notices(pilot)[0].startswith(notice)

    run_app(make_app(register), steps)
    assert called == []


def test_empty_register_says_what_to_do(tmp_path: Path) -> None:
    """Both lists name the command that fills them, and there is nothing to write."""
    empty_register(tmp_path).close()

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        assert "past work: pmsched load" in row_of(pilot, STATE_ROW)
        await press(pilot, "e")
        assert notices(pilot) == ["Nothing is shown that could be written."]
        await press(pilot, "l")
        assert row_of(pilot, STATE_ROW) == "First load jobs: pmsched load jobs.csv (see: pmsched help files)"

    run_app(make_app(tmp_path / "register.db"), steps)


def test_register_that_is_not_there(tmp_path: Path) -> None:
    """The refusal stands where the list would be, and no old line is left."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        assert row_of(pilot, STATE_ROW).startswith("Cannot show this: There is no register at")
        assert shown(pilot) == []

    run_app(make_app(tmp_path / "none.db"), steps)


def test_paper_holds_every_line_and_who_signed(register: Path) -> None:
    """The page has what the list has, with signature and reason below each line, and the search in its title."""

    async def steps(pilot: Pilot[None]) -> None:
        await press(pilot, "c")
        screen = pilot.app.screen
        assert isinstance(screen, RecordsScreen)
        paper = screen.paper()
        assert paper is not None
        assert len(paper.blocks) == 9
        assert paper.title == "History: from 2024-07-01"
        assert any("log book says the 1st" in line for line in paper.blocks[3])

    run_app(make_app(register), steps)


def test_walk_through_of_an_auditor(register: Path) -> None:
    """One machine's last twelve months with corrections showing, the list as known on a past day, export.

    From the Watch, by the machine's everyday name: 20 keystrokes.
    """
    keys: list[str] = []

    async def steps(pilot: Pilot[None]) -> None:
        async def do(*pressed: str) -> None:
            keys.extend(pressed)
            await press(pilot, *pressed)

        await do("c", "slash", "g", "1", "ctrl+s")
        assert shown(pilot) == [
            ("2025-06-11", VALVES, "struck"),
            ("2025-06-11", VALVES, "corrected"),
            ("2025-06-02", OIL, "corrected"),
            ("2025-06-01", OIL, "in force"),
            ("2025-05-15", OIL, "in force"),
            *[("2024-11-20", VALVES, "in force")] * 3,
        ]
        assert row_of(pilot, SEARCH_ROW).startswith("machine AE1 | from 2024-07-01")
        assert "another engine" in text_of(pilot.app)

        await do("k", *(key if key != "-" else "minus" for key in "2025-06-05"), "enter", "l")
        assert row_of(pilot, 0).startswith("KNOWN ON 2025-06-05")
        assert "500 h             ~2025-07-19" in text_of(pilot.app)

        await do("e", "enter")
        assert notices(pilot)[0].startswith("7 rows written to ")

    run_app(make_app(register), steps)
    written = rows_of(Path("mv-invented-due-known-on-2025-06-05.csv").read_text(encoding="utf-8"))
    assert (written[0]["job"], written[0]["due_on"]) == (OIL, "2025-07-19")
    assert len(keys) == 20
