"""Machines, people, history, readings, entries, the ship's clock and setting up."""

from __future__ import annotations

from pathlib import Path

import pytest
from command_line import Run
from small_ship import NASTY

from pmsched.cli.tables import text_width


class TestMachines:
    """``pmsched machines``."""

    def test_tree(self, run: Run) -> None:
        """Walking order, children set in under their parent, the most urgent state of their jobs."""
        said = run("machines")
        lines = said.out.splitlines()
        assert lines[0].startswith("MV Example | 2030-01-15 UTC+2 | 3 of 3 machines | seal ")
        assert [line.split("  ")[0] for line in lines[2:4]] == ["ME", "GE1"]
        assert lines[4].startswith("  GE1-PU")
        assert "overdue" in lines[4]
        assert NASTY in lines[4]

    @pytest.mark.parametrize(
        ("words", "code"),
        [
            (["ge1"], "GE1"),
            (["genset"], "GE1"),
            (["oil", "PUMP"], "GE1-PU"),
            (["lube oil pump"], "GE1-PU"),
            (["main"], "ME"),
        ],
        ids=["code", "other-name", "words", "phrase", "name"],
    )
    def test_found_by_any_name_shows_the_card(self, run: Run, words: list[str], code: str) -> None:
        """The only machine found, or the one called exactly so, shows its card."""
        assert run("machines", *words, "--json").data["machine"]["code"] == code

    def test_several_found_are_listed(self, run: Run) -> None:
        """Words that fit several machines list them."""
        found = run("machines", "e", "--json").data
        assert [row["code"] for row in found["machines"]] == ["ME", "GE1", "GE1-PU"]

    def test_none_found(self, run: Run) -> None:
        """Nothing found is an answer, not a refusal."""
        said = run("machines", "windlass")
        assert said.code == 0
        assert "0 of 3 machines" in said.out

    def test_card(self, run: Run) -> None:
        """Counters with total and age of the reading, who counts on them, jobs with their standing."""
        said = run("machines", "GE1")
        assert "also called: No. 1 genset" in said.out
        assert "has: GE1-PU" in said.out
        assert "5 120.5 h" in said.out
        assert "7 days" in said.out
        assert "GE1-H is counted on by: GE1-PU" in said.out
        assert "GE1-EXV 1" in said.out
        assert max(text_width(line) for line in said.out.splitlines()) <= 80

    def test_card_of_a_machine_that_counts_on_another(self, run: Run) -> None:
        """It says whose counter it counts on, and its own total."""
        said = run("machines", "GE1-PU")
        assert "belongs to: GE1" in said.out
        assert "counts on GE1-H of GE1 since " in said.out

    def test_json_shapes(self, run: Run) -> None:
        """The keys of the list and of the card are fixed."""
        found = run("machines", "--json").data
        assert list(found) == ["header", "looked_at", "machines"]
        assert list(found["machines"][0]) == [
            "depth", "code", "name", "other_names", "parent", "department", "critical", "active", "jobs", "state",
        ]  # fmt: skip
        card = run("machines", "GE1", "--json").data
        assert list(card) == [
            "header", "machine", "isolations", "path", "children", "counters", "counts_on", "jobs", "parts",
        ]  # fmt: skip
        assert card["counters"][0] == {
            "code": "GE1-H", "name": card["counters"][0]["name"], "unit": "h", "reads": "tenths", "dial": "5120.5",
            "total": "5120.5", "read_at": "2030-01-08T12:00:00+02:00", "read_on": "2030-01-08", "age_days": 7,
            "rate": {
                "rise": "120.5", "seconds": 2_073_600, "since": "2029-12-15", "until": "2030-01-08",
                "before_layup": False,
            },
            "held": False, "counted_by": ["GE1", "GE1-PU"],
        }  # fmt: skip


def test_people(run: Run) -> None:
    """Codes, names and ranks of those who sign."""
    said = run("people")
    assert "2 people" in said.out
    assert "Second engineer" in said.out
    assert run("people", "--json").data["people"][0] == {
        "code": "CE", "name": "Ida Holm", "rank": "Chief engineer", "department": "engine", "active": True,
    }  # fmt: skip


