"""Facts in a few words, for text: times, dials, headings of lists, and what a deed left behind."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from pmsched.cli.tables import text_width
from pmsched.domain.clocks import ShipClock, format_offset
from pmsched.domain.counts import Meter, format_count
from pmsched.domain.file_names import attached_text, size_text
from pmsched.domain.plain import plain
from pmsched.domain.words import due_text as due_text  # noqa: PLC0414 - words of every face, reached through this module
from pmsched.domain.words import named as named  # noqa: PLC0414
from pmsched.domain.words import some as some  # noqa: PLC0414
from pmsched.usecases.ask_due import Header
from pmsched.usecases.attaching import AttachedFile
from pmsched.usecases.touched_words import entered as entered  # noqa: PLC0414


def heading(header: Header, shown: str, width: int = 0) -> str:
    """What heads every list: site, ship's date with offset, how much is shown, and the seal.

    It is broken between its parts where a line of ``width`` characters does not hold it; 0 for one line.
    """
    parts = [header.site, f"{header.today} {format_offset(header.offset_minutes)}", shown]
    if header.as_of is not None:
        parts.append(f"as of {header.as_of}")
    if header.known_on is not None:
        parts.append(f"known on {header.known_on}")
    parts.append(f"seal {header.seal}")
    lines = [""]
    for part in filter(None, parts):
        longer = f"{lines[-1]} | {part}" if lines[-1] else part
        if width and lines[-1] and text_width(longer) > width:
            lines.append(part)
        else:
            lines[-1] = longer
    return "\n".join(plain(line) for line in lines)


def attached_lines(files: Iterable[AttachedFile]) -> Iterator[str]:
    """What was attached, a line each: '  photo.jpg (2.1 MB) attached, number 5201'."""
    for file in files:
        yield f"  {file.name} ({size_text(file.size)}) attached, number {file.number}"


def all_attached(files: Iterable[AttachedFile]) -> str:
    """What is attached, in a line: 'photo.jpg (number 5201, 2.1 MB); sheet.pdf (number 5202, 80.0 kB)'."""
    return "; ".join(attached_text(file.name, file.number, file.size) for file in files)


def ship_time(clock: ShipClock, instant: int) -> str:
    """A ship's date and time to the minute: '2030-01-15 10:00'."""
    return f"{clock.ship_time(instant):%Y-%m-%d %H:%M}"


def dial_text(dial: int, meter: Meter) -> str:
    """What a dial shows, with its unit: '12 345.5 h'."""
    return f"{format_count(dial, meter)} {meter.unit}"
