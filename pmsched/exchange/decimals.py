"""Numbers as spreadsheets keep them, in binary, back to what was meant: short decimals, and hours with minutes.

What lies nearer than 1e-9 to a short decimal is that decimal; anything else stays as it is, for its reader to judge.
"""

from __future__ import annotations

from decimal import Decimal

_NEAR = Decimal("1e-9")
_MOST_DECIMALS = 6
_MINUTES = 60
# Above this a binary number has no decimals to speak of.
_LARGE = Decimal(10**15)


def decimal_text(value: float) -> str:
    """The number with a point and without an exponent: ``12345.5``, ``0.3`` for 0.1 + 0.2, ``101`` for 101.0."""
    if isinstance(value, int):
        return str(value)
    # The shortest digits that give the same number back: what a person typed, where nothing was reckoned.
    exact = Decimal(repr(value))
    near = _short(exact)
    written = f"{exact if near is None else near:f}"
    return written.rstrip("0").rstrip(".") if "." in written else written


def minutes_text(value: float) -> str:
    """Hours that are whole minutes and no short decimal, as ``12345:20``; empty for all others."""
    exact = Decimal(repr(value))
    if not 0 <= exact < _LARGE or _short(exact) is not None:
        return ""
    minutes = round(exact * _MINUTES)
    if abs(exact * _MINUTES - minutes) > _NEAR * _MINUTES:
        return ""
    return f"{minutes // _MINUTES}:{minutes % _MINUTES:02d}"


def _short(exact: Decimal) -> Decimal | None:
    """The decimal of few places that is meant; None if none is near enough."""
    if abs(exact) >= _LARGE:
        return None
    near = round(exact, _MOST_DECIMALS)
    # Adding nought takes the sign from a nought below zero.
    return near + 0 if abs(exact - near) <= _NEAR else None
