"""Held readings settled, readings and reports corrected: listed first, agreed to, and readable for ever."""

from __future__ import annotations

from typing import Any

import pytest
from command_line import Run


@pytest.fixture
def held(run: Run) -> str:
    """The number of a held reading: two digits exchanged."""
    run("round", "-", stdin="counter,value\nME-H,12900\n")
    (row,) = run("settle", "--json").data["held"]
    return str(row["number"])


def reading(run: Run, counter: str, read_on: str) -> str:
    """The number of the reading of that day."""
    rows = run("history", "--readings", counter, "--json").data["rows"]
    return next(str(row["number"]) for row in rows if row["read_on"] == read_on)


def report(run: Run, job: str) -> dict[str, Any]:
    """The last report of a job in the history."""
    return dict(run("history", "--job", job, "--json").data["rows"][-1])


def test_held_readings_are_listed_with_suggestions(run: Run, held: str) -> None:
    """Number, counter, time, value; what is wrong and what was perhaps meant."""
    said = run("settle")
    assert said.out.splitlines()[0].startswith("MV Example | 2030-01-15 UTC+2 | 1 reading held | seal ")
    assert held in said.out
    assert "896 h in 6 days 22 h" in said.out
    assert "Did you mean 12 090 (+86 h)?" in said.out


def test_held_json_shape(run: Run, held: str) -> None:
    """The keys of a held reading are fixed."""
    (row,) = run("settle", "--json").data["held"]
    assert list(row) == [
        "number", "counter", "unit", "value", "read_at", "accepted", "held_for", "duplicate", "message", "suggestions",
    ]  # fmt: skip
    assert row["held_for"] == "faster-than-clock"
    assert row["suggestions"][0] == {
        "kind": "swapped-digits", "value": "12090", "text": "Did you mean 12 090 (+86 h)?",
    }  # fmt: skip
    assert row["number"] == held


def test_settled_by_the_true_value(run: Run, held: str) -> None:
    """It is used from now on; the typed one stays in the history."""
    said = run("settle", held, "--value", "12090", "--reason", "two digits exchanged")
    assert said.code == 0
    assert "Reading of ME-H: 12 900 h -> 12 090 h; entered as entry 4" in said.out
    assert run("settle", "--json").data["held"] == []
    versions = [row["version"] for row in run("history", "--readings", "ME-H", "--json").data["rows"]]
    assert versions == ["accepted", "accepted", "corrected", "accepted"]


def test_confirmed(run: Run, held: str) -> None:
    """A person may overrule the clock check, with a reason."""
    said = run("settle", held, "--confirm", "--reason", "meter was changed by the maker")
    assert said.code == 0
    assert "12 900 h confirmed" in said.out


def test_struck(run: Run, held: str) -> None:
    """Struck readings are listed as such."""
    assert "12 900 h -> struck" in run("settle", held, "--strike", "--reason", "wrong meter").out
    assert "STRUCK" in run("history", "--readings", "ME-H").out


def test_settle_json_shape(run: Run, held: str) -> None:
    """The keys of what a settled reading touched are fixed."""
    found = run("settle", held, "--value", "12090", "--reason", "exchanged", "--json").data
    assert list(found) == [
        "receipt", "counter", "unit", "before", "after", "moved", "recounted", "flags", "countersign",
    ]  # fmt: skip
    assert (found["before"], found["after"]) == ("12900", "12090")


@pytest.mark.parametrize(
    ("options", "code"),
    [
        pytest.param([], 2, id="no-act"),
        pytest.param(["--strike", "--confirm"], 2, id="two-acts"),
        pytest.param(["--value", "12090"], 1, id="no-reason"),
        pytest.param(["--value", "11000", "--reason", "x"], 1, id="cannot-be-true"),
    ],
)
def test_settling_is_refused(run: Run, held: str, options: list[str], code: int) -> None:
    """Exactly one act, a reason, and a value that can be true."""
    assert run("settle", held, *options).code == code


