"""The due list: its text, its JSON shape, its filters, and an end-to-end run on a pinned day."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import pytest
from command_line import Run, invoke_program
from freezegun import freeze_time
from small_ship import NASTY, NOW

from pmsched.cli.house import SAFETY
from pmsched.cli.tables import text_width

LINE_KEYS = [
    "job", "unit", "title", "machine", "machine_name", "department", "rank", "critical", "state", "marks", "due_on",
    "expected", "left", "governing", "overdue_days", "overdue_counts", "missed", "because", "sentence", "cautions",
    "needs",
]  # fmt: skip
HEADER_KEYS = ["site", "today", "offset", "entry_no", "seal", "as_of", "known_on"]


def jobs(said: object) -> list[str]:
    """The job units listed, in order."""
    return [f"{line['job']} {line['unit']}".strip() for line in said["lines"]]  # type: ignore[index]


def test_text_fits_eighty_columns(run: Run) -> None:
    """At 80 columns every line fits; a long title is cut with an ellipsis, codes are not."""
    said = run("due", "--all")
    assert max(text_width(line) for line in said.out.splitlines()) <= 80
    assert "\u2026" in said.out
    assert "GE1-EXV 1" in said.out


def test_most_urgent_first(run: Run) -> None:
    """The monthly check fell due on 10 January: five days overdue, it stands on top."""
    lines = run("due").out.splitlines()
    assert lines[1].split() == ["state", "machine", "job", "title", "left", "due", "marks"]
    assert lines[2].startswith("overdue")
    assert "PU-CHK" in lines[2]
    assert "5 d overdue" in lines[2]


def test_notice_stands_on_standard_error(run: Run) -> None:
    """The standing notice is narration: it never gets between the lines of the list."""
    said = run("due")
    assert said.err.splitlines()[-1] == SAFETY
    assert SAFETY not in said.out


def test_because_stands_under_each_line(run: Run) -> None:
    """With --because every line is followed by its sum in words."""
    said = run("due", "--because", "--machine", "ME")
    assert "272 h left at 12.0 h/day (24 days to 2030-01-08) -> 2030-01-30" in " ".join(said.out.split())


def test_json_shape(run: Run) -> None:
    """Header, how many were looked at, lines: the keys are fixed, in their order."""
    found = run("due", "--all", "--json").data
    assert list(found) == ["header", "looked_at", "lines"]
    assert list(found["header"]) == HEADER_KEYS
    assert all(list(line) == LINE_KEYS for line in found["lines"])


def test_json_values(run: Run) -> None:
    """One counter line in full: dates ISO, hours decimal text, the sum as data."""
    (line,) = run("due", "--machine", "ME", "--json").data["lines"]
    because = line.pop("because")
    assert line == {
        "job": "ME-LO", "unit": "", "title": "Change lube oil", "machine": "ME", "machine_name": "Main engine",
        "department": "engine", "rank": "", "critical": True, "state": "upcoming", "marks": ["critical"],
        "due_on": "2030-01-30", "expected": True, "left": "272 h", "governing": 0, "overdue_days": 0,
        "overdue_counts": [], "missed": 0,
        "sentence": "272 h left at 12.0 h/day (24 days to 2030-01-08) -> 2030-01-30", "cautions": "Hot oil", "needs": "",
    }  # fmt: skip
    (limb,) = because["limbs"]
    assert (limb["base"], limb["interval"], limb["aim"], limb["total"], limb["left"]) == (
        "11776", "500", "12276", "12004", "272",
    )  # fmt: skip
    assert limb["rate"] == {
        "rise": "288", "seconds": 2_073_600, "since": "2029-12-15", "until": "2030-01-08", "before_layup": False,
    }  # fmt: skip
    assert (because["since"], because["since_kind"], because["extension"]) == ("2029-12-20", "done", None)


def test_titles_are_never_cut_in_json(run: Run) -> None:
    """Only text tables cut."""
    lines = run("due", "--all", "--json").data["lines"]
    assert "Clean charge air cooler and its drains with the maker's fluid" in [line["title"] for line in lines]


def test_text_of_people_passes_through(run: Run) -> None:
    """Brackets, slashes and backslashes in names stand as they were entered."""
    assert NASTY in run("due", "--machine", "GE1-PU").out
    assert run("due", "--machine", "GE1-PU", "--json").data["lines"][0]["title"] == NASTY


@pytest.mark.parametrize(
    ("arguments", "expected"),
    [
        pytest.param(["--within", "10"], ["PU-CHK"], id="within-10"),
        pytest.param(["--within", "15"], ["PU-CHK", "ME-LO"], id="within-15"),
        pytest.param(["--department", "ELECTRICAL"], ["PU-CHK"], id="department"),
        pytest.param(["--machine", "ge1"], [], id="machine-nothing-near"),
        pytest.param(["--machine", "ge1", "--all"], ["GE1-EXV 1", "GE1-NEW", "GE1-EXV 2"], id="machine-all"),
        pytest.param(["--state", "overdue"], ["PU-CHK"], id="state"),
        pytest.param(["--state", "later"], ["GE1-NEW", "GE1-EXV 2"], id="state-looks-at-all"),
    ],
)
def test_filters(run: Run, arguments: list[str], expected: list[str]) -> None:
    """Each filter leaves what fits it; a state is looked for whenever it is due."""
    assert jobs(run("due", *arguments, "--json").data) == expected


def test_nothing_due_says_what_to_do(run: Run) -> None:
    """An empty list is no riddle."""
    assert "To see every job: pmsched due --all" in run("due", "--machine", "GE1").err


def test_as_of_another_day(run: Run) -> None:
    """The list of 10 January: the monthly check is due that day, and not overdue."""
    found = run("due", "--as-of", "2030-01-10", "--machine", "GE1-PU", "--json").data
    assert found["header"]["today"] == "2030-01-10"
    assert found["header"]["as_of"] == "2030-01-10"
    assert found["lines"][0]["state"] == "due"


def test_known_on_a_day(run: Run) -> None:
    """What was reported later was not known then."""
    run("report", "PU-CHK", "--done-on", "2030-01-12")
    assert jobs(run("due", "--json").data) == ["ME-LO", "PU-CHK"]
    assert jobs(run("due", "--known-on", "2030-01-14", "--as-of", "2030-01-15", "--json").data)[0] == "PU-CHK"


def test_time_that_cannot_be_read_is_refused(run: Run) -> None:
    """A date in two readings is not guessed."""
    said = run("due", "--as-of", "01/02/2030")
    assert said.code == 1
    assert "2030-01-02" in said.err


def test_end_to_end_on_a_pinned_day(ship: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """With the computer's own clock standing at 15 January 2030, ``pmsched due --json`` says so and names its lines."""
    monkeypatch.undo()
    monkeypatch.setenv("PMSCHED_REGISTER", str(ship))
    with freeze_time("2030-01-15 08:00:00"):
        said = invoke_program("due", "--json")
    assert said.code == 0
    assert said.data["header"]["today"] == "2030-01-15"
    assert [(line["job"], line["state"], line["due_on"]) for line in said.data["lines"]] == [
        ("PU-CHK", "overdue", "2030-01-10"),
        ("ME-LO", "upcoming", "2030-01-30"),
    ]


