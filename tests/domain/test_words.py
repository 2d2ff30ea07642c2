"""Words that every face uses alike, and refusals as people are told of them."""

from __future__ import annotations

import pytest

from pmsched.domain.errors import Ambiguous
from pmsched.domain.words import BEFORE_REGISTER, done_by


@pytest.mark.parametrize(
    ("who", "said"),
    [("", ""), ("B. Bødal", "done by B. Bødal"), (BEFORE_REGISTER, "done before this register")],
    ids=["nobody-named", "named", "brought-in"],
)
def test_who_did_it(who: str, said: str) -> None:
    """Work brought in from earlier records was not done by somebody called 'before this register'."""
    assert done_by(who) == said


@pytest.mark.parametrize(
    ("choices", "said"),
    [
        ((), "This can be read in two ways."),
        (("5100",), "This can be read in two ways. Write 5100."),
        (("5100", "5.1"), "This can be read in two ways: 5100 or 5.1."),
    ],
    ids=["none", "one", "two"],
)
def test_few_choices_are_told_in_the_sentence(choices: tuple[str, ...], said: str) -> None:
    """As somebody would say it."""
    assert Ambiguous("two-ways", "This can be read in two ways.", choices).either == said
