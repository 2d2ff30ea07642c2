"""The reason given for a whole deed, from the body of its entry, however long that is."""

from __future__ import annotations

from pathlib import Path

import pytest
from small_register import FIRST, new_register, signature
from sqlalchemy import bindparam, func, select

from pmsched.store import change_facts
from pmsched.store.change_facts import reason_of_deed
from pmsched.store.register import Register
from pmsched.store.tables import ENTRY, SETTING

ABOUT = {"files": [{"name": 'a "b".csv'}], "reason": "maker's letter ½ Bø"}


@pytest.mark.parametrize("length", [10, 30, 62, 65_536])
@pytest.mark.parametrize(
    ("about", "reason"),
    [
        pytest.param(ABOUT, "maker's letter ½ Bø", id="said"),
        pytest.param({"files": []}, "", id="not-said"),
        pytest.param(None, "", id="nothing-said-of-the-deed"),
    ],
)
def test_reason(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, about: dict[str, object] | None, reason: str, length: int
) -> None:
    """Found at the beginning of the body; if the beginning ends too soon, in all of it."""
    beginning = select(func.substr(ENTRY.c.body, 1, length)).where(ENTRY.c.id == bindparam("entry"))
    monkeypatch.setattr(change_facts, "_BODY_BEGINNING", beginning)
    with new_register(tmp_path / "register.db") as register:
        assert _reason(register, about) == reason


def _reason(register: Register, about: dict[str, object] | None) -> str:
    with register.writing(signature(register)) as work:
        work.add(SETTING, name="upcoming_days", valid_from=FIRST, value=30)
        receipt = work.enter("change setting", about)
        return reason_of_deed(work.connection, receipt.entry_id)
