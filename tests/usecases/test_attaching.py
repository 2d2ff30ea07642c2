"""Photos and files with a report: attached with it or later, listed, taken out, struck; never the entry without them."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from attached import hashes, kept, listed, made, place_of
from registers import AT, DAY_SECONDS, FILES, make_register

from pmsched.domain.errors import NotAllowed, NotFound, Refusal, RegisterUnusable
from pmsched.store import staged_files
from pmsched.store.attached_check import check_files
from pmsched.store.attached_files import BESIDE_BACKUPS
from pmsched.store.book import label_of
from pmsched.store.register import Register
from pmsched.store.verify import verify
from pmsched.usecases.ask_attachments import attachment_list, save_attachment
from pmsched.usecases.ask_history import HistoryFilter, HistoryRow, history
from pmsched.usecases.ask_job import job_card
from pmsched.usecases.ask_records import entries_list
from pmsched.usecases.attaching import Attach, AttachResult, attach, strike_attachment
from pmsched.usecases.correct_report import CorrectReport, correct_report
from pmsched.usecases.report_work import ReportResult, ReportWork, report_work
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

HOUR = 3600
CE = Signer("CE", AT)
A, B = b"first photo", b"second photo"
OIL = ReportWork("AE1-OIL", date(2025, 6, 30))


@pytest.fixture(scope="module")
def template(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A register with a small tree of machines, made once."""
    with make_register(tmp_path_factory.mktemp("attaching"), FILES) as register:
        return Path(register.target)


@pytest.fixture
def register(template: Path, tmp_path: Path) -> Iterator[Register]:
    """A copy of it."""
    (tmp_path / "ship").mkdir()
    with Register(str(shutil.copy(template, tmp_path / "ship"))) as opened:
        yield opened


@pytest.fixture
def ship(register: Register) -> Path:
    """The register's file."""
    return Path(register.target)


@pytest.fixture
def camera(tmp_path: Path) -> Path:
    """A folder of the person's own with two photos."""
    made(tmp_path / "camera", "a.jpg", A)
    made(tmp_path / "camera", "b.jpg", B)
    return tmp_path / "camera"


def reported(register: Register, *files: Path, signer: Signer = CE, **more: Any) -> ReportResult:
    """A report of the oil change with files."""
    return report_work(register, OIL._replace(attach=files, **more), signer)


def number_of(result: ReportResult) -> str:
    """The report's number as listed."""
    return label_of(result.report_id)


def later(register: Register, report: str, *files: Path, signer: Signer = CE) -> AttachResult:
    """Files attached to a report that is signed already."""
    return attach(register, Attach(report, files), signer)


def rows(register: Register, asked: Asked | None = None, job: str = "AE1-OIL") -> list[HistoryRow]:
    """The reports of a job."""
    return [row for row in history(register, asked or Asked(AT), HistoryFilter(job=job)).rows if row.number]


def shown(row: HistoryRow) -> list[str]:
    """The names of what a row of the history has attached."""
    return [file.name for file in row.attachments]


# --- with the report ------------------------------------------------------------------------------------------------


def test_files_go_with_the_report_in_one_entry(register: Register, ship: Path, camera: Path) -> None:
    """Kept by their hash; name, size and hash stand in the signed body."""
    result = reported(register, camera / "a.jpg", camera / "b.jpg")
    assert [(file.name, file.size) for file in result.attached] == [("a.jpg", len(A)), ("b.jpg", len(B))]
    assert kept(ship) == hashes(A, B)
    assert entries_list(register, Asked(AT))[1][-1].deed == "report work"
    with register.reading() as connection:
        body = connection.exec_driver_sql("SELECT body FROM entry ORDER BY id DESC LIMIT 1").scalar_one()
    for told in (*hashes(A, B), "a.jpg", '"size":11'):
        assert told.encode() in body
    assert verify(register) == []
    assert check_files(register).flaws == ()


def test_shown_with_the_report(register: Register, camera: Path) -> None:
    """In the history and on the job's card, in the order attached, by each line of the report."""
    reported(register, camera / "b.jpg", camera / "a.jpg")
    assert [shown(row) for row in rows(register)[-1:]] == [["b.jpg", "a.jpg"]]
    assert shown(job_card(register, Asked(AT), "AE1-OIL").doings[0]) == ["b.jpg", "a.jpg"]
    valves = ReportWork("AE1-EXV", date(2025, 6, 30), counts={"h": "12590"}, attach=(camera / "a.jpg",))
    report_work(register, valves, CE)
    assert [shown(row) for row in rows(register, job="AE1-EXV")[-3:]] == [["a.jpg"]] * 3


