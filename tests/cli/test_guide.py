"""``pmsched init`` at a terminal: from nothing to a due list, each step, each way back, and nothing lost on the way."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from command_line import Run, Said, invoke_program
from guided import Answer, Answers, change
from openpyxl import load_workbook
from workbook_files import rows_of, write_book

from pmsched.exchange.files_in import read_files

Guide = Callable[..., Said]

SET_UP = ("--by", "CE", "init", "--site", "MV New", "--name", "A. Ny", "--rank", "C/E", "--department", "engine")
# Yes, bring machines in; nobody else signs.
ON = ("y", "")
SHEETS = {
    "machines": "code,name\nP1,Feed pump 1\nP2,Feed pump 2\n",
    "counters": "code,machine,unit,reads\nP1-H,P1,h,tenths\nP2-H,P2,h,\n",
    "jobs": """code,machine,title,interval,critical
P1-01,P1,Grease,500 h,
P1-02,P1,Align,12 months,
P1-03,P1,Clean strainer,1 month,
P2-01,P2,Grease,500 h,
P2-02,P2,Align,12 months,
P2-03,P2,Test alarm,3 months,yes
""",
    "last_done": """job,done_on,count
P1-01,2029-12-01,1000 h
P1-02,2029-01-10,
P1-03,2030-01-10,
P2-01,2029-12-20,900 h
P2-02,2029-11-01,
P2-03,2029-12-01,
""",
    "readings": "counter,read_on,value\nP1-H,2030-01-14,1530.5\nP2-H,2030-01-14,1100\n",
}


@pytest.fixture
def target(tmp_path: Path) -> str:
    """Where the register will be."""
    return str(tmp_path / "new.db")


@pytest.fixture
def guide(tmp_path: Path, target: str, monkeypatch: pytest.MonkeyPatch) -> Guide:
    """Runs ``pmsched init`` at a terminal in a folder of its own; without arguments all that is asked at first is given."""
    (tmp_path / "mine").mkdir()
    monkeypatch.chdir(tmp_path / "mine")
    monkeypatch.setattr("pmsched.cli.init.on_terminal", lambda: True)

    def go(*answers: Answer, arguments: tuple[str, ...] = (*SET_UP, "--offset", "UTC+2")) -> Said:
        return invoke_program("--register", target, *arguments, stdin=Answers(answers))

    return go


def ship(name: str = "ship.xlsx", **changed: str) -> Path:
    """The workbook, in the folder of the person; a sheet may be changed, or left out when it is empty."""
    sheets = {stem: rows_of(text) for stem, text in (SHEETS | changed).items() if text}
    return write_book(Path(name), sheets)


def without(text: str, *jobs: str) -> str:
    """The lines of a sheet but those of these jobs."""
    return "".join(line for line in text.splitlines(keepends=True) if not line.startswith(jobs))


class TestWalk:
    """All goes well."""

    def test_from_nothing_to_the_due_list(self, guide: Guide, bare: Run, target: str) -> None:
        """One entry for the load, its receipt, the due list, and three things to type next."""
        path = ship()
        said = guide(*ON, str(path), "y")
        assert said.code == 0
        lines = said.out.splitlines()
        assert lines[0].startswith(f"The register is {target}; entered as entry 1, seal ")
        assert lines[1].split() == ["file", "new", "changed", "as", "before"]
        assert lines[7].startswith("Loaded; entered as entry 2, seal ")
        assert lines[9].startswith("MV New | 2030-01-15 UTC+2 | 4 of 6 lines | seal ")
        assert [line.split() for line in lines[10:]] == [
            ["state", "machine", "job", "title", "left", "due"],
            ["overdue", "P1", "P1-02", "Align", "5", "d", "overdue", "2030-01-10"],
            ["overdue", "P1", "P1-01", "Grease", "30.5", "h", "overdue", "~2030-01-14"],
            ["upcoming", "P1", "P1-03", "Clean", "strainer", "in", "26", "d", "2030-02-10"],
            ["no", "date", "P2", "P2-01", "Grease", "no", "date;", "300", "h", "left"],
        ]
        assert f"pmsched round --register {target} --by CE" in " ".join(said.err.split())
        assert "pmsched backup FILE" in said.err
        assert bare("--register", target, "due", "--all", "--json").data["looked_at"] == 6

    def test_what_will_be_overdue_is_told_with_why_before_anything_is_signed(self, guide: Guide) -> None:
        """In groups, with the sum."""
        said = guide(*ON, str(ship()), "s")
        assert "6 lines: 2 overdue, 4 not yet." in said.err
        told = " ".join(said.err.split())
        assert "Done too long ago (1): P1-02 Align (Feed pump 1): 5 d overdue 12 months from 2029-01-10" in told
        assert "Hours or starts passed (1): P1-01 Grease (Feed pump 1): 30.5 h overdue 500 h from 1 000 h" in told
        assert "Loaded" not in said.out

    def test_other_people(self, guide: Guide, bare: Run, target: str) -> None:
        """One after the other, each at once on the books; what cannot be used is asked again, alone."""
        said = guide("y", "2E", "", "Bo Lind", "2/E", "", "2e", "a;b", "3E", "=Ann", "3/E", "deck", "", "s")
        assert said.code == 0
        assert "This is needed." in said.err
        assert "2e is on the books already." in said.err
        assert "'a;b' cannot be a code." in said.err
        people = bare("--register", target, "people", "--json").data["people"]
        assert [(one["code"], one["name"], one["department"]) for one in people] == [
            ("CE", "A. Ny", "engine"),
            ("2E", "Bo Lind", "engine"),
            ("3E", "=Ann", "deck"),
        ]

    def test_an_empty_workbook_to_fill_in(self, guide: Guide) -> None:
        """Written by Enter alone, with what to fill in first; Enter again reads what was saved."""

        def fill() -> None:
            book = load_workbook("machinery.xlsx")
            for stem, text in SHEETS.items():
                heading, *rows = rows_of(text)
                places = {cell.value: cell.column for cell in book[stem][1]}
                for number, row in enumerate(rows, 2):
                    for name, value in zip(heading, row, strict=True):
                        book[stem].cell(number, places[name]).value = value
            book.save("machinery.xlsx")

        said = guide(*ON, "", "", fill, "", "y")
        assert said.code == 0
        assert "machinery.xlsx is written. Fill in first, leave the rest for later:" in said.err
        assert "machinery.xlsx has no jobs yet." in said.err
        assert "Loaded; entered as entry 2" in said.out

    def test_a_folder_of_csv_files(self, guide: Guide) -> None:
        """Is as good as a workbook."""
        Path("files").mkdir()
        for stem, text in SHEETS.items():
            Path("files", f"{stem}.csv").write_text(text, encoding="utf-8")
        assert "Loaded; entered as entry 2" in guide(*ON, "files", "y").out


class TestFile:
    """Which file."""

    @pytest.mark.parametrize(
        "typed",
        ["my ship.xlsx", "'my ship.xlsx'", '"my ship.xlsx"', "my\\ ship.xlsx"],
        ids=["plain", "one", "two", "back"],
    )
    def test_a_name_with_blanks_as_terminals_put_it(self, guide: Guide, typed: str) -> None:
        """Typed, or dragged into the window."""
        ship("my ship.xlsx")
        assert "What the due list will say" in guide(*ON, typed, "s").err

    def test_a_slip_is_asked_again_with_what_is_there(self, guide: Guide) -> None:
        """And nothing is lost."""
        ship()
        said = guide(*ON, "shop.xlsx", "ship.xlsx", "s")
        assert "There is no file shop.xlsx." in said.err
        assert "mine: ship.xlsx." in " ".join(said.err.split())

    def test_a_file_that_cannot_be_read_is_said(self, guide: Guide) -> None:
        """And asked for again."""
        Path("ship.xlsx").write_bytes(b"no workbook")
        said = guide(*ON, "ship.xlsx", "s")
        assert "The workbook cannot be read." in said.err
        assert said.code == 0


class TestList:
    """A list of jobs of one's own; a whole one is walked through in test_guide_whole."""

    LIST = "Equipment,Job,Freq. (hrs),Last done,Hours at last done,Hour meter\nPump 1,Grease,500,2029-12-01,1000,1300\nPump 2,Look,,,,\n"

    @pytest.fixture(autouse=True)
    def _listed(self, guide: Guide) -> None:  # noqa: ARG002 - in the folder that it makes
        Path("plan.csv").write_text(self.LIST, encoding="utf-8")

    def test_answers_that_cannot_be_used_are_asked_again(self, guide: Guide) -> None:
        """The day of the readings, and the codes of machines."""
        codes = ("P1", "XX YY", "PUMP1 PUMP2", "PUMP1 a;b", "pump1 P1", "")
        said = guide(*ON, "plan.csv", "yesterday", "14 Jan 2030", "", *codes, "s")
        assert "'yesterday' is not a date." in said.err
        assert "Type the old code, a blank, and the new code." in said.err
        assert "There is no machine XX." in said.err
        assert "PUMP2 is the code of another machine." in said.err
        assert "  P1     Pump 1\n" in said.err
        bundle, _ = read_files([Path("plan-for-pmsched.xlsx")])
        assert [row.code for row in bundle.machines] == ["P1", "PUMP2"]
        assert [row.read_on.isoformat() for row in bundle.readings] == ["2029-12-01", "2030-01-14"]

    def test_the_list_is_never_changed_and_nothing_is_overwritten(self, guide: Guide) -> None:
        """Each time a free name."""
        guide(*ON, "plan.csv", "", "", "", "s")
        again = guide("", "plan.csv", "", "", "", "s", arguments=("init",))
        assert "plan-for-pmsched-2.xlsx is written" in again.err
        assert Path("plan.csv").read_text(encoding="utf-8") == self.LIST


