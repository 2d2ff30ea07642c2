"""The rows of a register read with plain SQL, as far as ``by_hand`` needs them; nothing of the program is used.

Reads registers without extensions, estimates, lay-ups and changed rules, such as the demo.
"""

from __future__ import annotations

import sqlite3
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import NamedTuple, Self

from by_hand import Past, Seen, Use, WrittenRule, read_written

_LIVE = "NOT {0}.struck AND {0}.id NOT IN (SELECT replaces_id FROM {0} WHERE replaces_id IS NOT NULL)"


class JobUnit(NamedTuple):
    """A job (unit) with what it is worked out from: its rule, its first and its last doing, and what its machine counts."""

    job: str
    unit: str
    rule: WrittenRule
    last: Past
    first: Past
    uses: Mapping[str, Use]


class RawRegister:
    """A register file, opened by the database alone.

    Args:
        path: the file.
    """

    def __init__(self, path: Path) -> None:
        self._connection = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        self._uses = self._uses_of_machines()
        self._doings = self._doings_of_units()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_error: object) -> None:
        self._connection.close()

    def count(self, table: str, where: str = "1") -> int:
        """How many rows a table has."""
        return int(self._connection.execute(f"SELECT count(*) FROM {table} WHERE {where}").fetchone()[0])  # noqa: S608 - ours

    def entries(self) -> list[tuple[str, int]]:
        """The deed of every entry and when it was recorded (UTC epoch seconds), in the order of the book."""
        return list(self._connection.execute("SELECT deed, recorded_at FROM entry ORDER BY id"))

    def bodies(self) -> list[bytes]:
        """What was signed, entry by entry in the order of the book."""
        return [body for (body,) in self._connection.execute("SELECT body FROM entry ORDER BY id")]

    def job_units(self) -> Iterator[JobUnit]:
        """Every job unit, in the order of the register."""
        statement = (
            "SELECT job.id, job.code, job.machine_id, job_unit.unit, job_revision.rule FROM job_unit"
            " JOIN job ON job.id = job_unit.job_id JOIN job_revision ON job_revision.job_id = job.id ORDER BY job_unit.id"
        )
        for job_id, code, machine_id, unit, rule in self._connection.execute(statement):
            doings = self._doings[job_id, unit]
            yield JobUnit(code, unit, read_written(rule), doings[-1], doings[0], self._uses[machine_id])

    def _doings_of_units(self) -> dict[tuple[int, str], list[Past]]:
        """Doings and starts, the earliest first; "due at once" (kind 2) is nothing to count from."""
        counts: dict[int, dict[str, int]] = defaultdict(dict)
        for closing, unit, total in self._connection.execute(
            f"SELECT closing_id, unit, total FROM closing_count WHERE {_LIVE.format('closing_count')}"  # noqa: S608 - ours
        ):
            counts[closing][unit] = total
        found: dict[tuple[int, str], list[Past]] = defaultdict(list)
        for job_id, unit, fact_id, on in self._connection.execute(
            "SELECT job_id, unit, fact_id, done_on FROM closing"  # noqa: S608 - ours
            f" WHERE kind <> 2 AND {_LIVE.format('closing')} ORDER BY done_at, id"
        ):
            found[job_id, unit].append(Past(date.fromisoformat(on), counts[fact_id]))
        return found

    def _uses_of_machines(self) -> dict[int, dict[str, Use]]:
        readings = self._readings()
        found: dict[int, dict[str, Use]] = defaultdict(dict)
        for machine, counter, unit, num, den in self._connection.execute(
            "SELECT counts_on.machine_id, counter_id, counter.unit, share_num, share_den"
            " FROM counts_on JOIN counter ON counter.id = counter_id"
        ):
            assert unit not in found[machine], "one counter of a unit for a machine"
            found[machine][unit] = Use(readings[counter], num, den)
        return found

    def _readings(self) -> dict[int, list[Seen]]:
        """Accepted readings by counter, the earliest first."""
        starts = {
            counter: (dial_start, base)
            for counter, dial_start, base in self._connection.execute(
                "SELECT counter_id, dial_start, base FROM meter_period"
            )
        }
        found: dict[int, list[Seen]] = defaultdict(list)
        for counter, at, offset, dial in self._connection.execute(
            "SELECT counter_id, read_at, offset_minutes, dial FROM reading"  # noqa: S608 - ours
            f" WHERE status = 'accepted' AND {_LIVE.format('reading')} ORDER BY read_at, id"
        ):
            dial_start, base = starts[counter]
            shown = datetime.fromtimestamp(at, UTC) + timedelta(minutes=offset)
            found[counter].append(Seen(at, shown.date(), base + dial - dial_start))
        return found
