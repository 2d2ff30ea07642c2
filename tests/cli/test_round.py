"""``pmsched round``: from a file, from standard input, and typed at a terminal with a draft and a signature."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Run, Said
from small_ship import NOW

from pmsched.usecases.round_draft import RoundDraft, TypedValue

GOOD = "counter,value\nME-H,12090\nGE1-H,5160.5\n"


def round_file(folder: Path, text: str) -> str:
    """A round written to a file."""
    path = folder / "round.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def test_file_becomes_one_entry(run: Run, tmp_path: Path) -> None:
    """The values are accepted, and what moves on the due list is told."""
    said = run("round", round_file(tmp_path, GOOD))
    assert said.code == 0
    assert "2 meters entered as entry 3, seal " in said.out
    assert "ME-LO  Change lube oil: upcoming 2030-01-30 -> upcoming 2030-01-30" not in said.out
    assert "On the due list" in said.out


def test_json_shape(run: Run, tmp_path: Path) -> None:
    """Receipt, lines as judged, and what moved."""
    found = run("round", round_file(tmp_path, GOOD), "--json").data
    assert list(found) == ["receipt", "lines", "moved"]
    assert list(found["receipt"]) == ["entry_no", "book", "seal", "repeated"]
    assert found["lines"][1] == {
        "counter": "GE1-H", "unit": "h", "value": "5160.5", "read_at": "2030-01-15T10:00:00+02:00", "accepted": True,
        "held_for": None, "duplicate": False, "message": "", "suggestions": [],
    }  # fmt: skip
    assert list(found["moved"][0]) == [
        "job", "unit", "title", "state_before", "state_after", "due_before", "due_after",
    ]  # fmt: skip


def test_held_value(run: Run, tmp_path: Path) -> None:
    """A value that cannot be true is kept, explained, and waits to be settled; the others count."""
    said = run("round", round_file(tmp_path, "counter,value\nME-H,12900\nGE1-H,5160.5\n"))
    assert said.code == 0
    assert "ME-H: 896 h in 6 days 22 h (166 h on the clock)" in said.out
    assert "Did you mean 12 090 (+86 h)?" in said.out
    assert "1 reading held: not used until settled. See: pmsched settle" in said.err
    assert run("settle", "--json").data["held"][0]["value"] == "12900"


def test_check_keeps_nothing(run: Run, tmp_path: Path) -> None:
    """--check shows the same lines, and no entry is made."""
    before = run("due", "--json").data["header"]["entry_no"]
    said = run("round", round_file(tmp_path, GOOD), "--check")
    assert said.code == 0
    assert "entered" not in said.out
    assert run("due", "--json").data["header"]["entry_no"] == before


def test_check_ends_with_3_if_any_is_held(run: Run, tmp_path: Path) -> None:
    """A script can tell from the exit code that something will be held."""
    assert run("round", round_file(tmp_path, "counter,value\nME-H,12900\n"), "--check").code == 3


def test_standard_input(run: Run) -> None:
    """A single - reads the file from standard input."""
    assert "2 meters entered" in run("round", "-", stdin=GOOD).out


def test_problems_name_standard_input(run: Run) -> None:
    """Messages call it by a name a person understands."""
    said = run("round", "-", stdin="counter,value\nME-X,1\n")
    assert said.code == 3
    assert said.err.startswith("standard input, row 2, column counter: There is no counter ME-X. Did you mean ")


@pytest.mark.parametrize(
    ("row", "at", "read_at"),
    [
        pytest.param("ME-H,12090,,", None, "2030-01-15T10:00:00+02:00", id="now"),
        pytest.param("ME-H,12090,,", "2030-01-14 20:00", "2030-01-14T20:00:00+02:00", id="at"),
        pytest.param("ME-H,12090,2030-01-14,", None, "2030-01-14T12:00:00+02:00", id="date-alone-is-noon"),
        pytest.param("ME-H,12090,2030-01-15,", None, "2030-01-15T10:00:00+02:00", id="today-while-noon-is-ahead"),
        pytest.param("ME-H,12090,2030-01-14,07:30", None, "2030-01-14T07:30:00+02:00", id="date-and-time"),
        pytest.param("ME-H,12090,,08:15", None, "2030-01-15T08:15:00+02:00", id="time-alone-is-today"),
    ],
)
def test_when_a_row_was_read(run: Run, row: str, at: str | None, read_at: str) -> None:
    """What a row leaves out, the round's own moment fills."""
    options = ["--at", at] if at else []
    found = run("round", "-", *options, "--json", stdin=f"counter,value,read_on,time\n{row}\n").data
    assert found["lines"][0]["read_at"] == read_at


