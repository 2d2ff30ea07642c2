"""No text is run by a spreadsheet, and every text can be had back."""

from __future__ import annotations

import re

import pytest
from hostile_cells import HARMLESS, HOSTILE
from hypothesis import given
from hypothesis import strategies as st

from pmsched.exchange.formula_guard import guarded, unguarded

ANY_TEXT = st.text(st.characters(codec=None, exclude_categories=()))
NASTY_TEXT = st.text("'\"=+-@|(;,\r\n\t \u00a0\u200b\uff1da1")
# What a spreadsheet may pass over before it looks at a cell, and what makes it run one.
PASSED_OVER = ' "\u00a0\u00ad\u202e\u202f\u200b\u2060\u3000\ufeff'
RUN = "=@|\uff1d\uff20\ufe66"


@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_hostile_text_begins_no_cell(text: str) -> None:
    """Wherever a reader may begin a cell, it finds nothing that runs."""
    for cell in re.split("[,;\r\n]", guarded(text)):
        seen = cell.lstrip(PASSED_OVER)
        assert not seen.startswith(tuple(RUN)), cell
        assert not re.match(r"[-+\uff0b\uff0d].*(\||\w\()", seen), cell


@pytest.mark.parametrize("text", [*HOSTILE.values(), *HARMLESS.values()], ids=[*HOSTILE, *HARMLESS])
def test_text_comes_back(text: str) -> None:
    """Character by character."""
    assert unguarded(guarded(text)) == text


@pytest.mark.parametrize(
    ("name", "written"),
    [
        pytest.param("minus-number", "'-5", id="minus-number"),
        pytest.param("points-of-a-list", HARMLESS["points-of-a-list"], id="points-of-a-list"),
        pytest.param("parts", HARMLESS["parts"], id="parts"),
        pytest.param("equals-inside", HARMLESS["equals-inside"], id="equals-inside"),
        pytest.param("mail", HARMLESS["mail"], id="mail"),
        pytest.param("apostrophe", HARMLESS["apostrophe"], id="apostrophe"),
        pytest.param("degrees", HARMLESS["degrees"], id="degrees"),
    ],
)
def test_what_people_write_stays_readable(name: str, written: str) -> None:
    """At most one apostrophe in front; lists and signs inside a text stay as they are."""
    assert guarded(HARMLESS[name]) == written


@given(ANY_TEXT | NASTY_TEXT)
def test_any_text_comes_back(text: str) -> None:
    """Guarding is undone exactly, also of a text that was guarded already."""
    assert unguarded(guarded(text)) == text
    assert unguarded(unguarded(guarded(guarded(text)))) == text


@given(ANY_TEXT | NASTY_TEXT)
def test_no_text_begins_like_a_formula(text: str) -> None:
    """Whatever the text."""
    seen = guarded(text).lstrip(PASSED_OVER)
    assert not seen.startswith(tuple("=+-@|\t\r\n\uff1d\uff0b\uff0d\uff20"))
