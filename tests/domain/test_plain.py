"""Hidden characters are refused on the way in and made visible on the way out."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.errors import Refusal
from pmsched.domain.plain import check_text, plain

# The ranges as the Unicode standard names them: C0, DEL, C1, Bidi_Control, line and paragraph separator, BOM.
HIDDEN = [
    *range(0x20),
    *range(0x7F, 0xA0),
    0x061C,
    *range(0x200E, 0x2010),
    *range(0x2028, 0x202F),
    *range(0x2066, 0x206A),
    0xFEFF,
]
VISIBLE = [
    "Lube-oil pump No. 2, 50 °C",
    "Κύρια μηχανή",
    "Главный двигатель",
    "主機",
    "עברית",
    "zero\u200bwidth joiner \u200d",
    "e\u0301 is left as typed",
    "[/] [bold] \\",
]


@pytest.mark.parametrize("code", HIDDEN, ids=lambda code: f"U+{code:04X}")
def test_hidden_character_is_refused_by_name_and_place(code: int) -> None:
    """The message names the character and its position, counted from 1."""
    with pytest.raises(Refusal) as refused:
        check_text(f"abc{chr(code)}d")
    assert refused.value.code == "control-character"
    assert f"U+{code:04X}" in refused.value.message
    assert "position 4" in refused.value.message


@pytest.mark.parametrize("text", VISIBLE)
def test_visible_text_passes_unchanged(text: str) -> None:
    """Scripts of all kinds, combining marks and brackets are no concern of ours."""
    check_text(text)
    assert plain(text) == text


@pytest.mark.parametrize("text", ["a\nb", "a\r\nb", "a\rb"])
def test_line_breaks_pass_only_where_lines_are_meant(text: str) -> None:
    """Cautions and remarks have lines; names have not."""
    check_text(text, line_breaks=True)
    assert plain(text, line_breaks=True) == text
    with pytest.raises(Refusal, match="line break"):
        check_text(text)


def test_other_controls_are_refused_among_lines_too() -> None:
    """Allowing line breaks allows nothing else."""
    with pytest.raises(Refusal, match="U\\+001B stands at position 3"):
        check_text("a\n\x1b[31m", line_breaks=True)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("\x1b[31mred", "␛[31mred"),
        ("a\x00b\tc\nd", "a␀b␉c␊d"),
        ("\x7f", "␡"),
        ("\x9b31m", "\ufffd31m"),
        ("abc\u202egnp.exe", "abc\ufffdgnp.exe"),
        ("\ufeffx", "\ufffdx"),
        ("\udce9", "\ufffd"),
    ],
    ids=["escape", "nul-tab-newline", "delete", "c1", "right-to-left-override", "bom", "half-a-character"],
)
def test_plain_makes_hidden_characters_visible(text: str, shown: str) -> None:
    """Nothing reaches the terminal as a command."""
    assert plain(text) == shown


@given(st.text(st.characters(codec=None, exclude_categories=())))
def test_plain_text_always_passes_the_check_and_is_stable(text: str) -> None:
    """Whatever comes in: what is printed holds no hidden character, can be encoded, and has the same length."""
    shown = plain(text)
    check_text(shown)
    assert plain(shown) == shown
    assert len(shown.encode("utf-8").decode("utf-8")) == len(text)
