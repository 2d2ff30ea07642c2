"""The lines of a round: what was typed for a counter and what is said of it, laid out in columns and in sentences.

Values and words only; knows no widget and no register.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from pmsched.domain.counts import Meter, format_count, parse_count
from pmsched.domain.errors import Ambiguous, Refusal
from pmsched.domain.words import some
from pmsched.tui.widgets.lines import Column, Line

if TYPE_CHECKING:
    from datetime import date

    from pmsched.usecases.ask_round import SheetLine
    from pmsched.usecases.record_round import LineResult

TYPED = 6
"""The column in which is typed."""
END = ""
"""Key of the line below the last counter."""
WAITING, OK, SAME, HELD, UNREAD = "...", "ok", "same", "held", "unread"
_LOOKS = {OK: "quiet", SAME: "soon", HELD: "held", UNREAD: "overdue"}
_NUMBER_WIDTH, _TYPED_WIDTH = 10, 11
_OTHERS_WIDTH, _NARROWEST, _WIDEST = 62, 17, 40


@dataclass(frozen=True, slots=True)
class Entry:
    """What was entered for a counter.

    Attributes:
        text: as typed.
        read_at: the instant for which it counts, UTC epoch seconds.
        word: one of WAITING, OK, SAME, HELD, UNREAD.
        said: why it is held or cannot be read, or by how much the counter rose.
        offers: values that may be meant instead, the likeliest first; behind them those already left for another.
        taken: the value was taken from the offers.
    """

    text: str
    read_at: int
    word: str = WAITING
    said: str = ""
    offers: tuple[str, ...] = ()
    taken: bool = False


def entered(text: str, read_at: int, meter: Meter) -> Entry:
    """What was typed, waiting to be judged; UNREAD if it is no count of this meter."""
    try:
        parse_count(text, meter)
    except Ambiguous as refusal:
        return Entry(text, read_at, UNREAD, refusal.either, refusal.choices)
    except Refusal as refusal:
        return Entry(text, read_at, UNREAD, str(refusal))
    return Entry(text, read_at)


def judged(entry: Entry, line: SheetLine, result: LineResult) -> Entry:
    """The entry with what is said of it; offers of an earlier judgement stay, as a way back.

    A value that can be true has offers too where it may stand in another meter's line.
    """
    judgement = result.judgement
    meant = [suggestion.dial for suggestion in judgement.suggestions if suggestion.dial is not None]
    # What was already tried is offered last.
    found = [text for text in (as_typed(dial, line.meter) for dial in meant) if text not in entry.offers]
    entry = replace(entry, offers=tuple(dict.fromkeys((*found, *entry.offers))))
    said = sentences((judgement.message, *(suggestion.text for suggestion in judgement.suggestions)))
    if not judgement.accepted:
        return replace(entry, word=HELD, said=said)
    if judgement.suggestions:
        return replace(entry, word=OK, said=said)
    if judgement.duplicate:
        return replace(entry, word=SAME, said=judgement.message)
    if line.dial is None:
        return replace(entry, word=OK, said="its first reading")
    rise = result.dial - line.dial
    text = f"{'+' if rise >= 0 else ''}{format_count(rise, line.meter)} {line.meter.unit}"
    return replace(entry, word=OK if rise else SAME, said=text if rise else "the same as last time")


def other_taken(entry: Entry, meter: Meter) -> Entry:
    """The entry with the first of its offers instead of its value, which is offered last from now on."""
    first, *rest = entry.offers
    new = entered(first, entry.read_at, meter)
    return replace(new, offers=(*rest, entry.text), taken=True)


def as_typed(dial: int, meter: Meter) -> str:
    """A dial value as a person would type it: '31340', '1236.7', '12345:30'."""
    return format_count(dial, meter).replace(" ", "")


def columns(width: int) -> tuple[Column, ...]:
    """The columns that fit a screen of this width."""
    return (
        Column("counter", max(_NARROWEST, min(_WIDEST, width - _OTHERS_WIDTH))), Column("last", _NUMBER_WIDTH, right=True),
        Column("on", 5), Column("ago", 5, right=True), Column("a day", 6, right=True),
        Column("expected", _NUMBER_WIDTH, right=True), Column("typed", _TYPED_WIDTH, right=True), Column("", 6),
    )  # fmt: skip


def sheet_line(line: SheetLine, entry: Entry | None, today: date) -> Line:
    """A counter's line, as seen on a ship's date."""
    last = "never read" if line.dial is None else _fit(format_count(line.dial, line.meter))
    expected = "" if line.expected is None else _fit(f"~{format_count(line.expected, line.meter)}")
    word = entry.word if entry else "(held)" if line.held else ""
    cells = (
        f"{line.counter} {line.name}", last, f"{line.read_on:%m-%d}" if line.read_on else "", _short_ago(line, today),
        _short_use(line), expected, entry.text if entry else "", word,
    )  # fmt: skip
    return Line(line.counter, cells, _LOOKS.get(entry.word, "") if entry else "")


def end_line(typed: int, whole: int) -> Line:
    """The line below the last counter, where Enter ends the round."""
    return Line(END, ("END OF ROUND", "", "", "", "", "", f"{typed} of {whole}", ""))


def box(text: str) -> str:
    """The box in which is typed: the text and a caret; of a long text the end."""
    return f"{text}_" if len(text) < _TYPED_WIDTH else f"<{text[2 - _TYPED_WIDTH :]}_"


def known(line: SheetLine, place: str, today: date) -> list[str]:
    """What is known of a counter, in two lines: name and machine; last reading, use, what is expected, what is held."""
    machine = "" if line.machine_name in line.name else f", {line.machine_name}"
    held = f"; {len(line.held)} held (h)" if line.held else ""
    names = f"{place} {line.counter} {line.name} ({line.machine}{machine}); dial in {_dial(line.meter)}{held}"
    if line.dial is None or line.read_on is None:
        return [names, "Never read: any value can be true."]
    last = f"Last {format_count(line.dial, line.meter)} {line.meter.unit} on {line.read_on}"
    parts = [f"{last}{_ago(line.read_on, today)}"]
    if line.rate is not None:
        parts.append(line.rate.per_day(line.meter.unit))
    if line.expected is not None:
        parts.append(f"about {format_count(line.expected, line.meter)} now")
    return [names, "; ".join(parts)]


def explained(line: SheetLine, entry: Entry) -> str:
    """What is said of an entry, with the key that takes what was probably meant."""
    said = f"{line.counter} {entry.text} {entry.word.upper() if entry.word in {HELD, UNREAD} else entry.word}"
    if entry.taken and entry.offers:
        said += f" (taken for {entry.offers[-1]})"
    if entry.said:
        said += f": {entry.said}"
    if not entry.offers or entry.word == WAITING:
        return said
    first = entry.offers[0]
    does = "go back to" if entry.taken and len(entry.offers) == 1 else "take"
    return f"{sentences((said.rstrip('.'), f'Press = to {does} {first}'))}."


def sentences(parts: Iterable[str]) -> str:
    """The parts that say something, one after the other: a full stop between them, but none behind a question mark."""
    text = ""
    for part in filter(None, parts):
        text += ("" if not text else " " if text.endswith("?") else ". ") + part
    return text


def _dial(meter: Meter) -> str:
    words = {"whole": "whole hours", "tenths": "hours and tenths", "h:min": "hours:minutes"}
    return words[meter.reads] if meter.unit == "h" else meter.unit


def _fit(text: str) -> str:
    """A number that is too wide loses its spaces; it never loses digits unseen."""
    if len(text) <= _NUMBER_WIDTH:
        return text
    narrow = text.replace(" ", "")
    return narrow if len(narrow) <= _NUMBER_WIDTH else f"{narrow[: _NUMBER_WIDTH - 1]}>"


def _short_use(line: SheetLine) -> str:
    unit = line.meter.unit
    return "" if line.rate is None else line.rate.per_day(unit).removesuffix(f" {unit}/day").replace("under ", "<")


def _short_ago(line: SheetLine, today: date) -> str:
    """Days by ship's dates, not by the hours between: yesterday evening is a day ago in the morning."""
    if line.read_on is None or line.read_on > today:
        return ""
    days = (today - line.read_on).days
    return f"{days}d" if days else "today"


def _ago(read_on: date, today: date) -> str:
    """The same in words; nothing of a reading later than the round."""
    days = (today - read_on).days
    return "" if days < 0 else f", {some(days, 'day')} ago" if days else ", today"
