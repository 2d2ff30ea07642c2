"""``pmsched isolate``: listed, isolated, given back and struck at the command line."""

from __future__ import annotations

import pytest
from command_line import Run

ROW = [
    "number", "machine", "machine_name", "department", "critical", "kind", "why", "tag", "begun_at", "back_on", "late",
    "signer", "signed_as", "entry_no", "ended_at", "tried", "ended_by",
]  # fmt: skip


def test_isolated_listed_and_given_back(run: Run) -> None:
    """The list says why, and the machine's card says it first."""
    said = run("isolate", "ME", "--why", "turning gear in", "--tag", "14", "--back", "2030-01-20")
    assert said.code == 0
    assert said.out.startswith("ME: isolated; entered as entry ")
    listed = run("isolate").out.splitlines()
    assert "1 machine not to be started" in listed[0]
    assert "turning gear in; tag 14; back by 2030-01-20" in listed[-1]
    assert "DO NOT START ME: isolated since 2030-01-15" in run("machines", "ME").out
    ended = run("isolate", "ME", "--end", "--tried", "turned on air")
    assert ended.out.startswith("ME: back in use; entered as entry ")
    assert "0 machines not to be started" in run("isolate").out
    assert "turned on air" in run("isolate", "--all").out


def test_due_list_marks_the_jobs(run: Run) -> None:
    """Each job of the machine, and no other."""
    run("isolate", "ME", "--why", "turning gear in")
    lines = run("due", "--all", "--json").data["lines"]
    assert {line["machine"] for line in lines if "isolated" in line["marks"]} == {"ME"}


def test_json_shape(run: Run) -> None:
    """The keys are fixed; times are ship's times."""
    run("isolate", "ME", "--why", "turning gear in", "--at", "2030-01-15 08:30")
    (row,) = run("isolate", "--json").data["isolations"]
    assert list(row) == ROW
    assert (row["begun_at"], row["ended_at"], row["back_on"]) == ("2030-01-15T08:30:00+02:00", None, None)
    assert [one["number"] for one in run("machines", "ME", "--json").data["isolations"]] == [row["number"]]


def test_struck(run: Run) -> None:
    """By its number, with a reason; without a number it is refused."""
    run("isolate", "ME", "--why", "turning gear in")
    (row,) = run("isolate", "--json").data["isolations"]
    assert run("isolate", "--mistake", "wrong engine").code == 1
    assert run("isolate", "--number", row["number"], "--mistake", "wrong engine").code == 0
    assert run("isolate", "--all", "--json").data["isolations"] == []


@pytest.mark.parametrize(
    "options",
    [
        pytest.param(["ME", "--why", "x", "--end"], id="why-and-end"),
        pytest.param(["ME", "--why", "x", "--as-of", "2030-01-01"], id="isolate-as-of"),
        pytest.param(["ME", "--number", "7", "--mistake", "x"], id="mistake-and-machine"),
        pytest.param(["ME", "--end", "--back", "2030-02-01"], id="end-and-back"),
        pytest.param(["--number", "7"], id="number-alone"),
    ],
)
def test_options_that_contradict_each_other(run: Run, options: list[str]) -> None:
    """Nothing is done: one of them may be the slip."""
    assert run("isolate", *options).code == 2
    assert run("isolate", "--all", "--json").data["isolations"] == []


def test_options_without_a_machine_are_a_slip(run: Run) -> None:
    """Nothing is listed as if nothing had been said."""
    said = run("isolate", "--why", "coupling off")
    assert said.code == 2
    assert "Name the machine" in said.err
