"""The files of the invented vessel: complete, undated until a start is given, plain, and free of loose ends."""

from __future__ import annotations

import csv
import io
import re
from datetime import date
from functools import cache
from importlib.resources import files
from pathlib import Path

import pytest

from pmsched.domain.plain import check_text
from pmsched.domain.rules import CalendarLimb, Share
from pmsched.exchange.columns import INPUT_FILES
from pmsched.exchange.files_in import read_files
from pmsched.exchange.rows import Bundle
from seeds_demo.catalogue import SITE, jobs
from seeds_demo.csv_files import rows
from seeds_demo.kinds import job_rows
from seeds_demo.people import chief, people
from seeds_demo.simulate import simulate

FOLDER = files("seeds_demo").joinpath("files")
PACKAGED = sorted(file.name for file in FOLDER.iterdir() if file.name.endswith(".csv"))
TODAYS = [date(2024, 2, 29), date(2026, 11, 25)]
_FIGURE = re.compile(r"\d+ (minutes|seconds|hours|h|bar|mm|C|degrees|%|megohm|V|A|ppm)\b")


@cache
def made(today: date) -> dict[str, str]:
    """The files of a history."""
    return simulate(today).files


@pytest.fixture(params=TODAYS, ids=str)
def bundle(request: pytest.FixtureRequest, tmp_path: Path) -> Bundle:
    """The files as the program reads them, without a problem."""
    for name, text in made(request.param).items():
        (tmp_path / name).write_text(text, encoding="utf-8")
    read, problems = read_files([tmp_path])
    assert problems == []
    return read


def test_every_input_file_is_made() -> None:
    """One of each kind."""
    assert set(made(TODAYS[0])) == {f"{stem}.csv" for stem in INPUT_FILES}


@pytest.mark.parametrize("name", PACKAGED)
def test_packaged_files_are_undated_and_plain(name: str) -> None:
    """Nothing in them ties the demo to a year, hides a character or starts a formula."""
    text = FOLDER.joinpath(name).read_text("utf-8")
    assert not re.search(r"\d{4}-\d\d-\d\d|\b20[2-4]\d\b", text)
    for row in csv.reader(io.StringIO(text)):
        for cell in row:
            check_text(cell)
            assert cell == cell.strip()
            assert cell[:1] not in {"=", "+", "-", "@"}


def test_size_of_the_vessel(bundle: Bundle) -> None:
    """Large enough to get lost in, small enough to read."""
    assert 150 <= len(bundle.machines) <= 250
    assert 40 <= len(bundle.counters) <= 60
    assert 400 <= len(bundle.jobs) <= 500
    assert 24 <= len(bundle.people) <= 40


def test_every_code_named_exists(bundle: Bundle) -> None:
    """Parents, machines, counters and ranks."""
    machines = {row.code for row in bundle.machines}
    counters = {row.code for row in bundle.counters}
    assert {row.parent for row in bundle.machines} <= machines | {""}
    assert {follow.counter for row in bundle.machines for follow in row.counts_on} <= counters
    assert {row.machine for row in bundle.counters} <= machines
    assert {row.machine for row in bundle.jobs} <= machines
    assert {row.machine for row in bundle.parts} <= machines | {""}
    assert {row.rank for row in bundle.jobs} <= {row.rank for row in bundle.people}
    assert {row.counter for row in bundle.readings} == counters


def test_every_machine_has_something_to_do_or_parts_below_it(bundle: Bundle) -> None:
    """No machine stands in the tree for nothing."""
    parents = {row.parent for row in bundle.machines}
    assert {row.code for row in bundle.machines} <= {row.machine for row in bundle.jobs} | parents


def test_every_unit_of_every_job_was_done_before(bundle: Bundle) -> None:
    """So that nothing starts without a last doing, but for the few that are new and say how they start."""
    wanted = {(job.code, unit) for job in bundle.jobs if job.starts is None for unit in job.units or ("",)}
    assert {(row.job, row.unit) for row in bundle.last_done} == wanted
    assert {job.machine for job in bundle.jobs if job.starts is not None} == {"BWT", "LGR"}
    start = bundle.readings[0].read_on
    assert all(row.done_on <= start for row in bundle.last_done)


