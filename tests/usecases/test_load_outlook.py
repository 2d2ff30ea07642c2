"""An outlook tells what a load would lead to, keeps nothing, and what it proposes loads as it says."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, time
from pathlib import Path

import pytest
from registers import AT, FILES, empty_register, load_texts, make_register, write_files

from pmsched.domain.periods import Span, add_span
from pmsched.exchange.filled import TypedReading
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueFilter, due_list
from pmsched.usecases.load_outlook import Outlook, doubtful_totals, outlook
from pmsched.usecases.load_proposals import write_proposals
from pmsched.usecases.load_register import load
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

TODAY = date(2025, 7, 1)
NOBODY = Signer("", AT)
SIGNER = Signer("CE", AT)
# Six yearly jobs, one by hours, a critical one and a class item; of none of them is anything known.
JOBS = """code,machine,title,interval,critical,class_item,units
Y-1,STG,Grease,12 months,,,
Y-2,AE,Clean,12 months,,,
Y-3,AE,Look,12 months,,,
AE1-V,AE1-LOP,Renew,4000 h,,,
C-1,AE,Test the alarm,12 months,yes,,
K-1,AE,Survey,12 months,,yes,
AE1-M,AE1,Megger,12 months,,,
U-1,AE,Springs,12 months,,,2
"""
UNDONE: Mapping[str, str] = {
    "machines": FILES["machines"],
    "counters": FILES["counters"],
    "jobs": JOBS,
    "last_done": "job,unit,done_on\nU-1,1,2025-05-01\n",
    "readings": "counter,read_on,value\nAE1-H,2025-06-01,12310\nAE1-H,2025-07-01,12600\n",
}


@pytest.fixture
def empty(tmp_path: Path) -> Iterator[Register]:
    """A register into which nothing is loaded."""
    with empty_register(tmp_path / "register") as register:
        yield register


@pytest.fixture
def undone(tmp_path: Path) -> Path:
    """The files above, in a folder."""
    return write_files(tmp_path / "mine", UNDONE)


def starts(seen: Outlook) -> dict[str, str]:
    """What is proposed, by job."""
    return {job.job: job.starts for job in seen.unstarted}


def test_nothing_is_kept_and_nobody_signs(empty: Register, undone: Path) -> None:
    """Twice the same, and the register is as it was."""
    seen = outlook(empty, [undone], NOBODY)
    assert outlook(empty, [undone], NOBODY) == seen
    found = due_list(empty, Asked(AT), DueFilter(None))
    assert (found.looked_at, found.header.entry_no) == (0, 1)


def test_jobs_without_a_doing_are_no_problem_and_get_a_proposal(empty: Register, undone: Path) -> None:
    """Spread over the first year in the order of the rows; critical and class jobs, and a critical machine's, at once."""
    seen = outlook(empty, [undone], NOBODY)
    assert (seen.problems, seen.without_doing) == ((), 8)
    assert [job.job for job in seen.unstarted if job.held_back] == ["Y-1", "C-1", "K-1", "AE1-M"]
    found = starts(seen)
    assert {found[job] for job in ("Y-1", "C-1", "K-1", "AE1-M")} == {"due at once"}
    firsts = [job.first_on for job in seen.unstarted if job.first_on]
    assert firsts == sorted(firsts)
    assert all(TODAY < first <= date(2026, 7, 1) for first in firsts)
    assert found["Y-2"] == f"from {add_span(firsts[0], Span(months=12), -1)}"
    assert found["AE1-V"] == "from 2025-07-01 at 10600 h"


def test_as_it_would_stand_they_are_due_at_once(empty: Register, undone: Path) -> None:
    """Each with its reason; the unit that was done is not."""
    seen = outlook(empty, [undone], NOBODY)
    assert [row.job for row in seen.pressing] == ["C-1", "AE1-M", "Y-1", "K-1", "U-1", "Y-2", "Y-3", "AE1-V"]
    assert {row.sentence for row in seen.pressing} == {"stated due at once on 2025-07-01"}
    assert [(row.unit, row.state) for row in seen.rows if row.job == "U-1"] == [("2", "due"), ("1", "later")]


def test_the_copy_loads_as_it_was_proposed(empty: Register, undone: Path) -> None:
    """The first dates shown are those of the due list, and nothing that is not critical is due."""
    seen = outlook(empty, [undone], NOBODY)
    copy = write_proposals(seen, spread=True)
    again = outlook(empty, [copy], NOBODY)
    assert (again.problems, again.without_doing, again.unstarted) == ((), 0, ())
    load(empty, [copy], SIGNER)
    rows = due_list(empty, Asked(AT), DueFilter(None)).rows
    assert again.rows == rows
    due = {row.job: row.due_on for row in rows if row.unit != "1"}
    assert {job.job: job.first_on for job in seen.unstarted if job.first_on}.items() <= due.items()
    assert {row.job for row in again.pressing} == {"Y-1", "C-1", "K-1", "AE1-M"}
    assert load(empty, [copy], SIGNER).receipt is None


