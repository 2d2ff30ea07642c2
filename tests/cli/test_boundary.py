"""The one boundary: exit codes, what goes where, and that a fault of the program never shows its trace."""

from __future__ import annotations

import sqlite3
import subprocess
import sys
from pathlib import Path

import click
import pytest
from command_line import Run

from pmsched.cli.main import COMMANDS, program
from pmsched.domain.errors import ProblemsFound
from pmsched.domain.problems import Problem


def test_ok(run: Run) -> None:
    """A question answered ends with 0, its answer on standard output."""
    said = run("due")
    assert said.code == 0
    assert said.out.startswith("MV Example | 2030-01-15 UTC+2 | ")


def test_refused(run: Run) -> None:
    """A refusal ends with 1: what is wrong, its stable code and what to do stand on standard error, nothing else."""
    said = run("why", "ME-LOO")
    assert (said.code, said.out) == (1, "")
    assert said.err == "There is no job ME-LOO. [unknown-job]\nDid you mean ME-LO?\n"


@pytest.mark.parametrize(
    "arguments",
    [
        ["dew"],
        ["due", "--within", "soon"],
        ["due", "--all", "--within", "3"],
        ["why"],
        ["round"],
        ["demo", "--keep", "--fresh"],
    ],
    ids=" ".join,
)
def test_wrong_usage(run: Run, arguments: list[str]) -> None:
    """Wrong usage ends with 2."""
    said = run(*arguments)
    assert (said.code, said.out) == (2, "")


def test_slip_in_a_command_names_the_near_one(bare: Run) -> None:
    """A slip is answered with what was probably meant."""
    assert "Did you mean due?" in bare("deu").err


def test_problems(run: Run, tmp_path: Path) -> None:
    """Problems in data end with 3, and every one of them is listed."""
    file = tmp_path / "round.csv"
    file.write_text("counter,value\nME-X,12\nME-H,many\n", encoding="utf-8")
    said = run("round", str(file))
    assert (said.code, said.out) == (3, "")
    assert "row 2, column counter: There is no counter ME-X." in said.err
    assert "row 3, column value: 'many' is not a number." in said.err
    assert "2 problems found; nothing was written." in said.err


