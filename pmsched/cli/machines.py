"""``pmsched machines``: the tree in walking order, machines found by any of their names, and one machine's card."""

from __future__ import annotations

from collections.abc import Iterator

import click

from pmsched.cli.access import asked, open_register
from pmsched.cli.context import Here, pass_here
from pmsched.cli.due import due_table
from pmsched.cli.house import asked_options, command
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes_records import card_shape, machine_list_shape
from pmsched.cli.tables import Column, table, terminal_width, wrapped
from pmsched.cli.words import dial_text, heading, ship_time, some
from pmsched.domain.counts import format_amount, format_hours
from pmsched.store.register import Register
from pmsched.usecases.ask_machines import (
    CounterLine,
    MachineCard,
    MachineList,
    MachineRow,
    PartLine,
    machine_card,
    machine_list,
)
from pmsched.usecases.views import Asked

_TREE = (
    Column("machine"), Column("name", cut=True), Column("department", spare=True), Column("jobs", right=True),
    Column("most urgent"), Column("", spare=True),
)  # fmt: skip
_COUNTERS = (
    Column("counter"), Column("reads", right=True), Column("total", right=True), Column("read on"),
    Column("age"), Column("use", spare=True), Column("", cut=True, spare=True),
)  # fmt: skip
_PARTS = (
    Column("part"), Column("name", cut=True), Column("since"), Column("h since overhaul", right=True),
    Column("h since new", right=True), Column("note", spare=True),
)  # fmt: skip


@command("machines", "pmsched machines", "pmsched machines lube oil pump")
@click.argument("find", nargs=-1, metavar="[FIND...]")
@asked_options
@pass_here
def machines(here: Here, find: tuple[str, ...], as_of: str | None, known_on: str | None) -> None:
    """List the machines in walking order, or those whose code or any name holds the words; one alone shows its card."""
    question = asked(as_of, known_on)
    with open_register(here) as register:
        found = machine_list(register, question, " ".join(find))
        code = _one(found, " ".join(find))
        if code is not None:
            _show_card(here, register, question, code)
            return
    if here.as_json:
        document(machine_list_shape(found))
        return
    shown = f"{len(found.rows)} of {some(found.looked_at, 'machine')}"
    out(heading(found.header, shown, terminal_width()))
    for line in tree_lines(found, terminal_width()):
        out(line)
    if find and not found.rows:
        note("No machine has all of these words in its code or a name of it.")


def tree_lines(found: MachineList, width: int) -> Iterator[str]:
    """The machines as text, children set in under their parent where the whole tree is shown."""
    whole = len(found.rows) == found.looked_at
    if found.rows:
        yield from table(_TREE, [_tree_cells(row, indent=row.depth if whole else 0) for row in found.rows], width)


def card_lines(card: MachineCard, width: int) -> Iterator[str]:
    """One machine's card as text."""
    row = card.machine
    marks = [row.department, "critical" if row.critical else "", "" if row.active else "not in use"]
    yield f"{row.code}  {row.name}  ({', '.join(mark for mark in marks if mark)})"
    if row.other_names:
        yield f"also called: {'; '.join(row.other_names)}"
    if len(card.path) > 1:
        yield f"belongs to: {' > '.join(card.path[:-1])}"
    if card.children:
        yield f"has: {', '.join(card.children)}"
    for one in card.isolations:
        since = ship_time(card.clock, one.begun_at)
        yield from wrapped(f"DO NOT START {one.machine}: {one.kind} since {since}, {one.signer}: {one.said}", width)
    yield from _counter_part(card, width)
    yield ""
    yield some(len(card.jobs), "job line")
    yield from due_table(card.jobs, width, machine=False)
    if card.parts:
        yield ""
        yield from table(_PARTS, [_part_cells(part) for part in card.parts], width)


def _one(found: MachineList, words: str) -> str | None:
    """The code of the machine that is meant: the only one found, or the one called exactly so."""
    if not words:
        return None
    exact = [row for row in found.rows if words.lower() == row.code.lower()]
    rows = exact or found.rows
    return rows[0].code if len(rows) == 1 else None


def _show_card(here: Here, register: Register, question: Asked, code: str) -> None:
    card = machine_card(register, question, code)
    if here.as_json:
        document(card_shape(card))
        return
    out(heading(card.header, "card", terminal_width()))
    for line in card_lines(card, terminal_width()):
        out(line)


def _counter_part(card: MachineCard, width: int) -> Iterator[str]:
    if card.counters:
        yield ""
        yield from table(_COUNTERS, [_counter_cells(line) for line in card.counters], width)
    others = [(line.code, [code for code in line.counted_by if code != card.machine.code]) for line in card.counters]
    for code, machines_on_it in others:
        if machines_on_it:
            yield f"{code} is counted on by: {', '.join(machines_on_it)}"
    for one in card.counts_on:
        if one.machine == card.machine.code and one.share == 1:
            continue
        share = "" if one.share == 1 else f" (share {one.share})"
        total = "never read" if one.total is None else format_amount(one.total, one.unit)
        yield f"counts on {one.counter} of {one.machine}{share} since {one.from_on}: {total}"


def _tree_cells(row: MachineRow, indent: int) -> tuple[str, ...]:
    marks = ("crit" if row.critical else "", "" if row.active else "not in use")
    return (
        f"{'  ' * indent}{row.code}", row.name, row.department, str(row.jobs or ""), row.state,
        " ".join(mark for mark in marks if mark),
    )  # fmt: skip


def _counter_cells(line: CounterLine) -> tuple[str, ...]:
    if line.dial is None or line.total is None:
        return (line.code, "", "never read", "", "", "", line.name)
    return (
        line.code,
        dial_text(line.dial, line.meter),
        format_amount(line.total, line.meter.unit),
        str(line.read_on),
        some(line.age_days or 0, "day"),
        line.rate.per_day(line.meter.unit) if line.rate else "",
        f"{line.name}{' - held reading' if line.held else ''}",
    )


def _part_cells(part: PartLine) -> tuple[str, ...]:
    return (
        part.serial,
        part.name,
        str(part.since),
        "" if part.since_overhaul is None else format_hours(part.since_overhaul),
        "" if part.since_new is None else format_hours(part.since_new),
        part.note,
    )
