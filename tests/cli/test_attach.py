"""``pmsched attach`` and ``report --attach``: photos and files in, listed, out again, and through back-up and verify."""

from __future__ import annotations

from pathlib import Path

import pytest
from attached import kept, made, place_of
from command_line import Run
from small_register import behind_its_back

A, B = b"first photo", b"second photo"
NASTY = "[bold red]x[ \u4e3b\u6a5f \\.jpg"
ROW = [
    "number", "report", "job", "name", "media_type", "size", "sha256", "signer", "signed_as", "entry_no", "attached_on",
    "there",
]  # fmt: skip


@pytest.fixture
def photo(tmp_path: Path) -> str:
    """A photo of the person's own."""
    return str(made(tmp_path / "camera", "a.jpg", A))


def reported(run: Run, *files: str) -> str:
    """A report with files; its number."""
    arguments = [word for file in files for word in ("--attach", file)]
    return str(run("report", "PU-CHK", *arguments, "--json").data["report"])


def test_attached_with_the_report(run: Run, photo: str, tmp_path: Path) -> None:
    """Each file is told with its number and size; the history names them under the report."""
    sheet = str(made(tmp_path / "camera", "sheet 1.pdf", B))
    said = run("report", "PU-CHK", "--attach", photo, "--attach", sheet)
    assert said.code == 0
    assert said.out.splitlines()[-2].startswith("  a.jpg (11 bytes) attached, number ")
    shown = run("history", "--job", "PU-CHK").out
    assert "    attached: a.jpg (number " in shown
    assert "; sheet 1.pdf (number " in shown


def test_attached_later_and_listed(run: Run, photo: str) -> None:
    """By the number of the report; the list has number, report, size and the first digits of the hash."""
    report = reported(run)
    said = run("attach", report, photo)
    assert said.code == 0
    assert said.out.splitlines()[1].startswith(f"Report {report} of PU-CHK: entered as entry 4, seal ")
    heading, *_, columns, line = run("attach", report).out.splitlines()
    assert f"1 file attached to report {report}" in heading
    assert columns.split() == ["number", "report", "job", "name", "size", "attached", "signed", "hash"]
    assert line.split()[1:4] == [report, "PU-CHK", "a.jpg"]
    assert run("attach").out.splitlines()[-1] == line
    assert "0 files attached" in run("attach", "--known-on", "entry 3").out


def test_nasty_names_are_shown_exactly(run: Run, tmp_path: Path) -> None:
    """But for what no name may hold: the backslash."""
    report = reported(run, str(made(tmp_path / "camera", NASTY, A)))
    name = NASTY.replace("\\", "_")
    assert name in run("attach", report).out
    assert name in run("history", "--job", "PU-CHK").out
    assert run("attach", report, "--json").data["attachments"][0]["name"] == name


def test_json_shapes(run: Run, photo: str, tmp_path: Path) -> None:
    """The keys are fixed."""
    done = run("report", "PU-CHK", "--attach", photo, "--json").data
    assert list(done["attached"][0]) == ["number", "name", "size", "sha256"]
    found = run("attach", "--json").data
    assert list(found) == ["header", "attachments"]
    assert [list(row) for row in found["attachments"]] == [ROW]
    second = str(made(tmp_path / "camera", "b.jpg", B))
    later = run("attach", done["report"], second, photo, "--json").data
    assert list(later) == ["receipt", "report", "job", "attached", "notes"]
    assert (later["report"], later["job"], len(later["notes"])) == (done["report"], "PU-CHK", 1)
    row = run("history", "--job", "PU-CHK", "--json").data["rows"][-1]
    assert [file["name"] for file in row["attachments"]] == ["a.jpg", "b.jpg"]
    number = row["attachments"][0]["number"]
    assert list(run("attach", "--strike", number, "--reason", "wrong", "--json").data) == ["receipt", "number"]
    assert run("attach", "--save", row["attachments"][1]["number"], "-o", str(tmp_path / "x"), "--json").data == {
        "number": row["attachments"][1]["number"], "file": str(tmp_path / "x"),
    }  # fmt: skip


def test_saved(run: Run, photo: str, tmp_path: Path) -> None:
    """As it was attached, and nothing is written over."""
    reported(run, photo)
    (row,) = run("attach", "--json").data["attachments"]
    target = tmp_path / "out.jpg"
    said = run("attach", "--save", row["number"], "-o", str(target))
    assert (said.code, target.read_bytes()) == (0, A)
    assert f"is attachment {row['number']}, as it was signed." in said.out
    again = run("attach", "--save", row["number"], "-o", str(target))
    assert (again.code, again.out) == (1, "")
    assert "is there already" in again.err


def test_struck(run: Run, photo: str, ship: Path) -> None:
    """With a reason; where its file stays is told."""
    reported(run, photo)
    (row,) = run("attach", "--json").data["attachments"]
    assert "--reason" in run("attach", "--strike", row["number"]).err
    said = run("attach", "--strike", row["number"], "--reason", "other pump")
    assert said.code == 0
    assert said.err == f"Its file stays: {place_of(ship, A)}\n"
    assert run("attach", "--json").data["attachments"] == []


