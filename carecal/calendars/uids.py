"""Names of components: random-looking, stable, without a plant's name in them. It knows no plan."""

from __future__ import annotations

from datetime import date
from uuid import UUID, uuid5

__all__ = ["REFRESH", "done_key", "entry_key", "round_key", "step_key", "uid"]

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
    return str(uuid5(namespace, f"{calendar}\n{generation}\n{key}"))


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
