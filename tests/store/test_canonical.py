"""The bytes that are signed: canonical JSON, hashes, seals, and the names that may never change."""

from __future__ import annotations

import hashlib
import json
from datetime import date
from typing import Any

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import Date

from pmsched.store.canonical import (
    canonical,
    entry_hash,
    fact_from_body,
    fact_to_body,
    is_id,
    leaf_hash,
    seal,
)
from pmsched.store.tables import ENTRY, FACTS, READING, REPORT

# RFC 8785 test data of its author (cyberphone/json-canonicalization, testdata/output), with the SHA-256 of the output.
# What needs floats, nulls or names beyond ASCII is not written by this program and is refused below.
VECTORS = [
    pytest.param(
        {
            "1": {"f": {"f": "hi", "F": 5}, "\n": 56},
            "10": {},
            "": "empty",
            "a": {},
            "111": [{"e": "yes", "E": "no"}],
            "A": {},
        },
        '{"":"empty","1":{"\\n":56,"f":{"F":5,"f":"hi"}},"10":{},"111":[{"E":"no","e":"yes"}],"A":{},"a":{}}',
        "605f65004ec2db7692522a0852c22f1c989e036d547e88963d1a3143cf3195d5",
        id="structures",
    ),
    pytest.param(
        {"Unnormalized Unicode": "A\u030a"},
        '{"Unnormalized Unicode":"A\u030a"}',
        "0d99aad92a125196ff887876643fd3206786a84ddce2cee52ba4ad256d2381d3",
        id="unicode",
    ),
]
NOT_WRITTEN = [
    pytest.param({"": [56, {"d": True, "10": None, "1": []}]}, id="arrays-has-null"),
    pytest.param({"numbers": [333333333.3333333, 1e30, 4.5, 2e-3, 1e-27]}, id="values-has-floats"),
    pytest.param({"p\u00eache": "but canonicalization MUST", "sin": "ignore locale"}, id="french-has-other-names"),
    pytest.param({"\U0001f602": "Smiley", "\ufb33": "Hebrew"}, id="weird-orders-by-utf-16"),
    pytest.param({"n": 2**53}, id="beyond-exact-numbers"),
    pytest.param({"n": -(2**53)}, id="beyond-exact-numbers-below"),
    pytest.param({"d": date(2030, 1, 1)}, id="date"),
    pytest.param({1: "one"}, id="name-is-no-text"),
]


@pytest.mark.parametrize(("value", "text", "digest"), VECTORS)
def test_rfc_8785_vectors(value: dict[str, Any], text: str, digest: str) -> None:
    """The outputs of RFC 8785's own test data, byte for byte."""
    assert canonical(value) == text.encode()
    assert hashlib.sha256(canonical(value)).hexdigest() == digest


def test_rfc_8785_string() -> None:
    """The string of the vector "values", whose numbers are floats: what is escaped, how, and what is not."""
    string = "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/"
    assert canonical({"string": string}) == '{"string":"\u20ac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'.encode()


@pytest.mark.parametrize("value", NOT_WRITTEN)
def test_what_encoders_write_differently_is_refused(value: dict[Any, Any]) -> None:
    """A bug, not a body, for everything where the standard encoder would not write RFC 8785."""
    with pytest.raises(TypeError):
        canonical(value)


TEXTS = st.text(st.characters(exclude_categories=["Cs"]))
NAMES = st.text(st.characters(max_codepoint=127), max_size=5)
VALUES = st.recursive(
    st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | TEXTS,
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(NAMES, inner, max_size=4),
    max_leaves=12,
)


@given(st.dictionaries(NAMES, VALUES, max_size=4))
def test_canonical_is_rfc_8785(value: dict[str, Any]) -> None:
    """For all that may stand in a body, the bytes are those of a library written for RFC 8785."""
    assert canonical(value) == rfc8785.dumps(value)


