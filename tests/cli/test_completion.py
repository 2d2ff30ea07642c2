"""Completion in the shell: what is offered, that it is offered in silence, and that real shells put it on the line."""

from __future__ import annotations

import gc
import os
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import loaded_modules
import pytest
from click.shell_completion import CompletionItem
from command_line import Run
from small_ship import NASTY

from pmsched.cli import completing
from pmsched.cli.context import COMPLETE_VARIABLE
from pmsched.cli.main import program
from pmsched.cli.names import COMMANDS
from pmsched.cli.shells import SHELLS, Bash, Fish, Zsh, answer, script
from pmsched.domain.due import State
from pmsched.store.codes import KINDS
from pmsched.usecases.report_work import CONDITIONS

Offer = Callable[..., list[str]]
REAL_SHELLS = [
    pytest.param(name, marks=pytest.mark.skipif(shutil.which(name) is None, reason=f"no {name}")) for name in SHELLS
]


@pytest.fixture(autouse=True)
def _collector() -> Iterator[None]:
    """An answer leaves the collector of garbage as it is at the end of a process; the test run goes on."""
    yield
    gc.unfreeze()
    gc.enable()


@pytest.fixture
def offer(ship: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Offer:
    """What bash is told of the words of a line, the last of them half typed; in this process."""

    def ask(*words: str, register: Path = ship, of: str = "bash") -> list[str]:
        monkeypatch.setenv("PMSCHED_REGISTER", str(register))
        monkeypatch.setenv("COMP_WORDS", "\n".join(("pmsched", *words)))
        monkeypatch.setenv("COMP_CWORD", words[-1] if of == "fish" else str(len(words)))
        assert answer(program, f"{of}_complete") == 0
        said = capsys.readouterr()
        assert said.err == ""
        return said.out.splitlines()

    return ask


def plain(*values: str) -> list[str]:
    """Values as bash is told them."""
    return [f"plain,{value}" for value in values]


# --- what is offered --------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        pytest.param(["de"], plain("demo"), id="command"),
        pytest.param(["--re"], plain("--register"), id="option-of-the-program"),
        pytest.param(["correct", ""], plain("reading", "report"), id="command-under-a-command"),
        pytest.param(["correct", "report", "--rem"], plain("--remarks"), id="option-under-a-command"),
        pytest.param(["due", "--w"], plain("--within"), id="option"),
        pytest.param(["due", "--within", ""], [], id="number"),
        pytest.param(["due", "--state", "no"], plain(r"not\ open", r"no\ date"), id="choice"),
        pytest.param(["due", "--state", "NO"], plain(r"not\ open", r"no\ date"), id="choice-in-any-case"),
        pytest.param(["due", "--state", '"no'], plain("not open", "no date"), id="choice-in-quotes"),
        pytest.param(["due", "--state", "'no"], plain("not open", "no date"), id="choice-in-single-quotes"),
        pytest.param(["due", "--state", "=", "ov"], plain("overdue"), id="choice-after-a-sign"),
        pytest.param(["due", "--machine", "ge"], plain("GE1", "GE1-PU"), id="machine"),
        pytest.param(["machines", "m"], plain("ME"), id="machine-to-find"),
        pytest.param(["why", "ge"], plain("GE1-EXV", "GE1-NEW"), id="job"),
        pytest.param(["history", "--readings", ""], plain("GE1-H", "GE1-S", "ME-H"), id="counter"),
        pytest.param(["report", "ME-LO", "--by", ""], plain("2E", "CE"), id="person-after-the-command"),
        pytest.param(["--by", ""], plain("2E", "CE"), id="person-before-the-command"),
        pytest.param(["report", "GE1-EXV", "--unit", ""], plain("1", "2"), id="unit-of-the-job"),
        pytest.param(["report", "ME-LO", "--unit", ""], [], id="unit-of-a-job-that-has-none"),
        pytest.param(["report", "GE1-EXV", "--unit", "1", "--unit", ""], plain("2"), id="unit-not-named-yet"),
        pytest.param(["report", "X", "--acting", "Ch"], plain(r"Chief\ engineer"), id="rank"),
        pytest.param(["report", "X", "--condition", r"worn,\ r"], plain(r"worn,\ renewed"), id="condition"),
        pytest.param(["help", "inter"], plain("intervals"), id="page"),
        pytest.param(["load", ""], ["file,"], id="file"),
        pytest.param(["round", ""], ["file,"], id="file-known-by-its-name"),
        pytest.param(["--register", "x"], ["file,"], id="register"),
        pytest.param(["nosuch", ""], [], id="unknown-command"),
    ],
)
def test_what_is_offered(offer: Offer, words: list[str], wanted: list[str]) -> None:
    """Commands, options, choices, codes of the register, words of the house, files."""
    assert offer(*words) == wanted