def test_refused_report_keeps_no_file(register: Register, ship: Path, camera: Path) -> None:
    """Nor does one that is only tried."""
    for wrong in (OIL._replace(job="AE1-OLI"), OIL._replace(done_on=date(2026, 1, 1)), OIL._replace(units=("7",))):
        with pytest.raises(Refusal):
            report_work(register, wrong._replace(attach=(camera / "a.jpg",)), CE)
    result = report_work(register, OIL._replace(attach=(camera / "a.jpg",)), CE, rehearse=True)
    assert [file.name for file in result.attached] == ["a.jpg"]
    assert (kept(ship), listed(register, at=AT)) == ([], [])


def test_unfit_file_refuses_the_report(register: Register, ship: Path, camera: Path) -> None:
    """Nothing is entered, and no file is kept, the good one neither."""
    before = entries_list(register, Asked(AT))[0].entry_no
    with pytest.raises(NotFound, match=r"There is no file .*none\.jpg"):
        reported(register, camera / "a.jpg", camera / "none.jpg")
    assert entries_list(register, Asked(AT))[0].entry_no == before
    assert kept(ship) == []


def test_repeated_report_adds_nothing(register: Register, ship: Path, camera: Path) -> None:
    """The same request is the same deed, files and all."""
    signer = CE._replace(request_id="r")
    first = reported(register, camera / "a.jpg", signer=signer)
    again = reported(register, camera / "a.jpg", signer=signer)
    assert (again.receipt.no, again.attached) == (first.receipt.no, ())
    assert listed(register, at=AT) == ["a.jpg"]
    assert kept(ship) == hashes(A)


