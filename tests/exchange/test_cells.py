"""Single cells: text, codes, yes and no, whole numbers, lists."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from pmsched.domain.errors import Refusal
from pmsched.exchange import cells, phrases

Read = Callable[[str], Any]


@pytest.mark.parametrize(
    ("read", "text", "value"),
    [
        pytest.param(cells.read_text, "  Pump No. 2\u00a0", "Pump No. 2", id="blanks-around-fall-away"),
        pytest.param(cells.read_text, "caf\u0065\u0301", "caf\u0065\u0301", id="accents-stay-as-typed"),
        pytest.param(cells.read_text, "'=1+1", "=1+1", id="guarding-apostrophe-taken-away"),
        pytest.param(cells.read_text, "'tween deck", "'tween deck", id="other-apostrophe-stays"),
        pytest.param(cells.read_long_text, "a \r\nb\rc\n", "a \nb\nc", id="line-breaks-alike"),
        pytest.param(cells.read_code, "AE  1", "AE 1", id="single-blanks-in-codes"),
        pytest.param(cells.read_word, "Deck", "deck", id="word-in-lower-case"),
        pytest.param(cells.read_yes_no, "YES", True, id="yes"),
        pytest.param(cells.read_yes_no, "y", True, id="y"),
        pytest.param(cells.read_yes_no, "True", True, id="true"),
        pytest.param(cells.read_yes_no, "1", True, id="1"),
        pytest.param(cells.read_yes_no, "X", True, id="x"),
        pytest.param(cells.read_yes_no, "No", False, id="no"),
        pytest.param(cells.read_yes_no, "N", False, id="n"),
        pytest.param(cells.read_yes_no, "FALSE", False, id="false"),
        pytest.param(cells.read_yes_no, "0", False, id="0"),
        pytest.param(cells.read_whole_number, "40", 40, id="whole"),
        pytest.param(cells.read_whole_number, "-5", -5, id="negative"),
        pytest.param(cells.read_whole_number, "'-5", -5, id="negative-guarded"),
        pytest.param(cells.read_words, "LO pump 2;; pump  B ;", ("LO pump 2", "pump B"), id="names"),
        pytest.param(cells.read_words, ";", (), id="no-names"),
        pytest.param(cells.read_lines, "Stop; cool down", ("Stop", "cool down"), id="lines-by-semicolon"),
        pytest.param(cells.read_lines, "Stop; wait\r\n\r\nOpen", ("Stop; wait", "Open"), id="lines-by-line-break"),
        pytest.param(cells.read_units, "3", ("1", "2", "3"), id="number-of-units"),
        pytest.param(cells.read_units, "Port; Starboard", ("Port", "Starboard"), id="named-units"),
        pytest.param(cells.read_units, "1; 3", ("1", "3"), id="two-numbers-are-names"),
        pytest.param(cells.read_reads, "H:Min", "h:min", id="reads"),
        pytest.param(cells.read_counts_from, "Grid", "grid", id="counts-from"),
        pytest.param(phrases.read_unit, "Hours", "h", id="unit-hours"),
        pytest.param(phrases.read_unit, "start", "starts", id="unit-start"),
        pytest.param(phrases.read_unit, "m3", "m3", id="unit-m3"),
    ],
)
def test_cell_reads(read: Read, text: str, value: object) -> None:
    """Each cell gives exactly this value."""
    got = read(text)
    assert (got, type(got)) == (value, type(value))


@pytest.mark.parametrize(
    ("read", "text", "code"),
    [
        pytest.param(cells.read_text, "a\tb", "control-character", id="tab"),
        pytest.param(cells.read_text, "a\nb", "control-character", id="line-break-in-a-name"),
        pytest.param(cells.read_text, "abc\u202edef", "control-character", id="right-to-left-override"),
        pytest.param(cells.read_text, "a\ufeffb", "control-character", id="byte-order-mark-inside"),
        pytest.param(cells.read_text, "a" * 1_001, "too-long", id="long-line"),
        pytest.param(cells.read_long_text, "a\n\x07", "control-character", id="bell-in-remarks"),
        pytest.param(cells.read_long_text, "a\n" * 10_001, "too-long", id="long-text"),
        pytest.param(cells.read_code, "A;B", "not-a-code", id="semicolon-in-code"),
        pytest.param(cells.read_code, "#1", "not-a-code", id="code-like-a-comment"),
        pytest.param(cells.read_yes_no, "maybe", "not-yes-or-no", id="maybe"),
        pytest.param(cells.read_whole_number, "4.5", "not-a-whole-number", id="decimals"),
        pytest.param(cells.read_whole_number, "1 000", "not-a-whole-number", id="blank-inside"),
        pytest.param(cells.read_whole_number, "9" * 5_000, "too-long", id="endless-number"),
        pytest.param(cells.read_units, "Port; Port", "unit-twice", id="unit-twice"),
        pytest.param(cells.read_units, "0", "not-a-number-of-units", id="no-units"),
        pytest.param(cells.read_units, "1000", "not-a-number-of-units", id="too-many-units"),
        pytest.param(cells.read_reads, "minutes", "not-a-choice", id="reads-minutes"),
        pytest.param(cells.read_counts_from, "start", "not-a-choice", id="counts-from-start"),
        pytest.param(phrases.read_unit, "m", "not-a-unit", id="unit-m"),
        pytest.param(phrases.read_unit, "months", "not-a-unit", id="unit-months"),
        pytest.param(phrases.read_unit, "3 h", "not-a-unit", id="unit-with-number"),
        pytest.param(phrases.read_unit, "h; starts", "not-a-unit", id="two-units"),
    ],
)
def test_cell_is_refused(read: Read, text: str, code: str) -> None:
    """Each cell is refused for this reason."""
    with pytest.raises(Refusal) as refused:
        read(text)
    assert refused.value.code == code


def test_choices_are_named() -> None:
    """Who writes a wrong word is shown the right ones."""
    with pytest.raises(Refusal, match="Write one of: done, grid, aim"):
        cells.read_counts_from("start")


def test_hidden_character_is_named_with_its_place() -> None:
    """Position counts from the first character that is kept."""
    with pytest.raises(Refusal, match=r"U\+0009 stands at position 2"):
        cells.read_text("  a\tb")
