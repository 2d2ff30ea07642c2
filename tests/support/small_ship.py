"""A small ship with something of everything: machines that count on each other, units, a name made of odd characters."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

from pmsched.store.register import Register
from pmsched.usecases.load_register import load
from pmsched.usecases.set_up import SetUp, set_up
from pmsched.usecases.signing import Signer

# The ship keeps two hours ahead of UTC: it is 10:00 on board.
NOW = int(datetime(2030, 1, 15, 8, tzinfo=UTC).timestamp())
SET_UP_AT = int(datetime(2030, 1, 10, 8, tzinfo=UTC).timestamp())
NASTY = "[ME-01] Oil [/] \\"

FILES = {
    "people": """code,name,rank,department
2E,Bo Lind,Second engineer,engine
""",
    "machines": f"""code,name,parent,critical,department,counts_on,other_names
ME,Main engine,,yes,engine,ME-H,
GE1,Generator engine 1,,no,engine,GE1-H; GE1-S,No. 1 genset
GE1-PU,{NASTY},GE1,no,electrical,GE1-H,lube oil pump
""",
    "counters": """code,machine,name,unit,reads
ME-H,ME,Main engine hours,h,whole
GE1-H,GE1,,h,tenths
GE1-S,GE1,Starts,starts,whole
""",
    "jobs": f"""code,machine,title,interval,units,department,critical,cautions,starts
ME-LO,ME,Change lube oil,500 h,,engine,yes,Hot oil,
GE1-EXV,GE1,Overhaul exhaust valves,1000 h or 12 months,1; 2,engine,no,,
PU-CHK,GE1-PU,{NASTY},1 month,,electrical,no,,
GE1-NEW,GE1,Clean charge air cooler and its drains with the maker's fluid,6 months,,engine,no,,from 2029-12-01
""",
    "last_done": """job,unit,done_on,count
ME-LO,,2029-12-20,11776 h
GE1-EXV,1,2029-06-01,4500 h
GE1-EXV,2,2029-12-01,4900 h
PU-CHK,,2029-12-10,
""",
    "readings": """counter,read_on,value
ME-H,2029-12-15,11716
ME-H,2030-01-08,12004
GE1-H,2029-12-15,5000
GE1-H,2030-01-08,5120.5
GE1-S,2030-01-08,640
""",
}


def build_ship(folder: Path) -> Path:
    """The ship's register, made in the folder from its files; two entries, signed by CE."""
    path = folder / "register.db"
    set_up(str(path), SetUp("MV Example", "CE", "Ida Holm", "Chief engineer", offset_minutes=120), SET_UP_AT)
    for name, text in FILES.items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    with Register(str(path)) as register:
        load(register, [folder / f"{name}.csv" for name in FILES], Signer("CE", SET_UP_AT + 3600))
    return path