def test_act_without_number_is_wrong_usage(run: Run) -> None:
    """--strike alone strikes nothing."""
    assert run("settle", "--strike").code == 2


def test_unknown_number(run: Run) -> None:
    """A number that is no reading is refused."""
    assert "There is no reading 99999." in run("settle", "99999", "--strike", "--reason", "x").err


@pytest.mark.parametrize("act", [["--value", "12014"], ["--strike"], ["--confirm"]], ids=["value", "strike", "confirm"])
def test_accepted_reading_is_not_settled(run: Run, act: list[str]) -> None:
    """Settling changes at once, so an accepted reading is refused, and the way that lists first is named."""
    number = reading(run, "ME-H", "2030-01-08")
    said = run("settle", number, *act, "--reason", "misread")
    assert said.code == 1
    assert f"Reading {number} is not held. [not-held]" in said.err
    assert f"To correct an accepted reading: pmsched correct reading {number} ..." in said.err
    assert run("due", "--json").data["header"]["entry_no"] == 2


def test_settled_reading_is_not_settled_again(run: Run, held: str) -> None:
    """Once settled it is accepted; only the same attempt, named by --request, is answered as before."""
    act = ("settle", held, "--value", "12090", "--reason", "two digits exchanged")
    assert run(*act, "--request", "one").code == 0
    assert "[not-held]" in run(*act).err
    assert "[not-held]" in run(*act, "--request", "two").err
    assert "already entered as entry 4" in run(*act, "--request", "one").out


