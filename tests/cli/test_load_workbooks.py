"""Workbooks at the command line: loaded, checked with a marked copy, and written empty."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Run
from openpyxl import load_workbook
from small_ship import FILES
from workbook_files import rows_of, write_book

WRONG = FILES["people"] + "3E,,Third engineer,engine\n"


def ship(folder: Path, name: str = "ship.xlsx", **changed: str) -> str:
    """The files of the small ship as a workbook in a folder of its own, some of the sheets changed."""
    (folder / "files").mkdir(exist_ok=True)
    sheets = {stem: rows_of(text) for stem, text in (FILES | changed).items()}
    return str(write_book(folder / "files" / name, sheets | {"Cover": [["MV Example"]]}))


class TestLoad:
    """``pmsched load`` with workbooks."""

    def test_the_same_as_the_files_is_nothing_new(self, run: Run, tmp_path: Path) -> None:
        """And the sheet that is passed over is said beside the data."""
        said = run("load", ship(tmp_path))
        assert said.code == 0
        assert "Nothing new: everything is there already." in said.err
        assert "sheet Cover: not read" in said.err

    def test_problems_name_cells(self, run: Run, tmp_path: Path) -> None:
        """Without --check no copy is made."""
        said = run("load", ship(tmp_path, people=WRONG))
        assert said.code == 3
        assert "ship.xlsx, people!B3, column name: The cell is blank." in said.err
        assert "sheet Cover: not read" in said.err
        assert [path.name for path in (tmp_path / "files").iterdir()] == ["ship.xlsx"]

    def test_a_check_marks_a_copy(self, run: Run, tmp_path: Path) -> None:
        """Next to the workbook, and it is named; a second one gets another name."""
        path = ship(tmp_path, people=WRONG)
        said = run("load", path, "--check")
        assert said.code == 3
        assert said.err.endswith(f"They are marked in {tmp_path / 'files' / 'ship-problems.xlsx'}.\n")
        assert load_workbook(tmp_path / "files" / "ship-problems.xlsx").sheetnames[:2] == ["problems", "people"]
        assert "ship-problems-2.xlsx" in run("load", path, "--check").err

    def test_a_check_without_problems_marks_nothing(self, run: Run, tmp_path: Path) -> None:
        """No copy where there is nothing to see."""
        assert run("load", ship(tmp_path), "--check").code == 0
        assert [path.name for path in (tmp_path / "files").iterdir()] == ["ship.xlsx"]

    def test_a_check_of_files_marks_a_copy_where_it_is_asked_for(self, run: Run, tmp_path: Path) -> None:
        """Under the name given."""
        (tmp_path / "people.csv").write_text(WRONG, encoding="utf-8")
        assert "marked" not in run("load", str(tmp_path / "people.csv"), "--check").err
        said = run("load", str(tmp_path / "people.csv"), "--check", "--marked", str(tmp_path / "m.xlsx"))
        assert said.code == 3
        assert load_workbook(tmp_path / "m.xlsx").sheetnames == ["problems", "people"]

    def test_json_names_the_copy(self, run: Run, tmp_path: Path) -> None:
        """The problems with their cells, the notes, and where the copy is."""
        found = run("load", ship(tmp_path, people=WRONG), "--check", "--json").data
        (problem,) = found["problems"]
        assert (problem["sheet"], problem["cell"], problem["row"]) == ("people", "B3", 3)
        assert found["marked"] == [str(tmp_path / "files" / "ship-problems.xlsx")]
        assert len(found["notes"]) == 1

    @pytest.mark.parametrize(
        ("options", "code", "words"),
        [
            pytest.param(["--marked", "m.xlsx"], 2, "--marked goes with --check", id="without-check"),
            pytest.param(["--check", "--marked", "m.csv"], 1, "does not end in .xlsx", id="no-workbook"),
            pytest.param(["--check", "--marked", "there.xlsx"], 1, "is there already", id="taken"),
        ],
    )
    def test_a_copy_that_cannot_be_is_refused_first(
        self, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: list[str], code: int, words: str
    ) -> None:
        """Nothing is checked for nothing."""
        monkeypatch.chdir(tmp_path)
        (tmp_path / "there.xlsx").write_bytes(b"mine")
        said = run("load", ship(tmp_path, people=WRONG), *options)
        assert said.code == code
        assert words in said.err
        assert "The cell is blank" not in said.err

    def test_a_copy_that_cannot_be_written_hides_no_problem(self, run: Run, tmp_path: Path) -> None:
        """It is said, and the problems are told all the same."""
        said = run("load", ship(tmp_path, people=WRONG), "--check", "--marked", str(tmp_path / "no" / "m.xlsx"))
        assert said.code == 3
        assert "No marked copy was made:" in said.err
        assert "The cell is blank." in said.err

    def test_other_kinds_of_workbook(self, run: Run, tmp_path: Path) -> None:
        """What to do is said."""
        (tmp_path / "ship.ods").write_bytes(b"x")
        said = run("load", str(tmp_path / "ship.ods"))
        assert said.code == 3
        assert "save it as an Excel workbook (.xlsx)" in said.err


class TestStarts:
    """``pmsched load --check --starts``: first dates for jobs of which nothing is known."""

    JOBS = (
        FILES["jobs"].replace(",from 2029-12-01", ",")
        + "GE1-OLD,GE1,Look,12 months,,engine,no,,\nME-X,ME,Test,1 year,,engine,,,\n"
    )

    def test_a_copy_with_proposals(self, bare: Run, tmp_path: Path) -> None:
        """What is in it is told; nothing is kept; loading it gives these dates."""
        path, copy, register = ship(tmp_path, jobs=self.JOBS), str(tmp_path / "s.xlsx"), str(tmp_path / "new.db")
        set_up = ("--name", "Ida Holm", "--rank", "Chief engineer", "--offset", "+2")
        bare("--register", register, "--by", "CE", "init", "--site", "MV New", *set_up)
        assert "add --starts FILE.xlsx" in bare("--register", register, "load", path, "--check").err
        said = bare("--register", register, "load", path, "--check", "--starts", copy)
        assert said.code == 0
        assert [line.split() for line in said.out.splitlines()] == [
            ["first", "due", "jobs", "which"],
            ["at", "once", "1", "ME-X"],
            ["2030-04", "1", "GE1-NEW"],
            ["2030-07", "1", "GE1-OLD"],
            ["1", "critical", "or", "class", "job", "stays", "due", "at", "once."],
        ]
        assert f"pmsched load {copy} --check" in " ".join(said.err.split())
        assert bare("--register", register, "--by", "CE", "load", copy).code == 0
        due = bare("--register", register, "due", "--all", "--json").data["lines"]
        assert {line["job"]: line["due_on"] for line in due if line["job"].startswith("GE1-N")} == {
            "GE1-NEW": "2030-04-15"
        }

    def test_json(self, run: Run, tmp_path: Path) -> None:
        """The file, and what is proposed in it."""
        jobs = FILES["jobs"] + "GE1-OLD,GE1,Look,12 months,,engine,no,,\n"
        found = run("load", ship(tmp_path, jobs=jobs), "--check", "--starts", str(tmp_path / "s.xlsx"), "--json").data
        assert found == {
            "file": str(tmp_path / "s.xlsx"),
            "starts": [
                {
                    "job": "GE1-OLD",
                    "title": "Look",
                    "machine": "GE1",
                    "starts": "from 2029-07-16",
                    "first_on": "2030-07-16",
                    "held_back": False,
                }
            ],
        }

    @pytest.mark.parametrize(
        ("changed", "code", "words"),
        [
            pytest.param({}, 0, "every job has a last doing or a start", id="nothing-to-propose"),
            pytest.param({"people": WRONG}, 3, "something else is wrong first", id="other-problems"),
        ],
    )
    def test_no_copy_without_need(
        self, run: Run, tmp_path: Path, changed: dict[str, str], code: int, words: str
    ) -> None:
        """The check is made all the same."""
        said = run("load", ship(tmp_path, **changed), "--check", "--starts", str(tmp_path / "s.xlsx"))
        assert said.code == code
        assert words in said.err
        assert not (tmp_path / "s.xlsx").exists()

    def test_only_in_a_check(self, run: Run, tmp_path: Path) -> None:
        """It keeps nothing."""
        assert run("load", ship(tmp_path), "--starts", str(tmp_path / "s.xlsx")).code == 2


class TestFromList:
    """``pmsched init --templates FILE.xlsx --from LIST``."""

    LIST = "Equipment,Job,Frequency,Last done\nPump,Grease,Monthly,2029-12-20\nPump,Align,1 year,03/04/2029\n"

    @pytest.fixture(autouse=True)
    def _here(self, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
        monkeypatch.chdir(tmp_path)
        Path("plan.csv").write_text(self.LIST, encoding="utf-8")

    def test_in_a_script_nothing_is_guessed(self, bare: Run, run: Run) -> None:
        """What is unclear stays as it is written, is said, and is found by the check."""
        said = bare("init", "--templates", "new.xlsx", "--from", "plan.csv")
        assert (said.code, said.out) == (0, "new.xlsx\n")
        assert "In doubt, and left as it is: Dates such as 03/04/2029: which comes first?" in said.err
        checked = run("load", "new.xlsx", "--check")
        assert "'Monthly' can mean" in checked.err
        assert "'03/04/2029' does not say which number is the month." in checked.err
        assert checked.code == 3

    def test_at_a_terminal_it_is_asked(self, bare: Run, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
        """And then nothing is wrong."""
        monkeypatch.setattr("pmsched.cli.init.on_terminal", lambda: True)
        assert bare("init", "--templates", "new.xlsx", "--from", "plan.csv", stdin="1\ny\n\n").code == 0
        assert run("load", "new.xlsx", "--check").code == 0

    @pytest.mark.parametrize(
        ("arguments", "code", "words"),
        [
            pytest.param(["--from", "plan.csv"], 2, "--from goes with --templates", id="alone"),
            pytest.param(["--templates", "folder", "--from", "plan.csv"], 2, "--from needs a workbook", id="folder"),
            pytest.param(["--templates", "n.xlsx", "--from", "none.csv"], 1, "There is no file", id="missing"),
            pytest.param(["--templates", "n.xlsx", "--from", "people.csv"], 1, "is no list of jobs", id="no-list"),
            pytest.param(["--templates", "there.xlsx", "--from", "plan.csv"], 1, "is there already", id="taken"),
        ],
    )
    def test_what_cannot_be(self, bare: Run, arguments: list[str], code: int, words: str) -> None:
        """It is said, and nothing is overwritten."""
        Path("people.csv").write_text(FILES["people"], encoding="utf-8")
        Path("there.xlsx").write_bytes(b"mine")
        said = bare("init", *arguments)
        assert said.code == code
        assert words in said.err
        assert Path("there.xlsx").read_bytes() == b"mine"


class TestTemplates:
    """``pmsched init --templates`` for workbooks."""

    @pytest.mark.parametrize(
        ("options", "name"),
        [
            pytest.param(["new/ship.xlsx"], "new/ship.xlsx", id="name"),
            pytest.param(["new/ship.xlsx", "--xlsx"], "new/ship.xlsx", id="name-and-option"),
            pytest.param(["new", "--xlsx"], "new/machinery.xlsx", id="folder"),
        ],
    )
    def test_one_workbook(
        self, bare: Run, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, options: list[str], name: str
    ) -> None:
        """With all sheets; it is named, what comes next is said, and it loads as it is."""
        monkeypatch.chdir(tmp_path)
        said = bare("init", "--templates", *options)
        assert (said.code, said.out) == (0, f"{Path(name)}\n")
        assert said.err == f"Fill it in, then: pmsched load {Path(name)} --check\n"
        assert load_workbook(name).sheetnames[1:] == [
            *("people", "machines", "counters", "jobs", "last_done", "readings", "parts"),
        ]  # fmt: skip
        assert run("load", name, "--check").code == 0
        assert bare("init", "--templates", *options).code == 1

    def test_the_option_alone_is_wrong_usage(self, bare: Run) -> None:
        """It says what kind of templates."""
        assert bare("init", "--xlsx").code == 2
