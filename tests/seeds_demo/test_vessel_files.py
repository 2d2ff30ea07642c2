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
from pmsched.exchange.columns import INPUT_FILES
from pmsched.exchange.csv_in import read_files
from pmsched.exchange.rows import Bundle
from seeds_demo.catalogue import SITE, chief, jobs, people
from seeds_demo.simulate import simulate

FOLDER = files("seeds_demo").joinpath("files")
PACKAGED = sorted(file.name for file in FOLDER.iterdir() if file.name.endswith(".csv"))
TODAYS = [date(2024, 2, 29), date(2026, 11, 25)]


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
    assert 24 <= len(bundle.machines) <= 40
    assert 12 <= len(bundle.counters) <= 16
    assert 70 <= len(bundle.jobs) <= 90
    assert 9 <= len(bundle.people) <= 10


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
    """So that nothing starts without a last doing."""
    wanted = {(job.code, unit) for job in bundle.jobs for unit in job.units or ("",)}
    assert {(row.job, row.unit) for row in bundle.last_done} == wanted
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
    assert {rule.counts_from for rule in rules} == {"done", "grid", "aim"}
    assert {len(rule.limbs) for rule in rules} == {1, 2, 3}
    assert any(rule.opens and rule.opens == rule.closes for rule in rules)
    assert any(rule.opens and not rule.closes for rule in rules)
    assert {meter.unit for meter in (row.meter for row in bundle.counters)} == {"h", "starts", "m3"}
    assert {row.meter.reads for row in bundle.counters} == {"whole", "tenths", "h:min"}
    assert {job.department for job in bundle.jobs} == {"engine", "deck", "electrical"}
    assert any(job.class_item for job in bundle.jobs)
    assert any(job.critical for job in bundle.jobs)
    assert any(follow.share != 1 and follow.from_on for row in bundle.machines for follow in row.counts_on)


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