class TestHistory:
    """``pmsched history``."""

    def test_both_dates_and_who_signed(self, run: Run) -> None:
        """Done on, reported on, hours with basis, rank, late or not."""
        run("report", "PU-CHK", "--done-on", "2030-01-12", "--remarks", "coupling worn")
        said = run("history", "--job", "PU-CHK")
        line = next(line for line in said.out.splitlines() if "2030-01-12" in line)
        assert "2030-01-15" in line
        assert "late 2 d" in line
        assert "signed as Chief engineer" in said.out
        assert "reported 3 days later" in " ".join(said.out.split())
        assert "coupling worn" in said.out

    def test_corrections_show(self, run: Run) -> None:
        """The first version is marked, the later one says why."""
        run("report", "PU-CHK", "--done-on", "2030-01-12")
        number = str(run("history", "--job", "PU-CHK", "--json").data["rows"][-1]["number"])
        run("correct", "report", number, "--done-on", "2030-01-13", "--reason", "wrong day", "--yes")
        said = run("history", "--job", "PU-CHK")
        assert "CORRECTED" in said.out
        assert "corrects an earlier version: wrong day" in said.out

    @pytest.mark.parametrize(
        ("options", "jobs"),
        [
            pytest.param(["--machine", "me"], ["ME-LO"], id="machine"),
            pytest.param(["--job", "GE1-EXV"], ["GE1-EXV", "GE1-EXV"], id="job"),
            pytest.param(["--from", "2029-12-05", "--to", "2029-12-15"], ["PU-CHK"], id="dates"),
            pytest.param(["--words", "exhaust overhaul"], ["GE1-EXV", "GE1-EXV"], id="words"),
            pytest.param(["--person", "nobody"], [], id="person"),
        ],
    )
    def test_filters(self, run: Run, options: list[str], jobs: list[str]) -> None:
        """Each filter leaves what fits it."""
        assert [row["job"] for row in run("history", *options, "--json").data["rows"]] == jobs

    def test_json_shape(self, run: Run) -> None:
        """The keys of a row are fixed; instants are UTC, dates ship's dates."""
        run("report", "ME-LO", "--done-on", "2030-01-08", "--time", "12:00")
        row = run("history", "--job", "ME-LO", "--json").data["rows"][-1]
        assert list(row) == [
            "number", "version", "job", "unit", "title", "machine", "critical", "done_on", "done_at", "time_stated",
            "counts", "done_by", "condition", "remarks", "signer", "signed_as", "recorded_at", "recorded_on",
            "days_to_report", "entry_no", "reason", "on_time", "days_late", "past_aim", "counts_late", "closed_on",
            "not_done", "extra", "reported_on", "attachments",
        ]  # fmt: skip
        assert row["done_at"] == "2030-01-08T10:00:00Z"
        assert row["recorded_at"] == "2030-01-15T08:00:00Z"
        assert row["counts"] == [{"unit": "h", "total": "12004", "basis": "from a reading"}]

    def test_readings(self, run: Run) -> None:
        """The readings of a counter with dial and total."""
        said = run("history", "--readings", "ge1-h")
        assert "2 readings of GE1-H" in said.out
        assert "5 120.5 h" in said.out
        assert list(run("history", "--readings", "GE1-H", "--json").data["rows"][0]) == [
            "number", "version", "read_at", "read_on", "dial", "total", "held_for", "note", "signer", "signed_as",
            "recorded_at", "entry_no", "reason",
        ]  # fmt: skip

    def test_entries(self, run: Run) -> None:
        """The entries with their seals; the last one's is the register's."""
        found = run("history", "--entries", "--json").data
        assert [row["no"] for row in found["rows"]] == [1, 2]
        assert found["rows"][-1]["seal"] == found["header"]["seal"]
        assert "set up" in run("history", "--entries").out

    def test_known_on_an_entry(self, run: Run) -> None:
        """Only what had been entered by then."""
        run("report", "PU-CHK")
        assert len(run("history", "--entries", "--known-on", "entry 2", "--json").data["rows"]) == 2

    @pytest.mark.parametrize(
        "options", [["--entries", "--readings", "ME-H"], ["--entries", "--job", "ME-LO"]], ids=["two", "with-filter"]
    )
    def test_contradictions_are_wrong_usage(self, run: Run, options: list[str]) -> None:
        """What does not go together is said, not guessed."""
        assert run("history", *options).code == 2

    def test_every_line_fits(self, run: Run) -> None:
        """At 80 columns nothing is wider."""
        run("report", "PU-CHK", "--remarks", "a long remark about the coupling " * 5)
        for options in ([], ["--entries"], ["--readings", "ME-H"]):
            said = run("history", *options)
            assert max(text_width(line) for line in said.out.splitlines()) <= 80


class TestClock:
    """``pmsched clock``."""

    def test_change(self, run: Run) -> None:
        """From then on the ship's date and time follow the new offset."""
        said = run("clock", "--at", "2030-01-15 02:00", "--offset", "+3")
        assert said.code == 0
        assert "stands at UTC+3; entered as entry 3" in said.out
        assert run("due", "--json").data["header"]["offset"] == "+03:00"

    @pytest.mark.parametrize(
        ("at", "offset"), [("2030-01-15", "+3"), ("2030-01-15 02:00", "3"), ("2030-03-15 02:00", "+3")]
    )
    def test_refused(self, run: Run, at: str, offset: str) -> None:
        """A time, a signed offset, and not far ahead."""
        assert run("clock", "--at", at, "--offset", offset).code == 1


