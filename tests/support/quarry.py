"""The plan of an invented quarry, sixty jobs in one sheet, laid out as engineers lay sheets out for each other.

Title rows, headings in two rows with merged cells, the machine only in its first row, hours as text, dates as dates, as day
numbers and as text, words for 'nothing', and one cell that is wrong.
"""

from __future__ import annotations

from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

from workbook_files import write_book

READ_ON = date(2030, 1, 14)
"""When the hours of the sheet were read."""
WRONG = "soon"
"""The interval that means nothing, and ``MENDED`` what it should say."""
MENDED = "6 months"

# Machine, hours now, and its jobs: title, hours, months, days since the last doing, hours at the last doing, who, critical.
_Job = tuple[Any, ...]
_MACHINES: tuple[tuple[str, Any, tuple[_Job, ...]], ...] = (
    ("Jaw crusher", 14210, (
        ("Grease main bearings", 250, None, 13, 14010, "Fitter", "Y"), ("Check toggle plate", 500, None, 34, 13800, "Fitter", "Y"),
        ("Change lube oil", 2000, 12, 240, 12600, "Fitter", "Y"), ("Turn jaw plates", 1500, None, 104, 13100, "Fitter", None),
        ("Check V-belts", None, 1, 26, None, "Fitter", None), ("Inspect foundation bolts", None, 6, "5.10.2029", None, "Foreman", None),
        ("Megger main motor", None, 12, 313, None, "Electrician", None),
    )),
    ("Cone crusher", "9 876,5", (
        ("Change oil filter", 500, None, 31, "9 400", "Fitter", "Y"), ("Change lube oil", 2000, 12, 229, "8 200,5", "Fitter", "Y"),
        ("Check liner wear", 250, None, 5, "9 700 hrs", "Fitter", None), ("Renew mantle and liner", 3000, None, 337, "7 000", "Fitter", None),
        ("Calibrate tramp release", None, 12, None, None, "Electrician", "Y"), ("Megger main motor", None, 12, 313, None, "Electrician", None),
    )),
    ("Primary screen", None, (
        ("Check springs", None, 1, 14, None, "Fitter", None), ("Grease bearings", None, 1, 14, None, "Fitter", None),
        ("Renew mesh", None, 6, 128, None, "Fitter", None),
    )),
    ("Conveyor C1", None, (
        ("Check belt and scrapers", None, 1, 12, None, "Fitter", None), ("Test pull cords", None, 3, 76, None, "Electrician", "Y"),
        ("Grease pulleys", None, 3, 87, None, "Fitter", None), ("Change gearbox oil", None, 24, "n/a", None, "Fitter", None),
    )),
    ("Conveyor C2", None, (
        ("Check belt and scrapers", None, 1, 12, None, "Fitter", None), ("Test pull cords", None, 3, 76, None, "Electrician", "Y"),
        ("Grease pulleys", None, 3, 87, None, "Fitter", None), ("Change gearbox oil", None, 24, None, None, "Fitter", None),
    )),
    ("Wheel loader 1", 6120.4, (
        ("Engine oil and filter", 500, 12, 67, 5700, "Driver", None), ("Fuel filters", 500, None, 67, 5700, "Driver", None),
        ("Hydraulic oil", 2000, 24, 556, 4100, "Fitter", None), ("Transmission oil", 1000, None, 167, 5300, "Fitter", None),
        ("Axle oil", 2000, None, 167, 5300, "Fitter", None), ("Brake test", None, 6, "8.9.29", None, "Foreman", "Y"),
        ("Coolant", None, 24, 556, None, "Fitter", None),
    )),
    ("Wheel loader 2", 3015, (
        ("Engine oil and filter", 500, 12, 38, 2900, "Driver", None), ("Fuel filters", 500, None, 38, 2900, "Driver", None),
        ("Hydraulic oil", 2000, 24, 349, 1990, "Fitter", None), ("Transmission oil", 1000, None, 191, 2400, "Fitter", None),
        ("Brake test", None, 6, "8.9.29", None, "Foreman", "Y"), ("Coolant", None, 24, 349, None, "Fitter", None),
    )),
    ("Excavator", 8450, (
        ("Engine oil and filter", 500, 12, 96, 8050, "Driver", None), ("Grease slew ring", 50, None, 2, 8420, "Driver", None),
        ("Hydraulic filters", 1000, None, 223, 7600, "Fitter", None), ("Slew gear oil", 1000, 12, 223, 7600, "Fitter", None),
        ("Track tension", None, 1, 16, None, "Driver", None), ("Final drive oil", 2000, None, None, None, "Fitter", None),
    )),
    ("Generator No 1", 12050, (
        ("Test run on load", None, 1, 9, None, "Electrician", "Y"), ("Oil and filter", 250, 12, 65, 11900, "Fitter", None),
        ("Fuel filter", 500, None, 159, 11500, "Fitter", None), ("Check valve clearance", 1000, None, 378, 11200, "Fitter", None),
        ("Battery check", None, 1, 9, None, "Electrician", None),
    )),
    ("Generator No 2", None, (
        ("Test run on load", None, 1, 9, None, "Electrician", "Y"), ("Oil and filter", 250, 12, 286, 3100, "Fitter", None),
        ("Fuel filter", 500, None, 286, 3100, "Fitter", None), ("Battery check", None, 1, 9, None, "Electrician", None),
    )),
    ("Air compressor", 5210, (
        ("Change separator", 2000, 24, 410, 3900, "Fitter", None), ("Oil filter", 1000, 12, 128, 4700, "Fitter", None),
        ("Air filter", 500, 6, 128, 4700, "Fitter", None), ("Pressure vessel inspection", None, 24, 651, None, "Inspector", "Y"),
    )),
    ("Overhead crane", None, (
        ("Inspect wire rope", None, 3, 57, None, "Fitter", "Y"), ("Load test", None, 12, None, None, "Inspector", "Y"),
        ("Grease wheels", WRONG, None, 138, None, "Fitter", None), ("Limit switch test", "weekly", None, 9, None, "Electrician", "Y"),
    )),
)  # fmt: skip
_TOP: list[list[Any]] = [
    ["KESTREL HILL QUARRY - PREVENTIVE MAINTENANCE PLAN"],
    ["rev. 7, workshop copy"],
    [],
    ["#", "Equipment", "Maintenance task", "Interval", None, "Last service", None, "Hour meter", "Resp.", "Crit.", "Colour", "Next service"],
    [None, None, None, "Hours", "Months", "Date", "Hours", None, None, None, None, None],
]  # fmt: skip
_AREAS = ("A1:K1", "D4:E4", "F4:G4", *(f"{column}4:{column}5" for column in "ABCHIJKL"))


