"""A small vessel with a past: work in time and late, a report corrected and one struck, readings of every version.

It was loaded on 16 May 2025; what was done afterwards was entered day by day, so that a past day can be asked for.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from pathlib import Path

from registers import AT, COUNTERS, FILES, JOBS, LAST_DONE, MACHINES, make_register

from pmsched.store.register import Register
from pmsched.usecases.amend_reading import AmendReading, amend_reading
from pmsched.usecases.ask_history import HistoryFilter, history
from pmsched.usecases.ask_records import readings_history
from pmsched.usecases.correct_report import CorrectReport, correct_report
from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.report_work import ReportWork, report_work
from pmsched.usecases.signing import Signer
from pmsched.usecases.views import Asked

LOADED = int(datetime(2025, 5, 16, 12, tzinfo=UTC).timestamp())
READINGS = """counter,read_on,value
AE1-H,2025-04-15,11830
AE1-H,2025-05-01,12000
AE1-H,2025-05-15,12140
"""
AUDITED_FILES = FILES | {
    "machines": MACHINES + "OLD,Old bilge pump,,,,,,\n",
    "counters": COUNTERS + "STG-S,STG,,starts,whole,,,\n",
    "jobs": JOBS + "STG-LUB,STG,Grease the rudder stock,24 months,,,,,,,\n",
    "last_done": LAST_DONE + "STG-LUB,,2024-03-01,,,,\n",
    "readings": READINGS,
}


def audited_register(folder: Path) -> Path:
    """Make the register in the folder and close it; its file."""
    with make_register(folder, AUDITED_FILES, at=LOADED) as register:
        # In the order entered: what was known on a day goes by the order of entries.
        tested = ReportWork("STG-TST", date(2025, 5, 19), time(9), remarks="Rudder hard over in 27 s.")
        report_work(register, tested, _signed("CE", 5, 20))
        _read(register, "12310", 6, 1)
        oil = ReportWork("AE1-OIL", date(2025, 6, 2), remarks="Filter torn.", condition="fair wear, will last")
        report_work(register, oil, _signed("2E", 6, 3))
        _read(register, "12370", 6, 8)
        fault = CorrectReport(_report(register, "AE1-OIL"), "log book says the 1st", done_on=date(2025, 6, 1))
        correct_report(register, fault, _signed("CE", 6, 10))
        report_work(register, ReportWork("AE1-EXV", date(2025, 6, 11), units=("1",)), _signed("2E", 6, 12))
        void = CorrectReport(_report(register, "AE1-EXV"), "another engine", strike=True)
        correct_report(register, void, _signed("CE", 6, 15))
        wrong = _read(register, "12440", 6, 15)
        _read(register, "11900", 6, 22)
        misread = readings_history(register, Asked(AT), "AE1-H").rows[4].number
        amend_reading(register, AmendReading(misread, "value", "misread", "12375"), _signed("CE", 6, 23))
        amend_reading(register, AmendReading(wrong, "strike", "wrong line"), _signed("CE", 6, 24))
    return folder / "register.db"


def _read(register: Register, value: str, month: int, day: int) -> str:
    """Enter a reading of noon; its number."""
    read = int(datetime(2025, month, day, 12, tzinfo=UTC).timestamp())
    record_round(register, [RoundLine("AE1-H", value, read)], _signed("2E", month, day))
    return next(row.number for row in readings_history(register, Asked(AT), "AE1-H").rows if row.read_at == read)


def _signed(person: str, month: int, day: int) -> Signer:
    return Signer(person, int(datetime(2025, month, day, 18, tzinfo=UTC).timestamp()))


def _report(register: Register, job: str) -> str:
    return history(register, Asked(AT), HistoryFilter(job=job)).rows[-1].number