class TestInit:
    """``pmsched init``."""

    NEW = ("init", "--site", "MV New", "--name", "A. Ny", "--rank", "Chief engineer", "--offset", "+8")

    def test_new_register(self, bare: Run, tmp_path: Path) -> None:
        """The register is made where the options say, and the first entry is signed."""
        path = str(tmp_path / "deep" / "new.db")
        said = bare("--register", path, "--by", "CE", *self.NEW)
        assert said.code == 0
        assert "entered as entry 1" in said.out
        assert bare("--register", path, "due", "--json").data["header"]["offset"] == "+08:00"

    def test_what_is_missing_is_told(self, bare: Run, tmp_path: Path) -> None:
        """Without a terminal nothing is asked for; the option is named."""
        said = bare("--register", str(tmp_path / "new.db"), "init", "--site", "MV New")
        assert said.code == 1
        assert "--by" in said.err

    def test_what_is_missing_is_asked_for(self, bare: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """On a terminal it is asked for; Enter takes the default."""
        monkeypatch.setattr("pmsched.cli.init.on_terminal", lambda: True)
        said = bare(
            "--register", str(tmp_path / "new.db"), "init", stdin="MV New\nCE\nA. Ny\nChief engineer\n\nUTC+8\nn\n"
        )
        assert said.code == 0
        assert "Your department [engine]: " in said.err

    def test_a_bad_answer_is_asked_again(self, bare: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """An answer that cannot be used is asked again, alone; the others are kept."""
        monkeypatch.setattr("pmsched.cli.init.on_terminal", lambda: True)
        path = str(tmp_path / "new.db")
        answers = "MV New\n\nCE\nA.\x1b Ny\nA. Ny\nChief engineer\n\neight\n+8\nn\n"
        said = bare("--register", path, "init", stdin=answers)
        assert said.code == 0
        asked = {
            what: said.err.count(what) for what in ("Name of the vessel", "Your rank", "Your name", "clock of the ship")
        }
        assert list(asked.values()) == [1, 1, 2, 2]
        assert "Your code, by which you sign: missing. A register needs it." in said.err
        assert "'eight' is not an offset from UTC. Write it like +8, -3 or UTC+5:30." in said.err
        assert bare("--register", path, "due", "--json").data["header"]["offset"] == "+08:00"

    def test_a_bad_option_is_refused_before_anything_is_asked(
        self, bare: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Nobody answers five questions for a command that cannot work."""
        monkeypatch.setattr("pmsched.cli.init.on_terminal", lambda: True)
        said = bare("--register", str(tmp_path / "new.db"), "init", "--offset", "eight", stdin="MV New\n")
        assert said.code == 1
        assert "Name of the vessel" not in said.err

    def test_never_over_a_register(self, bare: Run, ship: Path) -> None:
        """A register that is there is left alone."""
        said = bare("--register", str(ship), "--by", "CE", *self.NEW)
        assert said.code == 1
        assert bare("--register", str(ship), "due").code == 0

    def test_templates(self, bare: Run, tmp_path: Path) -> None:
        """Only the empty files are written; no register is made."""
        said = bare("init", "--templates", str(tmp_path / "files"))
        assert said.code == 0
        assert (tmp_path / "files" / "jobs.csv").exists()
        assert len(said.out.splitlines()) == 7
        assert not (tmp_path / "data").exists()


@pytest.mark.parametrize(
    ("options", "told"),
    [
        pytest.param(["--job", "ME-LOO"], "There is no job ME-LOO. [unknown-job]\nDid you mean ME-LO?\n", id="job"),
        pytest.param(
            ["--machine", "GE11"], "There is no machine GE11. [unknown-machine]\nDid you mean GE1", id="machine"
        ),
    ],
)
def test_a_slip_is_not_nothing_done(run: Run, options: list[str], told: str) -> None:
    """A code that is not there is refused with near ones."""
    said = run("history", *options)
    assert (said.code, said.out) == (1, "")
    assert said.err.startswith(told)


def test_history_of_a_known_job_without_reports(run: Run) -> None:
    """A job of which nothing was reported is no slip, and codes are read in any case."""
    said = run("history", "--job", "ge1-new", "--from", "2030-01-14")
    assert said.code == 0
    assert "Nothing was done that fits." in said.err
