"""Who signs a deed: a named person, with their own rank or the one they act in, at a moment, once per request."""

from __future__ import annotations

from typing import Any, NamedTuple

from sqlalchemy import Connection

from pmsched.domain.errors import NotFound, Refusal
from pmsched.domain.plain import check_text
from pmsched.store.book import Signature, Work
from pmsched.store.live import View
from pmsched.store.lookups import people, person_by_code
from pmsched.usecases.near_names import near
from pmsched.usecases.views import Asked, Scene, scene


class Signer(NamedTuple):
    """Who signs, and when.

    Attributes:
        person: the code of a person on the books.
        at: UTC epoch seconds.
        acting: the rank they act in, if it is not their own.
        request_id: names the attempt; a repeated one adds nothing.
    """

    person: str
    at: int
    acting: str | None = None
    request_id: str | None = None


def begin(connection: Connection, signer: Signer, seen: Scene | None = None) -> Work:
    """A unit of work signed by the signer, in the scene of this moment if it is at hand.

    Raises:
        Refusal: nobody is named.
        NotFound: the person is not on the books.
    """
    seen = seen or scene(connection, Asked(signer.at))
    request = check_text(signer.request_id) if signer.request_id else None
    person = person_of(connection, seen.view, signer.person)
    rank = f"{person.rank} acting {check_text(signer.acting)}" if signer.acting else person.rank
    offset = seen.clock.offset_at(signer.at)
    return Work(connection, Signature(person.id, rank, signer.at, offset, request, person.name))


def person_of(connection: Connection, view: View, code: str) -> Any:
    """The person of that code (any case): id, code, name, rank, department."""
    if not code.strip():
        raise Refusal("nobody-signs", "Every deed is signed.", "Say who signs: --by CODE, or set PMSCHED_BY.")
    found = person_by_code(connection, view, check_text(code.strip()))
    if found and found.active:
        return found
    here = [person for person in people(connection, view) if person.active]
    hint = near(code, (person.code for person in here))
    raise NotFound("unknown-person", f"Nobody on the books has the code {code}.", f"{hint} People: {_listed(here)}.")


def _listed(here: list[Any]) -> str:
    return ", ".join(f"{person.code} ({person.rank})" for person in here)
