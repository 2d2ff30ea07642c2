"""Drafts of what is typed on the screens: saved at each Enter, there again after a kill, removed once signed.

A form keeps ``draft_for(gateway.target, "report AE1-OIL")``: one draft for each register and thing. Saving writes to the
disk, so it is done in a worker.
"""

from __future__ import annotations

from pmsched.store.drafts import Draft, draft_for, drafts_folder

__all__ = ["Draft", "draft_for", "drafts_folder"]
