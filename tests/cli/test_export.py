"""Lists as files: every format, every list, with a header; nothing overwritten, nothing half written."""

from __future__ import annotations

import csv
import io
import json
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import loaded_modules
import pytest
from command_line import Run, Said
from read_exports import READERS, Read, read_csv_export

import pmsched
from pmsched.exchange.exports import ABOUT
from pmsched.usecases.export_sources import NARROWED_BY, WHAT, Narrowed
from pmsched.usecases.export_tables import CHANGES, DUE, ENTRIES, HISTORY, READINGS, WIDTHS

COLUMNS = {"due": DUE, "history": HISTORY, "readings": READINGS, "entries": ENTRIES, "changes": CHANGES}
COUNTS = {"due": 5, "history": 4, "readings": 5, "entries": 2, "changes": 10}


def bare(run: Run, *arguments: str) -> list[dict[str, str]]:
    """The rows of a bare CSV export to standard output."""
    said = run("export", *arguments, "-o", "-", "--format", "csv", "--bare")
    assert said.code == 0, said.err
    return list(csv.DictReader(io.StringIO(said.out, newline="")))


def exported(run: Run, path: Path, *arguments: str) -> Read:
    """The file that an export writes, read back."""
    said = run("export", *arguments, "-o", str(path))
    assert (said.code, said.out) == (0, ""), said.err
    return READERS[path.suffix.removeprefix(".")](path)


@pytest.mark.parametrize("ending", READERS)
@pytest.mark.parametrize("what", WHAT)
def test_file(run: Run, tmp_path: Path, what: str, ending: str) -> None:
    """A header, the names of the columns and all the rows, in every format."""
    found = exported(run, tmp_path / f"list.{ending}", what)
    assert found.heading == COLUMNS[what]
    assert len(found.rows) == COUNTS[what]
    assert tuple(found.about) == ABOUT
    told = found.about | found.end
    assert (told["site"], told["what"], told["complete"], told["left_out"] or "") == (
        "MV Example", what, True if ending == "jsonl" else "yes", "",
    )  # fmt: skip
    assert str(told["rows"]) == str(COUNTS[what])
    assert told["made_by"] == "CE Ida Holm"
    assert told["made_at_ship"] == "2030-01-15T10:00:00+02:00"
    assert str(told["made_at_utc"]).replace("T", " ").rstrip("Z") == "2030-01-15 08:00:00"
    assert told["program"].startswith("pmsched ")
    assert str(told["entry_no"]) == "2"


@pytest.mark.parametrize("what", WHAT)
def test_every_format_says_the_same(run: Run, tmp_path: Path, what: str) -> None:
    """Row by row, though each in its own types."""
    formats = [exported(run, tmp_path / f"list.{ending}", what).rows for ending in READERS]
    for rows in zip(*formats, strict=True):
        for texts in zip(*({name: _text(value) for name, value in row.items()}.items() for row in rows), strict=True):
            assert len(set(texts)) == 1, texts


def _text(value: Any) -> str:
    """A value of any format as CSV says it."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:g}" if value == int(value) else repr(value)
    text = str(value)
    # A sheet gives dates with a midnight, and instants without their letters.
    return text.removesuffix(" 00:00:00").removesuffix("Z").replace("T", " ")


def test_what_is_told_beside_the_file(run: Run, tmp_path: Path) -> None:
    """Site, date, number of rows and seal."""
    said = run("export", "history", "-o", str(tmp_path / "list.csv"))
    assert said.err.startswith("MV Example | 2030-01-15 UTC+2 | 4 rows, 2029-06-01 to 2029-12-20 | seal ")


def test_history_names_both_dates(run: Run) -> None:
    """The day done, and the time of entry as ship's time and as UTC."""
    run("report", "PU-CHK", "--done-on", "2030-01-12", "--remarks", "=2+3")
    row = bare(run, "history")[-1]
    assert (row["done_on"], row["recorded_at_ship"], row["recorded_at_utc"]) == (
        "2030-01-12", "2030-01-15T10:00:00+02:00", "2030-01-15T08:00:00Z",
    )  # fmt: skip
    assert (row["judged"], row["days_late"], row["days_to_report"]) == ("late 2 d", "2", "3")
    assert row["remarks"] == "'=2+3"


