"""The auditor's lines: history and due list as cells of columns, and everything that is said of one doing.

Knows values and words; no widget but the line itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from typing import TYPE_CHECKING, NamedTuple

from pmsched.domain.clocks import to_utc
from pmsched.domain.counts import format_amount
from pmsched.domain.file_names import attached_text
from pmsched.domain.words import done_by, due_text, some
from pmsched.tui.screens.base import matching
from pmsched.tui.typed_values import shown_time
from pmsched.tui.widgets.lines import Column, Line
from pmsched.tui.words import DAY_WIDTH, LEFT_WIDTH, LOOKS, STATE_WIDTH, entitled, listed, short_state

if TYPE_CHECKING:
    from pmsched.usecases.ask_due import DueList, DueRow
    from pmsched.usecases.ask_history import History, HistoryRow

WIDE_FROM = 100
_JUDGED_WIDTH, _VERSION_WIDTH, _SIGNED_WIDTH = 17, 9, 8
_MACHINE_WIDTH = 10


class Sheet(NamedTuple):
    """A list as it is shown: its columns and lines, and how much there is of it."""

    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    summary: str


def history_sheet(rows: Mapping[str, HistoryRow], width: int) -> Sheet:
    """The history by the keys of its lines."""
    lines = tuple(_history_line(key, row, wide=width >= WIDE_FROM) for key, row in rows.items())
    return Sheet(_history_columns(width), lines, _summary(rows.values()))


def due_sheet(rows: Mapping[str, DueRow], width: int, looked_at: int) -> Sheet:
    """The due list by the keys of its lines."""
    lines = tuple(_due_line(key, row) for key, row in rows.items())
    count = "" if len(lines) == looked_at else f"{len(lines)} of "
    return Sheet(_due_columns(width), lines, f"{count}{some(looked_at, 'job line')}")


def history_rows(found: History) -> dict[str, HistoryRow]:
    """The rows of the history, newest first, each by a key of its own."""
    return {f"{row.number}/{row.entry_no}/{row.unit}": row for row in reversed(found.rows)}


def due_rows(found: DueList) -> dict[str, DueRow]:
    """The rows of the due list, most urgent first, each by a key of its own."""
    return {f"{row.job}/{row.unit}": row for row in found.rows}


def narrowed(found: DueList, words: str) -> DueList:
    """The due list with only the lines that have these words."""
    rows = (row for row in found.rows if matching(words, _due_texts(row)))
    return found._replace(rows=tuple(rows)) if words else found


def _history_columns(width: int) -> tuple[Column, ...]:
    wide = width >= WIDE_FROM
    taken = 10 + _JUDGED_WIDTH + _SIGNED_WIDTH + _VERSION_WIDTH + 6 + (10 + _MACHINE_WIDTH + 2 if wide else 0)
    columns = [
        Column("done on", 10), Column("job", max(20, width - taken)), Column("late / early", _JUDGED_WIDTH),
        Column("signed", _SIGNED_WIDTH), Column("version", _VERSION_WIDTH),
    ]  # fmt: skip
    if wide:
        columns[1:1] = [Column("reported", 10), Column("machine", _MACHINE_WIDTH)]
    return tuple(columns)


def _history_line(key: str, row: HistoryRow, *, wide: bool) -> Line:
    title, judged = entitled(row.job, row.unit, row.title), _in_width(lateness(row))
    cells = [str(row.done_on), title, judged, row.signer, row.version]
    if wide:
        cells[1:1] = [str(row.recorded_on), row.machine]
    return Line(key, tuple(cells), "quiet" if row.version != "in force" else "overdue" if row.on_time is False else "")


def _due_columns(width: int) -> tuple[Column, ...]:
    taken = STATE_WIDTH + _MACHINE_WIDTH + LEFT_WIDTH + DAY_WIDTH + 6
    return (
        Column("state", STATE_WIDTH), Column("machine", _MACHINE_WIDTH), Column("job", max(20, width - taken)),
        Column("left", LEFT_WIDTH), Column("due", DAY_WIDTH),
    )  # fmt: skip


def _due_line(key: str, row: DueRow) -> Line:
    day = due_text(row.due_on, expected=row.expected)
    cells = (short_state(row.state), row.machine, entitled(row.job, row.unit, row.title), row.left, day)
    return Line(key, cells, LOOKS.get(row.state, "quiet"))


def _due_texts(row: DueRow) -> str:
    return f"{row.job} {row.title} {row.machine} {row.machine_name} {row.state} {' '.join(row.marks)} {row.rank}"


def _summary(rows: Collection[HistoryRow]) -> str:
    """How many lines there are, and how many of them must be told: '12 lines: 1 late, 2 corrected'."""
    counted = Counter("late" if row.version == "in force" and row.on_time is False else row.version for row in rows)
    marked = ", ".join(f"{counted[what]} {what}" for what in ("late", "corrected", "struck") if counted[what])
    return f"{some(len(rows), 'line')}{': ' if marked else ''}{marked}"


def lateness(row: HistoryRow) -> str:
    """Late, early or on time in a few words; empty for a version that is not in force."""
    from pmsched.usecases.lateness import early_or_late  # noqa: PLC0415 - loads the database, which answered before

    return early_or_late(row) if row.version == "in force" else ""


def _in_width(judged: str) -> str:
    """As many of the parts as fit: half an amount would be read as another amount. All of them are told below."""
    while len(judged) > _JUDGED_WIDTH and ", " in judged:
        judged = judged.rpartition(", ")[0]
    return judged


def told(row: HistoryRow) -> str:
    """Everything that is said of one version of a doing, a thing a line."""
    return "\n".join(line for line in _told(row) if line)


def _told(row: HistoryRow) -> Iterator[str]:
    """Why it was corrected comes before the rest: where two versions stand side by side there is little room."""
    yield entitled(row.job, row.unit, row.title)
    version = row.version if row.version == "in force" else row.version.upper()
    yield listed((version, row.machine, "critical" if row.critical else "", _judgement(row)))
    done = f"{shown_time(row.done_at, row.offset_minutes)} ({to_utc(row.done_at):%H:%M} UTC)"
    yield f"Reason: {row.reason}" if row.reason else ""
    later = f"{some(row.days_to_report, 'day')} later" if row.days_to_report > 0 else "the same day"
    yield f"Done {done if row.time_stated else row.done_on}, reported {row.reported_on} ({later})"
    corrected = f" on {row.recorded_on}" if row.recorded_on != row.reported_on else ""
    yield f"Signed by {row.signer} as {row.signed_as}{corrected}, entry {row.entry_no}, report {row.number}"
    yield "; ".join(f"At {format_amount(count.total, count.unit)} ({count.basis})" for count in row.counts)
    yield listed((f"Condition: {row.condition}" if row.condition else "", done_by(row.done_by)))
    yield f"Remarks: {row.remarks}" if row.remarks else ""
    attached = "; ".join(attached_text(file.name, file.number, file.size) for file in row.attachments)
    yield f"Attached: {attached}" if attached else ""


def _judgement(row: HistoryRow) -> str:
    """Late or early, with the date of the grid it was done for and those left undone before it."""
    missed = f"not done: {', '.join(map(str, row.not_done))}" if row.not_done else ""
    closed = f"due {row.closed_on}" if row.closed_on else ""
    return listed((lateness(row), closed, missed))
