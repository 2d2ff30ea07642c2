"""The machines: tree, search and card."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from fractions import Fraction

import pytest
from small_ship import NASTY, NOW, build_ship

from pmsched.domain.errors import NotFound
from pmsched.store.register import Register
from pmsched.usecases.ask_machines import machine_card, machine_list
from pmsched.usecases.load_register import load
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

H = 3600
ASKED = Asked(NOW)
PARTS = """serial,name,machine,since,hours_since_overhaul,hours_since_new,place,note
R-118,Rotor,ME,2030-01-02,3300,15700,,balanced ashore
R-119,Rotor,,2030-01-02,0,15700,Store 2,
"""


@pytest.fixture(scope="module")
def register(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """The small ship with two parts, open."""
    folder = tmp_path_factory.mktemp("ship")
    path = build_ship(folder)
    (folder / "parts.csv").write_text(PARTS, encoding="utf-8")
    with Register(str(path)) as opened:
        load(opened, [folder / "parts.csv"], Signer("CE", NOW - 3600))
        yield opened


def test_tree_in_walking_order(register: Register) -> None:
    """Children follow their parent, a step deeper."""
    rows = machine_list(register, ASKED).rows
    assert [(row.depth, row.code, row.parent) for row in rows] == [(0, "ME", ""), (0, "GE1", ""), (1, "GE1-PU", "GE1")]


def test_most_urgent_state_and_number_of_jobs(register: Register) -> None:
    """Each machine tells how many job units it has, and the most urgent of their states."""
    rows = machine_list(register, ASKED).rows
    assert [(row.jobs, row.state) for row in rows] == [(1, "upcoming"), (3, "upcoming"), (1, "overdue")]


@pytest.mark.parametrize(
    ("words", "codes"),
    [
        pytest.param("", ["ME", "GE1", "GE1-PU"], id="all"),
        pytest.param("genset", ["GE1"], id="other-name"),
        pytest.param("GE1", ["GE1", "GE1-PU"], id="code-part"),
        pytest.param("pump LUBE", ["GE1-PU"], id="words-in-any-order"),
        pytest.param("[ME-01]", ["GE1-PU"], id="odd-characters"),
        pytest.param("windlass", [], id="none"),
    ],
)
def test_found_by_words(register: Register, words: str, codes: list[str]) -> None:
    """All words must stand in the code or in one of the names."""
    found = machine_list(register, ASKED, words)
    assert [row.code for row in found.rows] == codes
    assert found.looked_at == 3


def test_card_of_a_machine_with_counters(register: Register) -> None:
    """Its counters with total, day and age, and who counts on them."""
    card = machine_card(register, ASKED, "ge1")
    hours, starts = card.counters
    assert (hours.code, hours.total, hours.read_on, hours.age_days) == ("GE1-H", 18_433_800, date(2030, 1, 8), 7)
    assert hours.counted_by == ("GE1", "GE1-PU")
    assert (starts.code, starts.total, starts.rate) == ("GE1-S", 640, None)
    assert card.children == ("GE1-PU",)
    assert [(row.job, row.unit) for row in card.jobs] == [("GE1-EXV", "1"), ("GE1-NEW", ""), ("GE1-EXV", "2")]


def test_card_of_a_machine_that_counts_on_another(register: Register) -> None:
    """Whose counter, which share, and its own total."""
    card = machine_card(register, ASKED, "GE1-PU")
    (one,) = card.counts_on
    assert (one.counter, one.machine, one.share, one.total) == ("GE1-H", "GE1", Fraction(1), 18_433_800)
    assert card.path == ("GE1", "GE1-PU")
    assert card.machine.name == NASTY


def test_card_by_another_name(register: Register) -> None:
    """A machine is known by its other names too."""
    assert machine_card(register, ASKED, "no. 1 GENSET").machine.code == "GE1"


def test_parts_fitted_to_it(register: Register) -> None:
    """Only parts that are there now, with their own hours when they came."""
    (part,) = machine_card(register, ASKED, "ME").parts
    assert (part.serial, part.name, part.since, part.since_overhaul, part.since_new, part.note) == (
        "R-118", "Rotor", date(2030, 1, 2), 3300 * H, 15_700 * H, "balanced ashore",
    )  # fmt: skip


def test_part_not_there_yet(register: Register) -> None:
    """As of a day before it came, the part is not on the card."""
    assert machine_card(register, Asked(NOW, as_of="2030-01-01"), "ME").parts == ()


def test_unknown_machine(register: Register) -> None:
    """Near codes are named."""
    with pytest.raises(NotFound) as refused:
        machine_card(register, ASKED, "GE2")
    assert "GE1" in refused.value.hint
