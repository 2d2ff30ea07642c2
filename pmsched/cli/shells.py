"""Completion in bash, zsh and fish: the script for each shell, and the answer when one asks how a line may go on.

The scripts hand the line over in ``COMP_WORDS`` and ``COMP_CWORD``, as click's own do. What comes back is put on the line
as plain text, whatever it holds: no code of a register is run, nor taken for a pattern of file names. An answer changes
nothing, says nothing beside itself, and is empty where anything goes wrong.
"""

from __future__ import annotations

import gc
import os
import re
from contextlib import suppress
from typing import Any

import click
from click.shell_completion import (
    CompletionItem,
    FishComplete,
    ShellComplete,
    ZshComplete,
    split_arg_string,
)

from pmsched.cli.context import COMPLETE_VARIABLE, PROGRAM

_BASH = r"""%(complete_func)s() {
    local IFS=$'\n' line
    COMPREPLY=()
    while read -r line; do
        case "${line%%%%,*}" in
            dir) compopt -o dirnames 2>/dev/null ;;
            file) compopt -o default 2>/dev/null ;;
            plain) COMPREPLY+=("${line#*,}") ;;
        esac
    done < <(env COMP_WORDS="${COMP_WORDS[*]}" COMP_CWORD="$COMP_CWORD" \
        %(complete_var)s=bash_complete "${1/#\~/$HOME}" 2>/dev/null)
}

complete -o nosort -F %(complete_func)s %(prog_name)s 2>/dev/null ||
    complete -o default -F %(complete_func)s %(prog_name)s
"""

_ZSH = r"""#compdef %(prog_name)s

%(complete_func)s() {
    local -a answer bare named
    local kind value said
    answer=("${(@f)$(env COMP_WORDS="${words[*]}" COMP_CWORD=$((CURRENT-1)) \
        %(complete_var)s=zsh_complete ${~words[1]} 2>/dev/null)}")
    for kind value said in $answer; do
        case $kind in
            dir) compset -P '--*='; _path_files -/ ;;
            file) compset -P '--*='; _path_files ;;
            plain) if [[ $said == _ ]]; then bare+=("$value"); else named+=("$value:$said"); fi ;;
        esac
    done
    (( $#named )) && _describe -V unsorted named -U
    (( $#bare )) && compadd -U -V unsorted -a bare
}

if [[ $zsh_eval_context[-1] == loadautofunc ]]; then
    %(complete_func)s "$@"
else
    (( $+functions[compdef] )) || { autoload -Uz compinit && compinit }
    compdef %(complete_func)s %(prog_name)s
fi
"""

_FISH = r"""function %(complete_func)s
    set -l program (string replace -r '^~' $HOME -- (commandline -poc)[1])
    set -l answer (env %(complete_var)s=fish_complete COMP_WORDS=(commandline -cp | string collect) \
        COMP_CWORD=(commandline -ct | string collect) $program 2>/dev/null)
    for line in $answer
        set -l part (string split -m 1 , -- $line)
        switch $part[1]
            case dir
                __fish_complete_directories $part[2]
            case file
                __fish_complete_path $part[2]
            case plain
                echo $part[2]
        end
    end
end

complete --keep-order --no-files --command %(prog_name)s --arguments "(%(complete_func)s)"
"""

_BREAK = re.compile(r"[:=]+")
_SPECIAL = {"": r"([^\w@%+=:,./-])", '"': r'(["$`\\])'}


class Bash(ShellComplete):
    """Bash, from 3.2 on. It parts words at ``:`` and ``=`` too, and takes what it is given as typed, with its quoting."""

    name = "bash"
    source_template = _BASH

    def get_completion_args(self) -> tuple[list[str], str]:
        """The words before the one that is typed, and that one as far as it goes, parted as a person parts them."""
        line, at = os.environ["COMP_WORDS"], int(os.environ["COMP_CWORD"])
        words = split_arg_string(line)[: at + 1]
        words += [""] * (at + 1 - len(words))
        last, whole = words[-1], _rejoined(words)
        before = whole[-1].removesuffix("" if _BREAK.fullmatch(last) else last)
        self._unseen = before.partition("=")[2] if before.startswith("-") else before
        raw = line.split("\n")[at : at + 1]
        self._quote = raw[0][:1] if raw and raw[0][:1] in {'"', "'"} else ""
        return whole[1:-1], whole[-1]

    def format_completion(self, item: CompletionItem[Any]) -> str:
        """What is left to be typed, in such quotes as the person began with."""
        value = _quoted(str(item.value)[len(self._unseen) :], self._quote) if item.type == "plain" else ""
        return f"{item.type},{value}"


class _WholeWord(ShellComplete):
    """A shell that quotes what it is given itself, and takes it for the whole word."""

    def get_completions(self, args: list[str], incomplete: str) -> list[CompletionItem[Any]]:
        """What may follow, after ``--option=`` where the value is typed so."""
        option, equals, _value = incomplete.partition("=")
        found = super().get_completions(args, incomplete)
        if equals and option.startswith("--"):
            return [CompletionItem(f"{option}={item.value}", item.type, item.help) for item in found]
        return found


class Zsh(_WholeWord, ZshComplete):
    """Zsh, whether or not its own completion is set up."""

    source_template = _ZSH


class Fish(_WholeWord, FishComplete):
    """Fish."""

    source_template = _FISH


SHELLS: dict[str, type[ShellComplete]] = {shell.name: shell for shell in (Bash, Zsh, Fish)}


def script(shell: str) -> str:
    """The script that teaches a shell (one of ``SHELLS``) to complete."""
    return SHELLS[shell](click.Command(PROGRAM), {}, PROGRAM, COMPLETE_VARIABLE).source()


def answer(program: click.Command, instruction: str) -> int:
    """Tell a shell how its line may go on; the exit code, 1 for a shell that is not known.

    Args:
        program: whose command line is completed.
        instruction: the shell and what it wants, such as ``bash_complete``.
    """
    shell, _, wanted = instruction.partition("_")
    if shell not in SHELLS or wanted not in {"source", "complete"}:
        return 1
    # The process ends with the answer: looking for garbage, now or at its end, takes a fifth of the time of an answer.
    gc.disable()
    asked = SHELLS[shell](program, {}, PROGRAM, COMPLETE_VARIABLE)
    # Whatever is wrong, the command itself tells when it is run; here it would be written into the line being typed.
    with suppress(Exception):
        if text := asked.source() if wanted == "source" else asked.complete():
            # As bytes: on Windows text would get line ends that a shell takes for part of a word.
            click.echo(text.encode())
    gc.freeze()
    return 0


def _rejoined(words: list[str]) -> list[str]:
    """The words as typed, those put together again that bash has parted; a blank after a break begins a new one."""
    whole: list[str] = []
    open_end = False
    for word in words:
        is_break = bool(_BREAK.fullmatch(word))
        if whole and (is_break or (open_end and word)):
            whole[-1] += word
        else:
            whole.append(word)
        open_end = is_break
    return whole


def _quoted(value: str, quote: str) -> str:
    """The value as it stands on a command line inside these quotes, or without any."""
    return value.replace("'", r"'\''") if quote == "'" else re.sub(_SPECIAL[quote], r"\\\1", value)