class TestProblems:
    """What is wrong is mended, and looked at again."""

    def test_until_nothing_is_wrong(self, guide: Guide) -> None:
        """Cell by cell, alike ones together, marked in a copy; Enter tries again."""
        jobs = SHEETS["jobs"].replace("12 months", "Annual").replace("P1-03,P1", "P1-03,PX")
        path = ship(jobs=jobs)
        said = guide(
            *ON,
            "ship.xlsx",
            "",
            change(path, "jobs", D3="12 months", D6="1 year"),
            "",
            change(path, "jobs", B4="P1"),
            "",
            "y",
        )
        assert said.code == 0
        assert "3 problems in ship.xlsx; nothing is loaded yet." in said.err
        told = " ".join(said.err.split())
        assert "jobs!D3, jobs!D6 (interval): 'Annual' can mean" in told
        assert "Write one of: 12 months." in told
        # The same problems again make no other copy.
        assert told.count("are marked in ship-problems.xlsx,") == 1
        assert "1 problem in ship.xlsx" in told
        assert "marked in ship-problems-2.xlsx" in told
        assert "Loaded; entered as entry 2" in said.out

    def test_the_marked_copy_may_be_mended_and_loaded(self, guide: Guide) -> None:
        """By its name; jobs without a last doing wait until then."""
        ship(jobs=SHEETS["jobs"].replace("1 month,", "soon,"), last_done=without(SHEETS["last_done"], "P2-02"))
        mend = change(Path("ship-problems.xlsx"), "jobs", D4="1 month")
        said = guide(*ON, "ship.xlsx", mend, "ship-problems.xlsx", "2", "", "y")
        assert "1 job has no last doing; that is asked afterwards." in said.err
        assert said.code == 0
        assert "ship-with-starts.xlsx is written" in said.err

    def test_hours_that_nobody_knows(self, guide: Guide) -> None:
        """It is said what can be done without them."""
        ship(last_done=SHEETS["last_done"].replace("900 h", ""))
        said = guide(*ON, "ship.xlsx", "s")
        assert "P2-01 counts h, and the first reading of P2-H is of 2030-01-14, after that." in " ".join(
            said.err.split()
        )
        assert "take that row out of last_done" in said.err

    def test_only_the_first_are_shown(self, guide: Guide) -> None:
        """The others stand in the marked copy."""
        rows = "".join(f"J{n},P1,Job {n},{n} fortnights,\n" for n in range(2, 16))
        said = guide(*ON, str(ship(jobs=SHEETS["jobs"] + rows)), "s")
        assert "14 problems in ship.xlsx" in said.err
        assert "and 4 more" in said.err


