"""Write what an outlook proposes into a copy of the files: where jobs never done begin, and readings that were typed."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from pmsched.exchange.filled import Fill, TypedReading, write_filled_copy
from pmsched.exchange.phrases import write_starts
from pmsched.exchange.rows import Start
from pmsched.usecases.load_outlook import Outlook, ProposedStart

AT_ONCE = write_starts(Start())


def write_proposals(
    seen: Outlook, *, spread: bool, readings: Sequence[TypedReading] = (), target: Path | None = None
) -> Path:
    """Writes the copy, in which every job without a last doing has a start; its path.

    Args:
        seen: the outlook on the files.
        spread: begin the jobs as proposed; else all of them are due at once.
        readings: readings to be added.
        target: the name of the copy; a free one by default.

    Raises:
        Refusal: it cannot be written; see ``write_filled_copy``.
    """
    fills = [_fill(job, spread=spread) for job in seen.unstarted]
    return write_filled_copy(seen.sources, fills, readings, target)


def _fill(job: ProposedStart, *, spread: bool) -> Fill:
    if not spread or job.starts == AT_ONCE:
        said = "proposed: due at once, as nobody knows when it was last done."
        return Fill(job.file, job.row, "starts", AT_ONCE, said)
    first = f" It falls due first on {job.first_on}." if job.first_on else ""
    said = f"proposed: spread, so that not all first dates come together. It is no doing.{first}"
    return Fill(job.file, job.row, "starts", job.starts, said)
