"""Late, early or on time: what history says of a doing, in a few words; the same on every face and in every file."""

from __future__ import annotations

from pmsched.domain.counts import format_amount
from pmsched.usecases.ask_history import HistoryRow


def judged(row: HistoryRow) -> str:
    """Late or on time by the rule of that day; what became of the version where it is not in force; empty if neither."""
    if row.version in {"corrected", "struck"}:
        return row.version.upper()
    if row.version == "start":
        return "start"
    if row.extra:
        return "extra"
    if row.on_time is None:
        return ""
    if row.on_time:
        return "on time"
    late = [f"{row.days_late} d"] if row.days_late and row.days_late > 0 else []
    late += [format_amount(amount, unit) for unit, amount in row.counts_late if amount > 0]
    return f"late {', '.join(late)}" if late else "late"


def early_or_late(row: HistoryRow) -> str:
    """As ``judged``, and how early: 'early 4 d, 60 h' before the limits of that day; 'on time' on the limit itself."""
    if row.version != "in force" or not row.on_time or row.extra:
        return judged(row)
    days = [] if row.days_late is None else [(-row.days_late, f"{-row.days_late} d")]
    left = [*days, *((-amount, format_amount(-amount, unit)) for unit, amount in row.counts_late)]
    return f"early {', '.join(text for _, text in left)}" if left and all(size > 0 for size, _ in left) else "on time"