def test_offset_of_a_row(run: Run) -> None:
    """A row may say by which clock it was read."""
    text = "counter,value,read_on,time,offset\nME-H,12090,2030-01-14,18:00,UTC\n"
    assert run("round", "-", "--json", stdin=text).data["lines"][0]["read_at"] == "2030-01-14T20:00:00+02:00"


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("", "There is no heading row. Begin with: counter,value", id="empty"),
        pytest.param("value\n12\n", "row 1, column counter: Every row needs this column.", id="no-counter"),
        pytest.param("counter,value\nME-H,\n", "row 2, column value: The cell is blank.", id="blank"),
        pytest.param("counter,value\nME-H,12090.5\n", "row 2, column value: '12090.5' is finer", id="too-fine"),
        pytest.param(
            "counter,value,read_on\nME-H,12090,2030-01-16\n", "row 2: It is read later than now.", id="future"
        ),
        pytest.param("counter,value,read_on\nME-H,12090,soon\n", "row 2, column read_on: 'soon' is not", id="date"),
        pytest.param("counter,value,colour\nME-H,12090,red\n", "column colour: There is no such column", id="column"),
    ],
)
def test_problems_of_a_file(run: Run, text: str, said: str) -> None:
    """Each is told with its place; nothing is written."""
    found = run("round", "-", stdin=text)
    assert found.code == 3
    assert said in found.err


def test_missing_file(run: Run, tmp_path: Path) -> None:
    """A file that is not there is a problem, not a fault."""
    said = run("round", str(tmp_path / "none.csv"))
    assert said.code == 3
    assert "cannot be read" in said.err


def test_time_ahead_is_refused(run: Run) -> None:
    """A round cannot be walked tomorrow."""
    assert run("round", "-", "--at", "2030-01-15 10:01", stdin=GOOD).code == 1


def test_same_request_adds_nothing(run: Run) -> None:
    """Trying again with the same name is answered with the first entry."""
    first = run("round", "-", "--request", "round-7", "--json", stdin=GOOD).data
    again = run("round", "-", "--request", "round-7", "--json", stdin=GOOD).data
    assert again["receipt"] == {**first["receipt"], "repeated": True}
    assert again["lines"] == []


def test_same_values_again_are_nothing_new(run: Run) -> None:
    """The very same readings are recognised; no entry is made."""
    run("round", "-", stdin=GOOD)
    said = run("round", "-", stdin=GOOD)
    assert said.code == 0
    assert "Nothing new: every value is there already." in said.err


def test_without_a_terminal_a_file_is_needed(run: Run) -> None:
    """Wrong usage, and it says what is needed."""
    said = run("round", stdin="12090\n")
    assert said.code == 2
    assert "Name a file" in said.err


