"""Hostile exports opened in a real spreadsheet program: nothing is computed, everything can be read, pages print.

On demand, because starting the program takes long: set PMSCHED_OFFICE=1 where LibreOffice (``soffice``) is installed.
"""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from hostile_cells import HARMLESS, HOSTILE

from pmsched.domain.plain import plain
from pmsched.exchange.export_files import Format, write_export_file
from pmsched.exchange.exports import About, Export
from pmsched.exchange.formula_guard import guarded

pytestmark = pytest.mark.skipif(
    not (os.environ.get("PMSCHED_OFFICE") and shutil.which("soffice")),
    reason="on demand: set PMSCHED_OFFICE=1 where soffice is installed",
)

ALL = {**HOSTILE, **HARMLESS}
# A sum that was worked out, or an error of a formula that was tried.
COMPUTED = re.compile(r"\b4712\b|\b4710\b|#NAME|#REF|#VALUE|#N/A|#DIV|Err:\d")
AS_TEXT = "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1"
Convert = Callable[..., list[Path]]


@pytest.fixture
def convert(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Convert:
    """Opens a file in the spreadsheet program and gives what it makes of it."""
    monkeypatch.setenv("HOME", str(tmp_path / "home"))

    def converted(file: Path, into: str = AS_TEXT, reading: str = "") -> list[Path]:
        out = tmp_path / "out"
        command = ["soffice", "--headless", "--convert-to", into, "--outdir", str(out)]
        command += [f"--infilter={reading}"] if reading else []
        subprocess.run([*command, str(file)], check=True, capture_output=True, timeout=180)
        return sorted(out.iterdir())

    return converted


def hostile_file(folder: Path, wanted: Format) -> Path:
    """All hostile and harmless texts as an export."""
    path = folder / f"list.{wanted}"
    about = About(program="pmsched", site=HOSTILE["link"], what="history", words=HOSTILE["program"])
    rows = ((None, (name, text, "end")) for name, text in ALL.items())
    write_export_file(path, Export(about, ("name", "text", "end"), rows, {"text": 50}), wanted)
    return path


def cells_of(files: list[Path]) -> list[list[str]]:
    """The rows of the files."""
    return [row for file in files for row in csv.reader(io.StringIO(file.read_text(encoding="utf-8"), newline=""))]


def unix(text: str) -> str:
    """One kind of line break."""
    return text.replace("\r\n", "\n").replace("\r", "\n")


READINGS = {
    "as-written": "CSV:44,34,76,1",
    "by-semicolon": "CSV:59,34,76,1",
    "by-every-mark": "CSV:44/59/9,34,76,1",
    "without-quotes": "CSV:44,0,76,1",
    "without-quotes-by-semicolon": "CSV:59,0,76,1",
}


@pytest.mark.parametrize("reading", READINGS.values(), ids=READINGS)
def test_nothing_in_csv_is_computed(tmp_path: Path, convert: Convert, reading: str) -> None:
    """Whichever marks it is read with."""
    rows = cells_of(convert(hostile_file(tmp_path, "csv"), reading=reading))
    assert len(rows) >= len(ALL)
    assert [cell for row in rows for cell in row if COMPUTED.search(cell)] == []


def test_csv_reads_as_it_was_written(tmp_path: Path, convert: Convert) -> None:
    """Every text, with its apostrophe where it has one."""
    rows = {row[0]: row[1] for row in cells_of(convert(hostile_file(tmp_path, "csv"), reading=READINGS["as-written"]))}
    wrong = {n: rows.get(n) for n, t in ALL.items() if rows.get(n) != unix(guarded(plain(t, line_breaks=True)))}
    assert wrong == {}


def test_nothing_in_xlsx_is_computed_and_all_is_there(tmp_path: Path, convert: Convert) -> None:
    """Every text as it stands in the register."""
    rows = cells_of(convert(hostile_file(tmp_path, "xlsx")))
    assert [cell for row in rows for cell in row if COMPUTED.search(cell)] == []
    found = {row[0]: row[1] for row in rows if len(row) > 1}
    assert {n: found.get(n) for n, t in ALL.items() if found.get(n) != unix(plain(t, line_breaks=True))} == {}


@pytest.mark.parametrize("wanted", ["csv", "xlsx"])
def test_it_prints(tmp_path: Path, convert: Convert, wanted: Format) -> None:
    """Pages come out; nothing on them was computed."""
    (pages,) = convert(hostile_file(tmp_path, wanted), "pdf")
    assert pages.read_bytes().startswith(b"%PDF")
    if shutil.which("pdftotext") is None:
        return
    said = subprocess.run(["pdftotext", "-layout", str(pages), "-"], check=True, capture_output=True, text=True).stdout
    assert not COMPUTED.search(said)
    assert "page 2 of" in said or wanted == "csv"


def test_the_program_would_compute(tmp_path: Path, convert: Convert) -> None:
    """Without the guard it does: these tests can fail."""
    path = tmp_path / "raw.csv"
    with path.open("w", encoding="utf-8", newline="") as stream:
        csv.writer(stream).writerows([name, text.replace("\x00", "")] for name, text in HOSTILE.items())
    rows = cells_of(convert(path, reading=READINGS["as-written"]))
    assert len([cell for row in rows for cell in row if COMPUTED.search(cell)]) > 5