# RFC 6962 section 2.1; leaves and hashes from transparency-dev/merkle, testonly/constants.go.
@pytest.mark.parametrize(
    ("leaf", "digest"),
    [
        ("", "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"),
        ("00", "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"),
        ("10", "0298d122906dcfc10892cb53a73992fc5b9f493ea4c9badb27b791b4127a7fe7"),
        ("2021", "07506a85fd9dd2f120eb694f86011e5bb4662e5c415a62917033d4a9624487e7"),
        ("3031", "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b"),
        ("40414243", "4271a26be0d8a84f0bd54c8c302e7cb3a3b5d1fa6780a40bcce2873477dab658"),
        ("5051525354555657", "b08693ec2e721597130641e8211e7eedccb4c26413963eee6c1e2ed16ffb1a5f"),
        ("606162636465666768696a6b6c6d6e6f", "46f6ffadd3d06a09ff3c5860d2755c8b9819db7df44251788c7d8e3180de8eb1"),
    ],
)
def test_leaf_hashes(leaf: str, digest: str) -> None:
    """The leaf hashes of RFC 6962, so that books can later be proved in a tree."""
    assert leaf_hash(bytes.fromhex(leaf)).hex() == digest


def test_entry_hash_covers_its_place() -> None:
    """Previous hash, book, number and body each change the hash; it is SHA-256 over the byte 0 and all of them."""
    previous, body = bytes(range(32)), b'{"form":1}'
    written = b"\x00" + previous + bytes([0, 0, 0, 0, 0, 0, 8, 0]) + bytes([0, 0, 0, 0, 0, 0, 0, 17]) + body
    assert entry_hash(previous, 2048, 17, body) == hashlib.sha256(written).digest()
    others = [(bytes(32), 2048, 17, body), (previous, 2049, 17, body), (previous, 2048, 18, body)]
    assert len({entry_hash(*one) for one in [*others, (previous, 2048, 17, body + b" ")]}) == 4


def test_seal_is_short() -> None:
    """The first twelve digits of the hash, in groups of four."""
    assert seal(bytes.fromhex("0123456789abcdef" * 4)) == "0123-4567-89ab"


COMMON = ["id", "entry_id", "fact_id", "replaces_id", "struck", "reason"]
FORM_1_ENTRY = "id book no recorded_at offset_minutes deed person_id rank request_id last_id form body prev_hash hash"
FORM_1 = {
    "book": "number site_number opening uid why continues_book continues_no continues_hash",
    "site": "number",
    "site_revision": "site_id valid_from name",
    "clock_change": "site_id at offset_minutes",
    "setting": "name valid_from value",
    "person": "site_id code",
    "person_revision": "person_id valid_from name rank department active",
    "machine": "site_id code",
    "machine_revision": "machine_id valid_from name parent_id walking_order critical department active",
    "alias": "machine_id name",
    "counter": "site_id machine_id code unit",
    "counter_revision": "counter_id valid_from name reads walking_order",
    "meter_period": "counter_id start dial_start base factor_num factor_den",
    "counts_on": "machine_id counter_id from_on share_num share_den",
    "reading": "counter_id read_at offset_minutes dial status held_for note",
    "job": "site_id machine_id code",
    "job_revision": "job_id valid_from title rule department rank critical class_item cautions steps needs active",
    "job_unit": "job_id unit",
    "report": "job_id outcome done_on done_at offset_minutes time_stated done_by condition remarks",
    "closing": "job_id unit kind done_on done_at report_id",
    "closing_count": "closing_id unit total basis reading_1 reading_2",
    "part": "site_id serial",
    "part_revision": "part_id valid_from name",
    "part_move": "part_id machine_id place moved_on since_overhaul since_new note",
    # Since register form 0002.
    "isolation": "machine_id kind begun_at offset_minutes why tag back_on",
    "isolation_end": "isolation_id ended_at offset_minutes tried",
    # Since register form 0003.
    "attachment": "report_id name media_type size sha256",
}
# Columns that hold ids, which bodies carry as strings, beside id, entry_id, fact_id and replaces_id.
FORM_1_IDS = {
    "site_revision.site_id",
    "clock_change.site_id",
    "person.site_id",
    "person_revision.person_id",
    "machine.site_id",
    "machine_revision.machine_id",
    "machine_revision.parent_id",
    "alias.machine_id",
    "counter.site_id",
    "counter.machine_id",
    "counter_revision.counter_id",
    "meter_period.counter_id",
    "counts_on.machine_id",
    "counts_on.counter_id",
    "reading.counter_id",
    "job.site_id",
    "job.machine_id",
    "job_revision.job_id",
    "job_unit.job_id",
    "report.job_id",
    "closing.job_id",
    "closing.report_id",
    "closing_count.closing_id",
    "closing_count.reading_1",
    "closing_count.reading_2",
    "part.site_id",
    "part_revision.part_id",
    "part_move.part_id",
    "part_move.machine_id",
    "isolation.machine_id",
    "isolation_end.isolation_id",
    "attachment.report_id",
}


