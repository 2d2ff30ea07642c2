"""For all tests: hypothesis judges by answers, never by the clock, because a busy computer is no fault of the code."""

from __future__ import annotations

from hypothesis import settings

settings.register_profile("house", deadline=None)
settings.load_profile("house")
