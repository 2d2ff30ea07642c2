"""Places on the walk where the file leaves them blank: new rows fit in, moved rows move, nothing else changes."""

from __future__ import annotations

from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pmsched.usecases.load_orders import STEP, settled_orders


class Row(NamedTuple):
    """A row with a place."""

    order: int


def blanks(count: int) -> list[Row]:
    """Rows whose place is blank in the file, as the reader of files numbers them."""
    return [Row(STEP * nth) for nth in range(1, count + 1)]


@pytest.mark.parametrize(
    ("said", "expected"),
    [
        pytest.param([None, None, None], [10, 20, 30], id="all-new"),
        pytest.param([10, 20, 30], [10, 20, 30], id="all-known"),
        pytest.param([10, None, 20], [10, 15, 20], id="one-between"),
        pytest.param([10, None, None, 20], [10, 15, 17, 20], id="two-between"),
        pytest.param([None, 10, 20], [5, 10, 20], id="one-before"),
        pytest.param([10, 20, None, None], [10, 20, 30, 40], id="two-after"),
        pytest.param([20, 50], [20, 50], id="part-of-the-rows"),
        pytest.param([20, 10, 30], [10, 20, 30], id="moved"),
        pytest.param([10, None, 11], [10, 20, 30], id="no-number-left"),
        pytest.param([10, 10], [10, 20], id="two-at-one-place"),
    ],
)
def test_places_where_the_file_leaves_them_blank(said: list[int | None], expected: list[int]) -> None:
    """Known rows stay while they follow each other as before; else every row takes its place in the file."""
    assert settled_orders(blanks(len(said)), said) == expected


def test_places_that_are_written_stand() -> None:
    """Whoever writes numbers means them."""
    assert settled_orders([Row(5), Row(7), Row(30)], [10, 20, 30]) == [5, 7, 30]


@given(st.lists(st.one_of(st.none(), st.integers(1, 10_000)), max_size=20))
def test_the_walk_follows_the_file_and_settles(said: list[int | None]) -> None:
    """The places rise with the rows, and loading the same rows again changes none of them."""
    rows = blanks(len(said))
    settled = settled_orders(rows, said)
    assert settled == sorted(set(settled))
    assert settled_orders(rows, settled) == settled
