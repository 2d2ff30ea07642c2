"""Three meters: GE-H in tenths on a machine with a hostile name, ME-H in whole hours, and SC-S, starts never read."""

from __future__ import annotations

from pathlib import Path

from registers import make_register

NASTY = "[ME-01] Oil [/] \\"
FILES = {
    "machines": f"code,name,counts_on\nGE,{NASTY},GE-H\nME,Main engine,ME-H\nSC,Compressor,SC-S\n",
    "counters": (
        "code,machine,name,unit,reads,dial_start,total_start\n"
        "GE-H,GE,,h,tenths,0,0\nME-H,ME,Main engine hours,h,whole,0,0\nSC-S,SC,Starts,starts,whole,,0\n"
    ),
    "jobs": "code,machine,title,interval\nME-LO,ME,Change the lube oil,500 h\n",
    "last_done": "job,done_on,count\nME-LO,2025-06-20,12100 h\n",
    # Read two weeks and one week before the moment of the tests.
    "readings": (
        "counter,read_on,time,value\nGE-H,2025-06-17,20:00,5000\nGE-H,2025-06-24,20:00,5070.5\n"
        "ME-H,2025-06-17,20:00,12000\nME-H,2025-06-24,20:00,12100\n"
    ),
}


def make_few(folder: Path) -> Path:
    """The register of the three meters, made in the folder; its path."""
    make_register(folder, FILES).close()
    return folder / "register.db"
