"""``pmsched init``: set up a register and, at a terminal, fill it; or write the files from which one is filled."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path

import click

from pmsched.cli.access import asked, has_machines, header_of, open_register, ship_clock_of
from pmsched.cli.asking import ask, on_terminal
from pmsched.cli.context import Here, moment, pass_here
from pmsched.cli.guide import guide, offer, offer_now
from pmsched.cli.guide_file import WORKBOOK
from pmsched.cli.guide_list import write_list
from pmsched.cli.house import command
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import receipt_shape
from pmsched.cli.words import entered
from pmsched.domain.clocks import ShipClock, parse_offset
from pmsched.domain.errors import Refusal
from pmsched.domain.plain import check_text
from pmsched.exchange.list_read import find_lists
from pmsched.exchange.template_workbook import write_template_workbook
from pmsched.exchange.templates import write_templates
from pmsched.exchange.workbooks import SUFFIX
from pmsched.store.engine import sqlite_file
from pmsched.usecases.set_up import SetUp, set_up

_QUESTIONS = {
    "site": ("Name of the vessel or plant", ""),
    "code": ("Your code, by which you sign", ""),
    "name": ("Your name", ""),
    "rank": ("Your rank", ""),
    "department": ("Your department", "engine"),
    "offset": ("The clock of the ship or plant against UTC (UTC+2, UTC, -3)", "UTC"),
}


@command(
    "init",
    "pmsched init --site 'MV Example' --by CE --name 'Ida Holm' --rank 'Chief engineer' --offset UTC+2",
    "pmsched init --templates my-files",
    "pmsched init --templates ship.xlsx",
)
@click.option("--site", metavar="NAME", help="Name of the vessel or plant.")
@click.option("--name", metavar="NAME", help="Name of the first person, who signs with --by CODE.")
@click.option("--rank", metavar="RANK", help="Their rank.")
@click.option("--department", metavar="D", help="Their department; engine if not said.")
@click.option("--offset", metavar="OFFSET", help="The ship's clock against UTC: UTC+8, -3; UTC if not said.")
@click.option(
    "--templates",
    type=click.Path(path_type=Path),
    metavar="DIR|FILE.xlsx",
    help="Only write empty files to fill in: CSV files, or one workbook.",
)
@click.option(
    "--from",
    "list_of_jobs",
    type=click.Path(path_type=Path),
    metavar="LIST",
    help="With --templates FILE.xlsx: fill it from a list of jobs of your own (.xlsx or .csv).",
)
@click.option("--xlsx", is_flag=True, help=f"With --templates DIR: one workbook, {WORKBOOK}, instead of CSV files.")
@pass_here
def init(
    here: Here,
    site: str | None,
    name: str | None,
    rank: str | None,
    department: str | None,
    offset: str | None,
    templates: Path | None,
    list_of_jobs: Path | None,
    *,
    xlsx: bool,
) -> None:
    """Set up a register with its site, the ship's clock and the first person.

    On a terminal, what is not given is asked for, and then a guide brings your machinery in from a spreadsheet. Started
    again it goes on where you stopped.
    """
    if templates is not None:
        _write(here, templates, list_of_jobs, xlsx=xlsx)
        return
    if xlsx or list_of_jobs:
        raise click.UsageError(f"{'--xlsx' if xlsx else '--from'} goes with --templates.")
    guided = on_terminal() and not here.as_json
    if guided and _goes_on(here, site):
        return
    given = {"site": site, "code": here.by, "name": name, "rank": rank, "department": department, "offset": offset}
    # What was given is looked at first: nobody answers questions for a command that is refused.
    said = {what: _checked(what, value) for what, value in given.items() if value}
    try:
        said = {what: said.get(what) or _complete(what) for what in given}
    except (KeyboardInterrupt, click.Abort):
        note("\nNothing is set up yet. To begin again: pmsched init")
        raise
    offset_minutes = parse_offset(said.pop("offset"))
    receipt = set_up(here.target, SetUp(**said, offset_minutes=offset_minutes), moment())
    if here.as_json:
        document({"receipt": receipt_shape(receipt), "register": here.target})
        return
    out(f"The register is {here.target}; {entered(receipt)}.")
    if guided and offer_now():
        here.by = said["code"]
        guide(here, people=True)
        return
    note("Next: pmsched init at a terminal brings your machinery in, from a spreadsheet of your own.")
    note("Or: pmsched init --templates DIR writes empty files; fill them in, then: pmsched load DIR --check")


def _goes_on(here: Here, site: str | None) -> bool:
    """Whether a register that is set up but has no machines was gone on with, or left alone."""
    file = sqlite_file(here.target)
    if file is None or not file.exists():
        return False
    with open_register(here) as register:
        header = header_of(register, asked())
        if has_machines(register, asked()) or (site and site.strip() != header.site):
            hint = "To bring in more: pmsched load FILE --check. For another site choose another with --register."
            raise Refusal("register-exists", f"There is a register of {header.site} at {file} already.", hint)
    if offer(header.site):
        guide(here, people=False)
    return True


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


def _write(here: Here, place: Path, list_of_jobs: Path | None, *, xlsx: bool) -> None:
    if xlsx and place.suffix.casefold() != SUFFIX:
        place /= WORKBOOK
    if list_of_jobs is not None:
        _write_from(here, place, list_of_jobs)
        return
    paths = [write_template_workbook(place)] if place.suffix.casefold() == SUFFIX else write_templates(place)
    if here.as_json:
        document({"files": [str(path) for path in paths]})
        return
    for path in paths:
        out(str(path))
    note(f"Fill {'it' if len(paths) == 1 else 'them'} in, then: pmsched load {place} --check")


def _write_from(here: Here, place: Path, list_of_jobs: Path) -> None:
    if place.suffix.casefold() != SUFFIX:
        raise click.UsageError(f"--from needs a workbook: --templates FILE{SUFFIX}.")
    if not list_of_jobs.exists():
        raise Refusal("no-such-file", f"There is no file {list_of_jobs}.", "Check the path.")
    found = find_lists(list_of_jobs)
    if found is None:
        hint = "It needs headings such as equipment, job description and interval. See: pmsched help files-lists"
        raise Refusal("no-list", f"{list_of_jobs} is no list of jobs that can be taken apart.", hint)
    write_list(found, place, _ship_time(here), ask_doubts=on_terminal())
    if here.as_json:
        document({"files": [str(place)]})
        return
    out(str(place))
    note(f"Look at it, then: pmsched load {place} --check")


def _ship_time(here: Here) -> datetime:
    """By the clock of the register, or UTC where there is none yet."""
    file = sqlite_file(here.target)
    if file is None or not file.exists():
        return ShipClock().ship_time(moment())
    with open_register(here) as register:
        return ship_clock_of(register).ship_time(moment())
