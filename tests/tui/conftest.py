"""For the pictures of the screens: they are made anew on one version of Python only, so that they are all of one kind."""

from __future__ import annotations

import sys

import pytest

BASELINE = (3, 11)


def pytest_configure(config: pytest.Config) -> None:
    """Refuse to make pictures on another Python than the oldest one we support."""
    if config.getoption("update_snapshots", default=False) and sys.version_info[:2] != BASELINE:
        wanted = ".".join(map(str, BASELINE))
        raise pytest.UsageError(f"Pictures are made on Python {wanted} only. Run --snapshot-update there.")
