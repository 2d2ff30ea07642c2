"""A small vessel at the hand-over of a watch: work overdue, due and to come, routine tests, units partly done, a held reading.

It is 1 July 2025, 20:00 on board; the watch ends the next morning at 08:00.
"""

from __future__ import annotations

from pathlib import Path

from registers import AT, make_register

from pmsched.usecases.record_round import RoundLine, record_round
from pmsched.usecases.signing import Signer

HELD_VALUE = "12066"
MEANT_VALUE = "12 606"

FILES = {
    "people": """code,name,rank,department
CE,A. Ardmore,Chief engineer,engine
3E,C. Coen,Third engineer,engine
EO,E. Espeland,Electrician,electrical
CM,M. Marchetti,Chief mate,deck
""",
    "machines": """code,name,critical,department,counts_on
AE1,Auxiliary engine 1,,engine,
BLG,Bilge system,,engine,
STG,Steering gear,yes,engine,
MSB,Main switchboard,,electrical,
WIN,Windlass,,deck,
""",
    "counters": """code,machine,unit,reads
AE1-H,AE1,h,whole
""",
    "jobs": """code,machine,title,interval,counts_from,grid_from,units,department,cautions,steps,needs
AE1-VLV,AE1,Set the valve clearances,500 h or 12 months,,,,engine,Starting air shut; Nobody at the rockers,Turn to firing top; Measure; Set,"Engine stopped; 2 people, 3 h"
AE1-INJ,AE1,Renew the injectors,3 months,,,1; 2; 3,engine,Hot parts,,
STG-TST,STG,Test the steering gear,1 week,grid,2025-06-24,,engine,Stay outside the guard,,
BLG-ALM,BLG,Test the bilge alarms,1 week,grid,2025-06-24,,engine,Slippery plates,,
BLG-PMP,BLG,Try the bilge pump,1 week,grid,2025-06-24,,engine,,,
AE1-STR,AE1,Try the standby start,1 week,grid,2025-06-24,,engine,It starts by itself,,
AE1-TRP,AE1,Test the low oil trip,1 week,grid,2025-06-25,,engine,Tell the bridge,,
AE1-FLT,AE1,Clean the fuel filter,1 month,,,,engine,,,
MSB-LMP,MSB,Test the earth lamps,1 week,grid,2025-06-24,,electrical,Live board,,
WIN-GRS,WIN,Grease the windlass,1 month,,,,deck,Brakes on,,
""",
    "last_done": """job,unit,done_on,count,remarks
AE1-VLV,,2025-03-01,12000 h,unit 4 was tight
AE1-INJ,1,2025-06-28,,
AE1-INJ,2,2025-06-29,,
AE1-INJ,3,2025-03-20,,
STG-TST,,2025-06-24,,
BLG-ALM,,2025-06-24,,
BLG-PMP,,2025-06-24,,
AE1-STR,,2025-06-24,,
AE1-TRP,,2025-06-25,,
AE1-FLT,,2025-06-20,,
MSB-LMP,,2025-06-24,,
WIN-GRS,,2025-05-20,,
""",
    "readings": """counter,read_on,value
AE1-H,2025-05-01,12200
AE1-H,2025-06-01,12400
AE1-H,2025-07-01,12600
""",
}


def watch_ship(folder: Path) -> Path:
    """Make the register in the folder and close it; its file. CE signed what is in it."""
    with make_register(folder, FILES) as register:
        held = RoundLine("AE1-H", HELD_VALUE, AT)
        record_round(register, [held], Signer("CE", AT))
    return folder / "register.db"