def test_all_at_once(empty: Register, undone: Path) -> None:
    """The safe choice gives every one of them the same start, and the same list as was shown."""
    seen = outlook(empty, [undone], NOBODY)
    copy = write_proposals(seen, spread=False)
    again = outlook(empty, [copy], NOBODY)
    assert again.without_doing == 0
    assert again.rows == seen.rows


def test_counters_without_a_reading(empty: Register, undone: Path) -> None:
    """They are told; once typed into the copy they are read, and hours can be spread."""
    (undone / "readings.csv").unlink()
    seen = outlook(empty, [undone], NOBODY)
    assert [(one.counter, one.name) for one in seen.never_read] == [
        ("AE1-H", "Auxiliary engine 1"),
        ("AE1-S", "Starts of auxiliary engine 1"),
    ]
    assert starts(seen)["AE1-V"] == "due at once"
    typed = [TypedReading("AE1-H", TODAY, time(19, 59), "12 600")]
    copy = write_proposals(seen._replace(unstarted=()), spread=False, readings=typed)
    again = outlook(empty, [copy], NOBODY)
    assert [one.counter for one in again.never_read] == ["AE1-S"]
    assert starts(again)["AE1-V"] == "from 2025-07-01 at 10600 h"


def test_other_problems_come_first(empty: Register, undone: Path) -> None:
    """Nothing is worked out from files that are wrong; how many jobs wait for a start is told all the same."""
    (undone / "people.csv").write_text("code,name,rank,department\n2E,,2/E,deck\n", encoding="utf-8")
    seen = outlook(empty, [undone], NOBODY)
    assert [one.code for one in seen.problems] == ["missing-value"]
    assert seen.without_doing == 8
    assert (seen.unstarted, seen.rows) == ((), ())


def test_a_register_that_has_machines(tmp_path: Path) -> None:
    """New jobs on a known machine count by the readings of the register; what stands there is looked at too."""
    with make_register(tmp_path / "there") as register:
        path = write_files(tmp_path / "new", {"jobs": "code,machine,title,interval\nNEW,AE1,Clean,1000 h\n"})
        seen = outlook(register, [path], NOBODY)
        # AE1 is critical.
        assert starts(seen) == {"NEW": "due at once"}
        assert seen.added == {"jobs": 1}
        assert {row.job for row in seen.rows} >= {"NEW", "AE1-OIL"}


def test_what_would_change_is_told(empty: Register, tmp_path: Path) -> None:
    """The guide must ask why before it loads."""
    text = "code,name,rank,department\nCE,Ann Ardmore,Chief engineer,engine\n"
    load_texts(empty, tmp_path / "first", {"people": text.replace("Ann ", "A. ")})
    seen = outlook(empty, [write_files(tmp_path / "mine", {"people": text})], NOBODY)
    assert [str(one) for one in seen.revised] == ["CE: name A. Ardmore -> Ann Ardmore"]


def test_a_doing_beyond_the_counter_is_doubted(empty: Register, undone: Path) -> None:
    """Hours at the last doing that the meter has not reached: one of them is misread."""
    (undone / "last_done.csv").write_text(
        "job,unit,done_on,count\nU-1,,2025-05-01,\nAE1-V,,2025-05-01,21600 h\n", encoding="utf-8"
    )
    seen = outlook(empty, [undone], NOBODY)
    assert list(doubtful_totals(seen.rows)) == [
        "AE1-V was last done at 21 600 h, and its counter shows 12 600 h on 2025-07-01."
    ]


def test_found_out_later(empty: Register, undone: Path) -> None:
    """The start taken out and the last doing written in: a change with a reason, after which the doing counts."""
    load(empty, [undone_with(undone, "Y-2", "from 2025-03-01")], SIGNER)
    (undone / "last_done.csv").write_text("job,unit,done_on\nU-1,1,2025-05-01\nY-2,,2024-11-05\n", encoding="utf-8")
    result = load(empty, [undone_with(undone, "Y-2", "")], SIGNER, reason="found in the log book")
    assert [str(one) for one in result.revised] == ["Y-2: starts from 2025-03-01 -> (blank)"]
    (row,) = due_list(empty, Asked(AT), DueFilter(None, job="Y-2")).rows
    assert row.due_on == date(2025, 11, 5)


def undone_with(folder: Path, job: str, starts: str) -> Path:
    """The files, all other jobs due at once."""
    heading, *rows = JOBS.splitlines()
    lines = [f"{heading},starts", *(f"{row},{starts if row.startswith(job) else 'due at once'}" for row in rows)]
    (folder / "jobs.csv").write_text("\n".join(lines), encoding="utf-8")
    return folder
