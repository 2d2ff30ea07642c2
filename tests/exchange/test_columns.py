"""The registry of columns agrees with the readers and the rows that it feeds."""

from __future__ import annotations

from dataclasses import fields
from typing import get_args

import pytest

from pmsched.exchange import rows
from pmsched.exchange.build import BUILDERS
from pmsched.exchange.columns import INPUT_FILES, Column, FileKind, InputFile, Kind
from pmsched.exchange.headings import count_known
from pmsched.exchange.kinds import KINDS, blank_value

FILES = list(INPUT_FILES.values())
COLUMNS = [pytest.param(column, id=f"{file.stem}-{column.name}") for file in FILES for column in file.columns]


@pytest.mark.parametrize("column", COLUMNS)
def test_example_and_default_read_without_refusal(column: Column) -> None:
    """What the templates and the manual show as an example is accepted; so is the default."""
    KINDS[column.kind].read(column.example)
    blank_value(column)


@pytest.mark.parametrize("column", COLUMNS)
def test_column_is_described(column: Column) -> None:
    """A meaning in one line of readable length; required columns have no default."""
    assert 8 < len(column.meaning) < 130
    assert column.meaning.endswith(".")
    assert not (column.required and column.default)


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_names_are_their_own_normal_form_and_the_key_is_among_them(file: InputFile) -> None:
    """Headings are compared in normal form, so a name that differs from its own could never be found."""
    names = [column.name for column in file.columns]
    assert count_known(names, file) == len(names) == len(set(names))
    assert set(file.key) <= set(names)


def test_every_kind_and_every_file_is_known_everywhere() -> None:
    """No kind without a reader, none without a column; no file without a builder and a place in the bundle."""
    used = {column.kind for file in FILES for column in file.columns}
    assert set(get_args(Kind)) == set(KINDS) == used
    bundled = {field.name for field in fields(rows.Bundle) if field.compare}
    assert set(get_args(FileKind)) == set(INPUT_FILES) == set(BUILDERS) == bundled
