"""Registers made as people make them: the first book opened, then input files loaded.

Texts of files are given by name; the machines, people and places in them are invented.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from pmsched.store.opening import FirstPerson, open_first_book
from pmsched.store.register import Register
from pmsched.usecases.load_register import LoadResult, load
from pmsched.usecases.signing import Signer

# 1 July 2025, 20:00 UTC; the ship's clock shows UTC unless a test says otherwise.
AT = int(datetime(2025, 7, 1, 20, tzinfo=UTC).timestamp())
DAY_SECONDS = 86_400

PEOPLE = """code,name,rank,department
CE,A. Ardmore,Chief engineer,engine
2E,B. Bødal,Second engineer,engine
"""
MACHINES = """code,name,parent,order,critical,department,counts_on,other_names
AE,Auxiliary engines,,,,,,
AE1,Auxiliary engine 1,AE,,yes,,,No. 1 generator; G1
AE1-LOP,Lube-oil pump of auxiliary engine 1,AE1,,,,AE1-H,
STG,Steering gear,,,yes,,,
"""
COUNTERS = """code,machine,name,unit,reads,order,dial_start,total_start
AE1-H,AE1,,h,whole,,0,0
AE1-S,AE1,Starts of auxiliary engine 1,starts,,,0,
"""
JOBS = """code,machine,title,interval,counts_from,grid_from,units,critical,cautions,steps,starts
AE1-OIL,AE1,Change the lube oil,500 h or 3 months,,,,,Hot oil,Stop the engine; drain; fill,
AE1-EXV,AE1,Overhaul the exhaust valves,8000 h,,,3,,,,
LOP-BRG,AE1-LOP,Renew the bearings,4000 h,,,,,,,from 2025-01-01 at 11000 h
STG-TST,STG,Test the steering gear,3 months,grid,2025-01-31,,yes,,,due at once
"""
LAST_DONE = """job,unit,done_on,time,count,by,remarks
AE1-OIL,,2025-05-15,,,B. Bødal,filter clean
AE1-EXV,,2024-11-20,14:30,10000 h,,
"""
READINGS = """counter,read_on,time,offset,value,note
AE1-H,2025-05-01,,,12000,
AE1-H,2025-06-01,,,12310,
AE1-H,2025-07-01,,,12600,
AE1-S,2025-07-01,,,900,
"""
PARTS = """serial,name,machine,since,hours_since_overhaul,hours_since_new,place,note
R-118,Turbocharger rotor,AE1,2023-03-05,3300,15700,,
R-121,Turbocharger rotor,,,0,,Store 2 shelf B,
"""
FILES: Mapping[str, str] = {
    "people": PEOPLE,
    "machines": MACHINES,
    "counters": COUNTERS,
    "jobs": JOBS,
    "last_done": LAST_DONE,
    "readings": READINGS,
    "parts": PARTS,
}
"""A small vessel's input files, by name without ``.csv``."""


def write_files(folder: Path, files: Mapping[str, str]) -> Path:
    """Write the texts as ``.csv`` files into the folder, which is made if need be; the folder again."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in files.items():
        (folder / f"{name.removesuffix('.csv')}.csv").write_text(text, encoding="utf-8")
    return folder


def empty_register(
    folder: Path, *, site: str = "MV Invented", person: FirstPerson | None = None, at: int = AT, offset_minutes: int = 0
) -> Register:
    """An open register with its first book and one person, set up the day before ``at``; nothing is loaded."""
    folder.mkdir(parents=True, exist_ok=True)
    register = Register(str(folder / "register.db"), create=True)
    first = person or FirstPerson("CE", "A. Ardmore", "Chief engineer", "engine")
    open_first_book(register, site, first, at - DAY_SECONDS, offset_minutes)
    return register


def make_register(
    tmp_path: Path,
    files: Mapping[str, str] | None = None,
    *,
    site: str = "MV Invented",
    signer: str = "CE",
    at: int = AT,
    offset_minutes: int = 0,
) -> Register:
    """An open register into which files were loaded; close it, or use it as a context manager.

    Args:
        tmp_path: the folder for the register and the files.
        files: CSV texts by file name; by default those of a small vessel.
        site: name of the vessel.
        signer: code of the first person, who signs; as ``people`` describes them, where it does.
        at: the moment of the load, UTC epoch seconds.
        offset_minutes: the ship's offset from UTC, for all time.
    """
    files = FILES if files is None else files
    person = _person(files, signer)
    register = empty_register(tmp_path, site=site, person=person, at=at, offset_minutes=offset_minutes)
    if files:
        load_texts(register, tmp_path / "files", files, Signer(signer, at))
    return register


def load_texts(
    register: Register, folder: Path, files: Mapping[str, str], signer: Signer | None = None, **options: Any
) -> LoadResult:
    """Load texts as files from an otherwise empty folder; options as those of ``load``."""
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("*.csv"):
        old.unlink()
    return load(register, [write_files(folder, files)], signer or Signer("CE", AT), **options)


def _person(files: Mapping[str, str], code: str) -> FirstPerson:
    for name, text in files.items():
        if name.removesuffix(".csv") == "people":
            for row in csv.DictReader(text.splitlines()):
                if row["code"] == code:
                    return FirstPerson(code, row["name"], row["rank"], row["department"])
    return FirstPerson(code, "A. Ardmore", "Chief engineer", "engine")
