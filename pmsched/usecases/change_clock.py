"""Record a change of the ship's clock."""

from __future__ import annotations

from pmsched.domain.clocks import check_offset
from pmsched.domain.errors import NotAllowed
from pmsched.store.book import Receipt
from pmsched.store.lookups import site_row
from pmsched.store.register import Register
from pmsched.store.tables import CLOCK_CHANGE
from pmsched.usecases.signing import Signer, begin
from pmsched.usecases.views import Asked, scene

_FURTHEST_AHEAD_SECONDS = 7 * 86_400


def change_clock(register: Register, at: int, offset_minutes: int, signer: Signer) -> Receipt:
    """From the instant ``at`` (UTC epoch seconds) the ship's clock stands ``offset_minutes`` from UTC.

    Raises:
        Refusal: the offset is out of range.
        NotAllowed: more than a week ahead.
    """
    check_offset(offset_minutes)
    if at > signer.at + _FURTHEST_AHEAD_SECONDS:
        raise NotAllowed("clock-far-ahead", "The change lies more than a week ahead.", "Check the date.")
    with register.locked() as connection:
        work = begin(connection, signer)
        if earlier := work.earlier("change clock"):
            return earlier
        site = site_row(connection, scene(connection, Asked(signer.at)).view)
        work.add(CLOCK_CHANGE, site_id=site.id, at=at, offset_minutes=offset_minutes)
        return work.enter("change clock")
