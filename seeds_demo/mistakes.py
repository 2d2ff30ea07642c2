"""Mistakes in reports, and how they were put right: words forgotten, and work reported on the twin of a machine.

Neither changes what was really done. Knows reports; knows no meters.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date, time, timedelta
from functools import cache
from random import Random

from seeds_demo.catalogue import jobs
from seeds_demo.doings import Crew
from seeds_demo.events import ReportCorrectionEvent, ReportEvent
from seeds_demo.people import on_board

_WORDS_FORGOTTEN = (
    "remark and condition forgotten, taken from the notebook",
    "wrong grade ticked, remark added",
    "report was sent too early, words added",
    "condition seen wrong on the first look",
)
_WRONG_MACHINE = (
    "reported on the wrong machine, it was the other one",
    "wrong line chosen, this one was not touched",
    "numbers mixed up, the sheet says the other one",
)
_CALM_DAYS = 60


def with_mistakes(given: Sequence[ReportEvent], crew: Crew) -> Iterator[ReportEvent | ReportCorrectionEvent]:
    """The reports with some made incomplete and some put on the wrong machine as well, each put right days later."""
    rng = crew.chance("mistakes")
    quiet_from = crew.meters.today - timedelta(days=_CALM_DAYS)
    early = [report for report in given if report.recorded_on < quiet_from]
    spoilt = set(rng.sample([report for report in early if report.remarks], len(_WORDS_FORGOTTEN)))
    taken = {(report.job, report.done_on) for report in given}
    mistaken = [report for report in early if _twin_free(report, taken)]
    yield from (report for report in given if report not in spoilt)
    for report, reason in zip(sorted(spoilt, key=_moment), _WORDS_FORGOTTEN, strict=True):
        yield replace(report, condition="as new", remarks="")
        yield _put_right(report, report.job, reason, crew, rng)
    for report, reason in zip(rng.sample(mistaken, len(_WRONG_MACHINE)), _WRONG_MACHINE, strict=True):
        twin = _twins()[report.job]
        yield replace(report, job=twin, condition="as new", remarks="", recorded_time=_a_little_before(report))
        yield replace(_put_right(report, twin, reason, crew, rng), condition=None, remarks="")


def _put_right(report: ReportEvent, job: str, reason: str, crew: Crew, rng: Random) -> ReportCorrectionEvent:
    on = report.recorded_on + timedelta(days=rng.randint(1, 6))
    by = on_board("Second engineer", crew.meters.day_of(on), rng).code
    at = time(rng.randint(13, 20), rng.randint(0, 59))
    return ReportCorrectionEvent(on, at, by, job, report.done_on, reason, report.condition, report.remarks)


def _a_little_before(report: ReportEvent) -> time:
    return report.recorded_time.replace(minute=0)


def _moment(report: ReportEvent) -> tuple[date, time, str]:
    return report.recorded_on, report.recorded_time, report.job


def _twin_free(report: ReportEvent, taken: set[tuple[str, date]]) -> bool:
    twin = _twins().get(report.job)
    return twin is not None and not report.units and (twin, report.done_on) not in taken


@cache
def _twins() -> dict[str, str]:
    """A job of the same kind on the next machine alike; only jobs that go by the calendar alone."""
    alike: dict[str, list[str]] = {}
    for job in jobs():
        if not job.counted:
            alike.setdefault(f"{job.title} {job.limbs} {job.rank}", []).append(job.code)
    return {code: codes[n - 1] for codes in alike.values() if len(codes) > 1 for n, code in enumerate(codes)}
