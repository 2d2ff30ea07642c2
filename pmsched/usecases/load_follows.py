"""Who counts on whose counter: what the files say of it, what that changes, and what machines count on afterwards.

A machine counts on the counters it carries, unless its row names another one for that unit. Nothing that stands is
ended only because a file names something else from a later day.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from fractions import Fraction
from typing import Any, NamedTuple

from pmsched.exchange.rows import Follow
from pmsched.store.loaded_facts import version_now
from pmsched.store.opening import BEGINNING
from pmsched.store.tables import COUNTS_ON
from pmsched.usecases.load_changes import Change, share_shown
from pmsched.usecases.load_scene import Loading, key_of

WHOLE = Fraction(1)


class Wanted(NamedTuple):
    """What the files say: a counter by its key, from a date (None: none is named), with a share; ``own`` if implied."""

    counter: str
    from_on: date | None
    share: Fraction
    own: bool = False


class Plan(NamedTuple):
    """What changes for one machine: what is added (with its date), what is ended, and what takes another share."""

    added: tuple[Wanted, ...] = ()
    ended: tuple[Any, ...] = ()
    reshared: tuple[tuple[Any, Fraction], ...] = ()


def load_follows(load: Loading) -> None:
    """Write what the machines count on."""
    for machine in _machines_touched(load):
        plan = plan_of(load, machine)
        there = load.names.ids["machines"][machine]
        row = load.names.machine_row(machine)
        if row is not None and (changes := _changes(load, machine, plan)):
            load.tally.saw("machines", row.code, row, changes)
        for one in plan.added:
            load.work.add(
                COUNTS_ON, machine_id=there, counter_id=load.names.ids["counters"][one.counter],
                from_on=one.from_on, share_num=one.share.numerator, share_den=one.share.denominator,
            )  # fmt: skip
        for fact in plan.ended:
            load.work.strike(COUNTS_ON, fact._mapping, load.reason)  # noqa: SLF001 - SQLAlchemy's public accessor
        for fact, share in plan.reshared:
            now = version_now(load.connection, COUNTS_ON, fact.id)
            load.work.replace(COUNTS_ON, now, load.reason, share_num=share.numerator, share_den=share.denominator)


def wanted_of(load: Loading, machine: str) -> dict[str, list[Wanted]]:
    """By unit, what the files say that a machine counts on; oldest first. Counters that do not exist are passed over."""
    names, row = load.names, load.names.machine_row(machine)
    found: dict[str, list[Wanted]] = defaultdict(list)
    for follow in row.counts_on if row else ():
        if names.known("counters", follow.counter):
            found[names.unit_of(follow.counter)].append(_named(follow))
    for unit, counters in _implied(load, machine).items():
        if unit not in found:
            found[unit] = [Wanted(counter, None, WHOLE, own=True) for counter in counters]
    for follows in found.values():
        follows.sort(key=lambda one: one.from_on or BEGINNING)
    return found


def plan_of(load: Loading, machine: str) -> Plan:
    """What the files change for a machine, by its key."""
    wanted = wanted_of(load, machine)
    said = _by_unit(load, load.before.said_facts(COUNTS_ON, "machine_id"), machine)
    live = _by_unit(load, load.before.live_facts(COUNTS_ON, "machine_id"), machine)
    # Without a row of its own the machine is only given the new counters that it carries.
    units = [*wanted, *(unit for unit in said if unit not in wanted)] if load.names.machine_row(machine) else wanted
    plans = [_plan(load, wanted.get(unit, []), said.get(unit, []), live.get(unit, [])) for unit in units]
    return Plan(
        tuple(one for plan in plans for one in plan.added),
        tuple(fact for plan in plans for fact in plan.ended),
        tuple(pair for plan in plans for pair in plan.reshared),
    )


def units_counted(load: Loading, machine: str) -> dict[str, str]:
    """By unit, the counter (by its key) that a machine counts on last, once the load is done. Asked before writing."""
    if (counted := load.counted.get(machine)) is not None:
        return counted
    plan = plan_of(load, machine)
    gone = {fact.id for fact in plan.ended}
    there = load.names.ids["machines"].get(machine, 0)
    rows = [fact for fact in load.before.live_facts(COUNTS_ON, "machine_id").get(there, ()) if fact.id not in gone]
    ends = [(fact.from_on, key_of(load.names.code("counters", fact.counter_id))) for fact in rows]
    ends += [(one.from_on or BEGINNING, one.counter) for one in plan.added]
    ends.sort(key=lambda end: end[0])
    load.counted[machine] = {load.names.unit_of(counter): counter for _, counter in ends}
    return load.counted[machine]


def _plan(load: Loading, wanted: list[Wanted], said: list[Any], live: list[Any]) -> Plan:
    if len(wanted) == 1 and wanted[0].from_on is None:
        return _plan_undated(load, wanted[0], said, live)
    have = {_place(load, fact): fact for fact in said}
    stands = {_place(load, fact): fact for fact in live}
    want = {(one.counter, one.from_on or BEGINNING): one for one in wanted}
    added = tuple(one._replace(from_on=at[1]) for at, one in want.items() if at not in have and at not in stands)
    reshared = tuple(
        (stands[at], one.share)
        for at, one in want.items()
        if at in stands and _share(stands[at]) != one.share and not (at in have and _share(have[at]) == one.share)
    )
    dropped = {fact.fact_id for at, fact in have.items() if at not in want}
    return Plan(added, tuple(fact for fact in live if fact.fact_id in dropped), reshared)


def _plan_undated(load: Loading, one: Wanted, said: list[Any], live: list[Any]) -> Plan:
    """One counter and no date: it holds from ever, or from the day of the load if another one holds before."""
    last = max(live, key=lambda fact: (fact.from_on, fact.id), default=None)
    for fact in (said[-1] if said else None, last):
        if fact is not None and (_place(load, fact)[0], _share(fact)) == (one.counter, one.share):
            return Plan()
    if one.own and live and not said:
        return Plan()
    return Plan((one._replace(from_on=load.from_on if live else BEGINNING),))


def _implied(load: Loading, machine: str) -> dict[str, list[str]]:
    """By unit, the counters that a machine carries and counts on without being told to.

    One that it counts on already stays the one when another of its unit comes.
    """
    names, row = load.names, load.names.machine_row(machine)
    there = names.ids["machines"].get(machine, 0)
    said = {fact.counter_id for fact in load.before.said_facts(COUNTS_ON, "machine_id").get(there, ())}
    counted = set(_by_unit(load, load.before.live_facts(COUNTS_ON, "machine_id"), machine))
    found: dict[str, list[str]] = defaultdict(list)
    for counter in names.own_counters(machine):
        unit, before = names.unit_of(counter), names.there["counters"].get(counter)
        if row is None:
            implied = before is None and unit not in counted
        else:
            implied = before is None or counter in names.rows["counters"] or load.before.loads.wrote(before.id)
        if implied:
            found[unit].append(counter)
    for unit, counters in found.items():
        found[unit] = [counter for counter in counters if names.ids["counters"].get(counter) in said] or counters
    return found


def _machines_touched(load: Loading) -> list[str]:
    """Keys of the machines that have a row, or a new counter, in the order of the files."""
    rows = [key_of(row.code) for row in load.bundle.machines]
    carriers = [key_of(row.machine) for row in load.bundle.counters]
    return list(dict.fromkeys([*rows, *carriers]))


def _changes(load: Loading, machine: str, plan: Plan) -> list[Change]:
    """What changes in the row of a machine that was there; a new counter that it carries changes nothing there."""
    there, row = load.names.there["machines"].get(machine), load.names.machine_row(machine)
    told = [one for one in plan.added if not (one.own and one.counter not in load.names.there["counters"])]
    if there is None or row is None or not (told or plan.ended or plan.reshared):
        return []
    live = load.before.live_facts(COUNTS_ON, "machine_id").get(there.id, ())
    old = (Wanted(*_place(load, fact), _share(fact)) for fact in live)
    new = (_named(follow) for follow in row.counts_on)
    return [Change("counts_on", _shown(load, old), _shown(load, new))]


def _shown(load: Loading, follows: Iterable[Wanted]) -> str:
    return "; ".join(
        load.names.counter_code(one.counter)
        + share_shown(one.share)
        + ("" if one.from_on in (None, BEGINNING) else f" from {one.from_on}")
        for one in follows
    )


def _named(follow: Follow) -> Wanted:
    return Wanted(key_of(follow.counter), follow.from_on, follow.share)


def _by_unit(load: Loading, facts: dict[int, list[Any]], machine: str) -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = defaultdict(list)
    for fact in facts.get(load.names.ids["machines"].get(machine, 0), ()):
        found[load.names.unit_of(_place(load, fact)[0])].append(fact)
    return found


def _place(load: Loading, fact: Any) -> tuple[str, date]:
    return key_of(load.names.code("counters", fact.counter_id)), fact.from_on


def _share(fact: Any) -> Fraction:
    return Fraction(fact.share_num, fact.share_den)
