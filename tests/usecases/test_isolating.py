"""Machines that must not be started: who says so, since when, what belongs to them, and how they come back."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from registers import AT, DAY_SECONDS, FILES, make_register

from pmsched.domain.errors import NotAllowed, NotFound, Refusal
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueFilter, due_list
from pmsched.usecases.ask_isolations import IsolationRow, isolation_list
from pmsched.usecases.ask_machines import machine_card
from pmsched.usecases.ask_watch import watch
from pmsched.usecases.isolating import EndIsolation, Isolate, end_isolation, isolate, strike_isolation
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

HOUR = 3600
CE = Signer("CE", AT)
OUT = Isolate("ae1", "coupling off", "opened", tag="14", back_on=date(2025, 7, 3))


@pytest.fixture
def register(tmp_path: Path) -> Iterator[Register]:
    """A register with a small tree of machines."""
    with make_register(tmp_path, FILES) as made:
        yield made


def standing(register: Register, asked: Asked = Asked(AT), *, every: bool = False) -> tuple[IsolationRow, ...]:  # noqa: B008 - immutable
    """The isolations, as asked."""
    return isolation_list(register, asked, every=every)[1]


def marked(register: Register) -> set[str]:
    """The machines whose jobs carry the mark."""
    rows = due_list(register, Asked(AT), DueFilter(within_days=None)).rows
    return {row.machine for row in rows if "isolated" in row.marks}


def test_isolation_is_told_to_the_next_watch(register: Register) -> None:
    """With why, tag, day expected back, and who signed; to every department."""
    receipt = isolate(register, OUT, CE)
    (row,) = standing(register)
    assert (row.machine, row.machine_name, row.kind) == ("AE1", "Auxiliary engine 1", "opened")
    assert row.said == "coupling off; tag 14; back by 2025-07-03"
    assert (row.begun_at, row.begun_on, row.signer, row.entry_no) == (AT, date(2025, 7, 1), "CE", receipt.no)
    (line,) = (one for one in watch(register, Asked(AT), department="deck").open if one.not_to_start)
    assert (line.kind, line.machine, line.said) == ("opened", "AE1 Auxiliary engine 1", row.said)


def test_what_belongs_to_it_is_down_with_it(register: Register) -> None:
    """The engine and its pump; not the machine above it, and not the steering gear."""
    assert marked(register) == set()
    isolate(register, OUT, CE)
    assert marked(register) == {"AE1", "AE1-LOP"}
    assert [row.machine for row in machine_card(register, Asked(AT), "AE1-LOP").isolations] == ["AE1"]
    assert machine_card(register, Asked(AT), "STG").isolations == ()


def test_back_in_use(register: Register) -> None:
    """It no longer stands, and stays readable with what was tried."""
    isolate(register, Isolate("AE1", "coupling off", begun_at=AT - HOUR), CE)
    end_isolation(register, EndIsolation("AE1", "run 20 min"), CE)
    assert standing(register) == ()
    (row,) = standing(register, every=True)
    assert (row.ended_at, row.tried, row.ended_by) == (AT, "run 20 min", "CE")
    assert marked(register) == set()


def test_known_on_a_past_day(register: Register) -> None:
    """As of a time before it, and known before it was entered, it is not there; between begin and end it stands."""
    isolate(register, Isolate("AE1", "coupling off", begun_at=AT - 2 * DAY_SECONDS), CE)
    end_isolation(register, EndIsolation("AE1", "run"), Signer("CE", AT + DAY_SECONDS))
    later = AT + 2 * DAY_SECONDS
    assert standing(register, Asked(later)) == ()
    assert len(standing(register, Asked(later, as_of="2025-07-02 12:00"))) == 1
    assert standing(register, Asked(later, as_of="2025-06-28")) == ()
    assert standing(register, Asked(later, known_on="2025-06-30")) == ()
    assert len(standing(register, Asked(later, known_on="2025-07-01"))) == 1


def test_late_back(register: Register) -> None:
    """On the day expected it is not late; the day after it is, until it ends."""
    isolate(register, OUT, CE)
    on_the_day, after = int(datetime(2025, 7, 3, 23, tzinfo=UTC).timestamp()), AT + 3 * DAY_SECONDS
    assert [row.late for row in standing(register, Asked(on_the_day))] == [False]
    (row,) = standing(register, Asked(after))
    assert row.late
    assert row.said.endswith("back by 2025-07-03, late")


def test_two_tags(register: Register) -> None:
    """The machine stays down until both are off, and the one that ends is named."""
    isolate(register, OUT, CE)
    isolate(register, OUT._replace(tag="15"), CE)
    with pytest.raises(Refusal, match=r"AE1 has 2 isolations") as refused:
        end_isolation(register, EndIsolation("AE1", "run"), CE)
    first, second = standing(register)
    assert first.number in refused.value.hint
    end_isolation(register, EndIsolation("AE1", "run", number=first.number), CE)
    assert [row.number for row in standing(register)] == [second.number]
    assert marked(register) == {"AE1", "AE1-LOP"}


def test_repeated_attempts_add_nothing(register: Register) -> None:
    """The same request is the same deed: isolating, ending, striking."""
    first = isolate(register, OUT, CE._replace(request_id="a"))
    assert isolate(register, OUT, CE._replace(request_id="a")) == first._replace(repeated=True)
    ended = end_isolation(register, EndIsolation("AE1", "run"), CE._replace(request_id="b"))
    assert end_isolation(register, EndIsolation("AE1", "run"), CE._replace(request_id="b")).no == ended.no
    (row,) = standing(register, every=True)
    struck = strike_isolation(register, row.number, "wrong machine", CE._replace(request_id="c"))
    assert strike_isolation(register, row.number, "wrong machine", CE._replace(request_id="c")).no == struck.no


def test_struck_by_mistake(register: Register) -> None:
    """It is gone from every list of now, and was known before."""
    receipt = isolate(register, OUT, CE)
    (row,) = standing(register)
    with pytest.raises(NotAllowed, match="reason"):
        strike_isolation(register, row.number, " ", CE)
    strike_isolation(register, row.number, "wrong machine", Signer("CE", AT + HOUR))
    assert standing(register, Asked(AT + HOUR), every=True) == ()
    assert marked(register) == set()
    assert len(standing(register, Asked(AT + HOUR, known_on=f"entry {receipt.no}"))) == 1


@pytest.mark.parametrize(
    ("command", "code"),
    [
        pytest.param(OUT._replace(machine="AE9"), "unknown-machine", id="machine"),
        pytest.param(OUT._replace(why="  "), "why-missing", id="why"),
        pytest.param(OUT._replace(kind="broken"), "unknown-kind", id="kind"),
        pytest.param(OUT._replace(begun_at=AT + 60), "lies-ahead", id="ahead"),
        pytest.param(OUT._replace(begun_at=-2_300_000_000), "too-early", id="too-early"),
        pytest.param(OUT._replace(back_on=date(2025, 6, 30)), "back-before", id="back-before"),
        pytest.param(OUT._replace(why="two\x07bells"), "control-character", id="control-character"),
        pytest.param(Isolate("STG", "again"), "isolated-already", id="twice"),
        pytest.param(EndIsolation("AE1"), "not-isolated", id="end-nothing"),
        pytest.param(EndIsolation("STG"), "not-tried", id="critical-not-tried"),
        pytest.param(EndIsolation("STG", "moved both ways", AT - DAY_SECONDS), "end-before", id="end-before"),
        pytest.param(EndIsolation("STG", "moved", AT + 60), "lies-ahead", id="end-ahead"),
        pytest.param(EndIsolation("STG", "moved", number="7"), "not-isolated", id="no-such-number"),
    ],
)
def test_refused(register: Register, command: Any, code: str) -> None:
    """With what is wrong, and nothing is kept."""
    isolate(register, Isolate("STG", "pump open"), CE)
    deed = isolate if isinstance(command, Isolate) else end_isolation
    with pytest.raises(Refusal) as refused:
        deed(register, command, CE)
    assert refused.value.code == code
    assert [row.machine for row in standing(register, every=True)] == ["STG"]


def test_request_of_another_deed_is_refused(register: Register) -> None:
    """The same request id never lets another machine, or another end, be taken for entered."""
    isolate(register, OUT, CE._replace(request_id="a"))
    with pytest.raises(NotAllowed, match="used for another deed"):
        isolate(register, OUT._replace(machine="STG"), CE._replace(request_id="a"))
    isolate(register, Isolate("STG", "pump open"), CE)
    end_isolation(register, EndIsolation("AE1", "run"), CE._replace(request_id="b"))
    with pytest.raises(NotAllowed, match="used for another deed"):
        end_isolation(register, EndIsolation("STG", "run"), CE._replace(request_id="b"))
    assert [row.machine for row in standing(register)] == ["STG"]


def test_clock_of_the_computer_put_back(register: Register) -> None:
    """What was isolated by a clock an hour ahead is still not to be started, and is not ended twice."""
    isolate(register, OUT, Signer("CE", AT + HOUR))
    assert [row.machine for row in standing(register)] == ["AE1"]
    assert marked(register) == {"AE1", "AE1-LOP"}
    assert standing(register, Asked(AT, as_of="2025-07-01 20:00")) == ()
    end_isolation(register, EndIsolation("AE1", "run"), Signer("CE", AT + 2 * HOUR))
    with pytest.raises(NotFound, match="AE1 has no isolation"):
        end_isolation(register, EndIsolation("AE1", "run"), CE)
    assert len(standing(register, every=True)) == 1


def test_end_by_mistake_is_struck(register: Register) -> None:
    """The machine is down again; an isolation that has not ended has no end to strike."""
    isolate(register, OUT, CE)
    (row,) = standing(register)
    with pytest.raises(NotFound, match="no end of isolation"):
        strike_isolation(register, row.number, "still open", CE, end=True)
    end_isolation(register, EndIsolation("AE1", "run"), CE)
    strike_isolation(register, row.number, "still open", CE, end=True)
    assert [one.machine for one in standing(register)] == ["AE1"]


@pytest.mark.parametrize(
    "number",
    [
        pytest.param("999", id="other"),
        pytest.param("9" * 26, id="beyond-all-numbers"),
        pytest.param("x", id="no-number"),
    ],
)
def test_unknown_number_is_not_struck(register: Register, number: str) -> None:
    """A number of something else is no isolation."""
    with pytest.raises(NotFound, match="no isolation"):
        strike_isolation(register, number, "wrong", CE)