@pytest.mark.parametrize(
    ("arguments", "expected", "left_out"),
    [
        pytest.param(("due", "--job", "me-lo"), ["ME-LO"], "all but job me-lo", id="due-job"),
        pytest.param(("due", "--machine", "GE1"), ["GE1-EXV"] * 2 + ["GE1-NEW"], "all but machine GE1", id="due-machine"),
        pytest.param(("history", "--machine", "ME"), ["ME-LO"], "all but machine ME", id="history-machine"),
        pytest.param(
            ("history", "--from", "2029-12-01", "--to", "2029-12-10"), ["GE1-EXV", "PU-CHK"],
            "all before 2029-12-01; all after 2029-12-10", id="history-days",
        ),
        pytest.param(
            ("history", "--person", "CE", "--words", "lube"), ["ME-LO"],
            "all that was neither signed nor done by CE; all without the words 'lube'", id="history-person-and-words",
        ),
        pytest.param(("readings", "--counter", "GE1-H"), ["GE1-H"] * 2, "all but counter GE1-H", id="readings-counter"),
        pytest.param(
            ("readings", "--machine", "GE1", "--from", "2030-01-01"), ["GE1-H", "GE1-S"],
            "all but machine GE1; all before 2030-01-01", id="readings-machine-and-day",
        ),
        pytest.param(("changes", "--job", "GE1-EXV"), ["GE1-EXV"], "all but job GE1-EXV", id="changes-job"),
        pytest.param(("changes", "--counter", "ge1-h"), ["GE1-H"], "all but counter ge1-h", id="changes-counter"),
        pytest.param(("changes", "--to", "2029-01-01"), [], "all after 2029-01-01", id="changes-day"),
        pytest.param(
            ("history", "--known-on", "entry 1"), [], "all that was entered after entry 1", id="known-on"
        ),
        pytest.param(
            ("history", "--as-of", "2029-12-05"), ["GE1-EXV"] * 2, "all that happened after 2029-12-05", id="as-of"
        ),
    ],
)  # fmt: skip
def test_narrowed(run: Run, tmp_path: Path, arguments: tuple[str, ...], expected: list[str], left_out: str) -> None:
    """Only what fits is in the file, and the file says what is not."""
    found = exported(run, tmp_path / "list.jsonl", *arguments)
    name = next(name for name in ("job", "counter", "code") if name in COLUMNS[arguments[0]])
    assert sorted(row[name] for row in found.rows) == sorted(expected)
    assert (found.end["complete"], found.end["left_out"]) == (False, left_out)


@pytest.mark.parametrize("what", WHAT)
def test_list_is_not_narrowed_by_what_it_does_not_know(run: Run, what: str) -> None:
    """An option that would be passed over is refused, and the lists that know it are named."""
    options = {"first": ("--from", "2029-01-01"), "last": ("--to", "2029-01-01")}
    for name in set(Narrowed._fields) - NARROWED_BY[what]:  # type: ignore[index]
        said = run("export", what, "-o", "-", "--format", "csv", *options.get(name, (f"--{name}", "GE1")))
        assert (said.code, said.out) == (1, "")
        assert f"The list '{what}' cannot be narrowed by" in said.err
        assert "It goes with: " in said.err


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        pytest.param(
            ("-o", "-"), 2, "-o - needs a format: --format csv or --format jsonl.", id="output-without-format"
        ),
        pytest.param(("-o", "-", "--format", "xlsx"), 1, "Name a file, such as -o list.xlsx", id="xlsx-to-output"),
        pytest.param(("-o", "list"), 1, "End the name in .csv, .xlsx or .jsonl.", id="nothing-said"),
        pytest.param(("-o", "list.pdf"), 1, "'list.pdf' does not say which format.", id="unknown-ending"),
        pytest.param(("-o", "list.csv", "--format", "xlsx"), 1, "ends as a csv file", id="contradiction"),
        pytest.param(("-o", "list.jsonl", "--bare"), 2, "--bare is for CSV", id="bare-jsonl"),
        pytest.param(("-o", "l.csv", "--machine", "GE7"), 1, "Did you mean GE1", id="machine"),
        pytest.param(("-o", "l.csv", "--job", "ME-L0"), 1, "Did you mean ME-LO", id="job"),
    ],
)
def test_refused_with_what_to_do(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, arguments: tuple[str, ...], code: int, words: str
) -> None:
    """Nothing is written."""
    folder = tmp_path / "out"
    folder.mkdir()
    monkeypatch.chdir(folder)
    said = run("export", "history", *arguments)
    assert (said.code, said.out) == (code, "")
    assert words in " ".join(said.err.split())
    assert list(folder.iterdir()) == []


