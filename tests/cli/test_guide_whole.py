"""A whole first run: a messy plan of sixty jobs, the answers of a person who knows it, and exactly the right due list."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Run, invoke_program
from guided import Answers, change
from openpyxl import load_workbook
from quarry import MENDED, job_count, write_quarry

SHEETS = "PM plan-for-pmsched"
ANSWERS = (
    "y",  # bring machines in
    "",  # nobody else signs
    "PM plan.xlsx",
    "y",  # blank machines are those above
    "1",  # the day comes first
    "",  # 29 is 2029
    "14 Jan 2030",  # when the hours were read
    "",  # hours at last doings are readings
    "",  # weekly is 1 week
    "GENE1 G1",  # a better code
    "",
    change(Path(f"{SHEETS}.xlsx"), "jobs", D60=MENDED),
    "",  # the wrong cell is mended
    "3410",  # the meter that nobody had read
    "3",  # spread
    "",
    "y",  # it is true
)

# Worked out by hand from the plan: calendar dates by the calendar, hours as last doing and interval less the hours now.
DUE = """
overdue | OC-04 | 2030-01-12 | 3 d overdue
overdue | G1-03 | 2029-12-23 | 50 h overdue
overdue | WL1-03 | 2030-01-10 | 20.4 h overdue
overdue | AC-03 | 2030-01-11 | 10 h overdue
overdue | GENE2-02 | 2030-01-15 | 60 h overdue
due | CC-01 | 2030-01-15 | due by estimate
due | CC-05 | 2030-01-15 | due now
due | OC-02 | 2030-01-15 | due now
due | EXCA-02 | 2030-01-15 | due by estimate
upcoming | CC-03 | 2030-01-18 | 73.5 h
upcoming | JC-01 | 2030-01-18 | 50 h
upcoming | CC1-03 | 2030-01-19 | in 4 d
upcoming | CC2-03 | 2030-01-19 | in 4 d
upcoming | JC-05 | 2030-01-19 | in 4 d
upcoming | EXCA-01 | 2030-01-20 | 100 h
upcoming | JC-02 | 2030-01-21 | 90 h
upcoming | CC-04 | 2030-01-22 | 123 h
upcoming | EXCA-03 | 2030-01-24 | 150 h
upcoming | EXCA-04 | 2030-01-24 | 150 h
upcoming | WL1-01 | 2030-01-26 | 79.6 h
upcoming | WL1-02 | 2030-01-26 | 79.6 h
upcoming | EXCA-05 | 2030-01-29 | in 14 d
upcoming | CC1-02 | 2030-01-30 | in 15 d
upcoming | CC2-02 | 2030-01-30 | in 15 d
upcoming | PS-01 | 2030-01-31 | in 16 d
upcoming | PS-02 | 2030-01-31 | in 16 d
upcoming | CC1-01 | 2030-02-02 | in 18 d
upcoming | CC2-01 | 2030-02-02 | in 18 d
upcoming | CC-02 | 2030-02-04 | 324 h
upcoming | G1-01 | 2030-02-05 | in 21 d
upcoming | G1-05 | 2030-02-05 | in 21 d
upcoming | GENE2-01 | 2030-02-05 | in 21 d
upcoming | GENE2-04 | 2030-02-05 | in 21 d
upcoming | WL1-04 | 2030-02-11 | 179 h
no date | GENE2-03 | - | no date; 190 h left
"""


@pytest.fixture
def register(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> str:
    """Where the register is; the person's folder has the plan."""
    (tmp_path / "mine").mkdir()
    monkeypatch.chdir(tmp_path / "mine")
    monkeypatch.setattr("pmsched.cli.init.on_terminal", lambda: True)
    monkeypatch.setenv("COLUMNS", "100")
    write_quarry(Path())
    return str(tmp_path / "new.db")


def test_sixty_messy_lines_to_the_right_due_list(register: str, bare: Run) -> None:
    """Every line that is due within 30 days, by name, state and date; the sums of the overdue ones."""
    assert job_count() == 60
    arguments = ("--by", "WM", "init", "--site", "Kestrel Hill", "--name", "Ida Holm", "--rank", "Manager")
    arguments += ("--department", "workshop", "--offset", "UTC+2")
    said = invoke_program("--register", register, *arguments, stdin=Answers(ANSWERS))
    assert said.code == 0, said.err
    told = " ".join(said.err.split())
    assert f"{SHEETS}.xlsx is written: 12 machines, 8 counters, 60 jobs, 55 last doings, 28 readings." in told
    assert "columns not taken over: Colour." in told
    assert "1 problem in PM plan-for-pmsched.xlsx" in told
    assert "jobs!D60 (interval): 'soon' is not an interval." in told
    assert "1 counter has no reading." in told
    assert "5 of 60 jobs have no last doing:" in told
    assert "60 lines: 5 overdue, 4 due, 51 not yet." in told
    assert "Loaded; entered as entry 2, seal" in said.out
    lines = bare("--register", register, "due", "--json").data["lines"]
    found = [" | ".join((one["state"], one["job"], one["due_on"] or "-", one["left"])) for one in lines]
    assert found == DUE.strip().splitlines()


def test_stopped_at_every_question_and_gone_on_with(register: str) -> None:
    """Wherever the input ends the exit code is that of a stop, and the way on is said."""
    arguments = ("--by", "WM", "init", "--site", "Kestrel Hill", "--name", "Ida Holm", "--rank", "Manager")
    arguments += ("--department", "workshop", "--offset", "UTC+2")
    first = invoke_program("--register", register, *arguments, stdin=Answers(ANSWERS[:7]))
    assert (first.code, "To go on: pmsched init" in first.err) == (130, True)
    for end in range(3, len(ANSWERS)):
        path = Path(f"{SHEETS}.xlsx")
        path.unlink(missing_ok=True)
        said = invoke_program("--register", register, "init", stdin=Answers(("", *ANSWERS[2:end])))
        assert said.code == 130, (end, said.err)
        assert said.err.rstrip().endswith("To go on: pmsched init"), end
    assert load_workbook("PM plan.xlsx").sheetnames == ["PM 2030", "Contacts"]
