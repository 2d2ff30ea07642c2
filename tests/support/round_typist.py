"""Types a round on the screens until it is killed: ``python round_typist.py REGISTER STATE``.

After each Enter it waits until the screen says that the line is saved, and only then prints how many lines were typed.
"""

from __future__ import annotations

import sys
from pathlib import Path

import platformdirs
from forty_meters import COUNT, typed_value
from pilot import make_app, press, run_app, text_of, type_ahead
from textual.pilot import Pilot


async def type_round(pilot: Pilot[None]) -> None:
    """Type every line, and say which one is saved."""
    await press(pilot, "r")
    for number in range(1, COUNT + 1):
        await type_ahead(pilot, f"{typed_value(number)}\n")
        if f"{number} of {COUNT} typed and saved" not in text_of(pilot.app):
            raise SystemExit(f"line {number} is not said to be saved:\n{text_of(pilot.app)}")
        sys.stdout.write(f"{number}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    platformdirs.user_state_path = lambda *_a, **_k: Path(sys.argv[2])
    run_app(make_app(sys.argv[1]), type_round)
