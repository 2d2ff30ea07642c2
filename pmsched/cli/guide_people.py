"""The guide's first step: the other people who sign, one after the other, each on the books at once."""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Callable
from pathlib import Path

from pmsched.cli.access import asked
from pmsched.cli.asking import ask_or_stop, say
from pmsched.cli.context import moment
from pmsched.cli.words import entered
from pmsched.domain.errors import Refusal
from pmsched.exchange.cells import read_code, read_text
from pmsched.exchange.formula_guard import guarded
from pmsched.store.register import Register
from pmsched.usecases.ask_people import people_list
from pmsched.usecases.load_register import load
from pmsched.usecases.signing import Signer

_REST: tuple[tuple[str, str], ...] = (("name", ""), ("rank", ""), ("department", "engine"))


def ask_people(register: Register, signer: str) -> None:
    """Asks for people until only Enter is pressed. Raises as ``ask_or_stop``."""
    say("\nPeople who sign besides you. You can also add them later, or in a sheet people of your workbook.")
    while True:
        there = {person.code.casefold() for person in people_list(register, asked())[1]}
        code = _answer("Code of the next person (Enter: go on)", read_code, may_be_blank=True)
        if not code:
            return
        if code.casefold() in there:
            say(f"{code} is on the books already.")
            continue
        _add(register, signer, code)


def _add(register: Register, signer: str, code: str) -> None:
    said = {"code": code} | {what: _answer(f"  {what.capitalize()}", read_text, default) for what, default in _REST}
    with tempfile.TemporaryDirectory(prefix="pmsched-") as folder:
        path = Path(folder) / "people.csv"
        with path.open("w", encoding="utf-8", newline="") as stream:
            csv.writer(stream).writerows([said.keys(), [guarded(text) for text in said.values()]])
        result = load(register, [path], Signer(signer, moment()))
    if result.receipt is not None:
        say(f"{said['code']} {said['name']} is on the books; {entered(result.receipt)}.", "  ")


def _answer(question: str, read: Callable[[str], str], default: str = "", *, may_be_blank: bool = False) -> str:
    """An answer that can be used, asked for until it is one."""
    while True:
        answer = ask_or_stop(question, default)
        if not answer and may_be_blank:
            return ""
        try:
            if found := read(answer):
                return found
            say("This is needed.")
        except Refusal as refusal:
            say(str(refusal))
