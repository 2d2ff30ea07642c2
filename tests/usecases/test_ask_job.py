"""A job's card, the totals offered before it is reported, and what is open on the Watch."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, time, timedelta

import pytest
from registers import AT
from watch_ship import watch_ship

from pmsched.domain.errors import NotAllowed, NotFound
from pmsched.store.register import Register
from pmsched.usecases.ask_due import DueFilter, DueRow, due_list
from pmsched.usecases.ask_job import job_card
from pmsched.usecases.ask_offer import offered
from pmsched.usecases.ask_open import WORK_DAYS, partly_done
from pmsched.usecases.ask_watch import watch
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

NOW = Asked(AT)
TODAY = date(2025, 7, 1)


@pytest.fixture(scope="module")
def ship(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Register]:
    """The vessel; nothing here writes to it for good."""
    with Register(str(watch_ship(tmp_path_factory.mktemp("job")))) as register:
        yield register


# --- the card ---------------------------------------------------------------------------------------------------------


def test_card_holds_units_steps_and_doings(ship: Register) -> None:
    """By the code in any case; what was done last comes first."""
    card = job_card(ship, NOW, "ae1-vlv")
    assert card.steps.splitlines() == ["Turn to firing top", "Measure", "Set"]
    assert [(row.job, row.unit, row.state) for row in card.units] == [("AE1-VLV", "", "overdue")]
    injectors = job_card(ship, NOW, "AE1-INJ")
    assert [row.unit for row in injectors.units] == ["1", "2", "3"]
    assert [row.done_on for row in injectors.doings] == [date(2025, 6, 29), date(2025, 6, 28), date(2025, 3, 20)]
    assert injectors.header.seal == card.header.seal


def test_card_of_an_unknown_job_names_near_ones(ship: Register) -> None:
    """As every question about a job."""
    with pytest.raises(NotFound, match="AE1-VLV"):
        job_card(ship, NOW, "AE1-VLX")


# --- the offer --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("day", "hour", "hours", "basis"),
    [
        pytest.param(date(2025, 6, 1), time(12), 12400, "from a reading", id="at-a-reading"),
        pytest.param(date(2025, 6, 16), time(12), 12500, "interpolated", id="halfway"),
        pytest.param(TODAY, None, 12600, "from a reading", id="today"),
    ],
)
def test_offer_is_what_a_report_keeps(ship: Register, day: date, hour: time | None, hours: int, basis: str) -> None:
    """Asked beforehand, and kept by a report of the same moment: the same total with the same basis."""
    (offer,) = offered(ship, NOW, "AE1-VLV", day, hour)
    assert (offer.unit, offer.total // 3600, offer.basis) == ("h", hours, basis)
    kept = report_work(ship, ReportWork("AE1-VLV", day, hour), Signer("CE", AT), rehearse=True)
    assert kept.counts == (offer,)


def test_machine_without_counter_offers_nothing(ship: Register) -> None:
    """There is nothing to type over."""
    assert offered(ship, NOW, "BLG-ALM", TODAY) == ()


def test_work_in_the_future_offers_nothing(ship: Register) -> None:
    """It is refused as the report would be."""
    with pytest.raises(NotAllowed, match="lies ahead"):
        offered(ship, NOW, "AE1-VLV", TODAY + timedelta(days=1))


# --- what is open -----------------------------------------------------------------------------------------------------


def test_watch_tells_what_is_open(ship: Register) -> None:
    """The reading that is held, and the job of which two units are done."""
    seen = watch(ship, NOW, "watch", "engine")
    assert [(one.kind, one.code, one.since) for one in seen.open] == [
        ("held", "AE1-H", TODAY), ("partly", "AE1-INJ", date(2025, 6, 28)),
    ]  # fmt: skip
    assert seen.open[0].said == "reading 12 066 h cannot be true"
    assert seen.open[1].said == "Renew the injectors: 2 of 3 done, open: 3"
    assert seen.held == 1


def injectors(ship: Register) -> list[DueRow]:
    """The units of the injectors as they stand."""
    return [row for row in due_list(ship, NOW, DueFilter(within_days=None)).rows if row.job == "AE1-INJ"]


@pytest.mark.parametrize(
    ("day", "found"),
    [
        pytest.param(date(2025, 6, 29) + timedelta(days=WORK_DAYS), ["2025-06-29"], id="last-day"),
        pytest.param(date(2025, 6, 30) + timedelta(days=WORK_DAYS), [], id="day-after"),
    ],
)
def test_units_done_long_ago_are_no_open_work(ship: Register, day: date, found: list[str]) -> None:
    """Units that merely keep different dates are not told as half-done work."""
    assert [str(one.since) for one in partly_done(injectors(ship), day)] == found


def test_work_that_is_done_is_not_open(ship: Register) -> None:
    """With no unit due, nothing is open; with no unit done, nothing was begun."""
    rows = injectors(ship)
    assert list(partly_done([row for row in rows if row.unit != "3"], TODAY)) == []
    assert list(partly_done([row for row in rows if row.unit == "3"], TODAY)) == []
