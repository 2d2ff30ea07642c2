"""Printing: data to standard output, everything said about it to standard error, nothing hidden in either."""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from typing import Any, TextIO

import click

from pmsched.domain.plain import plain


def out(text: str = "") -> None:
    """One or more lines of data."""
    click.echo(plain(text, line_breaks=True))


def note(text: str = "", *, newline: bool = True) -> None:
    """Something said beside the data: a note, a question, an error."""
    click.echo(plain(text, line_breaks=True), err=True, nl=newline)


def document(value: Mapping[str, Any]) -> None:
    """One JSON document; characters that could mislead a terminal, or that it cannot show, are written as escapes."""
    text = json.dumps(value, ensure_ascii=False, indent=2)
    if plain(text, line_breaks=True) != text or not _shows_all(sys.stdout):
        text = json.dumps(value, ensure_ascii=True, indent=2)
    click.echo(text)


def make_printable() -> None:
    """Let a terminal of few characters show the others as escapes instead of failing."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def _shows_all(stream: TextIO) -> bool:
    return (getattr(stream, "encoding", None) or "").lower().replace("-", "") in {"utf8", "utf16", "utf32"}