class TestCorrectReading:
    """``pmsched correct reading``."""

    def test_lists_first_and_needs_yes_without_a_terminal(self, run: Run) -> None:
        """What would change is listed; without --yes nothing is changed and the way on is told."""
        number = reading(run, "ME-H", "2030-01-08")
        said = run("correct", "reading", number, "--value", "12014", "--reason", "misread")
        assert said.code == 1
        assert "Reading of ME-H: 12 004 h -> 12 014 h:" in said.out
        assert "ME-LO  Change lube oil: upcoming 2030-01-30 -> " in said.out
        assert "add --yes" in said.err
        assert run("due", "--json").data["header"]["entry_no"] == 2

    def test_yes_makes_it(self, run: Run) -> None:
        """With --yes it is entered, and the due list follows."""
        number = reading(run, "ME-H", "2030-01-08")
        said = run("correct", "reading", number, "--value", "12014", "--reason", "misread", "--yes")
        assert said.code == 0
        assert "Corrected; entered as entry 3" in said.out
        assert run("due", "--machine", "ME", "--json").data["lines"][0]["left"] == "262 h"

    @pytest.mark.parametrize(("answer", "code"), [("y", 0), ("", 1), ("n", 1)], ids=["yes", "enter", "no"])
    def test_asks_on_a_terminal(self, run: Run, monkeypatch: pytest.MonkeyPatch, answer: str, code: int) -> None:
        """Only a clear yes makes the correction."""
        number = reading(run, "ME-H", "2030-01-08")
        for module in ("correct", "amending"):
            monkeypatch.setattr(f"pmsched.cli.{module}.on_terminal", lambda: True)
        said = run("correct", "reading", number, "--value", "12014", "--reason", "misread", stdin=f"{answer}\n")
        assert said.code == code
        assert "Make this correction? [y/N]" in said.err
        assert run("due", "--json").data["header"]["entry_no"] == (3 if code == 0 else 2)

    def test_reason_is_asked_for_on_a_terminal(self, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
        """A missing reason is asked for where somebody can answer."""
        number = reading(run, "ME-H", "2030-01-08")
        monkeypatch.setattr("pmsched.cli.amending.on_terminal", lambda: True)
        run("correct", "reading", number, "--value", "12014", "--yes", stdin="misread by ten\n")
        assert "misread by ten" in run("history", "--readings", "ME-H", "--json").out

    def test_json_leaves_standard_output_to_the_document(self, run: Run) -> None:
        """With --json the list of what changes is narration."""
        number = reading(run, "ME-H", "2030-01-08")
        said = run("correct", "reading", number, "--strike", "--reason", "void", "--yes", "--json")
        assert said.data["after"] is None
        assert "struck" in said.err

    def test_confirm_is_not_offered(self, run: Run) -> None:
        """Only held readings are confirmed."""
        assert run("correct", "reading", "1", "--confirm", "--reason", "x").code == 2


class TestCorrectReport:
    """``pmsched correct report``."""

    def test_wrong_date(self, run: Run) -> None:
        """The due date follows; the chief engineer countersigns."""
        run("report", "PU-CHK", "--done-on", "2030-01-12")
        number = str(report(run, "PU-CHK")["number"])
        said = run("correct", "report", number, "--done-on", "2030-01-14", "--reason", "wrong day", "--yes")
        assert said.code == 0
        assert "PU-CHK" in said.out
        assert "2030-02-12 -> upcoming 2030-02-14" in said.out
        assert "the chief engineer countersigns" in said.out

    def test_wrong_hours(self, run: Run) -> None:
        """A typed total is worked out again and told before and after."""
        run("report", "ME-LO", "--done-on", "2030-01-08", "--count", "h=12003")
        number = str(report(run, "ME-LO")["number"])
        options = ["--count", "h=12004", "--reason", "misread", "--yes"]
        said = run("correct", "report", number, *options)
        assert "ME-LO done 2030-01-08: 12 003 h -> 12 004 h" in said.out

    def test_struck_and_brought_back(self, run: Run) -> None:
        """A struck report resets nothing; correcting it brings it back."""
        run("report", "PU-CHK", "--done-on", "2030-01-12")
        number = str(report(run, "PU-CHK")["number"])
        run("correct", "report", number, "--strike", "--reason", "other pump", "--yes")
        assert run("due", "--machine", "GE1-PU", "--json").data["lines"][0]["state"] == "overdue"
        run("correct", "report", number, "--remarks", "it was this one", "--reason", "mistaken", "--yes")
        assert run("due", "--machine", "GE1-PU", "--json").data["lines"][0]["state"] == "upcoming"

    def test_without_yes_nothing_changes(self, run: Run) -> None:
        """The list is printed, the deed refused."""
        run("report", "PU-CHK", "--done-on", "2030-01-12")
        number = str(report(run, "PU-CHK")["number"])
        said = run("correct", "report", number, "--strike", "--reason", "x")
        assert said.code == 1
        assert f"Report {number} of PU-CHK struck:" in said.out
        assert report(run, "PU-CHK")["version"] == "in force"

    def test_json_shape(self, run: Run) -> None:
        """The keys of a corrected report are fixed."""
        run("report", "PU-CHK", "--done-on", "2030-01-12")
        number = str(report(run, "PU-CHK")["number"])
        found = run("correct", "report", number, "--strike", "--reason", "x", "--yes", "--json").data
        assert list(found) == ["receipt", "job", "moved", "recounted", "flags", "countersign"]

    @pytest.mark.parametrize(
        ("options", "code"),
        [
            pytest.param(["--strike", "--done-on", "2030-01-12", "--reason", "x"], 2, id="strike-and-change"),
            pytest.param(["--reason", "x", "--yes"], 1, id="nothing"),
            pytest.param(["--remarks", "x", "--yes"], 1, id="no-reason"),
            pytest.param(["--count", "12004", "--reason", "x"], 2, id="count-without-unit"),
        ],
    )
    def test_refused(self, run: Run, options: list[str], code: int) -> None:
        """Contradictions, nothing to change, no reason, a count without its unit."""
        run("report", "PU-CHK", "--done-on", "2030-01-12")
        number = str(report(run, "PU-CHK")["number"])
        assert run("correct", "report", number, *options).code == code
