"""Ask which running totals would be kept with work done then, before it is reported. Nothing is written."""

from __future__ import annotations

from datetime import date, time

from pmsched.store.register import Register
from pmsched.usecases.counting import totals_offered
from pmsched.usecases.report_work import CountKept, basis_words, done_instant, find_job, offered_columns
from pmsched.usecases.views import Asked, scene


def offered(
    register: Register, asked: Asked, job: str, done_on: date, done_time: time | None = None
) -> tuple[CountKept, ...]:
    """The totals offered from the readings, by unit of counter, each with its basis in words.

    Raises:
        NotFound: there is no such job.
        NotAllowed: the work would be done in the future.
    """
    with register.reading() as connection:
        seen = scene(connection, asked)
        machine_id = find_job(connection, seen, job).machine_id
        done_at = done_instant(seen, done_on, done_time, asked.now)
        offers = totals_offered(connection, seen, machine_id, done_at)
        return tuple(
            CountKept(unit, offer.total, basis_words(offered_columns(unit, offer)))
            for unit, offer in sorted(offers.items())
        )