def test_problems_by_refusal(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """However a command finds problems, the boundary lists them all."""
    problems = [Problem("a", "x.csv", 2, "code", "One.", ""), Problem("b", "x.csv", 3, "", "Two.", "Do.")]
    monkeypatch.setattr("pmsched.cli.due.due_list", _raiser(ProblemsFound(problems)))
    said = run("due")
    assert said.code == 3
    assert "x.csv, row 2, column code: One.\nx.csv, row 3: Two. Do.\n" in said.err


@pytest.mark.parametrize("kind", ["missing", "not-a-register", "newer"])
def test_register_unusable(run: Run, ship: Path, tmp_path: Path, kind: str) -> None:
    """A register that is missing, damaged or of another version ends with 4."""
    path = tmp_path / "other.db"
    if kind == "not-a-register":
        path.write_bytes(b"not a database, but a letter to the owners" * 100)
    elif kind == "newer":
        path.write_bytes(ship.read_bytes())
        with sqlite3.connect(path) as other:
            other.execute("UPDATE alembic_version SET version_num = '9999'")
        other.close()
    said = run("due", register=path)
    assert (said.code, said.out) == (4, "")
    assert said.err


def test_missing_register_says_what_to_do(run: Run, tmp_path: Path) -> None:
    """Whoever starts for the first time is told how."""
    assert "Run: pmsched init." in run("due", register=tmp_path / "none.db").err


def test_fault_is_owned_up_to(run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A fault ends with 70, one readable message and a file that holds the trace."""
    monkeypatch.setattr("pmsched.cli.due.due_list", _raiser(ZeroDivisionError("by zero")))
    said = run("due")
    assert (said.code, said.out) == (70, "")
    assert "This is a fault of pmsched" in said.err
    assert "Traceback" not in said.err
    (log,) = (tmp_path / "log").iterdir()
    assert str(log) in said.err
    assert "ZeroDivisionError: by zero" in log.read_text(encoding="utf-8")


def test_fault_without_a_log_folder_goes_to_the_temporary_one(
    run: Run, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """If the log folder cannot be made, the trace is still kept."""
    (tmp_path / "log").write_text("a file in the way", encoding="utf-8")
    (tmp_path / "temporary").mkdir()
    monkeypatch.setattr("tempfile.gettempdir", lambda: str(tmp_path / "temporary"))
    monkeypatch.setattr("pmsched.cli.due.due_list", _raiser(ZeroDivisionError("by zero")))
    said = run("due")
    assert said.code == 70
    assert len(list((tmp_path / "temporary").glob("fault-*.log"))) == 1


@pytest.mark.parametrize(
    "error", [KeyboardInterrupt(), EOFError(), click.Abort()], ids=lambda error: type(error).__name__
)
def test_stopped_by_the_person(run: Run, monkeypatch: pytest.MonkeyPatch, error: BaseException) -> None:
    """Ctrl-C and Ctrl-D end with 130 and no word."""
    monkeypatch.setattr("pmsched.cli.due.due_list", _raiser(error))
    said = run("due")
    assert (said.code, said.out, said.err.strip()) == (130, "", "")


def test_reader_that_goes_away(ship: Path) -> None:
    """``pmsched history | head`` ends quietly."""
    command = [
        sys.executable,
        "-m",
        "pmsched",
        "--register",
        str(ship),
        "due",
        "--all",
        "--json",
        "--as-of",
        "2030-01-15",
    ]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as started:
        assert started.stdout is not None
        assert started.stderr is not None
        started.stdout.close()
        said = started.stderr.read()
        code = started.wait(timeout=60)
    assert code == 141
    assert "Traceback" not in said
    assert "Error" not in said


def test_program_alone_prints_its_help(bare: Run) -> None:
    """Without a command the help text is printed."""
    said = bare()
    assert said.code == 0
    assert all(name in said.out for name in COMMANDS)


@pytest.mark.parametrize("before", [True, False], ids=["before-the-command", "after-the-command"])
def test_house_options_stand_on_either_side(bare: Run, ship: Path, *, before: bool) -> None:
    """The options of the program are accepted where people type them."""
    options = ["--register", str(ship), "--json"]
    said = bare(*options, "due") if before else bare("due", *options)
    assert said.data["header"]["site"] == "MV Example"


def test_option_after_the_command_wins(bare: Run, ship: Path, tmp_path: Path) -> None:
    """Of two registers the one named last counts."""
    assert bare("--register", str(tmp_path / "none.db"), "due", "--register", str(ship)).code == 0


def test_variables_name_register_and_signer(bare: Run, ship: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """PMSCHED_REGISTER and PMSCHED_BY stand in for the options."""
    monkeypatch.setenv("PMSCHED_REGISTER", str(ship))
    monkeypatch.setenv("PMSCHED_BY", "2E")
    assert "entered as entry" in bare("report", "PU-CHK").out
    assert "2E" in bare("history", "--job", "PU-CHK").out


def test_usual_place_of_the_register(bare: Run, tmp_path: Path) -> None:
    """Without a name the register of the user's data folder is meant."""
    said = bare("due")
    assert said.code == 4
    assert str(tmp_path / "data" / "register.db") in said.err


def test_nobody_signs(run: Run) -> None:
    """A deed without a signer is refused, and says how to sign."""
    said = run("report", "PU-CHK", by="")
    assert said.code == 1
    assert "--by CODE" in said.err


def test_every_command_can_be_imported() -> None:
    """The table of names points at commands of these very names."""
    context = click.Context(program)
    for name in COMMANDS:
        found = program.get_command(context, name)
        assert found is not None
        assert found.name == name


def _raiser(error: BaseException) -> object:
    def fail(*_arguments: object, **_named: object) -> None:
        raise error

    return fail


@pytest.mark.parametrize(
    "arguments",
    [
        ["d\x08ew"],
        ["due", "--st\x08ate"],
        ["due", "--within", "\x083"],
        ["report", "ME-LO", "--count", "\x08"],
    ],
    ids=["command", "option", "number", "count"],
)
def test_wrong_usage_shows_hidden_characters(run: Run, arguments: list[str]) -> None:
    """What was typed is repeated with control characters as their pictures; none reaches the terminal."""
    said = run(*arguments)
    assert said.code == 2
    assert "\x08" not in said.err
    assert "\u2408" in said.err or "\\x08" in said.err


def test_wrong_usage_shows_no_colours(run: Run) -> None:
    """A typed sequence that would recolour a terminal is left out."""
    said = run("d\x1b[31mew")
    assert said.code == 2
    assert "\x1b" not in said.err
