"""Load, verify, rebuild, back up, restore, demo, and the bar that shows how far they are."""

from __future__ import annotations

import io
import sqlite3
from contextlib import redirect_stderr
from pathlib import Path

import pytest
from command_line import Run
from small_ship import FILES, NASTY

from pmsched.cli.progress import Progress


class TestLoad:
    """``pmsched load``."""

    def written(self, folder: Path, **files: str) -> str:
        """Files in a folder of their own."""
        place = folder / "files"
        place.mkdir()
        for name, text in files.items():
            (place / f"{name}.csv").write_text(text, encoding="utf-8")
        return str(place)

    def test_new_rows(self, run: Run, tmp_path: Path) -> None:
        """How many rows of each file were new, and the receipt."""
        place = self.written(tmp_path, people="code,name,rank,department\n3E,Ann Dahl,Third engineer,engine\n")
        said = run("load", place)
        assert said.code == 0
        assert said.out.splitlines()[1].split() == ["people", "1", "0", "0"]
        assert "Loaded; entered as entry 3, seal " in said.out

    def test_same_again(self, run: Run, tmp_path: Path) -> None:
        """The same files add nothing, and it says so."""
        said = run("load", self.written(tmp_path, **FILES))
        assert said.code == 0
        assert "Nothing new: everything is there already." in said.err
        assert "entered" not in said.out

    def test_check_keeps_nothing(self, run: Run, tmp_path: Path) -> None:
        """--check tells the same numbers and makes no entry."""
        place = self.written(tmp_path, people="code,name,rank,department\n3E,Ann Dahl,Third engineer,engine\n")
        said = run("load", place, "--check")
        assert said.code == 0
        assert "nothing was kept" in said.err
        assert run("people", "--json").data["header"]["entry_no"] == 2

    @pytest.mark.parametrize("check", [[], ["--check"]], ids=["load", "check"])
    def test_problems(self, run: Run, tmp_path: Path, check: list[str]) -> None:
        """All problems are listed with their places; exit code 3."""
        place = self.written(tmp_path, people="code,name,rank,department\n3E,,Third engineer,engine\n4E,X,,engine\n")
        said = run("load", place, *check)
        assert (said.code, said.out) == (3, "")
        assert "row 2, column name: The cell is blank." in said.err
        assert "row 3, column rank: The cell is blank." in said.err

    def test_problems_as_json(self, run: Run, tmp_path: Path) -> None:
        """In a check with --json the problems are data; the exit code is the same."""
        place = self.written(tmp_path, people="code,name,rank,department\n3E,,Third engineer,engine\n")
        said = run("load", place, "--check", "--json")
        assert said.code == 3
        assert said.data["problems"][0]["code"] == "missing-value"

    def test_check_asks_nobody(self, run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        """A check keeps nothing: at a terminal too, nobody is asked who signs."""
        asked: list[str] = []
        place = self.written(tmp_path, **FILES)

        def answer(question: str) -> str:
            asked.append(question)
            return "CE"

        monkeypatch.setattr("pmsched.cli.access.on_terminal", lambda: True)
        monkeypatch.setattr("pmsched.cli.access.ask", answer)
        run("load", place, "--check", by="")
        assert asked == []
        run("load", place, by="")
        assert asked == ["Who signs (code)"]

    def test_json_shape(self, run: Run, tmp_path: Path) -> None:
        """The keys are fixed."""
        found = run("load", self.written(tmp_path, **FILES), "--json").data
        assert list(found) == [
            "receipt",
            "added",
            "unchanged",
            "revised",
            "held",
            "problems",
            "recounted",
            "notes",
            "marked",
        ]

    def test_change_needs_a_reason(self, run: Run, tmp_path: Path) -> None:
        """What would change is listed; with a reason it is made, from the day given."""
        text = FILES["jobs"].replace("Change lube oil,500 h", "Change lube oil,600 h")
        place = self.written(tmp_path, jobs=text)
        said = run("load", place)
        assert said.code == 1
        assert "ME-LO" in said.err
        done = run("load", place, "--reason", "maker's letter", "--valid-from", "2030-01-15")
        assert done.code == 0
        assert "changed: ME-LO" in done.out
        assert run("due", "--machine", "ME", "--all", "--json").data["lines"][0]["left"] == "372 h"

    def test_nothing_named_is_wrong_usage(self, run: Run) -> None:
        """At least one file or folder."""
        assert run("load").code == 2


class TestVerify:
    """``pmsched verify``."""

    def test_sound(self, run: Run) -> None:
        """A sound register: its entries and its seal, 0."""
        said = run("verify")
        assert said.code == 0
        assert "2 entries sound" in said.out

    def test_flaws(self, run: Run, ship: Path) -> None:
        """A row changed behind the program's back is named; 3."""
        tamper(ship)
        said = run("verify")
        assert said.code == 3
        assert "[row-changed]" in said.out
        assert "not as it was signed" in said.err

    def test_json_shape(self, run: Run, ship: Path) -> None:
        """The keys are fixed; flaws are data."""
        assert list(run("verify", "--json").data) == ["header", "flaws", "rebuilt", "differences", "files"]
        tamper(ship)
        said = run("verify", "--json")
        assert said.code == 3
        assert list(said.data["flaws"][0]) == ["code", "entry", "what", "table", "row_id", "column", "message"]

    def test_rebuild(self, run: Run, ship: Path, tmp_path: Path) -> None:
        """A register made anew from the entries equals a sound one, and shows where another differs."""
        assert "equal to this register" in run("verify", "--rebuild", str(tmp_path / "anew.db")).out
        tamper(ship)
        said = run("verify", "--rebuild", str(tmp_path / "again.db"))
        assert said.code == 3
        assert "1 difference to this register" in said.out
        assert f"'tampered' here, {NASTY!r} made anew" in said.out


class TestBackup:
    """``pmsched backup`` and ``pmsched restore``."""

    def test_there_and_back(self, run: Run, tmp_path: Path, ship: Path) -> None:
        """Backed up, worked on, restored: the back-up's state, a new book, the other register kept beside."""
        copy = str(tmp_path / "copy.db")
        said = run("backup", copy)
        assert said.code == 0
        assert "up to entry 2, seal " in said.out
        run("report", "PU-CHK")
        back = run("restore", copy)
        assert back.code == 0
        assert "The register that was there is kept as " in back.out
        assert len(list(ship.parent.glob("register.db.replaced-*"))) == 1
        assert run("due", "--machine", "GE1-PU", "--json").data["lines"][0]["state"] == "overdue"
        assert run("verify").code == 0
        assert run("history", "--entries", "--json").data["rows"][-1]["recorded_on"] == "2030-01-15"

    def test_json_shapes(self, run: Run, tmp_path: Path) -> None:
        """The keys are fixed."""
        copy = str(tmp_path / "copy.db")
        assert list(run("backup", copy, "--json").data) == [
            "file", "size_bytes", "book", "entry_no", "seal", "files", "files_lacking",
        ]  # fmt: skip
        assert list(run("restore", copy, "--json").data) == [
            "register",
            "replaced",
            "book",
            "seal",
            "continues_book",
            "continues_entry_no",
            "files",
            "files_lacking",
        ]

    def test_never_over_a_file(self, run: Run, tmp_path: Path) -> None:
        """A back-up replaces nothing."""
        (tmp_path / "copy.db").write_text("mine", encoding="utf-8")
        assert run("backup", str(tmp_path / "copy.db")).code == 4
        assert (tmp_path / "copy.db").read_text(encoding="utf-8") == "mine"

    @pytest.mark.parametrize("kind", ["missing", "no-register"])
    def test_useless_back_up(self, run: Run, tmp_path: Path, kind: str) -> None:
        """The register stays as it is."""
        path = tmp_path / "copy.db"
        if kind == "no-register":
            path.write_text("a letter to the owners" * 50, encoding="utf-8")
        assert run("restore", str(path)).code == 4
        assert run("due").code == 0

    def test_somebody_signs(self, run: Run, tmp_path: Path) -> None:
        """A restore is a deed."""
        run("backup", str(tmp_path / "copy.db"))
        assert "[nobody-signs]" in run("restore", str(tmp_path / "copy.db"), by="").err

    def test_database_is_no_file(self, bare: Run, tmp_path: Path) -> None:
        """A register that is no file is restored by its own tools."""
        said = bare("--register", "postgresql+psycopg://ship", "--by", "CE", "restore", str(tmp_path / "x.db"))
        assert said.code == 1
        assert "[not-a-file]" in said.err


class TestDemo:
    """``pmsched demo``; building the real one is tested with the demo itself."""

    @pytest.fixture(autouse=True)
    def _quick(self, monkeypatch: pytest.MonkeyPatch, template: Path) -> None:
        """The small ship stands in for the demo."""

        def build(target: Path, _today: object, **_more: object) -> Path:
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(template.read_bytes())
            return target

        monkeypatch.setattr("seeds_demo.build.build_demo", build)

    def test_shows_its_list_and_how_to_go_on(self, bare: Run, tmp_path: Path) -> None:
        """The due list on standard output, the way on beside it."""
        said = bare("demo")
        path = tmp_path / "data" / "demo" / "demo-2030-01-15.db"
        assert said.code == 0
        assert said.out.startswith("MV Example | 2030-01-15 ")
        assert f"pmsched --register {path} machines" in said.err

    def test_never_the_register_at_work(self, run: Run, ship: Path) -> None:
        """Whatever register is named, the demo has its own."""
        before = ship.read_bytes()
        said = run("demo", "--json")
        assert said.data["register"] != str(ship)
        assert ship.read_bytes() == before

    def test_goes_on_with_todays(self, bare: Run) -> None:
        """What was tried today is still there."""
        path = bare("demo", "--json").data["register"]
        bare("--register", path, "--by", "CE", "report", "PU-CHK")
        assert bare("demo", "--json").data["header"]["entry_no"] == 3

    def test_fresh_throws_away(self, bare: Run, tmp_path: Path) -> None:
        """--fresh begins again; what was attached goes too."""
        path = bare("demo", "--json").data["register"]
        (tmp_path / "photo.jpg").write_bytes(b"photo")
        bare("--register", path, "--by", "CE", "report", "PU-CHK", "--attach", str(tmp_path / "photo.jpg"))
        assert Path(f"{path}.files").exists()
        assert bare("demo", "--fresh", "--json").data["header"]["entry_no"] == 2
        assert not Path(f"{path}.files").exists()

    def test_keep_goes_on_with_an_earlier_one(self, bare: Run, monkeypatch: pytest.MonkeyPatch) -> None:
        """The next day --keep goes on with yesterday's; without it a new one is made, and nothing is removed."""
        first = bare("demo", "--json").data["register"]
        monkeypatch.setattr("pmsched.clock.now", lambda: 1_894_694_400 + 86_400)
        assert bare("demo", "--keep", "--json").data["register"] == first
        second = bare("demo", "--json").data["register"]
        assert second != first
        assert Path(first).exists()


class TestProgress:
    """The bar."""

    @pytest.fixture(autouse=True)
    def _impatient(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """Every step takes longer than the person's patience."""
        monkeypatch.setattr("pmsched.cli.progress._PATIENCE_SECONDS", -1)
        monkeypatch.setattr("pmsched.cli.progress._BETWEEN_SECONDS", -1)

    def test_bar(self) -> None:
        """It shows how far it is, and takes itself away at the end."""
        with redirect_stderr(_Screen()) as screen:
            with Progress("loading") as progress:
                progress(1, 4)
                assert screen.getvalue() == f"\rloading [{'#' * 7}{'.' * 23}] 25 %"
            assert screen.getvalue().endswith(f"\r{' ' * 45}\r")

    def test_unknown_total(self) -> None:
        """Without a total the number done is shown."""
        with redirect_stderr(_Screen()) as screen, Progress("loading") as progress:
            progress.about("reading files", 7, 0)
            assert screen.getvalue() == "\rreading files: 7"

    def test_patience(self, monkeypatch: pytest.MonkeyPatch) -> None:
        """What is quickly done shows no bar."""
        monkeypatch.setattr("pmsched.cli.progress._PATIENCE_SECONDS", 3600)
        with redirect_stderr(_Screen()) as screen, Progress("loading") as progress:
            progress(1, 4)
        assert screen.getvalue() == ""

    def test_nothing_without_a_terminal(self) -> None:
        """A file of messages gets no bars."""
        with redirect_stderr(io.StringIO()) as screen, Progress("loading") as progress:
            progress(1, 4)
        assert screen.getvalue() == ""


class _Screen(io.StringIO):
    def isatty(self) -> bool:
        return True


def tamper(path: Path) -> None:
    """Changes a title behind the program's back."""
    with sqlite3.connect(path) as database:
        triggers = [
            sql for (sql,) in database.execute("SELECT sql FROM sqlite_master WHERE type = 'trigger'").fetchall()
        ]
        for (name,) in database.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
            database.execute(f"DROP TRIGGER {name}")
        database.execute("UPDATE job_revision SET title = 'tampered' WHERE title = ?", (NASTY,))
        for sql in triggers:
            database.execute(sql)
    database.close()