def test_real_process(ship: Path) -> None:
    """The installed program prints one JSON document on standard output and nothing else there."""
    command = [sys.executable, "-m", "pmsched", "--register", str(ship), "due", "--as-of", "2030-01-15", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=True)
    assert json.loads(done.stdout)["header"]["today"] == "2030-01-15"


def test_moment_is_the_clocks(run: Run) -> None:
    """Without --as-of the clock's moment is meant."""
    assert NOW == 1_894_694_400
    assert run("due", "--json").data["header"]["today"] == "2030-01-15"


@pytest.mark.parametrize(
    ("options", "told"),
    [
        pytest.param(
            ["--machine", "GE11"], "There is no machine GE11. [unknown-machine]\nDid you mean GE1", id="machine"
        ),
        pytest.param(
            ["--department", "engin"],
            "There is no department engin. [unknown-department]\nKnown: electrical, engine.\n",
            id="department",
        ),
    ],
)
def test_a_slip_is_not_nothing_due(run: Run, options: list[str], told: str) -> None:
    """A name that is not there is refused with what there is; an empty list would read as nothing to do."""
    said = run("due", *options)
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith(told)


@pytest.mark.parametrize("options", [["--machine", "ge1"], ["--department", "ENGINE"]], ids=["machine", "department"])
def test_names_in_any_case(run: Run, options: list[str]) -> None:
    """Capitals do not matter."""
    assert run("due", "--all", *options, "--json").data["lines"]


def test_json_names_twenty_missed_dates_and_counts_all(run: Run, tmp_path: Path) -> None:
    """A daily grid since 2029-01-01 fell due 379 times; the sum names the first twenty."""
    path = tmp_path / "jobs.csv"
    path.write_text(
        "code,machine,title,interval,counts_from,grid_from,starts\n"
        "ME-DAY,ME,Daily look,1 day,grid,2029-01-01,from 2028-12-31\n",
        encoding="utf-8",
    )
    assert run("load", str(path)).code == 0
    (line,) = run("why", "ME-DAY", "--json").data["lines"]
    assert line["missed"] == 380
    missed = line["because"]["limbs"][0]["missed"]
    assert (len(missed), missed[0], missed[-1]) == (20, "2029-01-01", "2029-01-20")
    assert "fell due 380 times (2029-01-01, 2029-01-02, ... 2030-01-14, 2030-01-15)" in line["sentence"]
