"""Names of files that can be kept and written on any system; sizes in words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.domain.file_names import MOST_NAME_BYTES, attached_text, safe_name, size_text
from pmsched.domain.plain import plain


@pytest.mark.parametrize(
    ("given_name", "kept"),
    [
        pytest.param("IMG_0042.JPG", "IMG_0042.JPG", id="as-it-is"),
        pytest.param("[bold red]valve[/] (2).jpg", "[bold red]valve[/] (2).jpg".replace("/", "_"), id="markup"),
        pytest.param("主機 冷却水.pdf", "主機 冷却水.pdf", id="other-scripts"),
        pytest.param("Olpumpe Bo\u0308rse.jpg", "Olpumpe B\u00f6rse.jpg", id="taken-apart-letters"),
        pytest.param("a/b\\c.jpg", "a_b_c.jpg", id="separators"),
        pytest.param("../../etc/passwd", "_.._etc_passwd", id="upwards"),
        pytest.param(".hidden.jpg", "hidden.jpg", id="leading-dot"),
        pytest.param("...", "file", id="dots-only"),
        pytest.param("", "file", id="empty"),
        pytest.param(" report .", "report", id="blanks-and-dot-at-the-end"),
        pytest.param("two\nlines\x1b[31m.txt", "two_lines_[31m.txt", id="control-characters"),
        pytest.param("gpj.\u202eexe", "gpj._exe", id="turned-round"),
        pytest.param("bad\udcff.jpg", "bad_.jpg", id="no-text"),
        pytest.param("what? 1<2.jpg", "what_ 1_2.jpg", id="signs-of-windows"),
        pytest.param("C:photo.jpg", "C_photo.jpg", id="drive"),
        pytest.param("con.jpg", "_con.jpg", id="device"),
        pytest.param("LPT1", "_LPT1", id="device-without-ending"),
        pytest.param("com\u00b9.txt", "_com\u00b9.txt", id="device-with-a-raised-digit"),
        pytest.param("nul .tar.gz", "_nul .tar.gz", id="device-and-blank"),
        pytest.param("console.jpg", "console.jpg", id="no-device"),
    ],
)
def test_safe_name(given_name: str, kept: str) -> None:
    """What is no part of a name on some system goes; all else stays."""
    assert safe_name(given_name) == kept


def test_long_name_keeps_its_ending() -> None:
    """It is shortened in the middle of what people wrote, never in the middle of a letter."""
    kept = safe_name("水" * 300 + ".jpeg")
    assert len(kept.encode()) <= MOST_NAME_BYTES
    assert kept.endswith("水.jpeg")
    assert safe_name("x" * 300) == "x" * MOST_NAME_BYTES
    assert len(safe_name(f"a.{'b' * 300}").encode()) == MOST_NAME_BYTES


@given(st.text(max_size=300))
def test_any_name_becomes_one_that_can_be_kept(text: str) -> None:
    """Nothing hidden, no separator, not hidden by a dot, not too long; once is enough."""
    kept = safe_name(text)
    assert kept
    assert plain(kept) == kept
    assert not set(kept) & set('/\\<>:"|?*')
    assert kept == kept.strip(". ")
    assert len(kept.encode()) <= MOST_NAME_BYTES
    assert safe_name(kept) == kept


@pytest.mark.parametrize(
    ("size", "text"),
    [
        (1, "1 byte"),
        (999, "999 bytes"),
        (1000, "1.0 kB"),
        (2_140_000, "2.1 MB"),
        (999_949, "999.9 kB"),
        (999_960, "1.0 MB"),
        (50_000_000, "50.0 MB"),
        (3_000_000_000, "3.0 GB"),
    ],
)
def test_size_in_words(size: int, text: str) -> None:
    """In steps of a thousand, one decimal; what would be rounded to a thousand is told in the next unit."""
    assert size_text(size) == text


def test_attached_text() -> None:
    """Name, number and size."""
    assert attached_text("a.jpg", "87.1", 2_140_000) == "a.jpg (number 87.1, 2.1 MB)"
