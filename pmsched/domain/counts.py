"""Amounts on counters: running hours as whole seconds, everything else as whole units; reading and writing them.

0.1 h is 360 s, so tenths and minutes are exact. No binary float takes part.
"""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal, NamedTuple

from pmsched.domain.errors import Ambiguous, Refusal

HOURS = "h"
SECONDS_PER_HOUR = 3600
SECONDS_PER_DAY = 86_400

Reads = Literal["whole", "tenths", "h:min"]
READS: tuple[Reads, ...] = ("whole", "tenths", "h:min")
# Canonical JSON numbers are exact up to here (RFC 8785 section 3.2.2.3).
_MOST = 2**53 - 1
_STEP_SECONDS: dict[str, int] = {"whole": 3600, "tenths": 360, "h:min": 60}

# Fifteen digits of hours still fit 64 bits as seconds. A blank or an apostrophe can only part thousands.
_WHOLE = r"([0-9]{1,15}|[0-9]{1,3}(?:[ \u00a0\u2007\u2009\u202f'\u2019][0-9]{3}){1,4})"
_NUMBER = re.compile(rf"{_WHOLE}(?:[.,]([0-9]{{1,15}}))?")
_HOURS_MINUTES = re.compile(rf"{_WHOLE}:([0-5][0-9])")
_THOUSANDS = re.compile(r"([1-9][0-9]{0,2})([.,])([0-9]{3})((?:\2[0-9]{3}){0,3})")
# With both marks there is no doubt which of them parts the decimals: the other one.
_BOTH_MARKS = re.compile(
    r"([1-9][0-9]{0,2}(?:,[0-9]{3}){1,4}(?=\.)|[1-9][0-9]{0,2}(?:\.[0-9]{3}){1,4}(?=,))[.,]([0-9]{1,15})"
)


class Meter(NamedTuple):
    """How a dial shows its counter: the unit, and how fine it reads (only hours meters read finer than whole)."""

    unit: str = HOURS
    reads: Reads = "whole"

    @property
    def step(self) -> int:
        """One step of the dial, in seconds for hours and in whole units otherwise."""
        return _STEP_SECONDS[self.reads] if self.unit == HOURS else 1


def parse_number(text: str) -> Fraction:
    """The number written, exactly: ``12345``, ``12 345``, ``12345.5``, ``12345,5``, ``1,234,567``, ``12,345.5``, ``12'345``.

    Raises:
        Ambiguous: the mark may separate thousands or decimals (``12,345``).
        Refusal: not a number, or negative.
    """
    written = text.strip()
    if written.startswith(("-", "\u2212")):
        raise Refusal("negative-number", f"'{written}' is below zero.", "Write it without the minus sign.")
    if found := _THOUSANDS.fullmatch(written):
        if not found[4]:
            raise _two_ways(written, found[1], found[3])
        return Fraction(int(_digits(written)))
    if found := _BOTH_MARKS.fullmatch(written) or _NUMBER.fullmatch(written):
        decimals = found[2] or ""
        return Fraction(int(_digits(found[1]) + decimals), 10 ** len(decimals))
    raise Refusal("not-a-number", f"'{written}' is not a number.", "Write digits, such as 12345 or 12345.5.")


def parse_count(text: str, meter: Meter) -> int:
    """The amount written, in seconds for hours and whole units otherwise.

    Reads ``12345``, ``12 345``, ``12345.5``, ``12345,5`` and, for hours, ``12345:30``.

    Raises:
        Ambiguous: the mark may separate thousands or decimals (``12,345``).
        Refusal: not a number, negative, or finer than the meter reads.
    """
    try:
        value = _bounded(_in_base_units(text, meter), text)
    except Ambiguous as both:
        fitting = [choice for choice in both.choices if _in_base_units(choice, meter) % meter.step == 0]
        raise Ambiguous(both.code, both.message, fitting) from None
    steps = value // meter.step
    if steps * meter.step != value:
        raise Refusal(
            "too-fine",
            f"'{text.strip()}' is finer than {_fineness(meter)}.",
            f"Write {_ungrouped(steps * meter.step, meter)}.",
        )
    return steps * meter.step


def _bounded(value: Fraction, text: str) -> Fraction:
    if value > _MOST:
        raise Refusal("too-large", f"'{text.strip()}' is more than any counter shows.", "Check the digits.")
    return value


def format_count(value: int, meter: Meter) -> str:
    """The amount in the meter's own form, thousands set apart by a space: ``12 345.5``, ``12 345:30``, ``640``."""
    if meter.unit != HOURS:
        return _grouped(value)
    if meter.reads == "h:min":
        hours, minutes = divmod(abs(value) // 60, 60)
        sign = "-" if value < 0 and (hours or minutes) else ""
        return f"{sign}{_grouped(hours)}:{minutes:02d}"
    return format_hours(value)


def format_hours(seconds: int) -> str:
    """Hours from seconds, as few decimals as are exact and never more than two: ``2 920``, ``0.5``, ``10.75``.

    A remainder finer than 0.01 h is dropped towards zero; it only arises from interpolated or shared hours.
    """
    hours, rest = divmod(abs(seconds), SECONDS_PER_HOUR)
    hundredths = rest * 100 // SECONDS_PER_HOUR
    decimals = f".{hundredths:02d}".rstrip("0").rstrip(".")
    sign = "-" if seconds < 0 and (hours or hundredths) else ""
    return f"{sign}{_grouped(hours)}{decimals}"


def format_amount(value: int, unit: str) -> str:
    """An amount with its unit, as it stands in sentences: ``2 920 h``, ``360 starts``."""
    return f"{format_hours(value) if unit == HOURS else _grouped(value)} {unit}"


def _in_base_units(text: str, meter: Meter) -> Fraction:
    if meter.unit != HOURS:
        return parse_number(text)
    if found := _HOURS_MINUTES.fullmatch(text.strip()):
        return Fraction(int(_digits(found[1])) * SECONDS_PER_HOUR + int(found[2]) * 60)
    return parse_number(text) * SECONDS_PER_HOUR


def _two_ways(written: str, before: str, after: str) -> Ambiguous:
    decimals = after.rstrip("0")
    # Three decimals would be just as unclear when typed again; a fourth makes them decimals.
    decimals += "0" if len(decimals) == len(after) else ""
    as_decimal = f"{before}.{decimals}" if decimals else before
    return Ambiguous("ambiguous-number", f"'{written}' can be read in two ways.", (before + after, as_decimal))


def _fineness(meter: Meter) -> str:
    if meter.unit != HOURS:
        return f"whole {meter.unit}"
    return {"whole": "whole hours", "tenths": "0.1 h", "h:min": "one minute"}[meter.reads]


def _ungrouped(value: int, meter: Meter) -> str:
    return format_count(value, meter).replace(" ", "")


def _digits(text: str) -> str:
    return re.sub(r"[^0-9]", "", text)


def _grouped(value: int) -> str:
    return f"{value:,}".replace(",", " ")