@pytest.mark.parametrize(
    "arguments",
    [
        pytest.param(["63", "--save", "64"], id="report-and-save"),
        pytest.param(["--save", "64", "--strike", "64"], id="save-and-strike"),
        pytest.param(["63", "-o", "x.jpg"], id="output-without-save"),
        pytest.param(["63", "a.jpg", "--reason", "x"], id="reason-without-strike"),
    ],
)
def test_options_that_do_not_go_together(run: Run, arguments: list[str]) -> None:
    """Nothing is done as if half of it had not been said."""
    assert run("attach", *arguments).code == 2


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        pytest.param(["9999", "PHOTO"], "There is no report 9999.", id="report"),
        pytest.param(["REPORT", "none.jpg"], "There is no file none.jpg.", id="file"),
        pytest.param(["REPORT", "."], ". is no file.", id="folder"),
        pytest.param(["--save", "9999"], "There is no attachment 9999.", id="save"),
        pytest.param(["9999"], "There is no report 9999.", id="list"),
    ],
)
def test_refused(run: Run, ship: Path, photo: str, arguments: list[str], said: str) -> None:
    """What is wrong, and nothing is entered or kept."""
    words = {"PHOTO": photo, "REPORT": reported(run)}
    found = run("attach", *(words.get(word, word) for word in arguments))
    assert (found.code, found.out) == (1, "")
    assert found.err.startswith(said)
    assert run("attach", "--json").data["header"]["entry_no"] == 3
    assert kept(ship) == []


def test_verify_reads_them(run: Run, ship: Path, photo: str) -> None:
    """How many; what was altered is named, with 3; put back as it says, all is well again."""
    report = reported(run, photo)
    sound = run("verify")
    assert (sound.code, sound.err) == (0, "")
    assert sound.out.splitlines()[-1] == "1 attached file read (11 bytes), as signed."
    place_of(ship, A).write_bytes(A[:-1] + b"!")
    said = run("verify")
    assert said.code == 3
    assert "3 entries sound" in said.out
    assert f"a.jpg, attached to report {report}, was altered since it was signed" in said.out
    assert "[attachment-altered]" in said.out
    assert said.err.startswith("The entries are sound: go on working.")
    put_back = run("attach", report, photo)
    assert (put_back.code, put_back.out) == (0, "")
    assert "is put back" in put_back.err
    assert run("verify").code == 0


def test_verify_as_json(run: Run, ship: Path, photo: str) -> None:
    """The header stands while the entries are sound; the flaw is data, the numbers beside it."""
    reported(run, photo)
    place_of(ship, A).unlink()
    said = run("verify", "--json")
    assert said.code == 3
    assert said.data["header"]["entry_no"] == 3
    assert [flaw["code"] for flaw in said.data["flaws"]] == ["attachment-missing"]
    assert said.data["files"] == {"read": 0, "size_bytes": 0, "lacking": 1, "struck_lacking": 0, "unclaimed": 0}


def test_verify_tells_of_files_that_do_no_harm(run: Run, ship: Path, photo: str) -> None:
    """What a crash left, and struck ones that were taken away: noted, 0."""
    reported(run, photo)
    made(place_of(ship, B).parent, place_of(ship, B).name, B)
    (row,) = run("attach", "--json").data["attachments"]
    run("attach", "--strike", row["number"], "--reason", "a person is on it")
    place_of(ship, A).unlink()
    said = run("verify")
    assert said.code == 0
    assert said.err.splitlines() == [
        "1 file of struck attachments not as signed; that is allowed.",
        "1 file beside the register in no entry, as after a power cut; no harm.",
    ]


def test_flawed_entries_first(run: Run, ship: Path, photo: str) -> None:
    """What the entries say cannot be trusted: attached files are not read, and that is said."""
    reported(run, photo)
    with behind_its_back(ship) as connection:
        connection.execute("UPDATE attachment SET sha256 = 'x'")
    said = run("verify")
    assert said.code == 3
    assert "[row-changed]" in said.out
    assert "The attached files were not read" in said.err
    assert run("verify", "--json").data["files"] is None
    assert "MISSING" in run("attach").out


def test_missing_files_are_marked_in_the_list(run: Run, ship: Path, photo: str) -> None:
    """And nothing else suffers."""
    reported(run, photo)
    place_of(ship, A).unlink()
    said = run("attach")
    assert said.code == 0
    assert "MISSING" in said.out
    assert said.err == "1 file not beside the register, marked MISSING. See: pmsched verify\n"
    assert "a.jpg" in run("history", "--job", "PU-CHK").out


def test_through_a_backup_and_back(run: Run, bare: Run, ship: Path, photo: str, tmp_path: Path) -> None:
    """Told on the way out and on the way back; what is lacking too, and the rest is done."""
    reported(run, photo)
    copy, new = tmp_path / "stick" / "copy.db", tmp_path / "new" / "register.db"
    copy.parent.mkdir()
    said = run("backup", str(copy))
    assert f"1 attached file in {copy.parent / 'pmsched.files'}, which belongs to it." in said.out
    back = bare("restore", str(copy), "--register", str(new), "--by", "CE")
    assert f"1 attached file in {new}.files." in back.out
    assert bare("verify", "--register", str(new)).code == 0
    place_of(ship, A).unlink()
    (copy.parent / "pmsched.files").rename(tmp_path / "gone")
    lacking = run("backup", str(copy.with_name("second.db")))
    assert lacking.code == 0
    assert "Lacking: a.jpg, attached to report " in lacking.err
    shape = run("backup", str(copy.with_name("third.db")), "--json").data
    assert (shape["files"], len(shape["files_lacking"])) == (0, 1)


def test_exported_at_the_end(run: Run, photo: str) -> None:
    """The last column: names with the first digits of their hashes."""
    reported(run, photo)
    *above, line = run("export", "history", "--format", "csv", "-o", "-").out.splitlines()
    (heading,) = (one for one in above if one.startswith("report,"))
    assert heading.endswith(",attachments")
    assert line.endswith(f",a.jpg ({place_of(Path('register.db'), A).name[:12]})")
