"""The input files and their columns: the one registry behind the reader, the empty templates and the manual.

Knows names, kinds, meanings and what a blank cell is read as; reads nothing itself.
"""

from __future__ import annotations

from typing import Literal, NamedTuple

FileKind = Literal["people", "machines", "counters", "jobs", "last_done", "readings", "parts"]

Kind = Literal[
    "code",
    "text",
    "long text",
    "word",
    "words",
    "lines",
    "units",
    "date",
    "time",
    "offset",
    "yes/no",
    "whole number",
    "hours",
    "amounts",
    "count",
    "unit",
    "reads",
    "counts on",
    "interval",
    "counts from",
    "grid from",
    "margins",
    "starts",
]


class Column(NamedTuple):
    """One documented column.

    Attributes:
        name: the heading.
        kind: how a cell is read; see ``kinds``.
        required: every row needs a value.
        meaning: one short sentence for the person who fills it in.
        example: a cell that reads well.
        default: what a blank cell is read as, written as in a cell; empty: blank stays blank, as the meaning says.
    """

    name: str
    kind: Kind
    required: bool
    meaning: str
    example: str
    default: str = ""


class InputFile(NamedTuple):
    """One kind of input: its stem (``people`` for ``people.csv`` and the sheet ``people``), what it lists, its columns and its key."""

    stem: FileKind
    lists: str
    key: tuple[str, ...]
    columns: tuple[Column, ...]


PEOPLE = InputFile(
    "people",
    "The people who do and sign work.",
    ("code",),
    (
        Column("code", "code", True, "Short code of the person; never given to another one.", "2E-HOLM"),
        Column("name", "text", True, "Name as it stands on reports.", "Ida Holm"),
        Column("rank", "text", True, "Rank or trade.", "2/E"),
        Column("department", "word", True, "engine, deck, electrical, hotel, office, or a word of your own.", "engine"),
    ),
)

MACHINES = InputFile(
    "machines",
    "The machines and where they stand in the tree.",
    ("code",),
    (
        Column("code", "code", True, "Code of the machine; it stays for life.", "AE2-LOP"),
        Column("name", "text", True, "Name in full.", "Lube-oil pump of auxiliary engine 2"),
        Column("parent", "code", False, "Code of the machine it belongs to; blank for the top.", "AE2"),
        Column("order", "whole number", False, "Place on the walk; blank: 10, 20, 30 ... as the rows stand.", "40"),
        Column("critical", "yes/no", False, "yes if a sudden failure endangers people, ship or sea.", "yes", "no"),
        Column("department", "word", False, "Who looks after it.", "electrical", "engine"),
        Column(
            "counts_on",
            "counts on",
            False,
            "Counters it counts on, with share and first date where needed; apart by semicolons.",
            "AE2-H 1/2 from 2024-01-01; AE2-S",
        ),
        Column("other_names", "words", False, "Other names in use, apart by semicolons.", "LO pump 2; pump B"),
    ),
)

COUNTERS = InputFile(
    "counters",
    "The counters: running hours, starts, cycles, volumes.",
    ("code",),
    (
        Column("code", "code", True, "Code of the counter.", "AE2-H"),
        Column("machine", "code", True, "Code of the machine that carries it.", "AE2"),
        Column("name", "text", False, "Name on the round; blank: the name of the machine.", "Auxiliary engine 2 hours"),
        Column("unit", "unit", True, "h, starts, cycles, m3 or another unit.", "h"),
        Column("reads", "reads", False, "How fine the dial reads: whole, tenths or h:min.", "tenths", "whole"),
        Column("order", "whole number", False, "Place on the round; blank: 10, 20, 30 ... as the rows stand.", "20"),
        Column("dial_start", "count", False, "What the dial showed when its record here begins.", "7214.5", "0"),
        Column("total_start", "count", False, "Running total at that moment; blank: as dial_start.", "107214.5"),
    ),
)

