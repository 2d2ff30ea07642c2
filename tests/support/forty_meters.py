"""A plant of forty meters, read a week ago, and what they show now; in one of the new values two digits are swapped."""

from __future__ import annotations

from pathlib import Path

from registers import AT, make_register

COUNT = 40
SWAPPED = 13
"""Which meter is typed with two digits swapped: 31 430 for 31 340, 226 h in 7 days (worked case 12)."""


def code(number: int) -> str:
    """The code of a meter, by its number from 1."""
    return f"P{number:02d}-H"


def old_value(number: int) -> int:
    """What a meter showed a week ago, in whole hours."""
    return 31_204 if number == SWAPPED else 20_000 + 100 * number


def new_value(number: int) -> int:
    """What a meter shows now: 136 h more on the one that is typed wrong, 60 h more on all others."""
    return old_value(number) + (136 if number == SWAPPED else 60)


def typed_value(number: int) -> str:
    """What is typed for a meter."""
    return "31430" if number == SWAPPED else str(new_value(number))


FILES = {
    "people": "code,name,rank,department\nCE,A. Ardmore,Chief engineer,engine\n4E,D. Dunmore,Fourth engineer,engine\n",
    "machines": "code,name,order,counts_on\n"
    + "".join(f"P{n:02d},Pump {n},{n},{code(n)}\n" for n in range(1, COUNT + 1)),
    "counters": "code,machine,unit,reads,dial_start,total_start\n"
    + "".join(f"{code(n)},P{n:02d},h,whole,0,0\n" for n in range(1, COUNT + 1)),
    "jobs": "code,machine,title,interval\n"
    + "".join(f"P{n:02d}-BRG,P{n:02d},Renew the bearings,1000 h\n" for n in (1, 2, SWAPPED)),
    "last_done": "job,done_on,count\n"
    + "".join(f"P{n:02d}-BRG,2025-06-10,{old_value(n) - 100} h\n" for n in (1, 2, SWAPPED)),
    # 24 June, 20:00 UTC is seven days before AT.
    "readings": "counter,read_on,time,value\n"
    + "".join(
        f"{code(n)},{day},20:00,{old_value(n) - less}\n"
        for n in range(1, COUNT + 1)
        for day, less in (("2025-06-10", 100), ("2025-06-24", 0))
    ),
}


def make_forty(folder: Path) -> Path:
    """The register of the forty meters, made in the folder; its path."""
    make_register(folder, FILES, at=AT).close()
    return folder / "register.db"
