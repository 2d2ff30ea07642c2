"""Every format read back equals what was written, and carries the header."""

from __future__ import annotations

import json
from collections.abc import Iterator
from datetime import UTC, date, datetime, time
from decimal import Decimal
from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hostile_cells import HARMLESS, HOSTILE
from hypothesis import given, settings
from hypothesis import strategies as st
from read_exports import READERS

from pmsched.domain.errors import Refusal
from pmsched.domain.plain import plain
from pmsched.exchange.export_files import FORMATS, Format, format_of, write_export_file, write_export_stream
from pmsched.exchange.exports import ABOUT, About, Cell, DayRow, Export
from pmsched.exchange.formula_guard import unguarded

MADE = datetime(2030, 1, 15, 8, tzinfo=UTC)
HEAD = About(
    program="pmsched 0.1.0", site="MV Invented", what="history", from_on=date(2029, 1, 1), machine="=AE2", book=2048,
    entry_no=12, seal="dafa-a2ea-b653", made_by="CE A. Ardmore", made_at_ship="2030-01-15T10:00:00+02:00",
    made_at_utc=MADE, left_out="all but machine =AE2",
)  # fmt: skip
COLUMNS = ("job", "hours", "starts", "done_on", "at", "critical", "remarks")
ROWS: list[tuple[Cell, ...]] = [
    ("0012", Decimal("12340.5"), 640, date(2029, 2, 28), datetime(2029, 2, 28, 13, 45, 59, tzinfo=UTC), True, "fine"),
    ("1E5", Decimal("-0.0001"), -5, date(2029, 12, 31), None, False, "a\nb; c, \"d\" 'e'"),
    ("", Decimal("2920.9997"), 0, None, datetime(1999, 12, 31, 23, 59, 59, tzinfo=UTC), False, " Bø Ω Жук 船 😀 "),
    ("00:30", Decimal(0), 9_007_199_254_740_991, date(1900, 1, 1), None, True, "=1+1"),
]


def export_of(rows: list[tuple[Cell, ...]], columns: tuple[str, ...] = COLUMNS, about: About = HEAD) -> Export:
    """An export of these rows; the day of each is the first date in it."""

    def with_days() -> Iterator[DayRow]:
        for row in rows:
            yield next((cell for cell in row if isinstance(cell, date) and not isinstance(cell, datetime)), None), row

    return Export(about, columns, with_days(), {"remarks": 40})


def written(folder: Path, wanted: Format, export: Export, **options: Any) -> Path:
    """The file of that format."""
    path = folder / f"list.{wanted}"
    write_export_file(path, export, wanted, **options)
    return path


def as_csv(cell: Cell) -> str:
    """A value as a CSV cell says it, once the apostrophe is taken away."""
    if cell is None or isinstance(cell, str):
        return plain(cell or "", line_breaks=True)
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, datetime):
        return f"{cell:%Y-%m-%dT%H:%M:%SZ}"
    return f"{cell:f}" if isinstance(cell, Decimal) else str(cell)


def as_json(cell: Cell) -> Any:
    """A value as JSON lines say it."""
    if isinstance(cell, datetime):
        return f"{cell:%Y-%m-%dT%H:%M:%SZ}"
    return str(cell) if isinstance(cell, date) else f"{cell:f}" if isinstance(cell, Decimal) else cell


def from_xlsx(value: Any, cell: Cell) -> bool:
    """Whether a spreadsheet's cell is the value: typed where it can be, else its text."""
    if isinstance(cell, bool) or cell is None or isinstance(cell, str):
        return (value or "") == as_csv(cell)
    if isinstance(cell, datetime):
        return isinstance(value, datetime) and value.replace(tzinfo=UTC) == cell
    if isinstance(cell, date) and cell >= date(1900, 3, 1):
        return value == datetime.combine(cell, time())
    if isinstance(cell, int | Decimal) and isinstance(value, int | float):
        return Decimal(repr(value)) == cell
    # What a sheet cannot hold exactly is text there.
    return value == as_csv(cell)


def test_csv_reads_back(tmp_path: Path) -> None:
    """Every cell as text, dates and numbers as people and scripts write them."""
    read = READERS["csv"](written(tmp_path, "csv", export_of(ROWS)))
    assert read.heading == COLUMNS
    assert [[unguarded(cell) for cell in row.values()] for row in read.rows] == [[*map(as_csv, row)] for row in ROWS]


def test_jsonl_reads_back(tmp_path: Path) -> None:
    """Typed values; decimals as text, so that nothing is rounded."""
    read = READERS["jsonl"](written(tmp_path, "jsonl", export_of(ROWS)))
    assert [list(row.values()) for row in read.rows] == [[as_json(cell) for cell in row] for row in ROWS]
    assert read.heading == COLUMNS