def test_counts_at_the_last_doing_lie_below_the_first_readings(bundle: Bundle) -> None:
    """And name the unit that the job counts."""
    follows = {row.code: [follow.counter for follow in row.counts_on] for row in bundle.machines}
    totals = {row.code: row.total_start for row in bundle.counters}
    own = {(row.machine, row.meter.unit): row.code for row in bundle.counters}
    units = {row.code: row.meter.unit for row in bundle.counters}
    machine_of = {job.code: job.machine for job in bundle.jobs}
    for row in bundle.last_done:
        machine = machine_of[row.job]
        for unit, amount in row.counts:
            counter = own.get((machine, unit)) or next(code for code in follows[machine] if units[code] == unit)
            assert 0 <= amount <= totals[counter], row


def test_kinds_of_rules(bundle: Bundle) -> None:
    """Each kind of rule is there to be shown."""
    rules = [job.rule for job in bundle.jobs]
    assert any(rule.counts_from == "grid" and rule.anchor_counts for rule in rules)
    assert any(rule.counts_from == "aim" and isinstance(rule.limbs[0], CalendarLimb) for rule in rules)
    assert any(isinstance(margin, Share) for rule in rules if len(rule.limbs) > 1 for margin in rule.closes)
    assert any(job.starts and job.starts.from_counts for job in bundle.jobs)
    assert any(job.starts and job.starts.due_at_once for job in bundle.jobs)
    assert any(job.units and not job.units[0].isdigit() for job in bundle.jobs)
    assert {rule.counts_from for rule in rules} == {"done", "grid", "aim"}
    assert {len(rule.limbs) for rule in rules} == {1, 2, 3}
    assert any(rule.opens and rule.opens == rule.closes for rule in rules)
    assert any(rule.opens and not rule.closes for rule in rules)
    assert any(rule.closes and not rule.opens for rule in rules)
    assert any(rule.opens and rule.closes and rule.opens != rule.closes for rule in rules)
    assert {meter.unit for meter in (row.meter for row in bundle.counters)} == {"h", "starts", "cycles", "m3"}
    assert {row.meter.reads for row in bundle.counters} == {"whole", "tenths", "h:min"}
    assert {job.department for job in bundle.jobs} == {"engine", "deck", "electrical", "hotel"}
    assert sum(job.class_item for job in bundle.jobs) >= 30
    assert sum(job.critical for job in bundle.jobs) >= 30
    assert any(follow.share != 1 and follow.from_on for row in bundle.machines for follow in row.counts_on)


def test_the_tree_has_three_levels_and_no_ring(bundle: Bundle) -> None:
    """Groups, machines, and what is attached to them."""
    parents = {row.code: row.parent for row in bundle.machines}
    depths = set()
    for code in parents:
        above, place = [code], code
        while place := parents[place]:
            assert place not in above
            above.append(place)
        depths.add(len(above))
    assert depths == {1, 2, 3}


def test_figures_in_cautions_and_steps_are_said_to_be_illustrative() -> None:
    """Nobody may take a value from an invented vessel for one of their own machines."""
    sentences = {text for row in job_rows() for column in ("cautions", "steps") for text in row[column].split("; ")}
    with_figure = {text for text in sentences if _FIGURE.search(text)}
    assert with_figure
    assert {text for text in with_figure if "(illustrative)" not in text} == set()


def test_nothing_in_the_tables_lies_idle() -> None:
    """Every caution is said by some kind of job, and every kind of remark fits one."""
    kinds = rows("job_kinds.csv")
    said = {key for kind in kinds for key in kind["cautions"].split("; ")}
    assert {row["key"] for row in rows("cautions.csv")} == said
    verbs = {kind["title"].split()[0] for kind in kinds}
    shared = {"opened up", "looked at", "tested", "electrical", "tail"}
    assert {row["for"] for row in rows("remarks.csv")} == {kind["says"] for kind in kinds} | shared | (
        verbs & {row["for"] for row in rows("remarks.csv")}
    )


def test_every_job_can_be_printed(bundle: Bundle) -> None:
    """Cautions, three to six steps, and what it needs."""
    for job in bundle.jobs:
        assert job.cautions, job.code
        assert 3 <= len(job.steps) <= 6, job.code
        assert job.needs, job.code


def test_identical_machines_have_identical_jobs() -> None:
    """Only the codes and names differ between the three auxiliary engines."""
    shapes = {n: [(job.limbs, job.rank) for job in jobs() if job.code.startswith(f"AE{n}")] for n in (1, 2, 3)}
    assert shapes[1] == shapes[2] == shapes[3] != []


def test_the_chief_engineer_opens_the_register() -> None:
    """The first person is one of the crew, and the vessel has a name."""
    assert chief() in people()
    assert chief().rank == "Chief engineer"
    check_text(SITE)
