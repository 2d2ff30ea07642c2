"""Tables out: RFC 4180, nothing runs as a formula, nothing stays hidden, numbers stay numbers."""

from __future__ import annotations

import csv
import io
from datetime import date, time
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pmsched.domain.errors import Refusal
from pmsched.domain.plain import plain
from pmsched.exchange.csv_out import Cell, write_csv
from pmsched.exchange.files_in import read_files
from pmsched.exchange.formula_guard import guarded, unguarded
from pmsched.exchange.stand_ins import check_written_out

ANY_TEXT = st.text(st.characters(codec=None, exclude_categories=()))
NASTY_TEXT = st.text("'=+-@,;\"\r\n\t #a\u202e\x00")
VISIBLE = (ANY_TEXT | NASTY_TEXT).map(lambda text: plain(text, line_breaks=True))
ONE_LINE = (ANY_TEXT | NASTY_TEXT).map(lambda text: plain(text).strip()).filter(bool)


def is_name(text: str) -> bool:
    """Whether a text is more than a mark that stands for another; such are refused when they are read."""
    try:
        check_written_out(text)
    except Refusal:
        return False
    return True


ONE_NAME = ONE_LINE.filter(is_name)


def written(rows: list[list[Cell]], *, byte_order_mark: bool = False) -> str:
    """What stands in the file below the heading ``a,b``."""
    stream = io.StringIO(newline="")
    write_csv(stream, ["a", "b"], rows, byte_order_mark=byte_order_mark)
    return stream.getvalue()


@pytest.mark.parametrize(
    ("cell", "expected"),
    [
        pytest.param("plain", "plain", id="text"),
        pytest.param("a,b", '"a,b"', id="comma"),
        pytest.param('a "b"', '"a ""b"""', id="quotes"),
        pytest.param("a\nb", '"a\nb"', id="line-break"),
        pytest.param("=1+1", "'=1+1", id="equals"),
        pytest.param("+3", "'+3", id="plus"),
        pytest.param("-3", "'-3", id="minus"),
        pytest.param("@x", "'@x", id="at"),
        pytest.param("\tx", "␉x", id="tab"),
        pytest.param("\rx", '"\'\rx"', id="carriage-return"),
        pytest.param("'=x", "''=x", id="guarded-already"),
        pytest.param("'tween deck", "'tween deck", id="other-apostrophe"),
        pytest.param("a=b", "a=b", id="equals-inside"),
        pytest.param("\x1b[31m", "␛[31m", id="escape"),
        pytest.param("\u202ex", "\ufffdx", id="right-to-left"),
        pytest.param(-3, "-3", id="negative-number"),
        pytest.param(Decimal("-0.10"), "-0.10", id="negative-decimal"),
        pytest.param(Decimal("1E+3"), "1000", id="decimal-without-exponent"),
        pytest.param(True, "yes", id="yes"),
        pytest.param(False, "no", id="no"),
        pytest.param(None, "", id="nothing"),
        pytest.param(date(2025, 3, 4), "2025-03-04", id="date"),
        pytest.param(time(14, 30), "14:30:00", id="time"),
    ],
)
def test_cell_as_written(cell: Cell, expected: str) -> None:
    """Exactly these characters, and CRLF at the end."""
    assert written([[cell, 1]]) == f"a,b\r\n{expected},1\r\n"


def test_byte_order_mark_only_when_asked() -> None:
    """Some programs need it, others choke on it."""
    assert written([], byte_order_mark=True) == "\ufeffa,b\r\n"
    assert written([]) == "a,b\r\n"


@given(VISIBLE, VISIBLE)
def test_visible_text_reads_back(first: str, second: str) -> None:
    """The same text, but for the apostrophe of the guarded ones; and that one comes off again."""
    stream = io.StringIO(written([[first, second]]), newline="")
    _, row = csv.reader(stream, strict=True)
    assert row == [guarded(first), guarded(second)]
    assert [unguarded(cell) for cell in row] == [first, second]


@given(ANY_TEXT | NASTY_TEXT)
def test_guarded_text_never_begins_like_a_formula(text: str) -> None:
    """Whatever the text, and guarding is undone exactly."""
    assert not guarded(text).startswith(("=", "+", "-", "@", "\t", "\r", "\n"))
    assert unguarded(guarded(text)) == text


@given(st.integers(), st.decimals(allow_nan=False, allow_infinity=False))
def test_numbers_stand_untouched(number: int, decimal: Decimal) -> None:
    """The same number comes back."""
    _, row = csv.reader(io.StringIO(written([[number, decimal]]), newline=""))
    assert (int(row[0]), Decimal(row[1])) == (number, decimal)


@settings(max_examples=50)
@given(ONE_NAME, ONE_NAME)
def test_what_is_written_here_is_read_here(name: str, rank: str) -> None:
    """Written out and loaded again, a person has the same name, whatever it holds."""
    with TemporaryDirectory() as folder:
        path = Path(folder) / "people.csv"
        with path.open("w", encoding="utf-8", newline="") as stream:
            write_csv(stream, ["code", "name", "rank", "department"], [["2E", name, rank, "engine"]])
        bundle, problems = read_files([path])
    assert not problems
    assert [(person.name, person.rank) for person in bundle.people] == [(name, rank)]