JOBS = InputFile(
    "jobs",
    "The jobs and when they fall due.",
    ("code",),
    (
        Column("code", "code", True, "Code of the job.", "AE2-EXV"),
        Column("machine", "code", True, "Code of the machine it is done on.", "AE2"),
        Column("title", "text", True, "What is done, in a few words.", "Overhaul exhaust valves"),
        Column("interval", "interval", True, "How often; whichever limit comes first.", "4000 h or 12 months"),
        Column(
            "counts_from",
            "counts from",
            False,
            "done: from the last doing. grid: fixed dates or marks. aim: from the last aim so that nothing drifts.",
            "grid",
            "done",
        ),
        Column("grid_from", "grid from", False, "First date or mark of a grid, or both.", "2025-01-31; 10000 h"),
        Column("tolerance", "margins", False, "Margin on both sides of the aim.", "10 %"),
        Column("opens", "margins", False, "How long before the aim it may be done.", "1 month"),
        Column("closes", "margins", False, "How long after the aim it is still on time.", "200 h"),
        Column("units", "units", False, "Units with dates of their own: names apart by semicolons, or a number.", "6"),
        Column("department", "word", False, "Who does it.", "deck", "engine"),
        Column("rank", "text", False, "Rank or trade that does it.", "3/E"),
        Column("critical", "yes/no", False, "yes if putting it off endangers people, ship or sea.", "no", "no"),
        Column("class_item", "yes/no", False, "yes if the class society credits it.", "no", "no"),
        Column("cautions", "lines", False, "Dangers; apart by semicolons or line breaks.", "Lock the starting air out"),
        Column("steps", "lines", False, "Steps; apart by semicolons or line breaks.", "Remove cover; measure; refit"),
        Column("needs", "text", False, "What must be so before it can be done.", "engine stopped and cold"),
        Column(
            "starts",
            "starts",
            False,
            "Where a job never done begins; blank: last_done names the last doing.",
            "from 2025-01-01 at 1200 h",
        ),
    ),
)

LAST_DONE = InputFile(
    "last_done",
    "When each job was last done.",
    ("job", "unit"),
    (
        Column("job", "code", True, "Code of the job.", "AE2-EXV"),
        Column("unit", "text", False, "The unit; blank: the whole job, with all its units.", "3"),
        Column("done_on", "date", True, "Ship's date of the doing.", "2025-03-04"),
        Column("time", "time", False, "Ship's time of the doing; blank: it counts at 12:00.", "14:30"),
        Column("count", "amounts", False, "Running totals at the doing, apart by semicolons.", "20000 h; 640 starts"),
        Column("by", "text", False, "Who did it.", "Ida Holm"),
        Column("remarks", "long text", False, "Anything worth keeping.", "two springs renewed"),
    ),
)

READINGS = InputFile(
    "readings",
    "What the counters showed.",
    ("counter", "read_on", "time", "offset"),
    (
        Column("counter", "code", True, "Code of the counter.", "AE2-H"),
        Column("read_on", "date", True, "Ship's date of the reading.", "2025-06-01"),
        Column("time", "time", False, "Ship's time of the reading.", "08:00", "12:00"),
        Column("offset", "offset", False, "Ship's time against UTC; blank: as the ship's clock stood.", "UTC+3"),
        Column("value", "count", True, "What the dial showed.", "12345.5"),
        Column("note", "long text", False, "Anything worth keeping.", "dial hard to read"),
    ),
)

PARTS = InputFile(
    "parts",
    "The serialised parts that move between machines, store and workshop.",
    ("serial",),
    (
        Column("serial", "code", True, "Serial number.", "R-118"),
        Column("name", "text", True, "What it is.", "Turbocharger rotor"),
        Column("machine", "code", False, "Code of the machine it is fitted to; blank: it lies in store.", "AE1-TC"),
        Column("since", "date", False, "Date since when it is there.", "2023-03-05"),
        Column("hours_since_overhaul", "hours", False, "Its own hours since overhaul; blank: not known.", "3300"),
        Column("hours_since_new", "hours", False, "Its own hours since new; blank: not known.", "15700"),
        Column("place", "text", False, "Where it lies when in store.", "Store 2 shelf B"),
        Column("note", "long text", False, "Anything worth keeping.", "balanced ashore"),
    ),
)

INPUT_FILES: dict[FileKind, InputFile] = {
    file.stem: file for file in (PEOPLE, MACHINES, COUNTERS, JOBS, LAST_DONE, READINGS, PARTS)
}
"""Every input file by its stem, in the order in which a register is filled."""
