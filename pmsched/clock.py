"""The only place that asks the computer what time it is; everything else is given the moment."""

from __future__ import annotations

import time


def now() -> int:
    """The present instant, in whole UTC epoch seconds."""
    return int(time.time())
