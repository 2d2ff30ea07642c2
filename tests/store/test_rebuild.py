"""Tables made anew from the bodies equal the tables, and a comparison finds every difference."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
import small_register
from sqlalchemy import func, select

from pmsched.domain.errors import RegisterUnusable
from pmsched.store.book import Signature
from pmsched.store.opening import open_next_book
from pmsched.store.rebuild import Difference, rebuild, tables_equal
from pmsched.store.register import Register
from pmsched.store.tables import APPEND_ONLY
from pmsched.store.verify import verify


@pytest.fixture
def rebuilt_path(tmp_path: Path) -> Path:
    """Where the rebuilt register goes."""
    return tmp_path / "rebuilt.db"


def test_rebuilt_tables_are_equal(register: Register, rebuilt_path: Path) -> None:
    """Every row of every table comes back from the bodies, entries byte for byte, over several books."""
    open_next_book(register, "test", small_register.signature(register))
    small_register.read_round(register, small_register.START, {})
    rebuild(register, rebuilt_path)
    with Register(str(rebuilt_path)) as rebuilt:
        assert tables_equal(register, rebuilt) == []
        assert verify(rebuilt) == []
        with rebuilt.reading() as connection:
            counts = [
                connection.execute(select(func.count()).select_from(one)).scalar_one() for one in APPEND_ONLY.values()
            ]
    assert min(counts) > 0


def test_rebuilt_register_heals_altered_rows(path: Path, rebuilt_path: Path) -> None:
    """Rows and columns that were altered are made anew as they were signed."""
    with small_register.behind_its_back(path) as connection:
        connection.execute("UPDATE reading SET dial = 1")
        connection.execute("UPDATE entry SET rank = 'Master' WHERE no = 3")
        connection.execute("DELETE FROM alias")
    with Register(str(path)) as register:
        assert verify(register) != []
        rebuild(register, rebuilt_path)
        with Register(str(rebuilt_path)) as rebuilt:
            assert verify(rebuilt) == []
            assert {difference.table for difference in tables_equal(register, rebuilt)} == {"reading", "entry", "alias"}


def test_rebuilt_register_writes_in_no_book(register: Register, rebuilt_path: Path) -> None:
    """Which book a copy writes in is no fact: a rebuilt register opens its own before it is written in."""
    signed = small_register.signature(register)
    rebuild(register, rebuilt_path)
    with Register(str(rebuilt_path)) as rebuilt:
        with pytest.raises(RegisterUnusable, match="has not been set up"):
            small_register.read_round(rebuilt, small_register.START, {})
        assert open_next_book(rebuilt, "rebuilt", signed).book == 2049
        assert verify(rebuilt) == []


def test_facts_may_refer_to_later_ids(register: Register, rebuilt_path: Path) -> None:
    """Entries come in the order of their ids, while a book of lower number may have been written in later."""
    signed = small_register.signature(register)
    open_next_book(register, "test", signed, minimum_opening=9)
    machine = add_machine(register, signed, 2057, "X1")
    add_machine(register, signed, 2048, "X2", parent=machine)
    rebuild(register, rebuilt_path)
    with Register(str(rebuilt_path)) as rebuilt:
        assert tables_equal(register, rebuilt) == []


def add_machine(register: Register, signed: Signature, book: int, code: str, parent: int | None = None) -> int:
    """A machine added in a given book; its revision names its parent."""
    with register.writing(signed, book=book) as work:
        site = work.connection.exec_driver_sql("SELECT id FROM site").scalar_one()
        machine = work.add(APPEND_ONLY["machine"], site_id=site, code=code)
        work.add(
            APPEND_ONLY["machine_revision"], machine_id=machine, valid_from=small_register.FIRST, name=code,
            parent_id=parent, walking_order=1, critical=False, department="engine", active=True,
        )  # fmt: skip
        work.enter("add machine")
    return machine


def test_target_is_not_overwritten(register: Register, rebuilt_path: Path) -> None:
    """A file that is there stays as it is."""
    rebuilt_path.write_text("kept")
    with pytest.raises(RegisterUnusable) as caught:
        rebuild(register, rebuilt_path)
    assert caught.value.code == "target-exists"
    assert rebuilt_path.read_text() == "kept"


@pytest.mark.parametrize(
    ("body", "code"),
    [
        pytest.param(b"{", "body-unreadable", id="no-json"),
        pytest.param(b'{"form":1,"facts":{"weather":[{}]}}', "body-unreadable", id="no-header"),
        pytest.param(b'{"form":9}', "form-unknown", id="form"),
    ],
)
def test_unreadable_body_is_refused(path: Path, rebuilt_path: Path, body: bytes, code: str) -> None:
    """A body that cannot be read is not passed over."""
    with small_register.behind_its_back(path) as connection:
        connection.execute("UPDATE entry SET body = ? WHERE no = 4", (body,))
    with Register(str(path)) as register, pytest.raises(RegisterUnusable) as caught:
        rebuild(register, rebuilt_path)
    assert caught.value.code == code


@pytest.mark.parametrize(
    ("statement", "expected"),
    [
        pytest.param("UPDATE reading SET note = 'x' WHERE id = 7", ("note", None, "x"), id="value"),
        pytest.param("UPDATE alias SET name = 'AE'", ("name", 'No. 1 "genset"', "AE"), id="text"),
        pytest.param("DELETE FROM alias", ("", "row", None), id="row-of-the-left-alone"),
        pytest.param(
            "INSERT INTO alias SELECT 1, entry_id, 1, NULL, 0, NULL, machine_id, name FROM alias",
            ("", None, "row"),
            id="row-of-the-right-alone",
        ),
    ],
)
def test_differences_are_found(path: Path, tmp_path: Path, statement: str, expected: tuple[object, ...]) -> None:
    """A changed value and a row of one side alone, each with its table and row."""
    other = tmp_path / "other.db"
    shutil.copyfile(path, other)
    with small_register.behind_its_back(other) as connection:
        row_id = connection.execute("SELECT min(id) FROM reading").fetchone()[0]
        connection.execute(statement.replace("= 7", f"= {row_id}"))
    with Register(str(path)) as left, Register(str(other)) as right:
        (difference,) = tables_equal(left, right)
    assert shown(difference) == expected
    assert difference.table in statement


def shown(difference: Difference) -> tuple[object, ...]:
    """Column and both sides, whole rows only as such."""
    sides = ("row" if isinstance(side, dict) else side for side in (difference.left, difference.right))
    return (difference.column, *sides)
