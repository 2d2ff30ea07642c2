"""Who is on board: officers take turns, everybody else stays.

Knows ranks and days, no work.
"""

from __future__ import annotations

from functools import cache
from random import Random
from typing import NamedTuple

from seeds_demo.csv_files import rows

_TURN_DAYS = 120
_PAIR = 2


class Person(NamedTuple):
    """Somebody who stands in the register; the department is one word."""

    code: str
    name: str
    rank: str
    department: str


@cache
def people() -> tuple[Person, ...]:
    """Everybody who stands in the register."""
    return tuple(Person(**row) for row in rows("people.csv"))


@cache
def of_rank(rank: str) -> tuple[Person, ...]:
    """The people of that rank, in the order of the file. Raises LookupError for a rank that nobody has."""
    found = tuple(person for person in people() if person.rank == rank)
    if not found:
        raise LookupError(f"Nobody is {rank}.")
    return found


def chief() -> Person:
    """The chief engineer who opens the register."""
    return of_rank("Chief engineer")[0]


def on_board(rank: str, day: int, rng: Random) -> Person:
    """Somebody of that rank who is on board on a day counted from the start.

    Two people of one rank relieve each other; of more than two, chance decides who it was.
    """
    able = of_rank(rank)
    if len(able) == _PAIR:
        return able[(day + len(rank) * 7) // _TURN_DAYS % _PAIR]
    return rng.choice(able)
