"""Nothing the program has is missing from the manual: commands, options, columns, keys, settings, variables, screens.

What is there is asked of the program itself, so that whatever is added is missed here until it is written down. That
what the manual says is right is the matter of ``test_manual``.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, get_args

import click
import pytest
from manual_pages import PAGES, pages_of, points, referred_to, says, under

import pmsched
from pmsched.cli.context import house_options
from pmsched.cli.main import program
from pmsched.cli.names import COMMANDS
from pmsched.domain.due import Settings
from pmsched.exchange.columns import INPUT_FILES, Kind
from pmsched.tui.actions import ACTIONS, Action
from pmsched.tui.key_names import key_name
from pmsched.tui.modes import MODES
from pmsched.usecases import export_tables

CODE = Path(pmsched.__file__).parent
HOUSE_OPTIONS = {name for option in house_options(variables=False) for name in option.opts}


# --- commands and options -------------------------------------------------------------------------------------------


def commands() -> Iterator[tuple[str, str, click.Command]]:
    """Every command, also under another one: its topic, the words that call it, and the command."""
    root = click.Context(program, info_name="pmsched")
    for name in COMMANDS:
        command = program.get_command(root, name)
        assert command is not None
        yield name, name, command
        for under_it, found in getattr(command, "commands", {}).items():
            yield name, f"{name} {under_it}", found


EVERY = [pytest.param(topic, words, command, id=words) for topic, words, command in commands()]
TAKEN_WORDS = [
    pytest.param(topic, words, option.type.choices, id=f"{words} {option.name}")
    for topic, words, command in commands()
    for option in command.params
    if isinstance(option.type, click.Choice)
]


@pytest.mark.parametrize("topic", COMMANDS)
def test_every_command_has_a_page_of_its_own(topic: str) -> None:
    """By its name, so that 'pmsched help COMMAND' shows it, with at least one line as it is typed."""
    assert topic in PAGES
    assert re.search(rf"^    pmsched {topic}\b", PAGES[topic], re.MULTILINE)


@pytest.mark.parametrize(("topic", "words", "command"), EVERY)
def test_every_option_is_named_on_the_page_of_its_command(topic: str, words: str, command: click.Command) -> None:
    """All its names; those that every command takes are on a page of their own."""
    options = [option for option in command.params if isinstance(option, click.Option)]
    names = {name for option in options for name in option.opts} - HOUSE_OPTIONS
    assert sorted(name for name in names if not says(pages_of(topic), name)) == []
    assert f"pmsched {words}" in pages_of(topic)


@pytest.mark.parametrize(("topic", "words", "choices"), TAKEN_WORDS)
def test_every_word_that_an_option_takes_is_named(topic: str, words: str, choices: tuple[str, ...]) -> None:
    """On the page of the command, or on one to which it sends the reader."""
    text = f"{pages_of(topic)}\n\n{referred_to(topic)}"
    assert [choice for choice in choices if not says(text, choice)] == [], words


def test_options_of_every_command_have_a_page() -> None:
    """With those of the program itself."""
    root = click.Context(program, info_name="pmsched")
    names = {name for option in program.get_params(root) for name in option.opts} | HOUSE_OPTIONS
    assert sorted(name for name in names if not says(PAGES["options"], name)) == []


def test_every_page_is_found_by_what_one_looks_for() -> None:
    """The page on help lists all of them by what they are about."""
    listed = [name for names in points(PAGES["help"]).values() for name in re.split(r",\s+", names)]
    assert set(listed) == PAGES.keys() - {"help"}


def test_pages_that_messages_name_are_there() -> None:
    """Whoever is sent to the manual by the program finds the page."""
    texts = [path.read_text(encoding="utf-8") for path in CODE.rglob("*.py")]
    named = {name for text in texts for name in re.findall(r"pmsched help ([a-z-]+)", text)}
    assert "files" in named
    assert sorted(named - PAGES.keys() - COMMANDS.keys()) == []


# --- columns --------------------------------------------------------------------------------------------------------


def written_columns(room: str) -> dict[str, set[str]]:
    """The headings of the columns that the modules of a room write, as they stand in the code, by module."""
    found: dict[str, set[str]] = {}
    for path in sorted((CODE / room).rglob("*.py")):
        calls = [node for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(node, ast.Call)]
        columns = [node.args[0] for node in calls if getattr(node.func, "id", "") == "Column" and node.args]
        names = {one.value for one in columns if isinstance(one, ast.Constant) and isinstance(one.value, str)}
        if names - {""}:
            found[path.stem] = names - {""}
    return found


# Where the columns of a module are explained, if not on the page of the same name.
PAGE_OF_MODULE = {
    "amend_form": "correct",
    "history_words": "history",
    "machine_card": "machinery",
    "records_lines": "records",
    "round_lines": "round",
    "round_sign": "round",
    "round_words": "round",
    "starts_words": "files-starts",
    "ticked_form": "watch",
}
LISTS = [
    pytest.param(PAGE_OF_MODULE.get(module, module), names, id=f"{room}-{module}")
    for room in ("cli", "tui")
    for module, names in written_columns(room).items()
]


def test_columns_are_found_in_the_code() -> None:
    """The test below looks at something."""
    assert written_columns("cli")["due"] >= {"state", "left", "marks"}
    assert written_columns("tui")["watch"] >= {"state", "need", "life"}


@pytest.mark.parametrize(("topic", "names"), LISTS)
def test_every_column_of_a_list_is_explained(topic: str, names: set[str]) -> None:
    """As a point on the page of the command or screen, together with others where one sentence says it."""
    told = {one.strip() for point in points(pages_of(topic)) for one in point.split(",")}
    assert sorted(names - told) == []


@pytest.mark.parametrize("kind", get_args(Kind))
def test_what_may_be_written_in_a_cell_is_told_for_every_column(kind: str) -> None:
    """Each kind of cell is a point that names its columns; an input column of no kind would be of none."""
    columns = {column.name for file in INPUT_FILES.values() for column in file.columns if column.kind == kind}
    told = {frozenset(re.split(r",\s*", names)) for names in points(PAGES["files-cells"])}
    assert frozenset(columns) in told or not columns


EXPORTS = {
    name.lower(): names
    for name, names in vars(export_tables).items()
    if name.isupper() and isinstance(names, tuple) and all(isinstance(one, str) for one in names)
}
SEVERAL = "Columns of several lists:"


def export_columns(opening: str) -> set[str]:
    """The columns explained under a heading of the pages on exports."""
    said = {
        name for topic in PAGES if topic.startswith("export") for name in points(f"\n{under(PAGES[topic], opening)}")
    }
    return {one.strip() for names in said for one in names.split(",")}


def test_exports_are_found_in_the_code() -> None:
    """The tests below look at something."""
    assert EXPORTS.keys() >= {"due", "history", "readings", "entries"}


@pytest.mark.parametrize("what", EXPORTS)
def test_every_column_of_an_export_is_explained(what: str) -> None:
    """Under its list, or once for several lists; and no column that is not there."""
    own, several = export_columns(f"Columns of {what}:"), export_columns(SEVERAL)
    assert [name for name in EXPORTS[what] if name not in own | several] == []
    assert own <= set(EXPORTS[what])


def test_columns_explained_for_several_lists_stand_in_several() -> None:
    """A column of one list only is explained there."""
    times = {name: sum(name in names for names in EXPORTS.values()) for name in export_columns(SEVERAL)}
    assert [name for name, count in times.items() if count < 2] == []


# --- settings, variables, keys --------------------------------------------------------------------------------------


def shown_default(field: str) -> str:
    """A default as people write it."""
    value = Settings._field_defaults[field]
    if field.endswith("_seconds"):
        return f"{value // 3600} h"
    if field.endswith("_minutes"):
        return f"{value // 60:02}:{value % 60:02}"
    return f"{value} days"


@pytest.mark.parametrize("field", [field for field in Settings._fields if field != "skipped"])
def test_every_setting_is_explained_with_what_it_is(field: str) -> None:
    """By its name in the register. ``skipped`` is not set: it comes from the ship's clock."""
    assert says(points(PAGES["settings"])[field], shown_default(field))


