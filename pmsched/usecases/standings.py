"""The standing of every job unit: facts streamed from the store, worked out one by one by the engine."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.aims import NO_COUNTS, Doing, DoingKind, RuleTerms, compile_rule
from pmsched.domain.counters import Count
from pmsched.domain.due import Standing, stand
from pmsched.domain.written import read_rule
from pmsched.store.due_facts import due_rows, first_closings
from pmsched.store.lookups import critical_machines
from pmsched.usecases.counting import machine_counts, totals_offered
from pmsched.usecases.views import Scene

_NO_COUNTS: dict[str, Count] = {}
# Kinds by their stored number, without a call per row.
_KINDS = tuple(DoingKind)


class JobStanding(NamedTuple):
    """One job unit with what its standing was worked out from."""

    job_id: int
    machine_id: int
    unit: str
    critical: bool
    class_item: bool
    standing: Standing
    terms: RuleTerms
    doing: Doing | None
    counts: dict[str, Count]


@lru_cache(maxsize=4096)
def terms_of(rule: str) -> RuleTerms:
    """The compiled terms of a written rule; each distinct rule is read once."""
    return compile_rule(read_rule(rule))


def standings(connection: Connection, scene: Scene, job_ids: frozenset[int] | None = None) -> Iterator[JobStanding]:
    """The standing of every job unit in the order of the register, or of the given jobs."""
    counts = machine_counts(connection, scene)
    firsts = _firsts(connection, scene)
    critical_places = critical_machines(connection, scene.view)
    settings, today = scene.settings, scene.today
    for job_id, machine_id, unit, rule, critical, class_item, kind, done_on, done_at, totals in _by_unit(
        due_rows(connection, scene.view, job_ids)
    ):
        terms = terms_of(rule)
        doing = None
        if kind is not None:
            known = (
                totals
                if terms.units <= totals.keys()
                else _with_missing(connection, scene, machine_id, done_at, totals)
            )
            doing = Doing(done_on, known, _KINDS[kind], firsts.get((job_id, unit)))
        own = counts.get(machine_id, _NO_COUNTS)
        standing = stand(terms, doing, own, today, settings)
        is_critical = critical or machine_id in critical_places
        yield JobStanding(job_id, machine_id, unit, is_critical, class_item, standing, terms, doing, own)


def _by_unit(rows: Iterator[Any]) -> Iterator[list[Any]]:
    """Adjacent rows of one job unit as one, ending in the totals at its last doing by counted unit."""
    key: Any = None
    for *said, counted, total, _closing in rows:
        if key is not None and said[0] == key[0] and said[2] == key[2]:
            key[-1][counted] = total
            continue
        if key is not None:
            yield key
        said.append({} if counted is None else {counted: total})
        key = said
    if key is not None:
        yield key


def _with_missing(
    connection: Connection, scene: Scene, machine_id: int, done_at: int, totals: dict[str, int]
) -> dict[str, int]:
    """Totals at a doing from before its rule had this limb: read off the line between readings."""
    offered = totals_offered(connection, scene, machine_id, done_at)
    return {unit: between.total for unit, between in offered.items()} | totals


def _firsts(connection: Connection, scene: Scene) -> dict[tuple[int, str], Doing]:
    """The first doing of every job unit whose rule counts from the aim."""
    firsts: dict[tuple[int, str], Doing] = {}
    for job_id, unit, done_on, counted, total in first_closings(connection, scene.view):
        earlier = firsts.get((job_id, unit))
        counts = dict(earlier.counts) if earlier else {}
        if counted is not None:
            counts[counted] = total
        firsts[job_id, unit] = Doing(done_on, counts or NO_COUNTS)
    return firsts
