"""Names of components: random-looking, stable, without a plant's name in them. It knows no plan."""

from __future__ import annotations

from datetime import date
from functools import lru_cache
from hashlib import sha1
from typing import TYPE_CHECKING
from uuid import UUID

if TYPE_CHECKING:
    from hashlib import _Hash as Hash

__all__ = ["REFRESH", "done_key", "entry_key", "place_step_key", "round_key", "step_key", "uid"]

REFRESH = "refresh"
"""Stable key of the event that says since when a calendar was not refreshed."""


def uid(namespace: UUID, calendar: str, generation: int, key: str) -> str:
    """Return the UID of one component: UUIDv5 in the collection's own random namespace.

    Args:
        namespace: Random, kept with the collection; a public one could be guessed back.
        calendar: Key of the calendar, so that two calendars on one phone never share a UID.
        generation: Raised by each restore.
        key: Stable key of the component, as 'series/7/2/watering//2026-11-26'.

    Source: RFC 7986 5.3: opaque, no host, no names; RFC 9562 5.5.
    """
    hashed = _begun(namespace, calendar, generation).copy()
    hashed.update(key.encode())
    octets = bytearray(hashed.digest()[:16])
    octets[6] = octets[6] & 0x0F | 0x50  # version 5
    octets[8] = octets[8] & 0x3F | 0x80  # variant of RFC 9562
    text = octets.hex()
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


@lru_cache(maxsize=16)
def _begun(namespace: UUID, calendar: str, generation: int) -> Hash:
    """Return the hash of what all UIDs of a calendar begin with: `uuid.uuid5` would take it anew for each."""
    return sha1(namespace.bytes + f"{calendar}\n{generation}\n".encode(), usedforsecurity=False)


def round_key(on: date) -> str:
    """Return the key of a care day."""
    return f"round/{on.isoformat()}"


def done_key(on: date) -> str:
    """Return the key of the record of one past day."""
    return f"done/{on.isoformat()}"


def entry_key(entry: int) -> str:
    """Return the key of the record of one journal entry."""
    return f"entry/{entry}"


def step_key(plant: int, step: str, opens: date) -> str:
    """Return the key of a step that opens on a day."""
    return f"step/{plant}/{step}/{opens.isoformat()}"


def place_step_key(place: str, step: str, opens: date) -> str:
    """Return the key of a step that all plants of a place share."""
    return f"step/place/{place}/{step}/{opens.isoformat()}"
