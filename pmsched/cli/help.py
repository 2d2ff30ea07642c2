"""``pmsched help``: the pages of the manual, and the help of commands."""

from __future__ import annotations

import difflib
from pathlib import Path

import click

import pmsched
from pmsched.cli.context import PROGRAM, Here, pass_here
from pmsched.cli.house import SAFETY, command
from pmsched.cli.names import COMMANDS
from pmsched.cli.printing import document, out
from pmsched.domain.errors import NotFound

MANUAL = Path(pmsched.__file__).parent / "manual"


@command("help", "pmsched help", "pmsched help round")
@click.argument("topic", required=False, metavar="[TOPIC]")
@click.pass_context
@pass_here
def help_(here: Here, context: click.Context, topic: str | None) -> None:
    """Explain a topic of the manual, or a command; without one, list both."""
    if topic is None:
        text = overview()
    else:
        text = "\n\n".join(part for part in (page(topic), command_help(context, topic)) if part)
        if not text:
            known = sorted({*topics(), *COMMANDS})
            near = difflib.get_close_matches(topic.lower(), known, n=3)
            meant = f"Did you mean {' or '.join(near)}? " if near else ""
            raise NotFound("unknown-topic", f"There is no page on '{topic}'.", f"{meant}Pages: {', '.join(known)}.")
    if here.as_json:
        document({"topic": topic, "text": text})
    else:
        out(text)


def topics() -> list[str]:
    """The pages of the manual by name."""
    return sorted(path.stem for path in MANUAL.glob("*.md"))


def page(topic: str) -> str:
    """A page of the manual; empty if there is none of that name (any case)."""
    for path in MANUAL.glob("*.md"):
        if path.stem.lower() == topic.lower():
            return path.read_text(encoding="utf-8").rstrip()
    return ""


def command_help(context: click.Context, name: str) -> str:
    """The help text of a command; empty if there is none of that name."""
    root = context.find_root()
    group = root.command
    found = group.get_command(root, name.lower()) if isinstance(group, click.Group) else None
    if found is None:
        return ""
    with click.Context(found, info_name=name.lower(), parent=root) as own:
        return found.get_help(own)


def overview() -> str:
    """What there is to read: the commands in a line each, and the pages of the manual."""
    width = max(map(len, COMMANDS))
    lines = [SAFETY, "", "Commands (more on each: pmsched help COMMAND):"]
    lines += [f"  {name:<{width}}  {entry.short}" for name, entry in COMMANDS.items()]
    if pages := topics():
        lines += ["", f"Pages (read one: {PROGRAM} help PAGE):", *(f"  {name}" for name in pages)]
    return "\n".join(lines)
