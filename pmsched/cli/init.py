"""``pmsched init``: set up a register, or write the empty files from which one is filled."""

from __future__ import annotations

from pathlib import Path

import click

from pmsched.cli.asking import ask, on_terminal
from pmsched.cli.context import Here, moment, pass_here
from pmsched.cli.house import command
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import receipt_shape
from pmsched.cli.words import entered
from pmsched.domain.clocks import parse_offset
from pmsched.domain.errors import Refusal
from pmsched.domain.plain import check_text
from pmsched.exchange.templates import write_templates
from pmsched.usecases.set_up import SetUp, set_up

_QUESTIONS = {
    "site": ("Name of the vessel or plant", ""),
    "code": ("Your code, by which you sign", ""),
    "name": ("Your name", ""),
    "rank": ("Your rank", ""),
    "department": ("Your department", "engine"),
    "offset": ("The ship's clock against UTC (UTC+2, UTC, -3)", "UTC"),
}


@command(
    "init",
    "pmsched init --site 'MV Example' --by CE --name 'Ida Holm' --rank 'Chief engineer' --offset UTC+2",
    "pmsched init --templates my-files",
)
@click.option("--site", metavar="NAME", help="Name of the vessel or plant.")
@click.option("--name", metavar="NAME", help="Name of the first person, who signs with --by CODE.")
@click.option("--rank", metavar="RANK", help="Their rank.")
@click.option("--department", metavar="D", help="Their department; engine if not said.")
@click.option("--offset", metavar="OFFSET", help="The ship's clock against UTC: UTC+8, -3; UTC if not said.")
@click.option("--templates", type=click.Path(path_type=Path), metavar="DIR", help="Only write empty files to fill in.")
@pass_here
def init(
    here: Here,
    site: str | None,
    name: str | None,
    rank: str | None,
    department: str | None,
    offset: str | None,
    templates: Path | None,
) -> None:
    """Set up a register with its site, the ship's clock and the first person.

    On a terminal, what is not given is asked for.
    """
    if templates is not None:
        _write(here, templates)
        return
    given = {"site": site, "code": here.by, "name": name, "rank": rank, "department": department, "offset": offset}
    # What was given is looked at first: nobody answers questions for a command that is refused.
    said = {what: _checked(what, value) for what, value in given.items() if value}
    said = {what: said.get(what) or _complete(what) for what in given}
    offset_minutes = parse_offset(said.pop("offset"))
    receipt = set_up(here.target, SetUp(**said, offset_minutes=offset_minutes), moment())
    if here.as_json:
        document({"receipt": receipt_shape(receipt), "register": here.target})
        return
    out(f"The register is {here.target}; {entered(receipt)}.")
    note("Next: pmsched init --templates DIR writes empty files; fill them in, then: pmsched load DIR --check")


def _complete(what: str) -> str:
    question, default = _QUESTIONS[what]
    if on_terminal():
        return _asked_for(what)
    if default:
        return default
    option = "--by" if what == "code" else f"--{what}"
    raise Refusal("set-up-incomplete", f"{question}: missing.", f"Give it with {option}.")


def _asked_for(what: str) -> str:
    """The answer of the person; asked again as long as it cannot be used."""
    while True:
        try:
            return _checked(what, ask(*_QUESTIONS[what]))
        except Refusal as refusal:
            note(str(refusal))


def _checked(what: str, value: str) -> str:
    """The value if it can be used. Raises Refusal."""
    if not check_text(value).strip():
        raise Refusal("set-up-incomplete", f"{_QUESTIONS[what][0]}: missing.", "A register needs it.")
    if what == "offset":
        parse_offset(value)
    return value


def _write(here: Here, folder: Path) -> None:
    paths = write_templates(folder)
    if here.as_json:
        document({"files": [str(path) for path in paths]})
        return
    for path in paths:
        out(str(path))
    note(f"Fill them in, then: pmsched load {folder} --check")
