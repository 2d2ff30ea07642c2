"""Every command explains itself with an example, and the manual's pages can be read."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import click
import pytest
from command_line import Run

from pmsched.cli import help as help_module
from pmsched.cli.house import SAFETY, HouseCommand, HouseGroup
from pmsched.cli.main import program
from pmsched.cli.names import COMMANDS


def every_command() -> Iterator[tuple[str, click.Command]]:
    """All commands and the commands under them, with the words that call them."""
    root = click.Context(program, info_name="pmsched")
    for name in program.list_commands(root):
        command = program.get_command(root, name)
        assert command is not None
        yield name, command
        if isinstance(command, click.Group):
            yield from ((f"{name} {under}", found) for under, found in command.commands.items())


EVERY = dict(every_command())


@pytest.mark.parametrize("words", EVERY)
def test_help_has_an_example(bare: Run, words: str) -> None:
    """The help of a command says what it does in a sentence, and shows how it is typed."""
    command = EVERY[words]
    assert isinstance(command, HouseCommand | HouseGroup)
    assert command.examples
    assert all(example.startswith(f"pmsched {words}") for example in command.examples)
    said = bare(*words.split(), "--help")
    assert said.code == 0
    assert "Example:\n" in said.out
    assert all(example in said.out for example in command.examples)
    assert (command.help or "").split("\n")[0].endswith((".", ":"))


@pytest.mark.parametrize("words", [words for words, command in EVERY.items() if isinstance(command, HouseCommand)])
def test_every_option_is_explained(words: str) -> None:
    """No option stands without a word about it."""
    silent = [p.name for p in EVERY[words].params if isinstance(p, click.Option) and not p.help]
    assert silent == []


def test_help_alone_lists_commands_and_the_notice(bare: Run) -> None:
    """The notice comes first; every command has its line."""
    said = bare("help")
    assert said.out.startswith(SAFETY)
    assert all(f"  {name} " in said.out for name in COMMANDS)


def test_help_of_a_command_is_its_help_text(bare: Run) -> None:
    """``pmsched help due`` says what ``pmsched due --help`` says."""
    assert bare("due", "--help").out in bare("help", "due").out + "\n"


def test_help_prints_a_page(bare: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A page of the manual is printed by its name, in any case, and listed."""
    (tmp_path / "counters.md").write_text("# Counters\n\nWhat they count.\n", encoding="utf-8")
    monkeypatch.setattr(help_module, "MANUAL", tmp_path)
    assert bare("help", "Counters").out == "# Counters\n\nWhat they count.\n"
    assert "  counters\n" in bare("help").out


def test_page_and_command_of_one_name(bare: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where both exist, the page comes first and the command's help after it."""
    (tmp_path / "due.md").write_text("# The due list\n", encoding="utf-8")
    monkeypatch.setattr(help_module, "MANUAL", tmp_path)
    said = bare("help", "due").out
    assert said.index("# The due list") < said.index("Usage: pmsched due")


def test_unknown_topic_names_the_choices(bare: Run) -> None:
    """A slip is refused with what was probably meant, and with all there is."""
    said = bare("help", "machine")
    assert said.code == 1
    assert "Did you mean machines" in said.err
    assert "restore" in said.err
