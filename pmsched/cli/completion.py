"""``pmsched completion``: how a shell learns to complete what is typed."""

from __future__ import annotations

import os
from pathlib import PurePath

import click

from pmsched.cli.context import Here, pass_here
from pmsched.cli.house import command
from pmsched.cli.printing import document, out
from pmsched.cli.shells import SHELLS, script

_WHERE = {
    "bash": 'Put this line at the end of ~/.bashrc:  eval "$(pmsched completion bash)"',
    "zsh": 'Put this line at the end of ~/.zshrc:  eval "$(pmsched completion zsh)"',
    "fish": "Run this once:  pmsched completion fish > ~/.config/fish/completions/pmsched.fish",
}
_UNKNOWN = f"Name your shell: pmsched completion {', '.join(_WHERE)}. Other shells cannot be taught."


@command("completion", "pmsched completion", "pmsched completion bash")
@click.argument("shell", type=click.Choice(tuple(SHELLS)), metavar="[bash|zsh|fish]", required=False)
@pass_here
def completion(here: Here, shell: str | None) -> None:
    """Print the script by which a shell completes what you type; without a shell, say where yours wants it.

    The Tab key then completes commands, options and their choices, codes of your register and names of files.
    """
    if shell is None:
        shell = PurePath(os.environ.get("SHELL", "")).name.removesuffix(".exe")
        text, what = _WHERE.get(shell, _UNKNOWN), "where"
    else:
        text, what = script(shell), "script"
    if here.as_json:
        document({"shell": shell, what: text})
    else:
        out(text.rstrip("\n"))
