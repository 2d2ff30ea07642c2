"""A round typed at the terminal: an earlier draft offered, the walk, what it moves, then the signature."""

from __future__ import annotations

import sys

import click

from pmsched.cli.access import asked, ship_clock_of, signer
from pmsched.cli.asking import agree, ask
from pmsched.cli.context import Here, moment
from pmsched.cli.printing import document, note
from pmsched.cli.round_walk import Walk
from pmsched.cli.round_words import round_lines, show_receipt
from pmsched.cli.shapes_deeds import round_shape
from pmsched.cli.tables import terminal_width
from pmsched.cli.words import ship_time, some
from pmsched.domain.errors import Refusal
from pmsched.store.register import Register
from pmsched.usecases.ask_round import judge_value, round_sheet
from pmsched.usecases.record_round import record_round
from pmsched.usecases.round_draft import RoundDraft

_KEPT = "What was typed is kept. To go on: pmsched round"


def type_round(here: Here, register: Register, at: int | None, *, check: bool) -> None:
    """Ask for the meters line by line, then for a signature.

    Args:
        here: for whom.
        register: the open register.
        at: the instant of the walk; None: each line counts when it is typed.
        check: show what would move, and do not ask to sign.
    """
    clock = ship_clock_of(register)
    now = moment()
    draft = _draft(here)
    at = draft.at = draft.at if at is None else at
    sheet = round_sheet(register, asked()._replace(now=now if at is None else at))
    if not sheet:
        note("There is no counter in this register. Load counters.csv first: pmsched load")
        return
    _leave_out(draft, {line.counter for line in sheet})
    note(f"Round of {some(len(sheet), 'meter')}, read at {ship_time(clock, now if at is None else at)} ship's time.")
    walk = Walk(
        sheet,
        draft,
        lambda counter, typed: judge_value(register, asked(), counter, *typed),
        lambda: moment() if at is None else at,
        clock.ship_date(now),
        sys.stdin,
        sys.stderr,
        terminal_width(),
    )
    try:
        finished = walk.run(draft.where_left([line.counter for line in sheet]))
        while finished and draft.typed:
            answer = _sign(here, register, draft, [line.counter for line in sheet], check=check)
            if answer != "back":
                return
            finished = walk.run(len(sheet) - 1)
    except (KeyboardInterrupt, click.Abort, Refusal):
        if draft.typed:
            note(f"\n{_KEPT}")
        raise
    note(_KEPT if draft.typed else "Nothing was typed.")


def _draft(here: Here) -> RoundDraft:
    """The draft to go on with, or a new one if the person wants the old one gone."""
    draft = RoundDraft(here.target)
    if draft.typed:
        note(f"A round is begun and not signed: {some(len(draft.typed), 'meter')} typed.")
        if ask("Go on with it? [Y/n]").lower() in {"n", "no"} and agree("Throw away what was typed?"):
            draft.remove()
    return draft


def _leave_out(draft: RoundDraft, counters: set[str]) -> None:
    """Take out what was typed for counters that are not on the round any more, and say so."""
    for code in set(draft.typed) - counters:
        note(f"{code} is not on the round any more: {draft.typed[code].value}, typed earlier, is left out.")
        draft.take(code)


def _sign(here: Here, register: Register, draft: RoundDraft, order: list[str], *, check: bool) -> str:
    """Show what the round moves, and keep it if the person signs; 'back' to return to the lines."""
    lines = draft.lines(order)
    person = signer(here)
    note()
    for line in round_lines(record_round(register, lines, person, rehearse=True), terminal_width()):
        note(line)
    if check:
        note("Nothing was kept but the draft.")
        return "checked"
    answer = ask(f"Sign this round as {person.person}? [y: sign, b: back to the lines, n: later]").lower()
    if answer in {"b", "back"}:
        return "back"
    if answer not in {"y", "yes"}:
        note(_KEPT)
        return "later"
    signed = person._replace(at=moment(), request_id=draft.request_id())
    result = record_round(register, lines, signed)
    draft.remove()
    if here.as_json:
        document(round_shape(lines, result, ship_clock_of(register), checked_only=False))
    else:
        show_receipt(result)
    return "signed"
