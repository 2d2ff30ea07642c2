"""Measure exports: time and peak memory as lists grow, each in a process of its own.

    python tests/bench/exports.py [FOLDER] [--small]

The register is that of ``run.py`` (10 000 jobs, 500 000 reports, 1 000 000 readings). "per row" should not rise with
the number of rows, and memory should stop rising where SQLite begins to sort on disk.
"""

from __future__ import annotations

import argparse
import json
import subprocess
import sys
import tempfile
from datetime import timedelta
from pathlib import Path

import vessel

FORMATS = ("csv", "jsonl", "xlsx")
_CHILD = """
import json, resource, sys, time
from datetime import date
from pathlib import Path
from pmsched.exchange.export_files import write_export_file
from pmsched.store.register import Register
from pmsched.usecases.export_list import ExportList, exporting
from pmsched.usecases.export_sources import Narrowed
from pmsched.usecases.views import Asked
path, what, wanted, first, now, target = sys.argv[1:]
narrowed = Narrowed(first=date.fromisoformat(first)) if first else Narrowed()
with Register(path) as register:
    began = time.perf_counter()
    with exporting(register, Asked(int(now)), ExportList(what, narrowed)) as (_, export):
        write_export_file(Path(target), export, wanted)
    took = time.perf_counter() - began
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(json.dumps([export.ended().rows, took, peak, Path(target).stat().st_size / 2**20]))
"""


def measure(path: Path, what: str, wanted: str, first: str) -> str:
    """One line of the table."""
    with tempfile.TemporaryDirectory(dir=path.parent) as folder:
        target = str(Path(folder) / f"list.{wanted}")
        given = [str(path), what, wanted, first, str(vessel.instant(vessel.TODAY, 20)), target]
        done = subprocess.run([sys.executable, "-c", _CHILD, *given], check=True, capture_output=True, text=True)
    rows, seconds, peak, size = json.loads(done.stdout)
    per_row = seconds * 1e6 / max(1, rows)
    return f"{what:10} {wanted:6} {rows:9} {seconds:9.2f} {per_row:9.1f} {peak:9.0f} {size:9.1f}"


def main() -> None:
    """Build the register if it is not there, measure, print the table."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("folder", nargs="?", default=".bench", type=Path)
    parser.add_argument("--small", action="store_true", help="a register of 400 jobs, to try the script itself")
    given = parser.parse_args()
    size = vessel.SMALL if given.small else vessel.VESSEL
    path = vessel.kept(given.folder, "mixed", size, vessel.MIXED)
    print(f"{'list':10} {'format':6} {'rows':>9} {'s':>9} {'us/row':>9} {'peak MiB':>9} {'file MiB':>9}")
    days = size.readings_each
    for share in (50, 5, 1):
        first = str(vessel.TODAY - timedelta(days=days // share)) if share > 1 else ""
        for wanted in FORMATS:
            print(measure(path, "history", wanted, first), flush=True)
    for what in ("due", "changes", "entries"):
        for wanted in FORMATS:
            print(measure(path, what, wanted, ""), flush=True)
    print(measure(path, "readings", "csv", ""), flush=True)


if __name__ == "__main__":
    main()