def test_changes_are_not_asked_for_as_of_a_day(run: Run) -> None:
    """They are listed as they were signed; the other question is named."""
    said = run("export", "changes", "-o", "-", "--format", "csv", "--as-of", "2029-12-31")
    assert said.code == 1
    assert "--known-on DATE" in said.err


def test_nobody_named(ship: Path, bare: Callable[..., Said]) -> None:
    """Reading needs no signature; the header says that nobody was named."""
    said = bare("--register", str(ship), "export", "due", "-o", "-", "--format", "jsonl")
    assert json.loads(said.out.splitlines()[0])["export"]["made_by"] == "not named"


def test_nobody_unknown_is_named(run: Run) -> None:
    """A code that is not on the books does not get into a header."""
    said = run("export", "due", "-o", "-", "--format", "csv", by="XX")
    assert (said.code, said.out) == (1, "")
    assert "Nobody on the books has the code XX." in said.err


def test_standard_output_carries_the_header_too(run: Run) -> None:
    """Unless it is asked to be bare; then the header goes to standard error."""
    said = run("export", "due", "-o", "-", "--format", "csv")
    assert said.out.splitlines()[:2] == ["# form,1", f"# program,pmsched {pmsched.__version__}"]
    said = run("export", "due", "-o", "-", "--format", "csv", "--bare")
    assert said.out.splitlines()[0] == ",".join(DUE)
    for name in ABOUT:
        assert f"\n{name}: " in f"\n{said.err}"


def test_seal_of_the_header_is_that_of_the_answer(run: Run, tmp_path: Path) -> None:
    """The same seal as in the list on the screen."""
    seal = run("due", "--json").data["header"]["seal"]
    for ending in READERS:
        assert exported(run, tmp_path / f"list.{ending}", "due").about["seal"] == seal


def test_json_tells_of_the_file(run: Run, tmp_path: Path) -> None:
    """Documented in the page on JSON."""
    path = tmp_path / "list.csv"
    said = run("export", "history", "-o", str(path), "--machine", "ME", "--json")
    header = said.data.pop("header")
    assert header["site"] == "MV Example"
    shape = {name: value for name, value in said.data.items() if name != "header"}
    assert shape == {
        "file": str(path), "rows": 1, "format": "csv", "first_day": "2029-12-20", "last_day": "2029-12-20",
        "complete": False, "left_out": "all but machine ME",
    }  # fmt: skip


def test_manual_names_what_json_tells(run: Run, tmp_path: Path) -> None:
    """All names, in their order."""
    page = Path(pmsched.__file__).parent / "manual" / "json.md"
    names = run("export", "due", "-o", str(tmp_path / "a.csv"), "--json").data
    assert f"export: {', '.join(names)}." in " ".join(page.read_text(encoding="utf-8").split())


def test_nothing_is_overwritten_unawares(run: Run, tmp_path: Path) -> None:
    """A file that is there is replaced only with --overwrite."""
    path = tmp_path / "due.csv"
    path.write_text("mine", encoding="utf-8")
    said = run("export", "due", "-o", str(path))
    assert said.code == 1
    assert "--overwrite" in said.err
    assert path.read_text(encoding="utf-8") == "mine"
    assert run("export", "due", "-o", str(path), "--overwrite").code == 0
    assert path.read_text(encoding="utf-8") != "mine"


def test_folder_that_is_not_there(run: Run, tmp_path: Path) -> None:
    """A place that cannot be written to is refused, not a fault."""
    said = run("export", "due", "-o", str(tmp_path / "none" / "due.csv"))
    assert said.code == 1
    assert "cannot be written" in said.err


