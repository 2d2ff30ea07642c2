"""First dates for jobs without a last doing, without the guide: ``pmsched load FILES --check --starts FILE.xlsx``."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from pmsched.cli.access import open_register
from pmsched.cli.context import Here, moment
from pmsched.cli.printing import document, note, out
from pmsched.cli.shapes import Shape, day
from pmsched.cli.starts_words import spread_lines
from pmsched.cli.tables import terminal_width
from pmsched.usecases.load_outlook import ProposedStart, outlook
from pmsched.usecases.load_proposals import write_proposals
from pmsched.usecases.signing import Signer


def propose_starts(here: Here, paths: Iterable[Path], target: Path) -> bool:
    """Writes the copy and tells what is in it; false if there is nothing to propose, or something else is wrong first.

    Raises:
        Refusal: the copy cannot be written.
    """
    with open_register(here) as register:
        seen = outlook(register, paths, Signer(here.by, moment(), here.acting))
    if seen.problems:
        note(f"{target} is not written: something else is wrong first.")
        return False
    if not seen.unstarted:
        note(f"{target} is not written: every job has a last doing or a start.")
        return False
    write_proposals(seen, spread=True, target=target)
    if here.as_json:
        document({"file": str(target), "starts": [_shape(job) for job in seen.unstarted]})
        return True
    for line in spread_lines(seen.unstarted, terminal_width()):
        out(line)
    note(
        f"{target} is written: your files, with these starts. Look at it, change it, then: pmsched load {target} --check"
    )
    return True


def _shape(job: ProposedStart) -> Shape:
    return {
        "job": job.job,
        "title": job.title,
        "machine": job.machine,
        "starts": job.starts,
        "first_on": day(job.first_on),
        "held_back": job.held_back,
    }
