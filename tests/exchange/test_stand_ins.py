"""Marks that stand instead of a name are never read as one."""

from __future__ import annotations

import pytest

from pmsched.domain.errors import Refusal
from pmsched.exchange.columns import Kind
from pmsched.exchange.kinds import KINDS
from pmsched.exchange.stand_ins import check_written_out

DITTO = ['"', '""', "\u201d", "\u3003", "''", ",,", '-"-', '- " -', "do.", "Do.", "ditto", " DITTO "]
NOTHING = ["-", "--", "\u2013", "\u2014", "n/a", "N/A", "n.a."]


@pytest.mark.parametrize(
    ("text", "words"),
    [*((text, "the same as above") for text in DITTO), *((text, "is no name") for text in NOTHING)],
)
def test_stand_in_is_refused(text: str, words: str) -> None:
    """With what it seems to mean, and that it may be left blank."""
    with pytest.raises(Refusal, match=words) as refused:
        check_written_out(text)
    assert refused.value.code == "stands-for-another"
    assert "blank" in refused.value.hint


@pytest.mark.parametrize("text", ["engine", "DO", "do", "2/E", "-1", "A-B", 'pipe 2"', "n", "NA", "None", "'", ""])
def test_names_pass(text: str) -> None:
    """However short they are."""
    check_written_out(text)


@pytest.mark.parametrize("kind", ["code", "text", "word", "words", "units"])
@pytest.mark.parametrize("text", ['"', "-", "ditto"])
def test_columns_of_names_refuse_stand_ins(kind: Kind, text: str) -> None:
    """No department is called '-'."""
    with pytest.raises(Refusal) as refused:
        KINDS[kind].read(text)
    assert refused.value.code == "stands-for-another"


@pytest.mark.parametrize("kind", ["long text", "lines"])
def test_remarks_may_be_a_dash(kind: Kind) -> None:
    """Where nothing refers to it."""
    assert KINDS[kind].read("-") in {"-", ("-",)}
