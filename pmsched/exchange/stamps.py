"""Amounts and times as scripts and spreadsheets read them: decimal hours, ISO 8601 instants in UTC or in ship's time.

Knows no columns and no documents; those say which of these they hold.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone
from decimal import Decimal

from pmsched.domain.clocks import to_utc
from pmsched.domain.counts import SECONDS_PER_HOUR

_FOUR_DECIMALS = Decimal("0.0001")


def hours(seconds: int) -> str:
    """Hours as decimal text: '2920.5'; up to four decimals, from which the second can be told."""
    exact = (Decimal(seconds) / SECONDS_PER_HOUR).quantize(_FOUR_DECIMALS)
    text = f"{exact:f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def utc(instant: int | None) -> str | None:
    """An instant in UTC: '2030-01-15T08:00:00Z'."""
    return None if instant is None else utc_text(to_utc(instant))


def utc_text(moment: datetime) -> str:
    """A moment given in UTC, as text: '2030-01-15T08:00:00Z'."""
    return f"{moment:%Y-%m-%dT%H:%M:%SZ}"


def at_offset(instant: int | None, minutes: int) -> str | None:
    """An instant as the ship's clock showed it, with its offset: '2030-01-15T10:00:00+02:00'."""
    if instant is None:
        return None
    return datetime.fromtimestamp(instant, UTC).astimezone(timezone(timedelta(minutes=minutes))).isoformat()