def test_all_commands_are_offered_at_the_beginning(offer: Offer) -> None:
    """In the order of the help."""
    assert offer("") == plain(*COMMANDS)


def test_where_no_word_can_follow_the_options_are_offered(offer: Offer) -> None:
    """Those of the command first; one given already is not offered again."""
    offered = offer("due", "")
    assert offered[:2] == plain("--within", "--all")
    assert "plain,--register" in offered
    assert "plain,--within" not in offer("due", "--within", "3", "")


def test_another_register_named_on_the_line_is_asked(offer: Offer, ship: Path, tmp_path: Path) -> None:
    """On either side of the command."""
    none = tmp_path / "none.db"
    assert offer("--register", str(ship), "why", "ME", register=none) == plain("ME-LO")
    assert offer("why", "--register", str(ship), "ME", register=none) == plain("ME-LO")
    assert offer("why", "ME", register=none) == []


def test_zsh_and_fish_are_told_what_a_code_is_called(offer: Offer) -> None:
    """They show it beside the code."""
    assert offer("why", "ME", of="zsh") == ["plain", "ME-LO", "Change lube oil"]
    assert offer("why", "ME", of="fish") == ["plain,ME-LO\tChange lube oil"]


@pytest.mark.parametrize("shell", [Zsh, Fish])
def test_a_value_after_a_sign_comes_whole(shell: type[Zsh | Fish]) -> None:
    """These shells replace the whole word."""
    found = shell(program, {}, "pmsched", COMPLETE_VARIABLE).get_completions(["due"], "--state=ov")
    assert [item.value for item in found] == ["--state=overdue"]


def test_every_kind_of_code_is_one_the_register_knows() -> None:
    """A slip here would never be seen: errors are silent."""
    assert set(completing.CODES.values()) == set(KINDS)


@pytest.mark.parametrize("name", sorted({*completing.CODES, *completing.FILES}))
def test_every_name_that_is_completed_is_that_of_a_parameter(name: str) -> None:
    """A name that no command has any more would stand there for nothing."""
    root = click.Context(program)
    commands = [command for known in COMMANDS if (command := program.get_command(root, known))]
    commands += [under for group in commands if isinstance(group, click.Group) for under in group.commands.values()]
    assert any(name == param.name for command in commands for param in command.params)


def test_conditions_and_states_are_all_offered(offer: Offer) -> None:
    """Those of the program, whatever they are."""
    assert len(offer("report", "X", "--condition", "")) == len(CONDITIONS)
    assert len(offer("due", "--state", "")) == len(State)