def write_quarry(folder: Path) -> Path:
    """The plan as a workbook in the folder."""
    return write_book(folder / "PM plan.xlsx", {"PM 2030": _rows(), "Contacts": [["Fitter", "ext. 12"]]}, _merge)


def job_count() -> int:
    """How many jobs it lists."""
    return sum(len(jobs) for _, _, jobs in _MACHINES)


def _rows() -> list[list[Any]]:
    rows, number = list(_TOP), 0
    for machine, hours, jobs in _MACHINES:
        for place, (title, every, months, ago, count, who, critical) in enumerate(jobs):
            number += 1
            first = place == 0
            name, now, colour = (machine, hours, None) if first else (None, None, None)
            rows.append(
                [number, name, title, every, months, _day(number, ago), count, now, who, critical, colour, None]
            )
    rows[6][10] = "red"
    return [*rows, [], [None, "All hours read by the shift foreman"]]


def _day(number: int, ago: Any) -> Any:
    """A last doing: a date, a day number now and then, or what was written by hand."""
    if not isinstance(ago, int):
        return ago
    day = READ_ON - timedelta(days=ago)
    if number % 7 == 3:
        return (day - date(1899, 12, 30)).days
    return datetime(day.year, day.month, day.day)  # noqa: DTZ001 - a cell knows no zone


def _merge(book: Any) -> None:
    for area in _AREAS:
        book["PM 2030"].merge_cells(area)