class TestStarts:
    """Jobs of which nobody knows when they were last done."""

    LACKING = without(SHEETS["last_done"], "P1-02", "P2-01", "P2-02", "P2-03")

    def test_spread(self, guide: Guide, bare: Run, target: str) -> None:
        """The months are shown, the copy is written and loaded; critical ones are due at once."""
        ship(last_done=self.LACKING)
        said = guide(*ON, "ship.xlsx", "3", "", "y")
        assert said.code == 0
        assert "4 of 6 jobs have no last doing:" in said.err
        assert "P2-03  Test alarm (P2) [critical or class]" in said.err
        assert said.err.index("at once       1  P2-03") < said.err.index("2030-04       1  P1-02")
        assert "2030-10       1  P2-02" in said.err
        assert "by hours      1  P2-01" in said.err
        bundle, problems = read_files([Path("ship-with-starts.xlsx")])
        assert problems == []
        assert {row.code for row in bundle.jobs if row.starts} == {"P1-02", "P2-01", "P2-02", "P2-03"}
        due = bare("--register", target, "due", "--all", "--json").data["lines"]
        assert {line["job"]: line["due_on"] for line in due}["P1-02"].startswith("2030-04-")
        again = bare("--register", target, "--by", "CE", "load", "ship-with-starts.xlsx")
        assert "Nothing new" in again.err

    def test_at_once(self, guide: Guide) -> None:
        """The safe choice; it is shown as never done."""
        ship(last_done=self.LACKING)
        said = guide(*ON, "ship.xlsx", "2", "", "y")
        assert "Never done: due at once (4):" in said.err
        assert [line.split()[0] for line in said.out.splitlines() if line.startswith("due ")] == ["due"] * 4

    def test_filled_in_by_hand(self, guide: Guide) -> None:
        """The best choice: the file is looked at again."""
        path = ship(last_done=without(SHEETS["last_done"], "P2-02"))
        fill = change(path, "last_done", A7="P2-02", B7="2029-12-01")
        said = guide(*ON, "ship.xlsx", "1", fill, "", "y")
        assert "Write when they were last done in the sheet last_done of ship.xlsx" in " ".join(said.err.split())
        assert said.code == 0
        assert not Path("ship-with-starts.xlsx").exists()

    def test_back_to_the_choice(self, guide: Guide) -> None:
        """A proposal that was looked at may be given up; wrong answers are asked again."""
        ship(last_done=self.LACKING)
        said = guide(*ON, "ship.xlsx", "7", "3", "x", "b", "2", "", "s")
        assert said.err.count("Type 1, 2, 3, or s to stop here.") == 1
        assert "ship-with-starts-2.xlsx is written" in said.err
        assert "Never done: due at once (4):" in said.err


