"""``pmsched report``: work done, hours with their basis, the next due date."""

from __future__ import annotations

import pytest
from command_line import Run


def test_today_if_not_said(run: Run) -> None:
    """The ship's date is meant; number, entry, seal and next due date are told."""
    said = run("report", "pu-chk")
    assert said.code == 0
    assert said.out.startswith("PU-CHK: report ")
    assert "entered as entry 3, seal " in said.out
    assert "PU-CHK next due 2030-02-15: 1 month from 2030-01-15 -> 2030-02-15" in said.out


def test_hours_are_kept_with_their_basis(run: Run) -> None:
    """Between two readings the hours are read off the line between them."""
    assert "at 11 776 h (interpolated)" in run("report", "ME-LO", "--done-on", "2029-12-20", "--again").out


def test_hours_may_be_typed(run: Run) -> None:
    """A typed total is kept as typed; one above the reading of that time is noted on standard error."""
    said = run("report", "ME-LO", "--done-on", "2030-01-08", "--count", "h=12010")
    assert "at 12 010 h (typed)" in said.out
    assert said.err == "Note: typed 12 010 h is above the reading after it (12 004 h).\n"


def test_one_unit(run: Run) -> None:
    """Only the named unit is reset; the others stay."""
    said = run("report", "GE1-EXV", "--unit", "1", "--done-on", "2030-01-08")
    assert "GE1-EXV 1 next due" in said.out
    assert "GE1-EXV 2 next due" not in said.out


def test_json_shape(run: Run) -> None:
    """The keys are fixed; the job's lines are those of the due list."""
    found = run("report", "ME-LO", "--done-on", "2030-01-08", "--time", "12:00", "--json").data
    assert list(found) == ["receipt", "report", "counts", "notes", "now", "attached"]
    assert found["counts"] == [{"unit": "h", "total": "12004", "basis": "from a reading"}]
    assert found["now"][0]["job"] == "ME-LO"
    assert found["report"].isdecimal()


def test_words_are_kept(run: Run) -> None:
    """Who did it, in what condition, and remarks stand in the history as they were typed."""
    run(
        "report", "PU-CHK", "--done-by", "fitter Ø.", "--condition", "as new", "--remarks", "[/] back\\slash", by="2E"
    )  # fmt: skip
    row = run("history", "--job", "PU-CHK", "--json").data["rows"][-1]
    assert (row["done_by"], row["condition"], row["remarks"], row["signer"], row["signed_as"]) == (
        "fitter Ø.", "as new", "[/] back\\slash", "2E", "Second engineer",
    )  # fmt: skip


def test_acting_rank(run: Run) -> None:
    """Who acts in another rank signs so."""
    run("report", "PU-CHK", "--acting", "Chief engineer", by="2E")
    row = run("history", "--job", "PU-CHK", "--json").data["rows"][-1]
    assert row["signed_as"] == "Second engineer acting Chief engineer"


@pytest.mark.parametrize(
    ("arguments", "code", "said"),
    [
        pytest.param(["PU-CH"], 1, "Did you mean PU-CHK?", id="unknown-job"),
        pytest.param(["PU-CHK", "--done-on", "2030-01-16"], 1, "lies ahead", id="future"),
        pytest.param(["PU-CHK", "--done-on", "01/02/2030"], 1, "does not say which number is the month", id="date"),
        pytest.param(["PU-CHK", "--time", "25:00"], 1, "There is no time", id="time"),
        pytest.param(["PU-CHK", "--unit", "7"], 1, "has no unit 7", id="unit"),
        pytest.param(["PU-CHK", "--condition", "rusty"], 1, "Write one of: as new", id="condition"),
        pytest.param(["PU-CHK", "--count", "12004"], 2, "Write it like h=12340.5", id="count"),
        pytest.param(["PU-CHK", "--count", "h="], 2, "Write it like h=12340.5", id="count-empty"),
        pytest.param(["PU-CHK", "--remarks", "red\x1b[31m"], 1, "hidden character U+001B", id="escape"),
        pytest.param(["PU-CHK", "--by", "NOBODY"], 1, "Nobody on the books has the code NOBODY", id="signer"),
    ],
)
def test_refused(run: Run, arguments: list[str], code: int, said: str) -> None:
    """Nothing is written; what is wrong and what would be right is told."""
    found = run("report", *arguments)
    assert (found.code, found.out) == (code, "")
    assert said in found.err
    assert run("due", "--json").data["header"]["entry_no"] == 2


def test_twice_on_one_day(run: Run) -> None:
    """A second report of the same day is refused unless it is meant."""
    run("report", "PU-CHK")
    said = run("report", "PU-CHK")
    assert said.code == 1
    assert "--again" in said.err
    assert run("report", "PU-CHK", "--again").code == 0


def test_same_request_adds_nothing(run: Run) -> None:
    """An attempt repeated under the same name is answered with the first entry."""
    run("report", "PU-CHK", "--request", "r1")
    said = run("report", "PU-CHK", "--request", "r1")
    assert said.code == 0
    assert "already entered as entry 3" in said.out