def test_folder_that_cannot_be_written(register: Register, camera: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whether it fails at the copy or at its name: no entry."""
    before = entries_list(register, Asked(AT))[0].entry_no
    for place, name in ((os, "fsync"), (staged_files, "put_in")):

        def full(*_arguments: object) -> None:
            raise OSError(28, "No space left on device")

        with monkeypatch.context() as patched:
            patched.setattr(place, name, full)
            with pytest.raises(RegisterUnusable, match="No space left"):
                reported(register, camera / "a.jpg")
    assert shown(rows(register)[-1]) == []
    assert entries_list(register, Asked(AT))[0].entry_no == before


# --- later ----------------------------------------------------------------------------------------------------------


def test_attached_later_is_an_entry_of_its_own(register: Register, camera: Path) -> None:
    """Signed by whoever attaches it."""
    report = number_of(reported(register))
    result = later(register, report, camera / "a.jpg", signer=Signer("2E", AT + HOUR))
    assert (result.report, result.job, result.notes) == (report, "AE1-OIL", ())
    assert result.receipt is not None
    (row,) = attachment_list(register, Asked(AT + HOUR), report)[1]
    assert (row.report, row.job, row.name, row.media_type) == (report, "AE1-OIL", "a.jpg", "image/jpeg")
    assert (row.size, row.sha256, row.there) == (len(A), hashes(A)[0], True)
    assert (row.signer, row.signed_as, row.entry_no) == ("2E", "Second engineer", result.receipt.no)
    assert (row.number, row.attached_on) == (result.attached[0].number, date(2025, 7, 1))
    assert entries_list(register, Asked(AT + HOUR))[1][-1].deed == "attach files"


def test_each_report_has_its_own(register: Register, ship: Path, camera: Path) -> None:
    """The same file may go with several reports; it is kept once. Lost, all of them are named."""
    one = number_of(reported(register, camera / "a.jpg"))
    two = number_of(report_work(register, ReportWork("STG-TST", date(2025, 6, 30), attach=(camera / "a.jpg",)), CE))
    assert kept(ship) == hashes(A)
    assert listed(register, one, at=AT) == listed(register, two, at=AT) == ["a.jpg"]
    assert listed(register, at=AT) == ["a.jpg", "a.jpg"]
    place_of(ship, A).unlink()
    (flaw,) = check_files(register).flaws
    assert f"attached to reports {one}, {two}," in flaw.message
    strike_attachment(register, attachment_list(register, Asked(AT), one)[1][0].number, "not this one", CE)
    (flaw,) = check_files(register).flaws
    assert f"attached to report {two}," in flaw.message


def test_same_file_twice_on_one_report(register: Register, camera: Path) -> None:
    """It is left out whatever it is called now; alone it is refused."""
    report = number_of(reported(register, camera / "a.jpg", camera / "a.jpg"))
    assert listed(register, at=AT) == ["a.jpg"]
    same = made(camera, "other name.jpg", A)
    result = later(register, report, same, camera / "b.jpg")
    assert [file.name for file in result.attached] == ["b.jpg"]
    (number,) = (row.number for row in attachment_list(register, Asked(AT))[1] if row.name == "a.jpg")
    assert result.notes == (f"other name.jpg (number {number}) is attached already",)
    with pytest.raises(NotAllowed, match="is attached already") as refused:
        later(register, report, same)
    assert refused.value.code == "attached-already"
    assert listed(register, at=AT) == ["a.jpg", "b.jpg"]


def test_hostile_names_are_made_safe(register: Register, ship: Path, camera: Path) -> None:
    """What could hide, mislead or part folders goes; brackets and other scripts stay. Contents are untouched."""
    names = ["[bold red]x[/y", "..hidden.jpg", "two\nlines.txt", "gpj.\u202eexe", "con.jpg", "a\\b.jpg", "主機.jpg"]
    report = number_of(reported(register))
    for number, name in enumerate(names):
        later(register, report, made(camera / str(number), name.replace("/", ""), f"content {number}".encode()))
    assert listed(register, at=AT) == [
        "[bold red]x[y", "hidden.jpg", "two_lines.txt", "gpj._exe", "_con.jpg", "a_b.jpg", "主機.jpg",
    ]  # fmt: skip
    assert kept(ship) == hashes(*(f"content {number}".encode() for number in range(len(names))))
    assert verify(register) == []


def test_repeated_attempt_to_attach(register: Register, camera: Path) -> None:
    """The same request attaches once; so does a strike."""
    report, signer = number_of(reported(register)), CE._replace(request_id="a")
    first = later(register, report, camera / "a.jpg", signer=signer)
    again = later(register, report, camera / "a.jpg", signer=signer)
    assert (again.receipt, again.attached) == (first.receipt._replace(repeated=True) if first.receipt else None, ())
    number = first.attached[0].number
    struck = strike_attachment(register, number, "wrong report", CE._replace(request_id="s"))
    assert (
        strike_attachment(register, number, "wrong report", CE._replace(request_id="s")).receipt.no == struck.receipt.no
    )


def test_request_used_for_other_files(register: Register, ship: Path, camera: Path) -> None:
    """Another file, name or report with the same request is refused, not passed over; the order is no matter."""
    report, signer = number_of(reported(register)), CE._replace(request_id="a")
    other = number_of(report_work(register, ReportWork("STG-TST", date(2025, 6, 30)), CE))
    first = later(register, report, camera / "a.jpg", camera / "b.jpg", signer=signer)
    again = later(register, f"#{report}", camera / "b.jpg", camera / "a.jpg", signer=signer)
    assert again.receipt is not None
    assert first.receipt is not None
    assert (again.receipt.no, again.receipt.repeated) == (first.receipt.no, True)
    renamed = made(camera, "c.jpg", A)
    for place, files in ((report, ("a.jpg",)), (report, (renamed.name, "b.jpg")), (other, ("a.jpg", "b.jpg"))):
        with pytest.raises(NotAllowed) as refused:
            later(register, place, *(camera / name for name in files), signer=signer)
        assert refused.value.code == "request-used"
    assert listed(register, at=AT) == ["a.jpg", "b.jpg"]
    assert kept(ship) == hashes(A, B)
    assert verify(register) == []


def test_request_used_for_another_strike(register: Register, camera: Path) -> None:
    """The other attachment is not taken for struck."""
    signer = CE._replace(request_id="s")
    one, two = (file.number for file in reported(register, camera / "a.jpg", camera / "b.jpg").attached)
    strike_attachment(register, one, "wrong report", signer)
    assert strike_attachment(register, f" #{one}", "wrong report ", signer).receipt.repeated
    for number, reason in ((two, "wrong report"), (one, "another reason")):
        with pytest.raises(NotAllowed) as refused:
            strike_attachment(register, number, reason, signer)
        assert refused.value.code == "request-used"
    assert listed(register, at=AT) == ["b.jpg"]


@pytest.mark.parametrize(
    ("wanted", "code"),
    [
        pytest.param(
            lambda _report, camera: Attach("9999", (camera / "a.jpg",)), "unknown-report", id="no-such-report"
        ),
        pytest.param(lambda _report, camera: Attach("x", (camera / "a.jpg",)), "unknown-report", id="no-number"),
        pytest.param(lambda report, _camera: Attach(report, ()), "no-file-named", id="no-file"),
        pytest.param(lambda report, camera: Attach(report, (camera,)), "not-a-file", id="folder"),
    ],
)
def test_refused(register: Register, ship: Path, camera: Path, wanted: Any, code: str) -> None:
    """With what is wrong, and nothing is kept."""
    report = number_of(reported(register))
    with pytest.raises(Refusal) as refused:
        attach(register, wanted(report, camera), CE)
    assert refused.value.code == code
    assert kept(ship) == []


def test_struck_report_takes_no_files(register: Register, ship: Path, camera: Path) -> None:
    """What it had stays with it; brought back, it takes files again."""
    report = number_of(reported(register, camera / "a.jpg"))
    correct_report(register, CorrectReport(report, "other engine", strike=True), CE)
    with pytest.raises(NotAllowed, match=f"Report {report} is struck"):
        later(register, report, camera / "b.jpg")
    assert kept(ship) == hashes(A)
    assert [(row.version, shown(row)) for row in rows(register)[-2:]] == [("corrected", []), ("struck", ["a.jpg"])]
    correct_report(register, CorrectReport(report, "it was this engine"), CE)
    later(register, report, camera / "b.jpg")
    assert shown(rows(register)[-1]) == ["a.jpg", "b.jpg"]


def test_lost_file_of_a_struck_report_is_put_back(register: Register, ship: Path, camera: Path) -> None:
    """As verify says, without an entry; a new file with it is refused, and then nothing is put back."""
    report = number_of(reported(register, camera / "a.jpg"))
    correct_report(register, CorrectReport(report, "other engine", strike=True), CE)
    entries = entries_list(register, Asked(AT))[0].entry_no
    place_of(ship, A).unlink()
    assert len(check_files(register).flaws) == 1
    with pytest.raises(NotAllowed, match="is struck"):
        later(register, report, camera / "a.jpg", camera / "b.jpg")
    assert kept(ship) == []
    assert later(register, report, camera / "a.jpg").receipt is None
    assert check_files(register).flaws == ()
    with pytest.raises(NotAllowed, match="Nothing is new"):
        later(register, report, camera / "a.jpg")
    assert entries_list(register, Asked(AT))[0].entry_no == entries


def test_attached_request_repeated_after_its_report_was_struck(register: Register, camera: Path) -> None:
    """It was done: its receipt is given."""
    report, signer = number_of(reported(register)), CE._replace(request_id="a")
    first = later(register, report, camera / "a.jpg", signer=signer)
    correct_report(register, CorrectReport(report, "other engine", strike=True), CE)
    again = later(register, report, camera / "a.jpg", signer=signer)
    assert (again.receipt, first.receipt) == (first.receipt and first.receipt._replace(repeated=True), first.receipt)


def test_files_stay_with_a_corrected_report(register: Register, camera: Path) -> None:
    """They are told with its newest version."""
    report = number_of(reported(register, camera / "a.jpg"))
    correct_report(register, CorrectReport(report, "typed wrong", remarks="filter clean"), CE)
    assert [(row.version, shown(row)) for row in rows(register)[-2:]] == [("corrected", []), ("in force", ["a.jpg"])]


# --- the past -------------------------------------------------------------------------------------------------------


def test_known_on_a_past_day(register: Register, camera: Path) -> None:
    """What was attached or struck afterwards was not known; as of a past day it goes with its report."""
    report = number_of(reported(register, camera / "a.jpg"))
    number = later(register, report, camera / "b.jpg", signer=Signer("CE", AT + DAY_SECONDS)).attached[0].number
    strike_attachment(register, number, "other engine", Signer("CE", AT + 2 * DAY_SECONDS))
    now = AT + 3 * DAY_SECONDS
    told = {day: listed(register, report, at=now, known_on=day) for day in ("2025-07-01", "2025-07-02", "2025-07-03")}
    assert told == {"2025-07-01": ["a.jpg"], "2025-07-02": ["a.jpg", "b.jpg"], "2025-07-03": ["a.jpg"]}
    for day, names in told.items():
        assert shown(rows(register, Asked(now, known_on=day))[-1]) == names
    assert shown(rows(register, Asked(now, as_of="2025-06-30 20:00"))[-1]) == ["a.jpg"]
    with pytest.raises(NotFound, match="There is no report"):
        listed(register, report, at=now, known_on="2025-06-30")


def test_struck_stays_readable(register: Register, ship: Path, camera: Path) -> None:
    """Gone from the lists of now, with its reason in the entry; its file stays; it can be attached again."""
    result = reported(register, camera / "a.jpg")
    number = result.attached[0].number
    with pytest.raises(NotAllowed, match="reason"):
        strike_attachment(register, number, " ", CE)
    struck = strike_attachment(register, number, "other engine", CE)
    assert struck.place == place_of(ship, A)
    assert listed(register, at=AT) == []
    assert listed(register, at=AT, known_on=f"entry {result.receipt.no}") == ["a.jpg"]
    with pytest.raises(NotFound, match=f"There is no attachment {number}"):
        strike_attachment(register, number, "again", CE)
    assert later(register, number_of(result), camera / "a.jpg").attached[0].number != number


@pytest.mark.parametrize("number", ["9999", "x", ""])
def test_unknown_number_is_not_struck(register: Register, number: str) -> None:
    """A number of something else is no attachment."""
    with pytest.raises(NotFound, match="There is no attachment"):
        strike_attachment(register, number, "wrong", CE)


# --- taken out ------------------------------------------------------------------------------------------------------


def test_saved_to_a_file_or_a_folder(
    register: Register, camera: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """As it was attached; in a folder, or with no place named, under its own name."""
    number = reported(register, camera / "a.jpg").attached[0].number
    folder = tmp_path / "out"
    folder.mkdir()
    monkeypatch.chdir(folder)
    for target, written in ((folder / "x.jpg", "x.jpg"), (folder, "a.jpg")):
        assert save_attachment(register, Asked(AT), number, target) == folder / written
        assert (folder / written).read_bytes() == A
    (folder / "a.jpg").unlink()
    assert save_attachment(register, Asked(AT), number) == Path("a.jpg")
    assert (folder / "a.jpg").read_bytes() == A
    with pytest.raises(Refusal, match="is there already"):
        save_attachment(register, Asked(AT), number)


def test_altered_or_lost_file_is_not_saved(register: Register, ship: Path, camera: Path, tmp_path: Path) -> None:
    """It is said, and nothing is written; a number that is not known then neither."""
    number = reported(register, camera / "a.jpg").attached[0].number
    out = tmp_path / "out.jpg"
    place_of(ship, A).write_bytes(B)
    with pytest.raises(NotAllowed, match="was altered since it was signed"):
        save_attachment(register, Asked(AT), number, out)
    place_of(ship, A).unlink()
    with pytest.raises(NotFound, match=r"The file a\.jpg is not beside the register"):
        save_attachment(register, Asked(AT), number, out)
    for asked, wanted in ((Asked(AT, known_on="2025-06-01"), number), (Asked(AT), "9999"), (Asked(AT), "x")):
        with pytest.raises(NotFound, match="There is no attachment"):
            save_attachment(register, asked, wanted, out)
    assert not out.exists()


def test_good_copy_is_saved_where_the_first_is_altered(
    register: Register, ship: Path, camera: Path, tmp_path: Path
) -> None:
    """From wherever one lies; with none good, the first is told."""
    number = reported(register, camera / "a.jpg").attached[0].number
    name, out = hashes(A)[0], tmp_path / "out.jpg"
    other = made(ship.with_name(BESIDE_BACKUPS) / name[:2], name, A)
    place_of(ship, A).write_bytes(B)
    assert save_attachment(register, Asked(AT), number, out).read_bytes() == A
    other.write_bytes(B)
    with pytest.raises(NotAllowed) as refused:
        save_attachment(register, Asked(AT), number, tmp_path / "again.jpg")
    assert str(place_of(ship, A)) in refused.value.message
    assert not (tmp_path / "again.jpg").exists()


def test_lost_folder_keeps_nobody_from_working(register: Register, ship: Path, camera: Path) -> None:
    """All lists are there; the next file is attached as before."""
    report = number_of(reported(register, camera / "a.jpg"))
    ship.with_name("register.db.files").rename(ship.with_name("lost"))
    assert shown(rows(register)[-1]) == ["a.jpg"]
    assert [row.there for row in attachment_list(register, Asked(AT))[1]] == [False]
    later(register, report, camera / "b.jpg")
    assert [flaw.code for flaw in check_files(register).flaws] == ["attachment-missing"]