def test_xlsx_reads_back(tmp_path: Path) -> None:
    """Numbers, dates and instants as such; codes that look like numbers stay texts."""
    read = READERS["xlsx"](written(tmp_path, "xlsx", export_of(ROWS)))
    assert read.heading == COLUMNS
    wrong = [
        (value, cell)
        for row, cells in zip(read.rows, ROWS, strict=True)
        for value, cell in zip(row.values(), cells, strict=True)
        if not from_xlsx(value, cell)
    ]
    assert wrong == []
    assert read.rows[0]["job"] == "0012"
    assert read.rows[0]["hours"] == 12340.5
    assert read.rows[3]["starts"] == "9007199254740991"


ANY_CELL = (
    st.text(st.characters(codec=None, exclude_categories=()), max_size=20)
    | st.text("<r>/=\"'&_x0041\n ;", max_size=12)
    | st.integers()
    | st.decimals(allow_nan=False, allow_infinity=False, places=4)
    | st.dates()
    | st.datetimes(min_value=datetime(1901, 1, 1), max_value=datetime(9999, 1, 1), timezones=st.just(UTC)).map(  # noqa: DTZ001 - a bound has no zone
        lambda moment: moment.replace(microsecond=0)
    )
    | st.booleans()
    | st.none()
)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(ANY_CELL, ANY_CELL), max_size=6))
def test_anything_reads_back(rows: list[tuple[Cell, ...]]) -> None:
    """Whatever a cell holds, every format gives it back."""
    with TemporaryDirectory() as name:
        folder = Path(name)
        columns = ("a", "b")
        tidy = [tuple(cell.replace("\r", "") if isinstance(cell, str) else cell for cell in row) for row in rows]
        found = READERS["csv"](written(folder, "csv", export_of(tidy, columns)))
        assert [[unguarded(cell) for cell in row.values()] for row in found.rows] == [
            [*map(as_csv, row)] for row in tidy
        ]
        found = READERS["jsonl"](written(folder, "jsonl", export_of(tidy, columns)))
        assert [list(row.values()) for row in found.rows] == [[as_json(cell) for cell in row] for row in tidy]
        found = READERS["xlsx"](written(folder, "xlsx", export_of(tidy, columns)))
        # Rows of blank cells at the end of a sheet leave no trace.
        rows_found = [tuple(row.values()) for row in found.rows] + [(None, None)] * (len(tidy) - len(found.rows))
        assert all(
            from_xlsx(*two) for row, cells in zip(rows_found, tidy, strict=True) for two in zip(row, cells, strict=True)
        )


@pytest.mark.parametrize("wanted", FORMATS)
def test_header_stands_in_every_format(tmp_path: Path, wanted: Format) -> None:
    """All names in their order, with what the rows told."""
    read = READERS[wanted](written(tmp_path, wanted, export_of(ROWS)))
    assert tuple(read.about) == ABOUT
    assert read.about["site"] == "MV Invented"
    assert unguarded(str(read.about["machine"])) == "=AE2"
    assert read.about["seal"] == "dafa-a2ea-b653"
    assert read.about["made_by"] == "CE A. Ardmore"
    told = read.about | read.end
    assert str(told["rows"]) == "4"
    assert (str(told["first_day"])[:10], str(told["last_day"])[:10]) == ("1900-01-01", "2029-12-31")
    assert told["complete"] in {"no", False}
    assert told["left_out"] == "all but machine =AE2"


@pytest.mark.parametrize(
    ("left_out", "complete"), [pytest.param("", True, id="all"), pytest.param("all but AE2", False, id="some")]
)
def test_header_does_not_say_complete_of_what_is_narrowed(left_out: str, complete: bool) -> None:
    """Neither before the rows nor after them."""
    export = Export(About(left_out=left_out), ("a",), [])
    assert (export.about.complete, list(export.rows()), export.ended().complete) == (complete, [], complete)


def test_bare_csv_is_the_table_alone(tmp_path: Path) -> None:
    """The first row holds the names of the columns; nothing stands before or after."""
    path = written(tmp_path, "csv", export_of([("1", *[None] * 6)]), bare=True)
    assert path.read_bytes() == "\ufeffjob,hours,starts,done_on,at,critical,remarks\r\n1,,,,,,\r\n".encode()


