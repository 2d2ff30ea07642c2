"""Amounts on counters: running hours as whole seconds, everything else as whole units; reading and writing them.

0.1 h is 360 s, so tenths and minutes are exact. No binary float takes part.
"""

from __future__ import annotations

import re
from typing import Literal, NamedTuple

from pmsched.domain.errors import Ambiguous, Refusal

HOURS = "h"
SECONDS_PER_HOUR = 3600
SECONDS_PER_DAY = 86_400

Reads = Literal["whole", "tenths", "h:min"]
READS: tuple[Reads, ...] = ("whole", "tenths", "h:min")
_STEP_SECONDS: dict[str, int] = {"whole": 3600, "tenths": 360, "h:min": 60}

_PLAIN = re.compile(r"^\d+(?:[ \u00a0\u202f]\d{3})*$|^\d+$")
_DECIMAL = re.compile(r"^(\d+|\d{1,3}(?:[ \u00a0\u202f]\d{3})+)[.,](\d+)$")
_HOURS_MINUTES = re.compile(r"^(\d+|\d{1,3}(?:[ \u00a0\u202f]\d{3})+):([0-5]\d)$")
_THOUSANDS = re.compile(r"^\d{1,3}([.,])\d{3}(?:\1\d{3})*$")


class Meter(NamedTuple):
    """How a dial shows its counter: the unit, and how fine it reads (only hours meters read finer than whole)."""

    unit: str = HOURS
    reads: Reads = "whole"

    @property
    def step(self) -> int:
        """One step of the dial, in seconds for hours and in whole units otherwise."""
        return _STEP_SECONDS[self.reads] if self.unit == HOURS else 1


def parse_count(text: str, meter: Meter) -> int:
    """The amount written, in seconds for hours and whole units otherwise.

    Reads ``12345``, ``12 345``, ``12345.5``, ``12345,5`` and, for hours, ``12345:30``.

    Raises:
        Ambiguous: the mark may separate thousands or decimals (``12,345``).
        Refusal: not a number, negative, or finer than the meter reads.
    """
    written = text.strip()
    if _THOUSANDS.match(written):
        whole = _digits(written)
        first, *rest = re.split(r"[.,]", written)
        if len(rest) > 1:
            return _in_units(whole, "", meter, text)
        raise Ambiguous(
            "ambiguous-number",
            f"'{written}' can be read in two ways.",
            (whole, f"{first}.{rest[0].rstrip('0') or '0'}"),
        )
    if _PLAIN.match(written):
        return _in_units(_digits(written), "", meter, text)
    if found := _DECIMAL.match(written):
        return _in_units(_digits(found[1]), found[2], meter, text)
    if (found := _HOURS_MINUTES.match(written)) and meter.unit == HOURS:
        return int(_digits(found[1])) * SECONDS_PER_HOUR + int(found[2]) * 60
    raise Refusal("not-a-number", f"'{written}' is not a count.", f"Write digits, such as {_example(meter)}.")


def format_count(value: int, meter: Meter) -> str:
    """The amount in the meter's own form, thousands set apart by a space: ``12 345.5``, ``12 345:30``, ``640``."""
    sign, size = ("-", -value) if value < 0 else ("", value)
    if meter.unit != HOURS:
        return f"{sign}{_grouped(size)}"
    if meter.reads == "h:min":
        return f"{sign}{_grouped(size // SECONDS_PER_HOUR)}:{size % SECONDS_PER_HOUR // 60:02d}"
    return f"{sign}{format_hours(size)}"


def format_hours(seconds: int) -> str:
    """Hours from seconds, as few decimals as are exact and never more than two: ``2 920``, ``0.5``, ``10.75``.

    A remainder finer than 0.01 h is dropped towards zero; it only arises from interpolated or shared hours.
    """
    sign, size = ("-", -seconds) if seconds < 0 else ("", seconds)
    hours, rest = divmod(size, SECONDS_PER_HOUR)
    hundredths = rest * 100 // SECONDS_PER_HOUR
    decimals = f".{hundredths:02d}".rstrip("0").rstrip(".")
    return f"{sign}{_grouped(hours)}{decimals}"


def format_amount(value: int, unit: str) -> str:
    """An amount with its unit, as it stands in sentences: ``2 920 h``, ``360 starts``."""
    return f"{format_hours(value) if unit == HOURS else _grouped_signed(value)} {unit}"


def _in_units(whole: str, decimals: str, meter: Meter, text: str) -> int:
    decimals = decimals.rstrip("0")
    if meter.unit != HOURS:
        if decimals:
            raise Refusal(
                "too-fine", f"'{text.strip()}' has decimals; {meter.unit} are counted whole.", f"Write {int(whole)}."
            )
        return int(whole)
    power: int = 10 ** len(decimals)
    scaled, rest = divmod(int(decimals or "0") * SECONDS_PER_HOUR, power)
    if rest:
        raise Refusal(
            "too-fine", f"'{text.strip()}' h is not a whole number of seconds.", "Write tenths or hours:minutes."
        )
    return int(whole) * SECONDS_PER_HOUR + scaled


def _digits(text: str) -> str:
    return re.sub(r"\D", "", text)


def _grouped(size: int) -> str:
    return f"{size:,}".replace(",", " ")


def _grouped_signed(value: int) -> str:
    return f"-{_grouped(-value)}" if value < 0 else _grouped(value)


def _example(meter: Meter) -> str:
    if meter.unit != HOURS or meter.reads == "whole":
        return "12345"
    return "12345.6" if meter.reads == "tenths" else "12345:30"
