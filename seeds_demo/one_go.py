"""A register that is filled in one go: every deed is an entry of its own, but the disk is waited for only once.

What the deeds write is the same; only a register that nobody has yet may be filled like this, as a power cut in the
middle loses all of it.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from sqlalchemy import Connection

from pmsched.store.register import Register


class OneGo(Register):
    """A register whose deeds share one transaction while it is filled."""

    _shared: Connection | None = None

    @contextmanager
    def all_in_one(self) -> Iterator[None]:
        """Deeds and questions inside share one transaction, kept when the block ends and undone when it fails."""
        with super().locked() as connection:
            self._shared = connection
            try:
                yield
            finally:
                self._shared = None

    @contextmanager
    def locked(self, *, rehearse: bool = False) -> Iterator[Connection]:
        """As of any register; inside ``all_in_one`` a part of the shared transaction."""
        if self._shared is None:
            with super().locked(rehearse=rehearse) as connection:
                yield connection
        elif rehearse:
            with self._shared.begin_nested() as trial:
                yield self._shared
                trial.rollback()
        else:
            yield self._shared

    @contextmanager
    def reading(self) -> Iterator[Connection]:
        """As of any register; inside ``all_in_one`` it sees what was written so far."""
        if self._shared is None:
            with super().reading() as connection:
                yield connection
        else:
            yield self._shared