def test_csv_header_is_comments_and_an_empty_row(tmp_path: Path) -> None:
    """A script that passes over '#' rows and empty ones, as pmsched itself does, finds the names of the columns."""
    lines = written(tmp_path, "csv", export_of(ROWS[:1])).read_text(encoding="utf-8-sig").split("\n")
    empty = lines.index("")
    assert all(line.startswith("# ") for line in lines[:empty])
    assert lines[empty + 1] == ",".join(COLUMNS)


@pytest.mark.parametrize("cut", [1, 2, 3])
def test_cut_jsonl_is_noticed(tmp_path: Path, cut: int) -> None:
    """Without the last line the number of rows is missing."""
    lines = written(tmp_path, "jsonl", export_of(ROWS)).read_text(encoding="utf-8").splitlines()[:-cut]
    assert "rows" not in json.loads(lines[-1])


def test_lines_end_only_at_line_feeds(tmp_path: Path) -> None:
    """Readers that know other line ends (U+2028, U+0085) find as many lines; text stays text."""
    rows: list[tuple[Cell, ...]] = [("a\u2028b\u0085c\x0bd", *[None] * 6)]
    text = written(tmp_path, "jsonl", export_of(rows)).read_text(encoding="utf-8")
    assert len(text.splitlines()) == 3
    assert json.loads(text.splitlines()[1])["job"] == "a\u2028b\u0085c\x0bd"


@pytest.mark.parametrize("wanted", FORMATS)
def test_failing_rows_leave_no_file(tmp_path: Path, wanted: Format) -> None:
    """A fault or a stop in the middle leaves nothing, neither the file nor what was put together on the way."""

    def rows() -> Iterator[DayRow]:
        yield None, ("1",)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        write_export_file(tmp_path / f"list.{wanted}", Export(HEAD, ("a",), rows()), wanted)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("wanted", ["csv", "jsonl"])
def test_stream_holds_the_same_as_the_file(tmp_path: Path, wanted: Format) -> None:
    """Only the mark that spreadsheets need is missing."""
    stream = BytesIO()
    write_export_stream(stream, export_of(ROWS), wanted)
    file = written(tmp_path, wanted, export_of(ROWS)).read_bytes()
    assert stream.getvalue() == file.removeprefix("\ufeff".encode())


def test_spreadsheet_does_not_go_to_a_stream() -> None:
    """Refused with what to do instead."""
    with pytest.raises(Refusal, match="Name a file") as refused:
        write_export_stream(BytesIO(), export_of(ROWS), "xlsx")
    assert refused.value.code == "needs-a-file"


@pytest.mark.parametrize(
    ("name", "wanted", "expected"),
    [
        pytest.param("a.csv", None, "csv", id="csv"),
        pytest.param("a.b/LIST.XLSX", None, "xlsx", id="any-case"),
        pytest.param("a.jsonl", "jsonl", "jsonl", id="said-twice"),
        pytest.param("list", "csv", "csv", id="without-ending"),
        pytest.param("list.txt", "csv", "csv", id="other-ending"),
        pytest.param("list.txt", None, "format-unknown", id="unknown-ending"),
        pytest.param("list", None, "format-unknown", id="nothing-said"),
        pytest.param("a.csv", "xlsx", "format-contradicts", id="contradiction"),
    ],
)
def test_format(name: str, wanted: str | None, expected: str) -> None:
    """The ending says it, or the option; what contradicts is refused."""
    try:
        assert format_of(name, wanted) == expected
    except Refusal as refusal:
        assert refusal.code == expected  # noqa: PT017 - either outcome is a row of the table


def test_rows_are_taken_one_by_one() -> None:
    """Nothing is gathered: the hundredth row is asked for when ninety-nine have gone."""
    asked: list[int] = []

    def rows() -> Iterator[DayRow]:
        for number in range(3):
            asked.append(number)
            yield None, (number,)

    passing = Export(HEAD, ("a",), rows()).rows()
    assert next(passing) == (0,)
    assert asked == [0]


def test_progress_is_told() -> None:
    """Now and then, with how many rows are expected."""
    told: list[tuple[int, int]] = []
    export = Export(HEAD, ("a",), ((None, (n,)) for n in range(600)), expected=600, tell=lambda *far: told.append(far))
    assert len(list(export.rows())) == 600
    assert told == [(256, 600), (512, 600)]


@pytest.mark.parametrize("text", [*HOSTILE.values(), *HARMLESS.values()], ids=[*HOSTILE, *HARMLESS])
def test_hostile_text_in_jsonl_is_untouched(text: str) -> None:
    """Scripts get the text of the register, character by character."""
    stream = BytesIO()
    write_export_stream(stream, export_of([(text,)], ("a",)), "jsonl")
    assert json.loads(stream.getvalue().split(b"\n")[1]) == {"a": text}
