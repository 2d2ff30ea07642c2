"""The XML of a sheet looked through for what stands beside the values: above all, where the last value is."""

from __future__ import annotations

from io import BytesIO

import pytest

from pmsched.exchange import sheet_scan
from pmsched.exchange.sheet_scan import UNNUMBERED, scan


@pytest.mark.parametrize(
    ("rows", "last"),
    [
        pytest.param("", 0, id="no-row"),
        pytest.param('<row r="3"><c r="A3" s="1"/></row>', 0, id="formats-only"),
        pytest.param('<row r="3"><c r="A3"><v/></c></row>', 0, id="blank-value"),
        pytest.param('<row r="3"><c r="A3"><v>1</v></c></row><row r="9"><c r="A9"/></row>', 3, id="value"),
        pytest.param('<row spans="1:4" r="12" ht="9"><c r="A12"><v>1</v></c></row>', 12, id="other-attributes"),
        pytest.param('<row r="4"><c r="A4" t="inlineStr"><is><t>x</t></is></c></row>', 4, id="text-in-its-cell"),
        pytest.param('<row r="5"><c r="A5"><f>1+1</f></c></row>', 5, id="formula-without-result"),
        pytest.param('<row r="6"><c r="A6"><f t="shared" si="0"/></c></row>', 6, id="shared-formula"),
        pytest.param('<x:row r="7"><x:c r="A7"><x:v>1</x:v></x:c></x:row>', 7, id="prefix"),
        pytest.param('<row r="1"><c><v>1</v></c></row><row><c><v>1</v></c></row>', UNNUMBERED, id="row-without-number"),
        pytest.param('<row r="1"><c><v>1</v></c></row><row/><row><c s="1"/><c s="1"/><c s="1"/><c><v>1</v></c></row>', UNNUMBERED,
                     id="row-without-number-far-from-its-value"),
        pytest.param('<row><c><v>1</v></c></row><row r="8"><c/></row>', UNNUMBERED, id="only-the-last-has-a-number"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("piece", [1 << 20, 40], ids=["in-one-piece", "in-many"])
def test_last_value(rows: str, last: int, piece: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """Never before a value or a formula, wherever the pieces end that are looked through."""
    monkeypatch.setattr(sheet_scan, "_PIECE_BYTES", piece)
    assert scan(BytesIO(f"<worksheet><sheetData>{rows}</sheetData></worksheet>".encode())).last_value == last