# --- how bash parts and quotes ----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "at", "args", "incomplete"),
    [
        pytest.param("pmsched due --s", 2, ["due"], "--s", id="blanks-between"),
        pytest.param("pmsched\ndue\n", 2, ["due"], "", id="nothing-typed-yet"),
        pytest.param("pmsched\ndue\n--all", 1, [], "due", id="in-the-middle"),
        pytest.param("pmsched\nwhy\n'A B", 2, ["why"], "A B", id="open-quote"),
        pytest.param("pmsched\ndue\n--machine\n=\nFI\n:\n1", 6, ["due"], "--machine=FI:1", id="parted-by-bash"),
        pytest.param("pmsched\nwhy\nFI\n:", 3, ["why"], "FI:", id="parted-at-the-end"),
        pytest.param("pmsched\ndue\n--state\n=\n", 4, ["due", "--state="], "", id="a-blank-after-a-sign"),
    ],
)
def test_words_are_read_as_a_person_parts_them(
    monkeypatch: pytest.MonkeyPatch, words: str, at: int, args: list[str], incomplete: str
) -> None:
    """Whole words before the one that is typed."""
    monkeypatch.setenv("COMP_WORDS", words)
    monkeypatch.setenv("COMP_CWORD", str(at))
    assert Bash(program, {}, "pmsched", COMPLETE_VARIABLE).get_completion_args() == (args, incomplete)


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash")
@pytest.mark.parametrize("quote", ["", "'", '"'], ids=["no-quote", "single", "double"])
def test_what_is_put_on_the_line_is_read_back_as_it_is(monkeypatch: pytest.MonkeyPatch, quote: str) -> None:
    """No code is run, no name of a file put in its place, whatever quotes the person began with."""
    values = [
        "AE1",
        "No 1 'A'",
        "$(reboot) `x` *",
        NASTY,
        'say "so"',
        "~x",
        "a;b|c&d<e>f(g)",
        "#1",
        "{a,b}",
        "!!",
        "Ü 1",
    ]
    monkeypatch.setenv("COMP_WORDS", f"pmsched\nwhy\n{quote}")
    monkeypatch.setenv("COMP_CWORD", "2")
    bash = Bash(program, {}, "pmsched", COMPLETE_VARIABLE)
    bash.get_completion_args()
    typed = [bash.format_completion(CompletionItem(value)).removeprefix("plain,") for value in values]
    line = " ".join(f"{quote}{one}{quote}" for one in typed)
    done = subprocess.run(["bash", "-c", f"printf '%s\\n' {line}"], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines() == values


# --- in silence, and at once ------------------------------------------------------------------------------------------


def variables(ship: Path, *words: str) -> dict[str, str]:
    """What a shell sets when it asks."""
    return {
        COMPLETE_VARIABLE: "bash_complete",
        "COMP_WORDS": "\n".join(("pmsched", *words)),
        "COMP_CWORD": str(len(words)),
        "PMSCHED_REGISTER": str(ship),
    }


def asked(ship: Path, *words: str, **more: str) -> subprocess.CompletedProcess[str]:
    """The program as a shell calls it."""
    command, environment = [sys.executable, "-m", "pmsched"], {**os.environ, **variables(ship, *words), **more}
    return subprocess.run(command, env=environment, capture_output=True, text=True, timeout=60, check=False)


def test_a_shell_is_answered(ship: Path) -> None:
    """By the protocol of click, in a process of its own."""
    done = asked(ship, "why", "ME")
    assert (done.returncode, done.stdout, done.stderr) == (0, "plain,ME-LO\n", "")


@pytest.mark.parametrize("kind", ["missing", "letter", "network", "no-number"])
def test_nothing_is_said_whatever_is_wrong(ship: Path, tmp_path: Path, kind: str) -> None:
    """The line that is being typed stays clean; no fault is written to a file."""
    file, more = tmp_path / "none.db", {}
    if kind == "letter":
        file.write_bytes(b"not a database" * 100)
    elif kind == "network":
        file = Path("nosuch://database")
    elif kind == "no-number":
        file, more = ship, {"COMP_CWORD": "two"}
    before = sorted(tmp_path.iterdir())
    done = asked(file, "why", "ME", XDG_STATE_HOME=str(tmp_path / "log"), HOME=str(tmp_path), **more)
    assert (done.returncode, done.stdout.strip(), done.stderr) == (0, "", "")
    assert sorted(tmp_path.iterdir()) == before


@pytest.mark.parametrize("instruction", ["powershell_complete", "bash_x", "bash"])
def test_an_unknown_shell_is_not_answered(instruction: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Nor is anything else done."""
    assert answer(program, instruction) == 1
    assert capsys.readouterr() == ("", "")


def loaded_by(ship: Path, *words: str) -> loaded_modules.Loaded:
    """What answering loads."""
    return loaded_modules.after(
        f"import os\nos.environ.update({variables(ship, *words)!r})\nfrom pmsched.cli.main import main\n"
        "try:\n    main()\nexcept SystemExit:\n    pass\n"
    )


def test_names_of_commands_need_no_database(ship: Path) -> None:
    """The commonest question is answered from the table."""
    loaded = loaded_by(ship, "d")
    assert loaded.of(["sqlalchemy", "alembic", "textual", "rich", "platformdirs"]) == []
    assert "pmsched.cli.due" not in loaded.modules


def test_codes_need_no_screens_and_no_migrations(ship: Path) -> None:
    """Nothing is loaded but the command and the database's library."""
    loaded = loaded_by(ship, "why", "ME")
    assert "pmsched.store.codes" in loaded.modules
    assert loaded.of(["textual", "rich", "alembic"]) == []


# --- real shells ------------------------------------------------------------------------------------------------------


@pytest.fixture
def installed(tmp_path: Path) -> Path:
    """The program as a command in a folder of its own."""
    path = tmp_path / "bin" / "pmsched"
    path.parent.mkdir()
    path.write_text(f'#!/bin/sh\nexec {shlex.quote(sys.executable)} -m pmsched "$@"\n', encoding="utf-8")
    path.chmod(0o755)
    return path


def spoken(shell: str, text: str, ship: Path, *arguments: str) -> str:
    """What a shell prints that reads the script and then this text."""
    plainly = {"bash": ["--norc"], "zsh": ["-f"], "fish": ["--no-config"]}[shell]
    command = [shell, *plainly, "-c", f"{script(shell)}\n{text}", *arguments]
    environment = {**os.environ, "PMSCHED_REGISTER": str(ship)}
    done = subprocess.run(command, env=environment, capture_output=True, text=True, timeout=60, check=False)
    assert done.stderr == ""
    return done.stdout


@pytest.mark.parametrize("shell", REAL_SHELLS)
def test_script_is_understood(shell: str) -> None:
    """By the shell it is for."""
    done = subprocess.run([shell, "-n"], input=script(shell), capture_output=True, text=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (0, "")


@pytest.mark.skipif(shutil.which("bash") is None, reason="no bash")
@pytest.mark.parametrize(
    ("words", "wanted"),
    [
        pytest.param(["why", "me"], ["ME-LO"], id="code"),
        pytest.param(["due", "--state", "no"], [r"not\ open", r"no\ date"], id="choices-with-blanks"),
        pytest.param(["report", "GE1-EXV", "--unit", ""], ["1", "2"], id="units"),
    ],
)
def test_bash_completes(ship: Path, installed: Path, words: list[str], wanted: list[str]) -> None:
    """The function of the script fills bash's list of replies."""
    typed = " ".join(shlex.quote(word) for word in ("pmsched", *words))
    text = f"""
        COMP_WORDS=({typed}) COMP_CWORD={len(words)}
        _pmsched_completion {shlex.quote(str(installed))}
        printf '%s\\n' "${{COMPREPLY[@]}}"
        complete -p pmsched
    """
    *replies, registered = spoken("bash", text, ship).splitlines()
    assert replies == wanted
    assert registered.endswith("-F _pmsched_completion pmsched")


@pytest.mark.skipif(shutil.which("fish") is None, reason="no fish")
def test_fish_completes(ship: Path, installed: Path) -> None:
    """Fish can be asked what it would offer; a value with a comma in it comes whole."""
    text = f"set -x PATH {shlex.quote(str(installed.parent))} $PATH; complete --do-complete 'pmsched why me'"
    assert spoken("fish", text, ship) == "ME-LO\tChange lube oil\n"
    text = text.replace("why me", "report X --condition fair")
    assert spoken("fish", text, ship) == "fair wear, will last\n"


# --- the command ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("shell", SHELLS)
def test_script_is_printed(bare: Run, shell: str) -> None:
    """As the shell is to read it."""
    said = bare("completion", shell)
    assert said.out == script(shell)
    assert COMPLETE_VARIABLE in said.out


@pytest.mark.parametrize(
    ("shell", "wanted"),
    [
        pytest.param("/usr/bin/bash", "~/.bashrc", id="bash"),
        pytest.param("/bin/zsh", "~/.zshrc", id="zsh"),
        pytest.param("/usr/bin/fish", "~/.config/fish/completions/pmsched.fish", id="fish"),
        pytest.param("/bin/sh", "Name your shell", id="another-shell"),
        pytest.param("", "Name your shell", id="no-shell"),
    ],
)
def test_one_line_says_where_to_put_it(bare: Run, monkeypatch: pytest.MonkeyPatch, shell: str, wanted: str) -> None:
    """For the shell of the person who asks."""
    monkeypatch.setenv("SHELL", shell)
    said = bare("completion")
    assert said.code == 0
    assert said.out.count("\n") == 1
    assert wanted in said.out
    assert bare("completion", "--json").data["where"] == said.out.rstrip("\n")


def test_another_shell_is_wrong_usage(bare: Run) -> None:
    """What there is, is named."""
    said = bare("completion", "powershell")
    assert said.code == 2
    assert "'bash', 'zsh', 'fish'" in said.err