class TestReadings:
    """Counters that were never read."""

    def test_typed_now(self, guide: Guide, bare: Run, target: str) -> None:
        """Judged as typed; Enter skips; they stand in a copy and are loaded from it."""
        ship(readings="")
        said = guide(*ON, "ship.xlsx", "many", "1 530,5", "", "y")
        assert said.code == 0
        assert "2 counters have no reading. What do they show now?" in said.err
        assert "'many' is not a number." in said.err
        assert "ship-with-readings.xlsx is written: your file, with 1 reading more." in said.err
        rows = bare("--register", target, "history", "--readings", "P1-H", "--json").data["rows"]
        assert [row["dial"] for row in rows] == ["1530.5"]

    def test_all_skipped(self, guide: Guide) -> None:
        """They are asked once."""
        ship(readings="")
        said = guide(*ON, "ship.xlsx", "", "", "y")
        assert said.code == 0
        assert said.err.count("What do they show now?") == 1
        assert not Path("ship-with-readings.xlsx").exists()


class TestDoubts:
    """Before signing."""

    def test_hours_beyond_the_counter(self, guide: Guide) -> None:
        """One of the two is misread; n goes back, and the file can be mended."""
        path = ship(last_done=SHEETS["last_done"].replace("900 h", "9000 h"))
        said = guide(*ON, "ship.xlsx", "n", change(path, "last_done", C5="900 h"), "", "y")
        assert "P2-01 was last done at 9 000 h, and its counter shows 1 100 h on 2030-01-14." in " ".join(
            said.err.split()
        )
        assert said.err.count("Look twice") == 1
        assert said.code == 0

    def test_a_change_of_a_person_asks_why(self, guide: Guide, target: str, bare: Run) -> None:
        """The reason is kept with it."""
        ship(people="code,name,rank,department\n2E,Bo Lind,Second engineer,engine\n")
        said = guide("y", "2E", "Bo Lind", "2/E", "", "", "ship.xlsx", "y", "full words")
        assert "2E: rank 2/E -> Second engineer" in said.err
        assert said.code == 0
        assert bare("--register", target, "people", "--json").data["people"][1]["rank"] == "Second engineer"