def test_no_setting_is_explained_that_is_not_there() -> None:
    """A setting that was taken away is missed here."""
    assert {name for name in points(PAGES["settings"]) if re.fullmatch(r"[a-z]+(_[a-z]+)+", name)} == set(
        Settings._fields
    ) - {"skipped"}


def variables() -> set[str]:
    """The environment variables that the code asks for, by their names in it."""
    asked = re.compile(r"environ(?:\.get\(|\[)\"(\w+)\"|\"(_?PMSCHED_\w+)\"")
    texts = (path.read_text(encoding="utf-8") for path in CODE.rglob("*.py"))
    return {name or own for text in texts for name, own in asked.findall(text)}


def test_every_variable_of_the_environment_is_explained() -> None:
    """Those of the program, and those of the system that it asks for."""
    found = variables()
    assert found >= {"PMSCHED_REGISTER", "PMSCHED_BY", "SHELL"}
    assert sorted(name for name in found if name not in points(PAGES["variables"])) == []


def test_every_action_can_be_put_on_other_keys_by_the_manual() -> None:
    """Its name in keys.toml stands there, and no name that would be refused."""
    names = {one for said in points(PAGES["keys-own"]).values() for one in said.removesuffix(".").split(", ")}
    assert names == {action.id for action in ACTIONS}


# --- screens --------------------------------------------------------------------------------------------------------


# What a screen leads to has its keys on the same page.
PLACES_OF_SCREEN = {
    "watch": ("watch", "ticked"),
    "round": ("round", "afresh"),
    "machinery": ("machinery", "machine", "readings", "job"),
    "records": ("records",),
}


def screen_actions() -> list[Any]:
    """Each action that belongs to a screen, with the page of that screen."""
    return [
        pytest.param(name, action, id=f"{name}-{action.id}")
        for name, places in PLACES_OF_SCREEN.items()
        for action in ACTIONS
        if action.where in places
    ]


def test_every_screen_and_place_is_looked_at() -> None:
    """A new screen has a page; an action of a new place is on one, or in what all screens share."""
    shared = {"everywhere", "lists", "filter", "forms", "moves"}
    assert set(MODES) == set(PLACES_OF_SCREEN) <= set(PAGES)
    assert {action.where for action in ACTIONS} == shared.union(*PLACES_OF_SCREEN.values()) - {"machinery"}


@pytest.mark.parametrize(("name", "action"), screen_actions())
def test_every_key_of_a_screen_stands_on_its_page(name: str, action: Action) -> None:
    """With its title, the plain key first seen."""
    lines = [line for line in PAGES[name].splitlines() if line.startswith("    ")]
    keys = [key_name(key) for key in action.keys]
    assert any(line.split()[0] in keys and action.title in line for line in lines), f"{keys[-1]}  {action.title}"


@pytest.mark.parametrize("name", MODES)
def test_help_on_a_screen_begins_with_its_page(name: str) -> None:
    """F1 there shows it first among the pages of the manual."""
    made = MODES[name]
    assert not isinstance(made, str)
    assert made().pages[0] == name  # type: ignore[attr-defined]
