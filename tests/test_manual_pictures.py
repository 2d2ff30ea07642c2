"""The pictures of the README and the manual are what the program shows today, to the byte.

After a wanted change of the screens: ``python tests/support/manual_pictures.py``, then look at each picture that changed.
"""

from __future__ import annotations

import re
from pathlib import Path

import manual_pictures
import pytest

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo, built once."""
    return manual_pictures.make_demo(tmp_path_factory.mktemp("demo"))


@pytest.mark.parametrize("name", manual_pictures.SHOTS)
def test_picture_is_what_the_program_shows(name: str, demo: Path) -> None:
    """Made again from a fresh demo of the same day, it has the same bytes."""
    kept = (manual_pictures.HERE / f"{name}.svg").read_bytes()
    assert manual_pictures.taken(manual_pictures.SHOTS[name], demo).encode() == kept


def test_no_picture_is_left_over() -> None:
    """Every picture kept is made by the script, and every one that the README shows is kept."""
    kept = {path.stem for path in manual_pictures.HERE.glob("*.svg")}
    assert kept == set(manual_pictures.SHOTS)
    shown = re.findall(
        r"\]\(pmsched/manual/pictures/([a-z-]+)\.svg\)", (ROOT / "README.md").read_text(encoding="utf-8")
    )
    assert shown
    assert set(shown) <= kept