@pytest.mark.parametrize("ending", ["csv", "jsonl"])
def test_output_that_is_full(ship: Path, ending: str) -> None:
    """It is refused, and nobody takes what came out for the whole."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no device that is always full")
    command = [sys.executable, "-m", "pmsched", "--register", str(ship), "export", "due", "-o", "-", "--format", ending]
    with Path("/dev/full").open("w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False, timeout=60)
    assert done.returncode == 1
    assert "what came out is not the whole list" in done.stderr


@pytest.mark.parametrize("ending", READERS)
def test_stopped_by_the_person(ship: Path, tmp_path: Path, ending: str) -> None:
    """Ctrl-C: nothing is left, under no name, and it is said."""
    folder = tmp_path / "out"
    folder.mkdir()
    script = (
        "import sys, time\n"
        "from pmsched.exchange.exports import Export\n"
        "rows = Export.rows\n"
        "def slow(self):\n"
        "    for row in rows(self):\n"
        "        print('row', file=sys.stderr, flush=True)\n"
        "        time.sleep(20)\n"
        "        yield row\n"
        "Export.rows = slow\n"
        f"sys.argv = ['pmsched', '--register', {str(ship)!r}, 'export', 'due', '-o', {str(folder / f'due.{ending}')!r}]\n"
        "from pmsched.cli.main import main\n"
        "main()\n"
    )
    child = subprocess.Popen([sys.executable, "-c", script], stderr=subprocess.PIPE, text=True)
    assert child.stderr is not None
    assert child.stderr.readline() == "row\n"
    child.send_signal(signal.SIGINT)
    said = child.communicate(timeout=60)[1]
    assert child.returncode == 130
    assert f"Stopped; {folder / f'due.{ending}'} was not written." in said
    assert list(folder.iterdir()) == []


def test_known_on(run: Run) -> None:
    """An export of what was known on a day."""
    run("report", "PU-CHK")
    found = bare(run, "history", "--known-on", "2030-01-12")
    assert found
    assert all(row["recorded_at_utc"] < "2030-01-13" for row in found)


def test_correction_to_a_later_day_leaves_no_false_version(run: Run) -> None:
    """As of a day before the corrected one, the first version is there, and no longer in force."""
    run("report", "PU-CHK", "--done-on", "2030-01-11")
    number = bare(run, "history", "--job", "PU-CHK")[-1]["report"]
    assert run("correct", "report", number, "--done-on", "2030-01-14", "--reason", "log book", "--yes").code == 0
    rows = bare(run, "history", "--job", "PU-CHK", "--as-of", "2030-01-12")
    assert [row["version"] for row in rows if row["report"] == number] == ["corrected"]


def test_pmsched_passes_over_the_header_of_its_own_files(run: Run, tmp_path: Path) -> None:
    """Rows that begin with # are comments to it, and it finds the names of the columns behind them."""
    from pmsched.exchange.faults import Faults  # noqa: PLC0415 - only here
    from pmsched.exchange.tables import read_table  # noqa: PLC0415

    path = tmp_path / "due.csv"
    exported(run, path, "due")
    first = next(iter(read_table(path, lambda cells: sum(cell in DUE for cell in cells), Faults(path.name, []))))
    assert tuple(first.cells) == DUE
    assert len(read_csv_export(path).rows) == COUNTS["due"]


def test_names_of_columns_stay() -> None:
    """Names are never reused and keep their order; what is new stands at the end."""
    assert DUE[:15] == (
        "job", "unit", "title", "machine", "machine_name", "department", "rank", "critical", "state", "marks", "due_on",
        "expected", "left", "overdue_days", "because",
    )  # fmt: skip
    assert HISTORY[25:27] == ("entry", "reason")
    assert all(len(columns) == len(set(columns)) for columns in COLUMNS.values())
    assert set(WIDTHS) <= {name for columns in COLUMNS.values() for name in columns}


def test_only_a_spreadsheet_loads_its_library(ship: Path, tmp_path: Path) -> None:
    """The other formats do not pay for it; none loads the screens."""
    for ending, libraries in (("csv", []), ("jsonl", []), ("xlsx", ["xlsxwriter"])):
        path = str(tmp_path / f"list.{ending}")
        loaded = loaded_modules.after_command("--register", str(ship), "export", "due", "-o", path)
        assert loaded.exit_code == 0, loaded.narration
        assert loaded.of(["xlsxwriter", "openpyxl", "textual"]) == libraries