class TestStops:
    """Whatever was answered stays."""

    def test_s_says_what_is_kept_and_init_goes_on(self, guide: Guide) -> None:
        """With the file of before; nothing that was answered is asked again."""
        ship()
        first = guide(*ON, "ship.xlsx", "s")
        assert first.code == 0
        assert "The register stays as it is set up; no machines are loaded yet. Your file is" in first.err
        assert "To go on: pmsched init" in first.err
        second = guide("", "", "y", arguments=("init",))
        assert second.code == 0
        assert "The register of MV New is set up; it has no machines yet." in second.err
        assert "File [ship.xlsx]:" in second.err
        assert "Loaded; entered as entry 2" in second.out

    def test_the_input_ends(self, guide: Guide) -> None:
        """As by Ctrl-C: the exit code of a stop, and how to go on."""
        ship()
        said = guide(*ON, "ship.xlsx")
        assert said.code == 130
        assert "To go on: pmsched init" in said.err

    def test_readings_typed_before_are_offered(self, guide: Guide) -> None:
        """Kept at each Enter."""
        ship(readings="")
        assert "The readings you typed are kept." in guide(*ON, "ship.xlsx", "1530.5").err
        said = guide("", "", "", "1100", "y", arguments=("init",))
        assert "P1-H  Feed pump 1, h [1530.5]:" in said.err
        assert "with 2 readings more" in said.err

    def test_nothing_is_set_up_by_half_the_answers(self, guide: Guide, target: str) -> None:
        """It is said."""
        said = guide("MV New", "CE", arguments=("init",))
        assert "Nothing is set up yet." in said.err
        assert not Path(target).exists()

    @pytest.mark.parametrize("answer", ["n", "s"])
    def test_declined(self, guide: Guide, answer: str) -> None:
        """The other ways are named; the next init offers it again."""
        said = guide(answer)
        assert said.code == 0
        assert "pmsched init --templates DIR" in said.err
        again = guide("n", arguments=("init",))
        assert again.code == 0
        assert "Bring them in now?" in again.err

    def test_a_register_with_machines_is_left_alone(self, ship: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """And it is said how more is brought in."""
        monkeypatch.setattr("pmsched.cli.init.on_terminal", lambda: True)
        said = invoke_program("--register", str(ship), "init", stdin=Answers([]))
        assert said.code == 1
        assert "There is a register of MV Example at" in said.err
        assert "pmsched load FILE --check" in said.err

    def test_another_site_is_refused(self, guide: Guide) -> None:
        """A register is never made over another one."""
        guide("n")
        said = guide(arguments=(*SET_UP[:4], "MV Other", *SET_UP[5:]))
        assert said.code == 1
        assert "[register-exists]" in said.err

    def test_without_a_terminal_nothing_is_asked(self, bare: Run, target: str) -> None:
        """As in a script."""
        said = bare("--register", target, *SET_UP)
        assert said.code == 0
        assert "[Y/n]" not in said.err

    def test_json_asks_nothing_either(self, guide: Guide) -> None:
        """One document."""
        assert list(guide(arguments=(*SET_UP, "--offset", "UTC", "--json")).data) == ["receipt", "register"]