class TestTyped:
    """A round typed at a terminal; the terminal is pretended, the streams are real."""

    @pytest.fixture(autouse=True)
    def _terminal(self, monkeypatch: pytest.MonkeyPatch) -> None:
        for module in ("round", "access", "amending"):
            monkeypatch.setattr(f"pmsched.cli.{module}.on_terminal", lambda: True)

    def typed(self, run: Run, *answers: str, options: tuple[str, ...] = ()) -> Said:
        """The program run with these answers."""
        return run("round", *options, stdin="".join(f"{answer}\n" for answer in answers))

    def test_signed(self, run: Run, ship: Path) -> None:
        """Walked, shown, signed: one entry, and the draft is gone."""
        said = self.typed(run, "12090", "5160.5", "", "y")
        assert said.code == 0
        assert "2 meters entered as entry 3, seal " in said.out
        assert "Sign this round as CE?" in said.err
        assert RoundDraft(str(ship)).typed == {}

    def test_questions_stay_off_standard_output(self, run: Run) -> None:
        """With --json standard output holds the document alone."""
        said = self.typed(run, "12090", "", "", "y", options=("--json",))
        assert "ME-H" not in said.out.split("{")[0]

    def test_not_signed_stays_a_draft(self, run: Run, ship: Path) -> None:
        """N leaves it for later; nothing is entered."""
        said = self.typed(run, "12090", "", "", "n")
        assert "What was typed is kept." in said.err
        assert RoundDraft(str(ship)).typed == {"ME-H": TypedValue("12090", NOW)}
        assert run("due", "--json").data["header"]["entry_no"] == 2

    def test_draft_is_gone_on_with(self, run: Run, ship: Path) -> None:
        """The next run offers the draft and starts behind its last line."""
        RoundDraft(str(ship)).put("ME-H", TypedValue("12080", NOW - 3600))
        said = self.typed(run, "", "5160.5", "", "y")
        assert "A round is begun and not signed: 1 meter typed." in said.err
        assert "1/3" not in said.err
        assert "2 meters entered" in said.out
        rows = run("history", "--readings", "ME-H", "--json").data["rows"]
        assert rows[-1]["read_at"] == "2030-01-15T09:00:00+02:00"

    def test_draft_may_be_thrown_away(self, run: Run, ship: Path) -> None:
        """Only after asking twice."""
        RoundDraft(str(ship)).put("ME-H", TypedValue("12080", NOW - 3600))
        said = self.typed(run, "n", "y", "", "", "")
        assert "1/3" in said.err
        assert RoundDraft(str(ship)).typed == {}

    def test_draft_is_not_thrown_away_by_a_slip(self, run: Run, ship: Path) -> None:
        """N and then only Enter keeps it."""
        RoundDraft(str(ship)).put("ME-H", TypedValue("12080", NOW - 3600))
        self.typed(run, "n", "", "q")
        assert RoundDraft(str(ship)).typed == {"ME-H": TypedValue("12080", NOW - 3600)}

    def test_back_from_the_signature(self, run: Run) -> None:
        """B at the signature goes back to the last line."""
        said = self.typed(run, "12090", "", "", "b", "652", "y")
        assert "2 meters entered" in said.out

    def test_end_of_input_loses_nothing(self, run: Run, ship: Path) -> None:
        """Ctrl-D at the signature: 130, and the draft is there."""
        said = self.typed(run, "12090", "", "")
        assert said.code == 130
        assert "What was typed is kept." in said.err
        assert "ME-H" in RoundDraft(str(ship)).typed

    def test_interrupt_loses_nothing(self, run: Run, ship: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """Ctrl-C in the middle of the walk: 130, and the draft is there."""
        RoundDraft(str(ship)).put("ME-H", TypedValue("12080", NOW))
        monkeypatch.setattr("pmsched.cli.round_walk.Walk.run", _interrupt)
        said = self.typed(run, "")
        assert said.code == 130
        assert "ME-H" in RoundDraft(str(ship)).typed

    def test_killed_between_entry_and_draft(self, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
        """Signing the same draft once more adds nothing."""
        monkeypatch.setattr(RoundDraft, "remove", lambda _self: None)
        self.typed(run, "12090", "", "", "y")
        said = self.typed(run, "", "", "", "y")
        assert "already entered as entry 3" in said.out or "Nothing new" in said.err
        assert run("due", "--json").data["header"]["entry_no"] == 3

    def test_check_does_not_sign(self, run: Run, ship: Path) -> None:
        """--check shows what would move and keeps the draft only."""
        said = self.typed(run, "12090", "", "", options=("--check",))
        assert said.code == 0
        assert "Sign" not in said.err
        assert "ME-H" in RoundDraft(str(ship)).typed

    def test_signer_is_asked_for(self, run: Run) -> None:
        """Nobody named: the code is asked for before the signature."""
        said = run("round", stdin="12090\n\n\n2E\ny\n", by="")
        assert "Sign this round as 2E?" in said.err
        assert "1 meter entered" in said.out

    def test_unknown_signer_loses_nothing(self, run: Run, ship: Path) -> None:
        """A slip in the signer's code is refused; the draft is there, and it is said."""
        said = run("round", stdin="12090\n\n\n2X\n", by="")
        assert said.code == 1
        assert "What was typed is kept." in said.err
        assert "Nobody on the books has the code 2X." in said.err
        assert "ME-H" in RoundDraft(str(ship)).typed

    def test_counter_that_is_gone_is_told(self, run: Run, ship: Path) -> None:
        """A draft may name a counter that is not on the round any more."""
        RoundDraft(str(ship)).put("OLD-H", TypedValue("77", NOW))
        said = self.typed(run, "", "", "")
        assert "OLD-H is not on the round any more: 77, typed earlier, is left out." in said.err

    def test_nothing_typed(self, run: Run) -> None:
        """Enter to the end: nothing is asked, nothing is kept."""
        said = self.typed(run, "", "", "")
        assert (said.code, said.out) == (0, "")
        assert "Nothing was typed." in said.err

    def test_draft_that_cannot_be_kept_is_refused(self, run: Run, tmp_path: Path) -> None:
        """Better to stop at the first line than to lose the last."""
        (tmp_path / "state").write_text("a file in the way", encoding="utf-8")
        said = self.typed(run, "12090")
        assert said.code == 1
        assert "draft-not-kept" in said.err


def _interrupt(*_arguments: object, **_named: object) -> bool:
    raise KeyboardInterrupt


def test_at_in_the_walk_counts_for_every_line(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sheet typed in later counts at the time of the walk."""
    monkeypatch.setattr("pmsched.cli.round.on_terminal", lambda: True)
    run("round", "--at", "2030-01-14 08:00", stdin="12070\n\n\ny\n")
    rows = run("history", "--readings", "ME-H", "--json").data["rows"]
    assert rows[-1]["read_at"] == "2030-01-14T08:00:00+02:00"


def test_only_new_lines_are_counted(run: Run) -> None:
    """A line that is there already is not entered, so it is not counted."""
    run("round", "-", "--at", "2030-01-15 09:00", stdin="counter,value\nME-H,12090\n")
    said = run("round", "-", "--at", "2030-01-15 09:00", stdin=GOOD)
    assert "already entered" in said.out
    assert "1 meter entered as entry 4, seal " in said.out


def test_a_repeated_request_counts_no_meters(run: Run) -> None:
    """Trying again answers with the entry there is."""
    run("round", "-", "--request", "one", stdin=GOOD)
    assert "The round is already entered as entry 3, seal " in run("round", "-", "--request", "one", stdin=GOOD).out


def test_lines_change_in_the_plural(run: Run) -> None:
    """One line changes, several change."""
    headings = [line for line in run("round", "-", stdin=GOOD).out.splitlines() if line.startswith("On the due list")]
    count = headings[0].split()[4]
    assert headings == [f"On the due list {count} line{' changes' if count == '1' else 's change'}:"]