def test_wire_names_are_frozen() -> None:
    """Names of tables and columns stand in every signed body: those of form 1 stay for ever, in this spelling."""
    assert [column.name for column in ENTRY.columns] == FORM_1_ENTRY.split()
    assert {name: [column.name for column in table.columns] for name, table in FACTS.items()} == {
        name: COMMON + columns.split() for name, columns in FORM_1.items()
    }


def test_ids_are_frozen() -> None:
    """Which columns are written as strings is as fixed as their names."""
    found = {
        f"{name}.{column.name}"
        for name, table in FACTS.items()
        for column in table.columns
        if is_id(column) and column.name not in COMMON
    }
    assert found == FORM_1_IDS


def test_fact_in_a_body() -> None:
    """A fact as form 1 writes it: ids as strings, dates in ISO form, flags as booleans, nothing for nulls."""
    row = {
        "id": 12, "entry_id": 10, "fact_id": 11, "replaces_id": 11, "struck": False, "reason": "wrong day",
        "job_id": 7, "outcome": "done", "done_on": date(2030, 1, 16), "done_at": 1_894_780_800, "offset_minutes": -150,
        "time_stated": True, "done_by": "B. Bø", "condition": None, "remarks": 'said "ok" \\ left',
    }  # fmt: skip
    body = fact_to_body(REPORT, row)
    assert canonical(body).decode() == (
        '{"done_at":1894780800,"done_by":"B. Bø","done_on":"2030-01-16","fact_id":"11","id":"12","job_id":"7",'
        '"offset_minutes":-150,"outcome":"done","reason":"wrong day","remarks":"said \\"ok\\" \\\\ left",'
        '"replaces_id":"11","struck":false,"time_stated":true}'
    )
    assert fact_from_body(REPORT, json.loads(canonical(body)), 10) == row


@given(st.data())
def test_rows_come_back_from_bodies(data: st.DataObject) -> None:
    """Whatever a row of whatever table holds, its body gives it back."""
    table = data.draw(st.sampled_from(list(FACTS.values())))
    row = data.draw(st.fixed_dictionaries({column.name: values_of(column) for column in table.columns}))
    body = json.loads(canonical(fact_to_body(table, row)))
    assert fact_from_body(table, body, row["entry_id"]) == row


def values_of(column: Any) -> st.SearchStrategy[Any]:
    """What a column can hold."""
    if is_id(column) or column.name == "entry_id":
        values: st.SearchStrategy[Any] = st.integers(1, 2**63 - 1)
    elif isinstance(column.type, Date):
        values = st.dates()
    else:
        kinds = {str: TEXTS, bool: st.booleans(), int: st.integers(-(2**53) + 1, 2**53 - 1)}
        values = kinds[column.type.python_type]
    return st.none() | values if column.nullable else values


def test_unknown_column_is_a_bug() -> None:
    """A body with a name that is no column cannot become a row."""
    with pytest.raises(KeyError):
        fact_from_body(READING, {"id": "1", "mood": "good"}, 1)
